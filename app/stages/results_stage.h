#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "app/stages/counter_stage.h"
#include "app/stages/season_data.h"
#include "models/assay/budget.h"
#include "models/assay/kit_lot_effect.h"
#include "models/assay/variance_components.h"
#include "models/contamination/priors.h"
#include "models/decision/conformity.h"
#include "models/decision/limit_rule.h"

namespace app {

/// Which grain's tests are asked for; what is empty is not asked about.
struct GrainAsked {
    std::string load = {}, bin = {}, field = {}, sample = {};
    bool one() const { return !load.empty() || !bin.empty() || !field.empty() || !sample.empty(); }
};

/// Errors beside that of the kit lot which results share, as coefficients of variation. Nobody has published their
/// size: they are 0 until the user gives what he has measured.
struct SharedErrors {
    double operator_cv = 0.0, reader_cv = 0.0;
    double run_cv = 0.0;  ///< of the strips of one kit lot on one day
};

struct ResultsSettings {
    int season = 0;
    GrainAsked grain;
    SharedErrors shared;
    models::Basis basis = models::Basis::as_is;  ///< of the whole table
    std::optional<models::Limit> limit;
    bool own_duplicates = false;         ///< errors of strips from the store's own duplicates, where they tell them
    models::ContaminationPriors priors;  ///< of kit lots and of the places of a field or load, as the map has them
};

/// A test of grain with its budget.
struct ResultRow {
    models::Test test;  ///< as it was reported
    std::string grain;  ///< "load L07", "field F01, headland", "bin B2", "unknown grain"
    models::Stage stage = models::Stage::standing;
    models::MeasuredResult measured;             ///< on the table's basis
    std::optional<models::ResultBudget> budget;  ///< none: void, not to be converted, or refused; a flag says why
    std::optional<double> chance_over;           ///< of the limit, by this result alone; of a bound its end
    std::optional<models::LimitOutcome> outcome;
    std::optional<models::Conformity> conformity;        ///< guarded acceptance and rejection, by this result alone
    std::optional<models::OfficialConclusion> official;  ///< of a laboratory's result, as information
    std::vector<std::string> control_doubts;  ///< by failed controls of its run: sentences without their full stop
    std::vector<std::string> flags;           ///< of anything else, the same way

    std::vector<std::string> all_flags() const {
        std::vector<std::string> all = control_doubts;
        all.insert(all.end(), flags.begin(), flags.end());
        return all;
    }
};

/// The results of a season, by grain and time.
struct ResultsView {
    int season = 0;
    models::Basis basis = models::Basis::as_is;
    std::optional<models::Limit> limit;
    std::vector<ResultRow> rows;
    std::vector<GrainConclusion> conclusions;  ///< with a limit: of each load, bin and field with a sample of the whole
    std::vector<models::KitLotEffect> kit_lots;     ///< of the strips among the rows
    std::optional<models::VarianceComponents> own;  ///< of the store's duplicates, where asked for
    std::vector<std::string> notes;                 ///< what was assumed, sentences without their full stop
    std::vector<std::string> error_model;           ///< of strips, in sentences with their sources
};

/// One row a test of grain of the season; controls have none. A sample of several increments speaks for its load, bin
/// or field, whose places differ as the map's model believes; a point speaks for its place. Strips of one kit lot share
/// an effect, which laboratory pairs and controls tell as far as there are any (kit_lot_effects) and which is taken
/// off.
/// With a limit each grain has the counter's conclusion (conclude) by the limit's procedure of repeats, against the
/// cut-off that its kit lot was validated with for that limit, else against the end of guarded acceptance. Points of a
/// field are of places and conclude nothing of it.
/// @throws models::Error  the season, or the grain that is asked for, has no test; with own_duplicates: the store has
/// none, or as variance_components
ResultsView results_of_season(const SeasonData& data, const ResultsSettings& settings);

/// The same rows one by one, in the order of the store's tests, none of them kept: a row takes over a kilobyte, and a
/// season may have many thousands. Of a season without a test nothing is told.
void each_result_of_season(const SeasonData& data, const ResultsSettings& settings,
                           const std::function<void(const ResultRow&)>& tell);

}  // namespace app
