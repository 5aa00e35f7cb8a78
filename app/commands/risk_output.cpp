#include "app/commands/risk_output.h"

#include <cmath>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/cautions.h"
#include "app/drawing/numbers.h"
#include "models/counted.h"
#include "models/phenology/flowering_record.h"

namespace app::commands {

namespace {

using Json = nlohmann::ordered_json;

template <typename T>
Json known_or_null(const std::optional<T>& value) {
    return value ? Json(*value) : Json(nullptr);
}

Json text_or_null(const std::string& text) {
    return text.empty() ? Json(nullptr) : Json(text);
}

Json day_or_null(const std::optional<models::LocalDay>& day) {
    return day ? Json(models::to_text(*day)) : Json(nullptr);
}

Json json_basis(models::DateBasis basis) {
    switch (basis) {
        case models::DateBasis::heading:
            return "heading";
        case models::DateBasis::flowering:
            return "flowering";
        case models::DateBasis::sowing:
            return "sowing";
        case models::DateBasis::observed:
        case models::DateBasis::estimated_by_hand:
        case models::DateBasis::none:
            break;
    }
    return text_or_null(models::in_words(basis));
}

/// Of a logit, by name; null of a content, whose equation is no sum of terms.
Json json_coefficients(const std::vector<models::Coefficient>& coefficients) {
    Json out = coefficients.empty() ? Json(nullptr) : Json::object();
    for (const models::Coefficient& of : coefficients) out[of.name] = of.value;
    return out;
}

/// The day that the number counts from, with a share for each day that it may be.
Json json_of(const models::DayZeroDate& date) {
    Json out;
    out["basis"] = json_basis(date.basis);
    out["most_likely"] = day_or_null(date.most_likely);
    out["sd_days"] = date.most_likely ? Json(date.sd_days) : Json(nullptr);
    out["method"] = text_or_null(date.method);
    out["averaged_over"] = date.averaged();
    out["unconfirmed"] = date.unconfirmed;
    out["extrapolated"] = date.extrapolated;
    out["days"] = Json::array();
    for (std::size_t i = 0; i < date.days.chance.size(); ++i) {
        out["days"].push_back({{"date", models::to_text(date.days.day(i))}, {"share", date.days.chance[i]}});
    }
    return out;
}

std::string doubtful_day(const std::optional<models::LocalDay>& day, models::DateBasis basis, double sd_days,
                         bool unconfirmed, int season) {
    std::string text = day_in_season(day, season);
    if (!day || basis == models::DateBasis::observed || sd_days <= 0.0) return text;
    text += fmt::format(" ±{:.0f} d, {}", sd_days, models::in_words(basis));
    return unconfirmed ? text + ", unconfirmed" : text;
}

}  // namespace

RowNote note_of_passed_over(const std::string& passed_over) {
    // "Umbrath, 0.6 km, passed over: 144 hours missing"
    const std::size_t said = passed_over.rfind(", passed over: ");
    const std::size_t distance = said == std::string::npos ? said : passed_over.rfind(", ", said - 1);
    if (distance == std::string::npos) return {passed_over, ""};
    return {passed_over.substr(0, distance) + passed_over.substr(said + 1),
            passed_over.substr(distance + 2, said - distance - 2)};
}

std::string source_name(const FieldRisk& entry) {
    if (entry.places <= 1) return entry.station;
    return models::counted(entry.places, entry.source == models::WeatherSource::grid ? "grid cell" : "station");
}

Json json_of(const RiskSettings& how) {
    Json out;
    out["as_of"] = day_or_null(how.as_of);
    out["weather_by"] = std::string(models::name_of(how.weather.way));
    return out;
}

std::string how_in_words(const RiskSettings& how) {
    std::string text;
    if (how.as_of) text += ", as of " + models::to_text(*how.as_of);
    if (how.weather.way != models::WeatherWay::nearest)
        text += fmt::format(", weather by {}", models::name_of(how.weather.way));
    return text;
}

std::string risk_text(models::RiskKind kind, const std::optional<double>& value) {
    if (!value) return "–";
    switch (kind) {
        case models::RiskKind::probability:
            return drawing::percent_text(*value);
        case models::RiskKind::index:
            return fmt::format("{:.2f}", *value);
        case models::RiskKind::content:
            break;
    }
    if (*value < 0.005) return "under 0.01 mg/kg";
    return fmt::format("{:.2f} mg/kg", *value);
}

const char* meaning_of(models::RiskKind kind) {
    switch (kind) {
        case models::RiskKind::probability:
            return spoken(caution::risk_is_not_don);
        case models::RiskKind::index:
            return spoken(caution::index_is_no_chance);
        case models::RiskKind::content:
            break;
    }
    return spoken(caution::content_is_unconfirmed);
}

void join_sentence(std::string& sentences, const std::string& next) {
    if (next.empty()) return;
    sentences += (sentences.empty() ? "" : "; ") + next;
}

std::string day_in_season(const std::optional<models::LocalDay>& day, int season) {
    if (!day) return "–";
    return models::year_of(*day) == season ? models::to_short_text(*day) : models::to_text(*day);
}

std::string flowering_in_season(const FloweringDay& flowering, int season) {
    return doubtful_day(flowering.day, flowering.basis, flowering.sd_days, flowering.unconfirmed, season);
}

std::string flowering_in_short(const FloweringDay& flowering, int season) {
    std::string text = day_in_season(flowering.day, season);
    if (!flowering.day || flowering.basis == models::DateBasis::observed || flowering.sd_days <= 0.0) return text;
    text += fmt::format(" ±{:.0f} d", flowering.sd_days);
    return flowering.unconfirmed ? text + ", unconfirmed" : text;
}

std::string day_zero_in_season(const models::DayZeroDate& date, int season) {
    return doubtful_day(date.most_likely, date.basis, date.sd_days, date.unconfirmed, season);
}

Json json_of(const models::DiseaseModel& model) {
    Json out;
    out["model"] = model.name;
    out["model_title"] = model.title;
    out["model_label"] = model.label;
    out["unconfirmed"] = model.unconfirmed;
    out["kind"] = models::in_words(model.kind);
    out["unit"] = model.kind == models::RiskKind::content ? Json("mg/kg") : Json(nullptr);
    out["source"] = model.source;
    out["region"] = model.region.words;
    out["needs"] = models::weather_in_words(model);
    out["weather"] = Json::array();
    for (const models::WeatherTerm& term : model.weather) {
        out["weather"].push_back({{"name", term.name},
                                  {"title", term.title},
                                  {"unit", term.unit},
                                  {"from_day", term.from_day},
                                  {"to_day", term.to_day},
                                  {"data_low", term.data_low},
                                  {"data_high", std::isfinite(term.data_high) ? Json(term.data_high) : Json(nullptr)}});
    }
    out["uses_resistance_and_residue"] = model.uses_agronomy;
    out["coefficients"] = json_coefficients(model.coefficients);
    out["skill"] = {{"auc", known_or_null(model.skill.auc)},
                    {"brier", known_or_null(model.skill.brier)},
                    {"brier_without_model", known_or_null(model.skill.brier_without_model)},
                    {"fields", model.skill.fields},
                    {"how", model.skill.how},
                    {"other", text_or_null(model.skill.other)},
                    {"caution", text_or_null(model.skill.caution)}};
    out["meaning"] = meaning_of(model.kind);
    return out;
}

Json json_of_ground(const models::CropRecord& given, const std::optional<models::LocalDay>& as_of) {
    const models::CropRecord crop = models::as_known(given, as_of);
    Json out;
    out["field"] = ground_name(crop.field, crop.part);
    out["flowering_date"] = day_or_null(models::flowering_day(crop));
    out["heading_date"] = day_or_null(crop.heading_date);
    return out;
}

Json json_of(const FieldRisk& entry) {
    const models::DiseaseRisk& risk = entry.risk;
    Json row;
    row["kind"] = models::in_words(risk.kind);
    row["value"] = known_or_null(risk.value);
    row["low"] = known_or_null(risk.low);
    row["high"] = known_or_null(risk.high);
    row["missing_hours_low"] = known_or_null(risk.missing_hours.low);
    row["missing_hours_high"] = known_or_null(risk.missing_hours.high);
    row["flowering_date_low"] = known_or_null(risk.flowering_date.low);
    row["flowering_date_high"] = known_or_null(risk.flowering_date.high);
    row["sd_over_dates"] = known_or_null(risk.sd_over_dates);
    row["dates_covered"] = risk.dates_covered;
    row["low_to_high_leaves_out"] = "error of the model's coefficients";
    row["unconfirmed"] = risk.unconfirmed;
    row["coverage"] = risk.coverage;
    row[risk.date.of == models::DayZero::heading ? "heading" : "flowering"] = json_of(risk.date);
    row["weather_source"] = entry.station.empty() ? Json(nullptr) : Json(source_name(entry));
    row["weather_distance_m"] = entry.station.empty() ? Json(nullptr) : Json(std::round(entry.station_distance_m));
    row["weather_places"] = entry.station.empty() ? 0 : entry.places;
    row["forecast_hours"] = entry.forecast;
    row["terms"] = Json::array();
    for (const models::TermValue& term : risk.terms) {
        row["terms"].push_back({{"name", term.name},
                                {"unit", term.unit},
                                {"from", models::to_text(term.window.first)},
                                {"to", models::to_text(term.window.last)},
                                {"value", known_or_null(term.weather.value)},
                                {"low", known_or_null(term.weather.lower)},
                                {"high", known_or_null(term.weather.upper)},
                                {"coverage", term.weather.coverage.share()},
                                {"hours_missing", term.weather.coverage.hours_missing()}});
    }
    row["weather_passed_over"] = entry.passed_over;
    row["extrapolated"] = risk.extrapolated;
    row["outside"] = risk.outside;
    row["missing"] = risk.missing;
    row["notes"] = risk.notes;
    return row;
}

}  // namespace app::commands
