#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "models/records.h"

namespace models {

/// Grain of one origin in one place. Masses are whole grams, so that what goes in, what comes out and what lies there
/// add up to the gram after any number of moves.
struct GrainPortion {
    std::string source;  ///< a load, "opening of B1", or "found in B1" (a stock correction)
    std::int64_t mass_g = 0;
    double mass_t() const { return static_cast<double>(mass_g) * 1e-6; }
};

/// Grain that lies together: portions of a layer are mixed, layers are not.
struct Layer {
    std::vector<GrainPortion> portions;
    std::int64_t mass_g() const;
};

/// What lies in a bin, lowest layer first.
struct BinContent {
    std::string bin;
    std::vector<Layer> layers;
    bool order_known = true;  ///< false once grain was drawn from a bin whose draw-off is unknown: shares are then
                              ///< those of a mixed bin, the best guess and no more
    std::int64_t mass_g() const;
    double mass_t() const { return static_cast<double>(mass_g()) * 1e-6; }
    std::vector<GrainPortion> by_source() const;  ///< summed over layers, in the order in which they came in
};

/// Grain that left: drawn from a bin, or a load turned away.
struct OutboundLot {
    std::string move, from;
    Stamp time;
    std::vector<GrainPortion> portions;
    bool rejected = false;  ///< a load turned away, or a lot that the buyer sent back since
};

/// What one move carried, and what lay where it went before it came.
struct MoveDone {
    std::string move;
    std::vector<GrainPortion> carried, met;
};

/// A recorded move that cannot have happened as it is written.
struct ImpossibleMove {
    std::string move;
    std::string why;   ///< "99.0 t are to leave load L41, which has 0.0 t left of its 22.4 t"
    std::string mend;  ///< "correct the mass moved or the weight of the load"
};

struct BinLedger {
    std::vector<BinContent> bins;       ///< in the order of the table
    std::vector<OutboundLot> outbound;  ///< in the order of the moves
    /// What came in of each source, corrections included. For every one: entered = in the bins + outbound.
    std::map<std::string, std::int64_t> entered_g;
    std::vector<MoveDone> done;              ///< in the order of the moves; empty where it is not told
    std::vector<ImpossibleMove> impossible;  ///< only of ledger_of_possible_moves: the ledger stands without them
    const BinContent& bin(const std::string& name) const;  ///< @throws Error  no such bin
    /// Where the grain of a source lies now: bins and tonnes, fullest first.
    std::vector<std::pair<std::string, double>> where_is(const std::string& source) const;
    /// For a result that comes after the grain was dumped: "load L17 was dumped: 20.1 t of it lie in bin B2, 5 t went
    /// out with M31". Empty where none of the load was moved.
    std::string where_is_in_words(const std::string& load) const;
};

/// What is in each bin, from the recorded moves only, taken in the order of time (and as listed within one second).
/// The opening content is the lowest layer. What a move does, by its kind and its ends:
///   dumped     load -> bin      a new layer on top; a load gives no more than its net mass where that is known
///   dumped     bin -> bin       grain drawn by the first bin's rule becomes the top of the second, in the order it
///   came turned     bin -> bin       the same, but it arrives well mixed: one layer withdrawn  bin -> out       grain
///   drawn by the bin's rule leaves rejected   load -> out      turned away;  out -> bin: the latest lot sent out (or a
///   part of it) comes back corrected  load -> bin      the load lies there and not where it was recorded: all of it is
///   taken from the bins it is in corrected  bin -> bin       the grain that came last into the first belongs into the
///   second corrected  out -> bin, bin -> out   a stock correction: grain found (of unknown content), grain written off
/// Draw-off: first_in from the lowest layer, last_in from the top, mixed and unknown from all in proportion (the last
/// gram by largest remainder). A scale reads in steps of 20 kg and more: a move that names up to 50 kg more than there
/// is takes what there is (common practice, no source).
/// @throws Error  (the move, what it asks, how to mend it) unknown place; no mass or less; more than lies there or than
///   the load has; a kind that does not fit its ends; a bin or load listed twice; a bin's opening mass below nothing.
///   Capacity is not checked here: what was done was done.
BinLedger ledger_of_moves(const std::vector<Bin>& bins, const std::vector<Load>& loads, const std::vector<Move>& moves);

/// Whether the ledger tells what each move carried and met: of thousands of moves that costs more than all the rest.
enum class TellMoves { yes, no };

/// The same from a record with moves that cannot have happened: each is set aside with its reason, the others are
/// played as if it had not been written.
/// @throws Error  a bin or load listed twice; a load and a bin of one name; a bin's opening mass below nothing
BinLedger ledger_of_possible_moves(const std::vector<Bin>& bins, const std::vector<Load>& loads,
                                   const std::vector<Move>& moves);
BinLedger ledger_of_possible_moves(const std::vector<Bin>& bins, const std::vector<Load>& loads,
                                   const std::vector<Move>& moves, TellMoves tell);

/// Takes grain out of a bin by a rule, as the moves above do; what comes first out is first in the answer. Of mixed and
/// unknown it is one layer, and a bin of several layers that is drawn off by an unknown rule has lost its order.
/// @throws Error  below nothing, or more than lies in the bin
std::vector<Layer> draw_off(BinContent& content, std::int64_t mass_g, DrawOff rule);

std::string opening_source(const std::string& bin);  ///< "opening of B1"
std::string found_source(const std::string& bin);    ///< "found in B1"
std::int64_t grams_of(double mass_t);                ///< to the nearest gram

}  // namespace models
