#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/stages/risk_stage.h"
#include "app/stages/season_data.h"
#include "models/contamination/contamination.h"
#include "models/spoken.h"

namespace app {

struct ContaminationSettings {
    int season = 0;
    models::Basis basis = models::Basis::as_is;  ///< one basis for everything
    bool hindsight = false;                      ///< results of later seasons are known too
    bool own_duplicates = false;  ///< errors of results from the store's own duplicates, where they tell them
    models::ParametersBy parameters = models::ParametersBy::usual;
    int threads = 0;
};

/// What every content and chance of a field, load or bin speaks of, in tables, files, figures and JSON. Samples of the
/// standing crop are carried over to it: grain cut by hand still has the light kernels that a combine blows out.
inline constexpr const char* estimate_of = "grain as delivered";

/// Of a field or load whose samples, or its and those of its loads or fields, cannot be explained together.
inline constexpr models::Word samples_contradict = models::word(
    "its samples contradict one another, or those of its loads or fields: look for a mix-up and test again");

/// The one model of all seasons, and how its rows stand to the tables of the store.
struct ContaminationView {
    models::ContaminationInput input;
    std::vector<std::size_t> crop_of;                         ///< field-season -> index into SeasonData::crops
    std::vector<std::optional<std::size_t>> field_season_of;  ///< crop record -> field-season; none: no wheat
    std::vector<std::optional<std::size_t>> load_of;          ///< load of the store -> load of the model
    models::ErrorModel strip_error, laboratory_error;         ///< that the results are taken to have
    std::vector<std::string> notes;                           ///< what was left out or assumed, in sentences
    std::optional<models::ContaminationModel> model;          ///< none: the store has no wheat at all
    bool ranking_only() const { return !model || model->ranking_only(); }
};

/// What contradicts what of a field, as its note: "its samples and those of load L7 contradict one another: look for a
/// mix-up and test again". Empty where nothing does.
std::string contradiction_of_field(const ContaminationView& view, const SeasonData& data, std::size_t field_season);

/// What goes into the model, and no model yet.
ContaminationView contamination_input(const SeasonData& data, const std::vector<FieldRisk>& risks,
                                      const ContaminationSettings& settings);

/// Puts fields, risks, samples, tests and loads of all seasons up to the asked one into one model and fits it.
/// @param risks  of all those seasons: risks_of_season with all_seasons
/// @param known  a view made before, or null: where the same fields, loads and results went into it, with the same
///   errors, its model is this one's, too, and nothing is fitted. So a move, a bin or a load's status costs no fit.
ContaminationView contamination_of_season(const SeasonData& data, const std::vector<FieldRisk>& risks,
                                          const ContaminationSettings& settings, const models::Progress& progress = {},
                                          const ContaminationView* known = nullptr);

}  // namespace app
