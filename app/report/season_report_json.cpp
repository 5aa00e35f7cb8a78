#include "app/report/season_report_json.h"

#include <nlohmann/json.hpp>

#include "app/cautions.h"
#include "geo/tables/words.h"

namespace app::report {

namespace season_json {

using Json = nlohmann::ordered_json;

template <typename T>
Json or_null(const std::optional<T>& value) {
    return value ? Json(*value) : Json(nullptr);
}

Json limit_of(const SeasonReport& report) {
    if (report.limit.empty()) return nullptr;
    return {{"words", report.limit},
            {"source", report.limit_source},
            {"confirmed", report.limit_confirmed},
            {"limit_mg_per_kg", or_null(report.limit_mg_per_kg)},
            {"basis", geo::words::word(report.basis)}};
}

Json row_of(const FieldRow& field) {
    return {{"field", field.name},
            {"grower", field.grower},
            {"cultivar", field.cultivar},
            {"area_ha", or_null(field.area_ha)},
            {"flowering", field.flowering},
            {"disease_risk", or_null(field.risk)},
            {"disease_risk_low", or_null(field.risk_low)},
            {"disease_risk_high", or_null(field.risk_high)},
            {"disease_risk_kind", field.risk_is_index ? "index" : "probability"},
            {"disease_risk_note", field.risk_note},
            {"tests", field.tests},
            {"median_mg_per_kg", or_null(field.median_mg_per_kg)},
            {"mean_mg_per_kg", or_null(field.mean_mg_per_kg)},
            {"low90_mg_per_kg", or_null(field.low90_mg_per_kg)},
            {"high90_mg_per_kg", or_null(field.high90_mg_per_kg)},
            {"exceedance", or_null(field.exceedance)},
            {"note", field.note}};
}

Json row_of(const TestRow& test) {
    const bool is_void = test.reading == models::Reading::invalid;
    return {{"test", test.test},
            {"time", test.time},
            {"sample", test.sample},
            {"stage", geo::words::word(test.stage)},
            {"of", test.of},
            {"reading", geo::words::word(test.reading)},
            {"don_mg_per_kg", is_void ? Json(nullptr) : Json(test.don_mg_per_kg)},
            {"method", geo::words::word(test.method)},
            {"basis", geo::words::word(test.basis)},
            {"standard_uncertainty_mg_per_kg", or_null(test.standard_uncertainty_mg_per_kg)},
            {"kit_lot", test.kit_lot},
            {"chosen_because", test.chosen_because},
            {"over_limit", or_null(test.over_limit)},
            {"corrected", test.corrected},
            {"note", test.note}};
}

Json row_of(const LoadRow& load) {
    return {{"load", load.load},
            {"time", load.time},
            {"truck", load.truck},
            {"from", load.from},
            {"mass_t", or_null(load.mass_t)},
            {"median_mg_per_kg", or_null(load.median_mg_per_kg)},
            {"low90_mg_per_kg", or_null(load.low90_mg_per_kg)},
            {"high90_mg_per_kg", or_null(load.high90_mg_per_kg)},
            {"exceedance", or_null(load.exceedance)},
            {"state", load.state ? Json(models::in_words(*load.state)) : Json(nullptr)},
            {"reason", load.reason},
            {"bin", load.bin},
            {"is_there", load.is_there},
            {"waits", load.waits}};
}

Json row_of(const BinRow& bin) {
    return {{"bin", bin.bin},
            {"purpose", geo::words::word(bin.purpose)},
            {"limit", bin.limit},
            {"content_t", bin.content_t},
            {"capacity_t", bin.capacity_t},
            {"holds", bin.holds},
            {"mean_mg_per_kg", or_null(bin.mean_mg_per_kg)},
            {"low90_mg_per_kg", or_null(bin.low90_mg_per_kg)},
            {"high90_mg_per_kg", or_null(bin.high90_mg_per_kg)},
            {"exceedance", or_null(bin.exceedance)},
            {"rejection_probability", or_null(bin.rejection_probability)},
            {"note", bin.note}};
}

template <typename Row>
Json rows_of(const std::vector<Row>& rows) {
    Json out = Json::array();
    for (const Row& row : rows) out.push_back(row_of(row));
    return out;
}

Json chain_of(const std::optional<Chain>& chain) {
    if (!chain) return nullptr;
    return {{"records", chain->records},
            {"last_sha256", chain->last_hash},
            {"unbroken", chain->unbroken},
            {"detail", chain->detail}};
}

Json cautions_of(const SeasonReport& report) {
    Json out = {spoken(caution::screening), spoken(caution::only_don), spoken(caution::risk_is_not_don),
                spoken(caution::risk_is_no_advice_to_spray), spoken(caution::at_work)};
    if (!report.loads.empty()) out.insert(out.end(), {spoken(caution::no_thinning), spoken(caution::wet_on_hold)});
    for (const BinRow& bin : report.bins) {
        if (bin.purpose != models::Purpose::feed) continue;
        out.push_back(spoken(caution::feed));
        break;
    }
    return out;
}

}  // namespace season_json

std::string season_report_json(const SeasonReport& report, const std::vector<std::string>& files) {
    using namespace season_json;
    Json out;
    out["season"] = report.season;
    out["store"] = report.store;
    out["program"] = report.program;
    out["limit"] = limit_of(report);
    out["hindsight"] = report.hindsight;
    out["ranking_only"] = report.ranking_only;
    out["load_cap"] = report.load_cap;
    out["disease_risk"] = {{"model", report.risk_model},
                           {"source", report.risk_source},
                           {"holds_for", report.risk_holds_for},
                           {"extrapolated", report.extrapolated}};
    out["structure_sentence"] = report.structure;
    out["what_next"] = report.what_next;
    out["notes"] = report.notes;
    out["fields"] = rows_of(report.fields);
    out["tests"] = rows_of(report.tests);
    out["controls_outside"] = report.controls_outside;
    out["loads"] = rows_of(report.loads);
    out["bins"] = rows_of(report.bins);
    out["chain"] = chain_of(report.chain);
    out["cautions"] = cautions_of(report);
    out["figures"] = Json::array();
    for (const Figure& figure : report.figures) out["figures"].push_back(figure.title);
    out["files"] = files;
    return out.dump(2);
}

}  // namespace app::report
