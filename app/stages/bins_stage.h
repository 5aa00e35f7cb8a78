#pragma once

#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <unordered_set>
#include <vector>

#include "app/stages/bin_probes.h"
#include "app/stages/contamination_stage.h"
#include "app/stages/drawn_zones.h"
#include "app/stages/grain_fit.h"
#include "app/stages/grain_in_bins.h"
#include "models/contamination/within_field.h"
#include "models/decision/bin_content.h"
#include "models/decision/bin_plan.h"
#include "models/decision/source_draws.h"

namespace app {

struct BinsSettings {
    int season = 0;
    std::optional<std::string> next;  ///< advice for this load, in view of all that wait
    std::optional<double> upper_cap;  ///< 0 to 1, the user's: grain with a higher chance of being over is over
    bool ahead = false;               ///< fields that are still to be cut are planned for, after the loads that wait
    bool own_duplicates = false;      ///< errors of bin probes from the store's own duplicates
    int draws = 4000;
    std::uint64_t seed = 1;
    std::vector<DrawnZone> zones = {};  ///< with `ahead`: fields are cut apart by these (standing_zones.h)
    std::optional<models::WithinFieldStructure> structure = {};  ///< inside the season's fields; none: as patches
    int threads = 0;  ///< 0: as many as there are processors; the answer is the same
    /// Where the mean contents of bins are kept, and the key of the fit that they rest on: only loads that wait or were
    /// probed are drawn then. Empty: nowhere.
    std::filesystem::path kept_bins = {};
    std::string fit_key = {};
};

/// A zone of a plan ahead, or what of its field lies in none.
struct PlannedZone {
    std::string zone, field;
    double share_of_field = 0.0;  ///< of its ground
};

/// What is where and what goes where.
struct BinsView {
    models::BinLedger ledger;        ///< from the moves
    std::vector<LimitOfBin> limits;  ///< of each bin at this harvest, in the order of the table
    std::vector<double> factors;     ///< of each bin: its content as is times this stands on its limit's basis
    /// As is, of all loads that the model knows and of the opening contents; with `next` or where means are kept of
    /// those that wait or were probed, and of the opening contents.
    models::SourceDraws draws;
    std::vector<models::ProbeNews> probes;  ///< of bins: what each made of the draws, or why it does not count
    std::vector<ProbedOver> probed_over;    ///< grain whose probe is over the limit of the bin that it lies in
    models::BinPlan plan;                   ///< for the loads that wait; with `next` it lists that load only
    models::ClearingCaps caps;              ///< that the plan was made with
    std::vector<std::string> waiting;
    std::vector<std::string> standing;     ///< fields and zones of a plan ahead, by the day of their expected cut
    std::vector<UnclearedLoad> uncleared;  ///< what lies in bins under a limit and is not cleared for it
    /// Whether the model's chances were asked for that; else from the records alone: without a result in the store, and
    /// with `next`, unless an upper cap makes grain over by its chance.
    bool chances_judged = false;
    std::vector<OverfullBin> overfull;
    std::vector<MisplacedLoad> misplaced;  ///< by their tag or commodity; impossible moves are in the ledger
    std::vector<std::string> notes;        ///< results that came after dumping, limits converted, what is not known

    /// What a source's content as is becomes on the basis of the bin's limit: times this.
    double factor(std::size_t bin, const std::string& source) const;
    std::optional<Moistures> moistures;  ///< by which loads are converted
    std::vector<PlannedZone> zones;      ///< of a plan ahead, in its order
};

/// Whether a load is still to be placed: neither in a bin nor gone, by its status and the moves. For many loads of one
/// ledger.
class GrainThatWaits {
 public:
    explicit GrainThatWaits(const models::BinLedger& ledger);
    bool operator()(const models::Load& load) const;

 private:
    std::unordered_set<std::string> moved_;
};
bool waits(const models::Load& load, const models::BinLedger& ledger);

/// @throws models::Error  the store has no bins; a bin names a limit that is not there; the named load is unknown or
///                        has been dumped already; zones as standing_zones.h does
BinsView bins_of_season(const SeasonData& data, const ContaminationView& view, const BinsSettings& settings,
                        const models::Progress& progress = {});
/// The same from whatever says what the model says; it is asked once, for what the answer needs.
/// @param view  its model is not looked at
using AskFit = std::function<GrainFit(const FitAsked&)>;
BinsView bins_of_season(const SeasonData& data, const ContaminationView& view, const BinsSettings& settings,
                        const AskFit& ask, const models::Progress& progress = {});

}  // namespace app
