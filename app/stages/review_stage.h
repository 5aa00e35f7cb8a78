#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/stages/field_results.h"
#include "app/stages/risks_over_seasons.h"
#include "app/stages/season_data.h"
#include "models/decision/review.h"
#include "models/decision/season_review.h"
#include "models/disease/disease_model.h"
#include "models/records.h"

namespace app {

/// The event that the disease models speak of: spikelets with disease over all heads, percent.
inline constexpr double diseased_from_severity_pct = 10.0;

/// A crop record and the scouting visit that it is judged by: the last one with a severity, made after flowering began
/// and before its grain was cut. The last, because severity grows until the heads ripen and the models speak of what a
/// field came to; after flowering, because nothing shows before; before the cut, because what is left then has no
/// heads.
struct SeverityFound {
    std::size_t record = 0;  ///< index into RisksOverSeasons::records
    models::LocalDay day{};
    double severity_pct = 0.0;
    bool diseased = false;  ///< at or over the bound
};
struct ScoutingUsed {
    std::vector<SeverityFound> found;  ///< by record
    int visits = 0;                    ///< in these seasons
    std::vector<std::string> notes;    ///< visits that do not count and why, sentences without their full stop
};
ScoutingUsed severity_found(const SeasonData& data, const RisksOverSeasons& over,
                            const std::vector<models::Scouting>& scouting);

/// A crop record with results of its own, held against a limit: over where at least as many of those that decide break
/// the limit as meet it. Where fields were tested because of their risk, the order among them shows less than it would
/// among all (Begg & Greenes 1983, Biometrics 39, 207-215), and that is said.
struct DonFound {
    std::size_t record = 0;  ///< index into RisksOverSeasons::records
    int meet = 0, breaks = 0;
    bool over = false;
    bool chosen_by_suspicion = false;  ///< all its samples were taken because of its risk or its looks
};
std::vector<DonFound> don_found(const SeasonData& data, const RisksOverSeasons& over,
                                const std::vector<FieldResults>& results);

/// How one disease model did in these seasons.
struct ModelReview {
    const models::DiseaseModel* model = nullptr;
    // Against scouted severity.
    models::SeasonCases cases;
    std::optional<models::RankSkill> rank;  ///< none with fewer than two fields on either side
    std::optional<double> auc_within_seasons;
    models::OverSeasons auc_over_seasons;
    std::vector<models::SeasonTally> tallies;
    // Of a probability only:
    std::optional<models::BrierParts> brier;
    std::optional<double> skill;  ///< against the share of the other seasons
    models::OverSeasons brier_over_seasons, skill_over_seasons;
    std::optional<models::LocalCalibration> local;
    // Against DON, the rank only.
    models::SeasonCases don_cases;
    std::optional<models::RankSkill> don_rank;
    std::optional<double> don_auc_within_seasons;
    models::OverSeasons don_auc_over_seasons;
};

/// The disease models held against what was found.
struct RiskReview {
    std::vector<int> seasons;  ///< with crop records, ascending
    ScoutingUsed scouting;
    std::optional<models::Limit> limit;  ///< that DON is held against; none: it is not
    std::vector<DonFound> don;
    std::vector<ModelReview> models;     ///< best AUC against severity first, those without one last
    bool same_fields = true;             ///< every model with a number has one for the same fields
    std::vector<std::string> don_notes;  ///< sentences without their full stop
    const ModelReview& of(const models::DiseaseModel& model) const;
};

/// Severity against every model's number, field by field, and their order against results over a limit. A model that
/// gives no chance (an index, a content) has a rank only, and against DON all have: a risk of disease is no chance of
/// exceeding a limit.
/// @param results  of the seasons, held against the limit; empty without one
RiskReview review_risks(const SeasonData& data, const RisksOverSeasons& over,
                        const std::vector<models::Scouting>& scouting, const std::optional<models::Limit>& limit,
                        const std::vector<FieldResults>& results);

/// With fewer cases the parts of a Brier score say nothing (one or two groups, a share of which is chance): they are
/// not told (ours).
inline constexpr std::size_t least_cases_for_parts = 20;

/// Groups of a reliability table of so many cases: about seven in each, two to ten groups (ours).
int reliability_groups(std::size_t cases);

}  // namespace app
