#include <algorithm>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/commands/review_output.h"
#include "app/commands/season_options.h"
#include "models/words.h"

namespace app::commands {

namespace {

using ReviewJson = nlohmann::ordered_json;

template <typename T>
ReviewJson told_or_null(const std::optional<T>& value) {
    return value ? ReviewJson(*value) : ReviewJson(nullptr);
}

ReviewJson local_day_or_null(const std::optional<models::LocalDay>& day) {
    return day ? ReviewJson(models::to_text(*day)) : ReviewJson(nullptr);
}

ReviewJson json_of_table(const std::vector<models::ReliabilityRow>& rows) {
    ReviewJson table = ReviewJson::array();
    for (const models::ReliabilityRow& row : rows)
        table.push_back({{"predicted", row.predicted}, {"observed", row.observed}, {"n", row.n}});
    return table;
}

/// brier, reliability, resolution, uncertainty, within_groups, table: null and empty where there is none.
void put_brier(ReviewJson& out, const std::optional<models::BrierParts>& brier) {
    out["brier"] = brier ? ReviewJson(brier->brier) : ReviewJson(nullptr);
    out["reliability"] = brier ? ReviewJson(brier->reliability) : ReviewJson(nullptr);
    out["resolution"] = brier ? ReviewJson(brier->resolution) : ReviewJson(nullptr);
    out["uncertainty"] = brier ? ReviewJson(brier->uncertainty) : ReviewJson(nullptr);
    out["within_groups"] = brier ? ReviewJson(brier->within) : ReviewJson(nullptr);
    out["table"] = brier ? json_of_table(brier->table) : ReviewJson::array();
}

ReviewJson json_of_over(const models::OverSeasons& over) {
    ReviewJson without = ReviewJson::array();
    for (const models::OverSeasons::LeftOut& left : over.without)
        without.push_back({{"season", left.season}, {"value", told_or_null(left.value)}});
    return {{"value", told_or_null(over.value)},
            {"standard_error", told_or_null(over.standard_error)},
            {"low95", told_or_null(over.low95)},
            {"high95", told_or_null(over.high95)},
            {"not_told", over.not_told.empty() ? ReviewJson(nullptr) : ReviewJson(over.not_told)},
            {"without", std::move(without)}};
}

ReviewJson json_of_local(const std::optional<models::LocalCalibration>& local) {
    if (!local) return nullptr;
    ReviewJson without = ReviewJson::array();
    for (const models::LocalCalibration::LeftOut& left : local->without) {
        without.push_back({{"season", left.season},
                           {"n", left.n},
                           {"intercept", left.intercept},
                           {"slope", left.slope},
                           {"brier_published", left.brier_published},
                           {"brier_local", left.brier_local}});
    }
    return {{"offered", local->offered},
            {"reason", local->reason},
            {"intercept", local->intercept},
            {"slope", local->slope},
            {"prior",
             {{"intercept_sd", models::CalibrationPrior{}.intercept_sd},
              {"slope_sd", models::CalibrationPrior{}.slope_sd}}},
            {"brier_published", local->brier_published},
            {"brier_local", local->brier_local},
            {"gain_standard_error", told_or_null(local->gain_standard_error)},
            {"without", std::move(without)}};
}

void put_rank(ReviewJson& out, const std::optional<models::RankSkill>& rank) {
    out["auc"] = rank ? ReviewJson(rank->auc) : ReviewJson(nullptr);
    out["auc_low"] = rank ? ReviewJson(rank->low95) : ReviewJson(nullptr);
    out["auc_high"] = rank ? ReviewJson(rank->high95) : ReviewJson(nullptr);
}

ReviewJson json_of_don(const ModelReview& one) {
    ReviewJson out;
    out["n"] = one.don_cases.happened.size();
    out["over"] = std::count(one.don_cases.happened.begin(), one.don_cases.happened.end(), true);
    put_rank(out, one.don_rank);
    out["auc_within_seasons"] = told_or_null(one.don_auc_within_seasons);
    out["auc_over_seasons"] = json_of_over(one.don_auc_over_seasons);
    return out;
}

ReviewJson json_of_class(const ForecastClass& of) {
    ReviewJson out;
    out["own_results_known"] = of.own_results_known;
    out["made_afterwards"] = of.made_afterwards;
    out["n"] = of.cases.happened.size();
    put_brier(out, of.brier);
    out["parts_tell"] = of.cases.happened.size() >= least_cases_for_parts;
    out["brier_as_read"] = of.brier_as_read ? ReviewJson(of.brier_as_read->brier) : ReviewJson(nullptr);
    out["skill"] = told_or_null(of.skill);
    out["skill_over_seasons"] = json_of_over(of.skill_over_seasons);
    out["seasons"] = ReviewJson::array();
    for (const ForecastSeason& row : of.seasons) {
        out["seasons"].push_back(
            {{"season", row.season},
             {"n", row.n},
             {"over", row.over},
             {"mean_exceedance", row.n > 0 ? ReviewJson(row.mean_exceedance) : ReviewJson(nullptr)},
             {"brier", told_or_null(row.brier)},
             {"intervals", row.intervals},
             {"inside90", row.inside},
             {"intervals_with_error", row.intervals_with_error},
             {"inside90_with_error", row.inside_with_error}});
    }
    out["fields"] = ReviewJson::array();
    for (const ForecastCheck& check : of.checks) {
        const char* sign = check.reading == models::Reading::below   ? "below"
                           : check.reading == models::Reading::above ? "above"
                                                                     : "value";
        out["fields"].push_back({{"season", check.forecast.season},
                                 {"field", check.forecast.field},
                                 {"part", check.forecast.part},
                                 {"made", models::to_text(check.forecast.made)},
                                 {"as_of", local_day_or_null(check.forecast.as_of)},
                                 {"results_known", check.forecast.results_known},
                                 {"exceedance", told_or_null(check.forecast.exceedance)},
                                 {"median_mg_per_kg", told_or_null(check.forecast.median_mg_per_kg)},
                                 {"low90_mg_per_kg", told_or_null(check.forecast.low90_mg_per_kg)},
                                 {"high90_mg_per_kg", told_or_null(check.forecast.high90_mg_per_kg)},
                                 {"test", check.result.test},
                                 {"time", models::to_text(check.result.time)},
                                 {"reading", sign},
                                 {"don_mg_per_kg", check.don_mg_per_kg},
                                 {"over", told_or_null(check.over)},
                                 {"chance_read_over", told_or_null(check.chance_read_over)},
                                 {"inside90", told_or_null(check.inside)},
                                 {"inside90_with_error", told_or_null(check.inside_with_error)}});
    }
    return out;
}

}  // namespace

void print_review_json(const SeasonsReviewed& review, const models::DiseaseModel& model,
                       const std::vector<std::string>& files) {
    const ModelReview& one = review.risks.of(model);
    ReviewJson out;
    out["seasons"] = review.risks.seasons;
    out["model"] = model.name;
    out["kind"] = models::in_words(model.kind);
    out["limit_mg_per_kg"] = review.limit ? ReviewJson(review.limit->limit_mg_per_kg) : ReviewJson(nullptr);
    out["n"] = one.cases.happened.size();
    out["diseased"] = std::count(one.cases.happened.begin(), one.cases.happened.end(), true);
    put_rank(out, one.rank);
    out["auc_within_seasons"] = told_or_null(one.auc_within_seasons);
    out["auc_over_seasons"] = json_of_over(one.auc_over_seasons);
    put_brier(out, one.brier);
    out["parts_tell"] = one.brier && one.cases.happened.size() >= least_cases_for_parts;
    out["brier_over_seasons"] = json_of_over(one.brier_over_seasons);
    out["skill"] = told_or_null(one.skill);
    out["skill_over_seasons"] = json_of_over(one.skill_over_seasons);
    out["by_season"] = ReviewJson::array();
    for (const models::SeasonTally& tally : one.tallies) {
        out["by_season"].push_back({{"season", tally.season},
                                    {"n", tally.n},
                                    {"diseased", tally.events},
                                    {"mean_predicted", tally.mean_predicted},
                                    {"auc", told_or_null(tally.auc)},
                                    {"brier", one.brier ? told_or_null(tally.brier) : ReviewJson(nullptr)}});
    }
    out["local_calibration"] = json_of_local(one.local);
    out["scouting"] = {{"visits", review.risks.scouting.visits},
                       {"fields", review.risks.scouting.found.size()},
                       {"diseased_from_severity_pct", diseased_from_severity_pct},
                       {"notes", review.risks.scouting.notes}};
    out["don"] = json_of_don(one);
    out["don"]["notes"] = review.risks.don_notes;
    out["models"] = ReviewJson::array();
    for (const ModelReview& each : review.risks.models) {
        ReviewJson row;
        row["model"] = each.model->name;
        row["kind"] = models::in_words(each.model->kind);
        row["unconfirmed"] = each.model->unconfirmed;
        row["n"] = each.cases.happened.size();
        put_rank(row, each.rank);
        row["auc_within_seasons"] = told_or_null(each.auc_within_seasons);
        row["auc_over_seasons"] = json_of_over(each.auc_over_seasons);
        row["brier"] = each.brier ? ReviewJson(each.brier->brier) : ReviewJson(nullptr);
        row["skill"] = told_or_null(each.skill);
        row["don_n"] = each.don_cases.happened.size();
        row["don_auc"] = each.don_rank ? ReviewJson(each.don_rank->auc) : ReviewJson(nullptr);
        row["don_auc_over_seasons"] = json_of_over(each.don_auc_over_seasons);
        out["models"].push_back(std::move(row));
    }
    out["models_know_same_fields"] = review.risks.same_fields;
    out["forecasts"] = {{"kept", review.forecasts.kept},
                        {"made_afterwards", review.forecasts.afterwards},
                        {"of_other_limits", review.forecasts.of_other_limits},
                        {"followed", review.forecasts.followed},
                        {"classes", ReviewJson::array()}};
    for (const ForecastClass& of : review.forecasts.classes) out["forecasts"]["classes"].push_back(json_of_class(of));
    out["strips"] = ReviewJson::array();
    for (const SeasonOfStrips& of : review.strips) {
        out["strips"].push_back({{"season", of.season},
                                 {"strips", of.strips},
                                 {"laboratory", of.laboratory},
                                 {"void", of.voids},
                                 {"controls", of.controls},
                                 {"samples", of.samples},
                                 {"money", told_or_null(of.money)},
                                 {"fields_compared", of.fields},
                                 {"came_within_cap", of.to_within},
                                 {"came_within_cap_t", of.to_within_t},
                                 {"left_cap", of.to_beyond},
                                 {"left_cap_t", of.to_beyond_t},
                                 {"tonnes_assumed", of.tonnes_assumed}});
    }
    out["load_cap"] = models::ClearingCaps{}.load_cap;
    out["files"] = files;
    print(out.dump(2));
}

void print_history_json(const FieldHistory& history, const std::optional<models::Limit>& limit) {
    ReviewJson out;
    out["field"] = history.field;
    out["name"] = history.name;
    out["grower"] = history.grower;
    out["area_ha"] = told_or_null(history.area_ha);
    out["model"] = history.model;
    out["kind"] = models::in_words(history.kind);
    out["results_known_up_to"] = history.known_up_to;
    out["limit_mg_per_kg"] = limit ? ReviewJson(limit->limit_mg_per_kg) : ReviewJson(nullptr);
    out["seasons"] = ReviewJson::array();
    for (const FieldYear& year : history.years) {
        const auto of_content = [&](double models::Content::*part) {
            return year.content ? ReviewJson((*year.content).*part) : ReviewJson(nullptr);
        };
        out["seasons"].push_back({{"season", year.season},
                                  {"part", year.part},
                                  {"crop", models::in_words(year.crop)},
                                  {"cultivar", year.cultivar},
                                  {"flowering_day", local_day_or_null(year.flowering)},
                                  {"flowering_observed", year.flowering_observed},
                                  {"risk", told_or_null(year.risk)},
                                  {"risk_low", told_or_null(year.risk_low)},
                                  {"risk_high", told_or_null(year.risk_high)},
                                  {"median_mg_per_kg", of_content(&models::Content::median)},
                                  {"low90_mg_per_kg", of_content(&models::Content::low90)},
                                  {"high90_mg_per_kg", of_content(&models::Content::high90)},
                                  {"exceedance", told_or_null(year.exceedance)},
                                  {"tests", year.tests},
                                  {"load_tests", year.load_tests},
                                  {"severity_pct", told_or_null(year.severity_pct)},
                                  {"scouted_day", local_day_or_null(year.scouted)}});
    }
    print(out.dump(2));
}

}  // namespace app::commands
