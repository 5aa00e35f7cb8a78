#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/stages/risk_stage.h"
#include "app/stages/season_data.h"
#include "geo/contours.h"
#include "models/contamination/contamination.h"
#include "models/spatial/kriging.h"
#include "models/spatial/structure_verdict.h"

namespace app {

struct ContaminationSettings {
    int season = 0;
    models::Basis basis = models::Basis::as_is;  ///< one basis for everything
    bool hindsight = false;                      ///< results of later seasons are known too
    bool own_duplicates = false;  ///< errors of results from the store's own duplicates, where they tell them
    int threads = 0;
};

/// What every content and chance of a field, load or bin speaks of, in tables, files, figures and JSON. Samples of the
/// standing crop are carried over to it: grain cut by hand still has the light kernels that a combine blows out.
inline constexpr const char* estimate_of = "grain as delivered";

/// Of a field or load whose samples, or its and those of its loads or fields, cannot be explained together.
inline constexpr const char* samples_contradict =
    "its samples contradict one another, or those of its loads or fields: look for a mix-up and test again";

/// The one model of all seasons, and how its rows stand to the tables of the store.
struct ContaminationView {
    models::ContaminationInput input;
    std::vector<std::size_t> crop_of;                         ///< field-season -> index into SeasonData::crops
    std::vector<std::optional<std::size_t>> field_season_of;  ///< crop record -> field-season; none: no wheat
    std::vector<std::optional<std::size_t>> load_of;          ///< load of the store -> load of the model
    std::vector<std::string> notes;                           ///< what was left out or assumed, in sentences
    std::optional<models::ContaminationModel> model;          ///< none: the store has no wheat at all
    bool ranking_only() const { return !model || model->ranking_only(); }
};

/// Puts fields, risks, samples, tests and loads of all seasons up to the asked one into one model and fits it.
/// @param risks  of all those seasons: risks_of_season with all_seasons
ContaminationView contamination_of_season(const SeasonData& data, const std::vector<FieldRisk>& risks,
                                          const ContaminationSettings& settings, const models::Progress& progress = {});

/// Ordinary kriging of log DON within one field, where leave-one-out says that there is structure to show.
struct WithinField {
    std::string field, part;
    int points = 0;
    models::StructureVerdict verdict;
    // Only where supported, row 0 the northernmost, NaN outside the outline:
    models::GridM grid;
    Eigen::MatrixXd median_mg_per_kg, mean_mg_per_kg, low90_mg_per_kg, high90_mg_per_kg;
    Eigen::MatrixXd log_sd;      ///< of ln DON at a place, which is normal about the log of the median
    Eigen::MatrixXd exceedance;  ///< empty until a limit is given
};

/// One entry a field that has more than one placed result of the season. No limit has a part in it.
std::vector<WithinField> maps_within_fields(const SeasonData& data, const ContaminationSettings& settings,
                                            const models::Progress& progress = {});
/// The chance of each place of a supported field to be over the limit.
void give_exceedance(WithinField& within, const models::Limit& limit);
/// Lines of equal median content inside a field; none where no surface is supported.
std::vector<geo::ContourLine> lines_of_equal_content(const WithinField& within,
                                                     const std::vector<double>& levels_mg_per_kg);

/// "Structure within fields: supported in F07 (61 places). Not supported in ...; the others have too few places."
struct StructureSentence {
    bool supported = false;
    std::string reason;
};
StructureSentence structure_of(const std::vector<WithinField>& within);

}  // namespace app
