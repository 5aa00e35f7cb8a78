#pragma once

#include <optional>
#include <string>
#include <unordered_map>
#include <vector>

#include "app/stages/season_data.h"
#include "models/decision/bin_content.h"
#include "models/decision/clearing.h"

namespace app {

/// What stands for the bin advised in a move that went into a bin though the program had advised none for it. A move
/// of which nobody asked the program has nothing there.
inline constexpr const char* none_advised = "none";

/// The limit that a bin names, where it is in the store and in force on that day.
struct LimitOfBin {
    std::optional<models::Limit> limit;
    std::string closed;  ///< why the bin takes nothing; empty where it may
};
LimitOfBin limit_of_bin(const SeasonData& data, const models::Bin& bin, models::LocalDay day);

/// How wet the grain of each load is: as it was weighed in, else as its own sample was, else the median of all loads
/// (14 % where none is known; ours).
class Moistures {
 public:
    explicit Moistures(const SeasonData& data);
    struct Moisture {
        double fraction = 0.0;
        bool measured = false;
    };
    Moisture of(const std::string& source) const;  ///< a load, or grain that was never weighed in
    double median() const { return median_; }

 private:
    std::unordered_map<std::string, double> of_load_;
    double median_ = 0.14;
};

/// Every valid result of each load's own samples, as reported, with the moisture of what was tested.
class ResultsOfLoads {
 public:
    ResultsOfLoads(const SeasonData& data, const Moistures& moistures);
    const std::vector<models::OwnResult>& of(const std::string& load) const;

 private:
    std::unordered_map<std::string, std::vector<models::OwnResult>> of_load_;
};

/// A load, or a part of one, that lies in a bin under a limit in force.
struct LoadUnderLimit {
    std::size_t load = 0, bin = 0;  ///< of the store's tables
    double mass_t = 0.0;
    models::Limit limit;
    /// It came off the truck elsewhere than was advised, and lies where more is asked of grain than in the bin advised
    /// (food > feed > other > hold, turned away, no bin). Into another bin of the same purpose is not against the
    /// advice, and what was put right since no longer is.
    bool against_advice = false;
};
/// @param day  of whose limits count; moves of later years are not looked at
std::vector<LoadUnderLimit> loads_under_limits(const SeasonData& data, const models::BinLedger& ledger,
                                               models::LocalDay day);

/// A load that lies in a bin under a limit and is not cleared for it (models/decision/clearing.h). What really happened
/// is recorded and said, never refused.
struct UnclearedLoad {
    enum class Why { no_result, over, cannot_decide, chance, contradicted };
    std::string load, bin;
    double mass_t = 0.0;
    Why why = Why::no_result;
    std::string test;  ///< the one that is over; empty where the chance alone is above the user's upper cap
    std::string
        reason;  ///< "it has no result of its own", "its test L26-003 is over (over 1.0 mg/kg breaks the limit)"
    std::optional<double> exceedance = {};  ///< its chance of being over; none: from the records alone
    bool against_advice = false;            ///< as of LoadUnderLimit: its bin takes nothing more
};
/// What speaks against a load where it lies.
/// @param results     of the load; one that is over is never outvoted
/// @param exceedance  by the contamination model. With it the whole clearing rule is asked: a result that meets the
///                    limit does not clear grain whose fields say otherwise, and grain without a result may be cleared.
///                    None: the records alone, and a load needs a result of its own that meets the limit
std::optional<UnclearedLoad> why_uncleared(const SeasonData& data, const LoadUnderLimit& lies,
                                           const std::vector<models::OwnResult>& results,
                                           std::optional<double> exceedance, const models::ClearingCaps& caps = {});
/// From the records alone.
std::vector<UnclearedLoad> uncleared_loads(const SeasonData& data, const models::BinLedger& ledger,
                                           models::LocalDay day);
/// "missing", "over", "cannot decide": of its result; "chance over", "contradicted".
std::string in_words(UnclearedLoad::Why why);
std::string in_words(const UnclearedLoad& load);  ///< one sentence, without its full stop

struct OverfullBin {
    std::string bin;
    double content_t = 0.0, capacity_t = 0.0;
};
std::vector<OverfullBin> overfull_bins(const SeasonData& data, const models::BinLedger& ledger);
std::string in_words(const OverfullBin& bin);

/// A load that lies where it does not belong by its `keep_apart` tag or its commodity: in a bin that keeps another tag
/// apart, under a limit that speaks of another grain, or together with grain of another tag or commodity.
struct MisplacedLoad {
    std::string load, bin;
    double mass_t = 0.0;
    std::string reason;  ///< "bin S4 keeps durum apart, and it is wheat without a tag"
};
/// What lies in the bins now, each load against its bin and against the load that came in first.
std::vector<MisplacedLoad> misplaced_loads(const SeasonData& data, const models::BinLedger& ledger,
                                           models::LocalDay day);
std::string in_words(const MisplacedLoad& load);
/// Why a load may not go into a bin by its tag or commodity; empty where it may.
/// @param there  what lies in it
std::string why_misplaced(const SeasonData& data, const models::Bin& bin, const std::optional<models::Limit>& limit,
                          const models::Load& load, const std::vector<models::GrainPortion>& there);

/// A recorded move that cannot have happened: why, and how to mend or withdraw it.
std::string in_words(const models::ImpossibleMove& move);

/// What the bins hold by all moves of the store, and the day whose limits count: of the last move.
struct GrainNow {
    std::vector<UnclearedLoad> uncleared;
    std::vector<OverfullBin> overfull;
    std::vector<MisplacedLoad> misplaced;
    std::vector<models::ImpossibleMove> impossible;  ///< the others are counted without these
};
GrainNow grain_now(const SeasonData& data);

/// What somebody should know who just recorded these moves: a bin is over its capacity, the grain that they carried is
/// not cleared for its bin, or does not belong there by its tag or commodity. Of these moves only. Sentences without
/// their full stop; empty where all is well.
std::vector<std::string> warnings_of_moves(const SeasonData& data, const std::vector<std::string>& moves);

}  // namespace app
