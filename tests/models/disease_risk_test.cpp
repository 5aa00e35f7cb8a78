#include "models/disease/disease_risk.h"

#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include "models/disease/catalogue.h"
#include "tests/support/made_weather.h"
#include "tests/support/shared_data.h"

using namespace models;
using Catch::Matchers::Contains;
using tests::forget_hour;
using tests::made_hours;

namespace {

const LocalDay flowering = day_of(2026, 6, 15);
const LocalDay risk_season_start = flowering - std::chrono::days(30);

CropRecord wheat() {
    CropRecord crop;
    crop.field = "Long Acre";
    crop.season = 2026;
    crop.crop = Crop::wheat;
    crop.wheat_type = WheatType::winter;
    crop.resistance = Resistance::susceptible;
    crop.previous_crop = "maize";
    crop.residue = Residue::heavy;
    crop.flowering_date = flowering;
    return crop;
}

/// Air that is always `depression` degC from saturation.
HourlySeries steady(double depression, int days = 61) {
    return made_hours(risk_season_start, days, [=](int, int hour) {
        const double temperature = 16.0 + (hour == 15 ? 1.0 : 0.0);
        return HourlyWeather{temperature, HourlySeries::missing, temperature - depression, 0.0};
    });
}

HourlySeries changing() {
    return made_hours(risk_season_start, 61, [](int day, int hour) {
        const double swing = std::sin(0.2617993877991494 * (hour - 9));
        const double humidity = 78.0 - 16.0 * swing + 4.0 * std::sin(0.4 * day);
        return HourlyWeather{17.0 + 6.0 * swing, humidity, HourlySeries::missing,
                             hour == 4 && day % 3 == 0 ? 3.0 : 0.0};
    });
}

bool has(const std::vector<std::string>& sentences, const std::string& words) {
    return std::any_of(sentences.begin(), sentences.end(),
                       [&](const std::string& sentence) { return sentence.find(words) != std::string::npos; });
}

}  // namespace

TEST_CASE("a field's disease risk is the model at the weather of its own days") {
    const StationDays days(steady(5.0));
    const DiseaseRisk risk = disease_risk(default_model(), wheat(), &days);
    REQUIRE(risk.value.has_value());
    CHECK(*risk.value ==
          Approx(0.541100).margin(5e-7).epsilon(0.0));  // the fit's own value at 5 degC, susceptible, after maize
    CHECK(risk.field == "Long Acre");
    CHECK(risk.season == 2026);
    CHECK(risk.model == "dew-point-depression");
    CHECK(risk.coverage == 1.0);
    CHECK(*risk.logit == Approx(std::log(*risk.value / (1.0 - *risk.value))));
    CHECK(risk.missing.empty());
    CHECK(risk.notes.empty());
    CHECK_FALSE(risk.extrapolated);
    REQUIRE(risk.terms.size() == 1);
    CHECK(*risk.terms[0].weather.value == Approx(5.0));
    CHECK(risk.terms[0].window.first == flowering - std::chrono::days(10));
    CHECK(risk.terms[0].window.last == flowering + std::chrono::days(10));
    // The weather is the same every day: no date and no hour could change it.
    CHECK(*risk.low == Approx(*risk.value));
    CHECK(*risk.high == Approx(*risk.value));
    REQUIRE(risk.by_date.size() == 7);
    CHECK(risk.by_date.front().days_later == -3);
    CHECK(risk.by_date.back().days_later == 3);
}

TEST_CASE("the spread over the flowering date is the model at the other dates") {
    const StationDays days(changing());
    const DiseaseRisk risk = disease_risk(default_model(), wheat(), &days);
    double low = 1.0, high = 0.0;
    for (const RiskAtDate& at : risk.by_date) {
        CropRecord moved = wheat();
        moved.flowering_date = flowering + std::chrono::days(at.days_later);
        CHECK(disease_risk(default_model(), moved, &days).value == at.value);
        low = std::min(low, *at.value);
        high = std::max(high, *at.value);
    }
    CHECK(high > low);
    CHECK(risk.flowering_date.low == low);
    CHECK(risk.flowering_date.high == high);
    CHECK(risk.low == low);
    CHECK(risk.high == high);
    CHECK(risk.missing_hours.low == risk.value);
    CHECK(risk.missing_hours.high == risk.value);
}

TEST_CASE("missing hours widen the spread and are named") {
    HourlySeries series = changing();
    for (int hour = 0; hour < 20; ++hour) forget_hour(series, static_cast<std::size_t>(30 * 24 + 13 * hour));
    const StationDays days(series);
    for (const DiseaseModel& model : disease_models()) {
        INFO(model.name);
        // Of these days every one is humid whatever its missing hour was, and one model asks for no hour.
        if (model.name == "humid-days" || model.weather.empty()) continue;
        const DiseaseRisk risk = disease_risk(model, wheat(), &days);
        CHECK(risk.coverage < 1.0);
        CHECK(*risk.missing_hours.low <= *risk.missing_hours.high);
        CHECK(*risk.low <= *risk.missing_hours.low);
        CHECK(*risk.high >= *risk.missing_hours.high);
        if (model.last_day() > 0) CHECK(*risk.missing_hours.low < *risk.missing_hours.high);
        if (model.last_day() > 0) CHECK(has(risk.missing, "hours are missing"));
    }
}

TEST_CASE("no weather at all gives no disease risk and never the intercept") {
    HourlySeries nothing = changing();
    for (std::size_t i = 0; i < nothing.size(); ++i) forget_hour(nothing, i);
    const StationDays empty(nothing), none;
    for (const DiseaseModel& model : disease_models(true)) {
        if (model.weather.empty()) continue;
        for (const StationDays* days : {static_cast<const StationDays*>(nullptr), &none, &empty}) {
            INFO(model.name);
            CropRecord crop = wheat();
            crop.heading_date = flowering - std::chrono::days(5);
            const DiseaseRisk risk = disease_risk(model, crop, days);
            CHECK_FALSE(risk.value.has_value());
            CHECK_FALSE(risk.low.has_value());
            CHECK_FALSE(risk.high.has_value());
            CHECK_FALSE(risk.logit.has_value());
            CHECK_FALSE(risk.missing_hours.low.has_value());
            CHECK_FALSE(risk.flowering_date.high.has_value());
            CHECK(risk.coverage == 0.0);
            CHECK_FALSE(risk.missing.empty());
        }
    }
}

TEST_CASE("as of a day in the season the weather after it counts as missing") {
    const StationDays days(changing());
    RiskOptions options;
    options.as_of = flowering;
    const DiseaseRisk around = disease_risk(find_model("dew-point-depression"), wheat(), &days, options);
    CHECK_FALSE(around.value.has_value());
    REQUIRE(around.low.has_value());  // 11 of 21 days are known
    CHECK(*around.low < *around.high);
    CHECK(has(around.missing, "240 of 504 hours are missing"));
    CHECK(has(around.missing, "for a value 90 % of all hours"));
    const DiseaseRisk all = disease_risk(find_model("dew-point-depression"), wheat(), &days);
    CHECK(*around.low < *all.value);
    CHECK(*around.high > *all.value);

    const DiseaseRisk before = disease_risk(find_model("humidity-before-flowering"), wheat(), &days, options);
    REQUIRE(before.value.has_value());
    CHECK(before.value == disease_risk(find_model("humidity-before-flowering"), wheat(), &days).value);
    CHECK(has(before.notes, "does not reach as far as"));

    options.as_of = flowering - std::chrono::days(40);
    CHECK_FALSE(disease_risk(find_model("warm-wet-hours"), wheat(), &days, options).low.has_value());
}

TEST_CASE("what the crop record does not say widens the answer and is named") {
    const StationDays days(steady(5.0));
    CropRecord crop = wheat();
    crop.resistance.reset();
    const DiseaseRisk risk = disease_risk(default_model(), crop, &days);
    CHECK(*risk.value == Approx(0.541100).margin(5e-7).epsilon(0.0));  // as susceptible
    CHECK(has(risk.notes, "taken as susceptible"));
    CHECK(has(risk.missing, "resistance"));
    crop.resistance = Resistance::moderately_resistant;
    CHECK(risk.low == disease_risk(default_model(), crop, &days).value);
    CHECK(risk.unknown_agronomy.low == risk.low);
    crop.resistance = Resistance::very_susceptible;
    CHECK(risk.high == disease_risk(default_model(), crop, &days).value);

    CropRecord silent;
    silent.flowering_date = flowering;
    const DiseaseRisk nothing_said = disease_risk(default_model(), silent, &days);
    CHECK(*nothing_said.low <= *risk.low);
    CHECK(*nothing_said.high >= *risk.high);
    CHECK(nothing_said.missing.size() == 3);
    CHECK(has(nothing_said.notes, "taken as winter wheat"));
    CHECK(has(nothing_said.notes, "taken as without maize residue"));
    // The published equation asks for none of this.
    CHECK(disease_risk(find_model("night-warmth-and-rain"), silent, &days).missing.empty());
}

TEST_CASE("maize residue is the previous maize whose residue is not said to be none") {
    const StationDays days(steady(5.0));
    const auto value = [&](const char* previous, std::optional<Residue> residue) {
        CropRecord crop = wheat();
        crop.previous_crop = previous;
        crop.residue = residue;
        return *disease_risk(default_model(), crop, &days).value;
    };
    const double with = value("maize", Residue::heavy), without = value("barley", Residue::heavy);
    CHECK(with > without);
    CHECK(value("Maize", Residue::some) == with);
    CHECK(value("silage maize", Residue::some) == with);
    CHECK(value("corn", Residue::some) == with);
    CHECK(value("maize", Residue::none) == without);
    CHECK(value("maize", std::nullopt) == with);
    CHECK(value("", Residue::none) == without);
    CHECK(value("oilseed rape", std::nullopt) == without);

    CropRecord crop = wheat();
    crop.residue.reset();
    const DiseaseRisk open = disease_risk(default_model(), crop, &days);
    CHECK(*open.high == Approx(with));
    CHECK(*open.low == Approx(without));
    CHECK(has(open.notes, "taken as with maize residue"));
    crop.wheat_type = WheatType::spring;  // one class for every residue
    crop.previous_crop.clear();
    CHECK(disease_risk(default_model(), crop, &days).missing.empty());
}

TEST_CASE("there is a model for wheat and for no other crop") {
    const StationDays days(steady(5.0));
    for (const Crop other : {Crop::barley, Crop::oats, Crop::maize, Crop::rye, Crop::triticale}) {
        CropRecord crop = wheat();
        crop.crop = other;
        const DiseaseRisk risk = disease_risk(default_model(), crop, &days);
        CHECK_FALSE(risk.value.has_value());
        CHECK_FALSE(risk.low.has_value());
        CHECK(has(risk.notes, "there is no model for"));
    }
    CropRecord durum = wheat();
    durum.crop = Crop::durum;
    const DiseaseRisk risk = disease_risk(default_model(), durum, &days);
    CHECK(risk.value == disease_risk(default_model(), wheat(), &days).value);
    CHECK(risk.extrapolated);
    CHECK(has(risk.notes, "durum is counted as wheat"));
}

TEST_CASE("without a flowering date there is no disease risk and its first day will do") {
    const StationDays days(steady(5.0));
    CropRecord crop = wheat();
    crop.flowering_date.reset();
    CHECK_FALSE(flowering_day(crop).has_value());
    const DiseaseRisk risk = disease_risk(default_model(), crop, &days);
    CHECK_FALSE(risk.value.has_value());
    CHECK(risk.missing == std::vector<std::string>{"the flowering date"});
    crop.flowering_start = flowering;
    CHECK(disease_risk(default_model(), crop, &days).value.has_value());
}

TEST_CASE("weather and places beyond a model's data are flagged") {
    const StationDays dry(steady(12.0)), drier(steady(13.0)), usual(steady(6.0));
    const DiseaseRisk risk = disease_risk(default_model(), wheat(), &dry);
    CHECK(risk.value.has_value());
    CHECK(risk.extrapolated);
    CHECK(risk.terms[0].extrapolated);
    CHECK(has(risk.notes, "is 12.0 degC, outside what the model was made from (4 to 8.8 degC)"));
    // One decimal would put it on the bound.
    const StationDays nearly(steady(3.97));
    CHECK(has(disease_risk(default_model(), wheat(), &nearly).notes,
              "is 3.97 degC, outside what the model was made from (4 to 8.8 degC)"));
    // In words that are the same for every field, whatever its own value.
    REQUIRE(risk.outside.size() == 1);
    CHECK(risk.outside == disease_risk(default_model(), wheat(), &drier).outside);

    RiskOptions options;
    options.longitude_deg = 10.0;
    options.latitude_deg = 55.0;
    const DiseaseRisk elsewhere = disease_risk(default_model(), wheat(), &usual, options);
    CHECK(elsewhere.extrapolated);
    CHECK(has(elsewhere.notes, "outside the region"));
    CHECK(has(elsewhere.outside, "outside the region"));
    options.longitude_deg = -84.0;
    options.latitude_deg = 40.0;
    CHECK_FALSE(disease_risk(default_model(), wheat(), &usual, options).extrapolated);
    CHECK(disease_risk(default_model(), wheat(), &usual, options).outside.empty());
    CHECK(has(disease_risk(find_model("night-warmth-and-rain"), wheat(), &usual, options).notes, "southern Brazil"));
    CHECK(has(disease_risk(find_model("night-warmth-and-rain"), wheat(), &usual).notes, "spring wheat only"));
}

TEST_CASE("an irrigated field is flagged and keeps its number") {
    const StationDays days(steady(6.0));
    CropRecord crop = wheat();
    crop.irrigated = false;
    CHECK_FALSE(disease_risk(default_model(), crop, &days).extrapolated);
    crop.irrigated = true;
    const DiseaseRisk risk = disease_risk(default_model(), crop, &days);
    CHECK(risk.value == disease_risk(default_model(), wheat(), &days).value);
    CHECK(risk.extrapolated);
    CHECK(has(risk.notes, "the field is irrigated"));
}

TEST_CASE("cultivar and residue alone need neither date nor weather") {
    CropRecord crop = wheat();
    crop.flowering_date.reset();
    const DiseaseModel& model = find_model("cultivar-and-residue");
    const DiseaseRisk risk = disease_risk(model, crop, nullptr);
    CHECK(*risk.value == Approx(0.459326).margin(5e-7).epsilon(0.0));  // the fit's own value, susceptible after maize
    CHECK(risk.low == risk.value);
    CHECK(risk.high == risk.value);
    CHECK(risk.missing.empty());
    crop.resistance.reset();
    const DiseaseRisk open = disease_risk(model, crop, nullptr);
    CHECK(*open.low < *open.value);
    CHECK(*open.high > *open.value);
    crop.crop = Crop::barley;
    CHECK_FALSE(disease_risk(model, crop, nullptr).value.has_value());
    CHECK(has(disease_risk(model, crop, nullptr).notes, "there is no model for barley"));
}

TEST_CASE("a window of the models holds both its ends for 192 and 264 hours") {
    const StationDays days(made_hours(risk_season_start, 61, [](int, int) { return HourlyWeather{20, 95, 19.2, 0}; }));
    const DiseaseRisk risk = disease_risk(find_model("warm-then-wet-hours"), wheat(), &days);
    REQUIRE(risk.terms.size() == 2);
    CHECK(risk.terms[0].weather.value == 192.0);
    CHECK(risk.terms[1].weather.value == 264.0);
    const DiseaseRisk humid = disease_risk(find_model("humid-days"), wheat(), &days);
    CHECK(humid.terms[0].weather.value == 26.0);
    CHECK(*humid.terms[1].weather.value == Approx(20.0));
    CHECK(humid.terms[1].window.days() == 11);
    CHECK(humid.extrapolated);  // 26 days where nine in ten of the data have 4 to 22
}

TEST_CASE("an unconfirmed equation says so beside its number and gives the contamination model no logit") {
    // More than 5 mm on two of the four days before heading, no cold night, dry after it.
    const LocalDay heading = flowering - std::chrono::days(6);
    const StationDays days(made_hours(risk_season_start, 61, [](int day, int hour) {
        const bool wet = day == 24 - 7 || day == 24 - 5;
        return HourlyWeather{18.0 - (hour < 6 ? 5.0 : 0.0), 75.0, HourlySeries::missing, wet && hour == 12 ? 6.0 : 0.0};
    }));
    CropRecord crop = wheat();
    crop.heading_date = heading;
    const DiseaseRisk risk = disease_risk(find_model("rain-before-heading", true), crop, &days);
    REQUIRE(risk.terms.size() == 2);
    CHECK(risk.terms[0].weather.value == 2.0);
    CHECK(risk.terms[1].weather.value == 0.0);
    CHECK(*risk.value == Approx(5.15931).margin(5e-6).epsilon(0.0));
    CHECK(risk.unconfirmed);
    CHECK(risk.kind == RiskKind::content);
    CHECK_FALSE(risk.logit.has_value());
    CHECK(has(risk.notes, "unconfirmed"));
    REQUIRE(risk.by_date.size() == 7);
    CHECK(risk.by_date[3].value == risk.value);
    CHECK(*risk.low < *risk.value);
    CHECK(*risk.high == Approx(5.15931).margin(5e-6).epsilon(0.0));
    crop.flowering_date.reset();
    CHECK(disease_risk(find_model("rain-before-heading", true), crop, &days).value == risk.value);
    crop.heading_date.reset();
    const DiseaseRisk none = disease_risk(find_model("rain-before-heading", true), crop, &days);
    CHECK_FALSE(none.value.has_value());
    CHECK(none.missing == std::vector<std::string>{"the heading date"});
}

TEST_CASE("bounds of an equation that turns hold its top between the ends") {
    // exp(1.84 R - 0.43 R^2) has its top at two rainy days; nothing is known of the rain of three of the four days.
    const LocalDay heading = flowering;
    HourlySeries series = made_hours(risk_season_start, 61, [](int, int) {
        return HourlyWeather{15, 70, HourlySeries::missing, 0};
    });
    for (std::size_t hour = (30 - 7) * 24; hour < (30 - 4) * 24; ++hour) series.rain_mm[hour] = HourlySeries::missing;
    const StationDays days(series);
    CropRecord crop = wheat();
    crop.heading_date = heading;
    const DiseaseRisk risk = disease_risk(find_model("rain-before-heading", true), crop, &days);
    CHECK_FALSE(risk.value.has_value());
    REQUIRE(risk.missing_hours.high.has_value());
    CHECK(*risk.missing_hours.low == Approx(0.64082).margin(5e-6).epsilon(0.0));
    CHECK(*risk.missing_hours.high == Approx(5.15931).margin(5e-6).epsilon(0.0));
}

TEST_CASE("missing rain makes the published equation an at least") {
    HourlySeries series = changing();
    series.rain_mm[(30 + 7) * 24 + 12] = HourlySeries::missing;
    const StationDays days(series);
    const DiseaseRisk risk = disease_risk(find_model("night-warmth-and-rain"), wheat(), &days);
    REQUIRE(risk.value.has_value());
    CHECK(risk.missing_hours.low == risk.value);
    CHECK(*risk.missing_hours.high > *risk.value);
    CHECK(has(risk.notes, "at least"));
}

TEST_CASE("the weather that a field needs reaches past its window by the doubt of its date") {
    const DayWindow needed = weather_needed(default_model(), flowering);
    CHECK(needed.first == flowering - std::chrono::days(13));
    CHECK(needed.last == flowering + std::chrono::days(13));
}

TEST_CASE("removing hours never moves a risk of hour counts outside its own bounds") {
    const StationDays whole(changing());
    const DiseaseModel& model = find_model("warm-wet-hours");
    const double truth = *disease_risk(model, wheat(), &whole).value;
    std::mt19937 random(5);
    for (int trial = 0; trial < 60; ++trial) {
        HourlySeries holed = changing();
        for (std::size_t i = 0; i < holed.size(); ++i) {
            if (random() % 60 < static_cast<unsigned>(trial)) forget_hour(holed, i);
        }
        const StationDays days(holed);
        const DiseaseRisk risk = disease_risk(model, wheat(), &days);
        REQUIRE(risk.missing_hours.low.has_value());
        CHECK(*risk.missing_hours.low <= truth);
        CHECK(*risk.missing_hours.high >= truth);
    }
}

TEST_CASE("logger fields of North Carolina have a risk where their weather reaches and bounds where it does not") {
    NEEDS_SHARED_DATA(shared);
    const tests::Table hourly(shared / "data/weather/snb_nc_2022_hourly.csv");
    const tests::Table sites(shared / "data/weather/snb_nc_2022_sites.csv");
    int with_value = 0;
    for (std::size_t row = 0; row < sites.rows(); ++row) {
        const StationDays days(tests::logger_hours(hourly, sites.text(row, "site")));
        CropRecord crop = wheat();
        crop.field = sites.text(row, "site");
        crop.flowering_date = parse_day(sites.text(row, "observed_anthesis"));
        RiskOptions options;
        options.longitude_deg = sites.number(row, "lon");
        options.latitude_deg = sites.number(row, "lat");
        INFO(crop.field);
        const DiseaseRisk around = disease_risk(default_model(), crop, &days, options);
        const DiseaseRisk before = disease_risk(find_model("humidity-before-flowering"), crop, &days, options);
        CHECK(before.value.has_value());
        CHECK_FALSE(has(around.notes, "outside the region"));
        REQUIRE(around.low.has_value());
        if (around.value) {
            ++with_value;
            CHECK(*around.low <= *around.value);
            CHECK(*around.high >= *around.value);
        }
        // The logger of KS22 was taken in two days after flowering.
        if (crop.field == "KS22") {
            CHECK_FALSE(around.value.has_value());
            CHECK(has(around.missing, "192 of 504 hours are missing"));
        }
    }
    CHECK(with_value == 5);
}
