#include <algorithm>

#include <fmt/format.h>

#include "geo/import_rows.h"
#include "geo/store/store.h"
#include "geo/tables/words.h"
#include "models/calendar.h"

/// Moves at the door: what cannot have happened does not come in.
namespace geo::importing {

namespace {

struct ArrivingMove {
    std::size_t row = 0;
    models::Move move;
};

bool same_grain(const models::Move& a, const models::Move& b) {
    return a.time.utc == b.time.utc && a.from == b.from && a.to == b.to && a.mass_t == b.mass_t && a.kind == b.kind;
}

/// In the order in which the store gives its moves: by name, and the ledger then takes them by time.
void put_in(std::vector<models::Move>& moves, const models::Move& move) {
    const auto place = std::lower_bound(moves.begin(), moves.end(), move,
                                        [](const auto& a, const auto& b) { return a.move < b.move; });
    if (place != moves.end() && place->move == move.move)
        *place = move;
    else
        moves.insert(place, move);
}

std::vector<models::Move> moves_by_name(const Store& store) {
    std::vector<models::Move> moves = store.moves();
    std::sort(moves.begin(), moves.end(), [](const auto& a, const auto& b) { return a.move < b.move; });
    return moves;
}

/// The rows that say something new of the grain and are right by themselves.
std::vector<ArrivingMove> arriving_moves(Target& target, const RowReader& reader, std::size_t rows,
                                         const std::vector<models::Move>& kept) {
    const tables::Kind& kind = tables::kind_named("moves");
    std::vector<ArrivingMove> arriving;
    std::set<std::string> seen;
    for (std::size_t row = 0; row < rows; ++row) {
        try {
            Record record = reader.read(row);
            keep_the_rest(target, kind, reader, record);
            check_record(kind, record, target.known, target.options.as_written);
            const models::Move move = move_in(Cells(kind, record));
            if (!seen.insert(move.move).second) continue;
            const auto there = std::lower_bound(kept.begin(), kept.end(), move,
                                                [](const auto& a, const auto& b) { return a.move < b.move; });
            const bool known = there != kept.end() && there->move == move.move;
            if (known && (target.options.correct_because.empty() || same_grain(*there, move))) continue;
            arriving.push_back({row, move});
        } catch (const RowRefusal&) {  // told when the row's turn comes
        }
    }
    return arriving;
}

}  // namespace

models::Move move_in(const Cells& cells) {
    models::Move move;
    move.move = cells.text("move");
    move.time = models::parse_stamp(cells.text("time")).value_or(models::Stamp{});
    move.from = cells.text("from");
    move.to = cells.text("to");
    move.mass_t = cells.has("mass_t") ? cells.number("mass_t") : 0.0;
    move.kind = words::meant_by<models::MoveKind>(cells.text("kind")).value_or(models::MoveKind::dumped);
    return move;
}

std::map<std::string, models::ImpossibleMove> impossible_of(const std::vector<models::Bin>& bins,
                                                            const std::vector<models::Load>& loads,
                                                            const std::vector<models::Move>& moves) {
    std::map<std::string, models::ImpossibleMove> found;
    const models::BinLedger ledger = models::ledger_of_possible_moves(bins, loads, moves);
    for (const models::ImpossibleMove& move : ledger.impossible) found.emplace(move.move, move);
    return found;
}

std::map<std::size_t, RowRefusal> impossible_moves(Target& target, const Store& store, const RowReader& reader,
                                                   std::size_t rows) {
    std::map<std::size_t, RowRefusal> refused;
    std::vector<models::Move> moves = moves_by_name(store);
    std::vector<ArrivingMove> arriving = arriving_moves(target, reader, rows, moves);
    if (arriving.empty()) return refused;
    const std::vector<models::Bin> bins = store.bins();
    const std::vector<models::Load> loads = store.loads();
    const auto before = impossible_of(bins, loads, moves);
    std::vector<models::Move> together = moves;
    for (const ArrivingMove& one : arriving) put_in(together, one.move);
    const auto after = impossible_of(bins, loads, together);
    std::set<std::string> names;
    for (const ArrivingMove& one : arriving) {
        names.insert(one.move.move);
        if (const auto found = after.find(one.move.move); found != after.end()) {
            refused.emplace(one.row, RowRefusal{"mass_t", found->second.why, found->second.mend});
        }
    }
    const auto robbed = [&](const auto& found) {
        return std::find_if(found.begin(), found.end(), [&](const auto& entry) {
            return before.count(entry.first) == 0 && names.count(entry.first) == 0;
        });
    };
    if (robbed(after) == after.end()) return refused;
    // A move that is there already would lose its grain to a row: rows one by one, by time, show which.
    std::stable_sort(arriving.begin(), arriving.end(),
                     [](const auto& a, const auto& b) { return a.move.time.utc < b.move.time.utc; });
    for (const ArrivingMove& one : arriving) {
        if (refused.count(one.row) != 0) continue;
        std::vector<models::Move> with = moves;
        put_in(with, one.move);
        const auto found = impossible_of(bins, loads, with);
        if (const auto victim = robbed(found); victim != found.end()) {
            refused.emplace(one.row, RowRefusal{"mass_t",
                                                fmt::format("with it the later move {} could not have happened: {}",
                                                            victim->first, victim->second.why),
                                                fmt::format("correct the mass or the time, or withdraw move {} first",
                                                            victim->first)});
        } else if (const auto itself = found.find(one.move.move); itself != found.end()) {
            refused.emplace(one.row, RowRefusal{"mass_t", itself->second.why, itself->second.mend});
        } else {
            moves = std::move(with);
        }
    }
    return refused;
}

}  // namespace geo::importing
