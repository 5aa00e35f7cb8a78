#include "app/stages/forecast_stage.h"

#include <algorithm>

#include "models/error.h"

namespace app {

std::vector<geo::KeptForecast> forecasts_of(const SeasonView& view, bool hindsight) {
    if (hindsight)
        throw models::Error("with hindsight nothing is foretold", "--keep", "leave out --hindsight to keep a forecast");
    if (!view.limit) throw models::Error("a forecast is of a limit", "--keep", "name one with --limit");
    // A number that was typed has its digits for a name.
    const bool has_limit =
        std::any_of(view.data.limits.begin(), view.data.limits.end(),
                    [&](const models::Limit& limit) { return limit.limit_id == view.limit->limit_id; });
    std::vector<geo::KeptForecast> forecasts;
    for (const FieldView& field : view.fields) {
        if (!field.content || !field.exceedance) continue;
        const models::CropRecord& crop = view.data.crops[field.crop];
        geo::KeptForecast one;
        one.season = view.season;
        one.field = crop.field;
        one.part = crop.part;
        one.limit_mg_per_kg = view.limit->limit_mg_per_kg;
        one.basis = view.limit->basis;
        if (has_limit) one.limit_id = view.limit->limit_id;
        one.as_of = view.how.as_of;
        one.exceedance = field.exceedance;
        one.median_mg_per_kg = field.content->median;
        one.low90_mg_per_kg = field.content->low90;
        one.high90_mg_per_kg = field.content->high90;
        one.results_known = field.tests + field.load_tests;
        one.model = view.how.model.empty() ? "default disease model" : "disease model " + view.how.model;
        forecasts.push_back(std::move(one));
    }
    return forecasts;
}

}  // namespace app
