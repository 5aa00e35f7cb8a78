#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include "models/disease/catalogue.h"
#include "models/disease/disease_risk.h"
#include "tests/support/made_weather.h"

using namespace models;
using Catch::Matchers::Contains;

namespace {

const LocalDay first_hours = day_of(2026, 5, 1);
const LocalDay likely_day = day_of(2026, 6, 10);

HourlySeries dated_hours(int days = 92) {
    return tests::made_hours(first_hours, days, [](int day, int hour) {
        const double swing = std::sin(0.2617993877991494 * (hour - 9));
        const double humidity = 74.0 - 14.0 * swing + 9.0 * std::sin(0.25 * day);
        return HourlyWeather{17.0 + 6.0 * swing, humidity, HourlySeries::missing,
                             hour == 4 && day % 3 == 0 ? 7.0 : 0.0};
    });
}

CropRecord dated_wheat() {
    CropRecord crop;
    crop.field = "Long Acre";
    crop.season = 2026;
    crop.wheat_type = WheatType::winter;
    crop.resistance = Resistance::susceptible;
    crop.previous_crop = "maize";
    crop.residue = Residue::heavy;
    return crop;
}

/// Any day from `first` with those chances.
DayZeroDate one_of(LocalDay first, std::vector<double> chances, LocalDay likely) {
    DayZeroDate date;
    date.basis = DateBasis::heading;
    date.most_likely = likely;
    date.days = {first, std::move(chances)};
    date.sd_days = date.days.sd_days();
    date.method = "made for this test";
    return date;
}

DiseaseRisk risk_over(const DiseaseModel& model, const CropRecord& crop, const DayZeroDate& date,
                      const StationDays& days, std::optional<LocalDay> as_of = {}) {
    WeatherByDate weather(model, {&days, as_of});
    return disease_risk(model, crop, date, &weather);
}

DiseaseRisk risk_at(const DiseaseModel& model, LocalDay day, const StationDays& days) {
    CropRecord crop = dated_wheat();
    crop.flowering_date = crop.heading_date = day;
    return disease_risk(model, crop, &days);
}

bool said(const std::vector<std::string>& sentences, const std::string& words) {
    return std::any_of(sentences.begin(), sentences.end(),
                       [&](const std::string& sentence) { return sentence.find(words) != std::string::npos; });
}

double logit_from(double p) {
    return std::log(p / (1.0 - p));
}

}  // namespace

TEST_CASE("a flowering date of two days has the mean of both risks weighted by their chances") {
    const StationDays days(dated_hours());
    const LocalDay later = likely_day + std::chrono::days(1);
    const DayZeroDate date = one_of(likely_day, {0.25, 0.75}, later);
    for (const DiseaseModel& model : disease_models()) {
        if (model.weather.empty()) continue;
        INFO(model.name);
        const double one = *risk_at(model, likely_day, days).value, other = *risk_at(model, later, days).value;
        const DiseaseRisk risk = risk_over(model, dated_wheat(), date, days);
        CHECK(*risk.value == Approx(0.25 * one + 0.75 * other).epsilon(1e-12));
        CHECK(*risk.logit == Approx(logit_from(*risk.value)).epsilon(1e-9));
        CHECK(*risk.sd_over_dates == Approx(std::sqrt(0.25 * 0.75) * std::abs(one - other)).margin(1e-12).epsilon(0.0));
        CHECK(*risk.flowering_date.low == Approx(std::min(one, other)));
        CHECK(*risk.flowering_date.high == Approx(std::max(one, other)));
        CHECK(risk.dates_covered == Approx(1.0));
        REQUIRE(risk.by_date.size() == 2);
        CHECK(risk.by_date[0].days_later == -1);
        CHECK(risk.by_date[0].chance == 0.25);
        CHECK(*risk.by_date[1].value == Approx(other));
        CHECK(risk.terms.front().window.first == later + std::chrono::days(model.weather.front().from_day));
        CHECK(said(risk.notes, "made for this test"));
    }
}

TEST_CASE("a flowering date of one day has the risk of that day") {
    const StationDays days(dated_hours());
    for (const DiseaseModel& model : disease_models()) {
        if (model.weather.empty()) continue;
        INFO(model.name);
        const DiseaseRisk risk = risk_over(model, dated_wheat(), one_of(likely_day, {1.0}, likely_day), days);
        const DiseaseRisk alone = risk_at(model, likely_day, days);
        CHECK(*risk.value == Approx(*alone.value).epsilon(1e-12));
        CHECK(*risk.logit == Approx(*alone.logit).epsilon(1e-9));
        CHECK(*risk.sd_over_dates == Approx(0.0).margin(1e-12).epsilon(0.0));
        CHECK(risk.missing == std::vector<std::string>{});
    }
}

TEST_CASE("an observed flowering date is the day that counts and any other is averaged over") {
    const StationDays days(dated_hours());
    CropRecord crop = dated_wheat();
    crop.flowering_date = likely_day;
    const DiseaseModel& model = default_model();
    const auto estimated = [&] { return estimated_day_zero(model, crop, estimate_flowering(crop, nullptr)); };
    const DiseaseRisk at_the_day = risk_at(model, likely_day, days);

    crop.flowering_source = FloweringSource::observed;
    const DayZeroDate observed = estimated();
    CHECK_FALSE(observed.averaged());
    const DiseaseRisk of_observed = risk_over(model, crop, observed, days);
    CHECK(of_observed.value == at_the_day.value);
    CHECK(of_observed.low == at_the_day.low);
    CHECK(of_observed.high == at_the_day.high);
    CHECK_FALSE(of_observed.sd_over_dates.has_value());
    CHECK(of_observed.by_date.size() == 7);

    crop.flowering_source = FloweringSource::estimated;
    const DiseaseRisk by_hand = risk_over(model, crop, estimated(), days);
    crop.flowering_source.reset();
    const DiseaseRisk not_said = risk_over(model, crop, estimated(), days);
    // Three days either way as their sd: the normal law over whole days.
    double sum = 0.0, weights = 0.0;
    for (int away = -15; away <= 15; ++away) {
        const double weight = std::exp(-away * away / 18.0);
        sum += weight * *risk_at(model, likely_day + std::chrono::days(away), days).value;
        weights += weight;
    }
    CHECK(*by_hand.value == Approx(sum / weights).margin(5e-4).epsilon(0.0));
    CHECK(*by_hand.value != *at_the_day.value);
    CHECK(not_said.value == by_hand.value);
    CHECK(said(by_hand.notes, "customary, without a source"));
    CHECK(said(not_said.missing, "whether the flowering date was observed"));
    CHECK(*by_hand.sd_over_dates > 0.0);
}

TEST_CASE("from heading the risk is the mean over five days later and the observed date is named as missing") {
    const StationDays days(dated_hours());
    CropRecord crop = dated_wheat();
    crop.heading_date = likely_day - std::chrono::days(5);
    const DiseaseModel& model = default_model();
    const DayZeroDate date = estimated_day_zero(model, crop, estimate_flowering(crop, nullptr));
    CHECK(date.basis == DateBasis::heading);
    CHECK(date.most_likely == likely_day);
    CHECK(date.sd_days == Approx(3.0).margin(0.05).epsilon(0.0));
    const DiseaseRisk risk = risk_over(model, crop, date, days);
    CropRecord by_hand = dated_wheat();
    by_hand.flowering_date = likely_day;
    CHECK(risk.value ==
          risk_over(model, by_hand, estimated_day_zero(model, by_hand, estimate_flowering(by_hand, nullptr)), days)
              .value);
    CHECK(said(risk.missing, "the observed flowering date"));
    CHECK(said(risk.notes, "heading on 2026-06-05 + 5 days, sd 3 days"));
    CHECK(*risk.low <= *risk.value);
    CHECK(*risk.high >= *risk.value);
}

TEST_CASE("a model that counts from heading takes flowering less the interval where heading is not written") {
    const StationDays days(dated_hours());
    const DiseaseModel& model = find_model("rain-before-heading", true);
    CropRecord crop = dated_wheat();
    crop.flowering_date = likely_day;
    crop.flowering_source = FloweringSource::observed;
    const FloweringEstimate estimate = estimate_flowering(crop, nullptr);
    const DayZeroDate date = estimated_day_zero(model, crop, estimate);
    CHECK(date.of == DayZero::heading);
    CHECK(date.basis == DateBasis::flowering);
    CHECK(date.most_likely == likely_day - std::chrono::days(5));
    CHECK(date.sd_days == Approx(std::sqrt(1.0 + 9.0)).margin(0.06).epsilon(0.0));  // the tails are cut
    CHECK(date.averaged());
    const DiseaseRisk risk = risk_over(model, crop, date, days);
    double sum = 0.0, weights = 0.0;
    for (int away = -20; away <= 20; ++away) {
        const double weight = std::exp(-away * away / 20.0);
        sum += weight * *risk_at(model, *date.most_likely + std::chrono::days(away), days).value;
        weights += weight;
    }
    CHECK(*risk.value == Approx(sum / weights).epsilon(0.01));
    CHECK_FALSE(risk.logit.has_value());
    CHECK(said(risk.missing, "the observed heading date"));
    CHECK(said(risk.notes, "5 days before flowering"));

    crop.heading_date = likely_day - std::chrono::days(4);
    const DayZeroDate written = estimated_day_zero(model, crop, estimate_flowering(crop, nullptr));
    CHECK_FALSE(written.averaged());
    CHECK(risk_over(model, crop, written, days).value == risk_at(model, *crop.heading_date, days).value);
}

TEST_CASE("a date written after the day that is asked about was not known") {
    CropRecord crop = dated_wheat();
    crop.heading_date = likely_day - std::chrono::days(5);
    crop.flowering_date = likely_day;
    crop.flowering_source = FloweringSource::observed;
    FloweringOptions options;
    const auto asked = [&](const DiseaseModel& model, LocalDay as_of) {
        options.as_of = as_of;
        return estimated_day_zero(model, crop, estimate_flowering(crop, nullptr, options), options);
    };
    CHECK(asked(default_model(), likely_day).basis == DateBasis::observed);
    CHECK(asked(default_model(), likely_day - std::chrono::days(1)).basis == DateBasis::heading);
    const DayZeroDate nothing = asked(default_model(), likely_day - std::chrono::days(6));
    CHECK_FALSE(nothing.most_likely.has_value());
    CHECK(nothing.missing == std::vector<std::string>{"the flowering, heading or sowing date"});
    const DiseaseModel& from_heading = find_model("rain-before-heading", true);
    CHECK(asked(from_heading, *crop.heading_date).basis == DateBasis::observed);
    const DayZeroDate no_heading = asked(from_heading, *crop.heading_date - std::chrono::days(1));
    CHECK_FALSE(no_heading.most_likely.has_value());
    CHECK(no_heading.missing.front() == "the heading date");
}

TEST_CASE("where there is no date what an estimate lacks is told beside it") {
    CropRecord crop = dated_wheat();
    crop.sowing_date = day_of(2025, 10, 13);
    const DayZeroDate date = estimated_day_zero(default_model(), crop, estimate_flowering(crop, nullptr));
    CHECK(date.missing == std::vector<std::string>{"the flowering date",
                                                   "to estimate it: daily temperatures from sowing to flowering"});
    const StationDays days(dated_hours());
    const DiseaseRisk risk = risk_over(default_model(), crop, date, days);
    CHECK_FALSE(risk.value.has_value());
    CHECK(risk.missing == date.missing);
    CHECK_FALSE(weather_needed(default_model(), date).has_value());
}

TEST_CASE("dates whose weather is not known leave a mean over the others or none") {
    const DiseaseModel& model = default_model();
    const StationDays days(dated_hours());
    const DayZeroDate date =
        one_of(likely_day, {0.05, 0.15, 0.20, 0.20, 0.20, 0.13, 0.07}, likely_day + std::chrono::days(3));
    // Weather that ends so that the last day lacks more than a tenth of its hours: 93 % of the chance is left.
    const auto ends_on = [&](int after_first) { return likely_day + std::chrono::days(after_first); };
    const auto covered_as_of = [&](int after) { return risk_over(model, dated_wheat(), date, days, ends_on(after)); };
    const DiseaseRisk all = risk_over(model, dated_wheat(), date, days);
    REQUIRE(all.value.has_value());
    CHECK(all.dates_covered == Approx(1.0));
    CHECK(all.coverage == 1.0);
    const DiseaseRisk most = covered_as_of(13);
    REQUIRE(most.value.has_value());
    CHECK(most.dates_covered == Approx(0.93));
    CHECK(most.coverage < 1.0);
    CHECK(said(most.notes, "the weather reaches 6 of the 7 days that flowering may have been on, which have 93.0 %"));
    double sum = 0.0;
    for (std::size_t i = 0; i < 6; ++i) sum += date.days.chance[i] * *most.by_date[i].value;
    CHECK(*most.value == Approx(sum / 0.93).epsilon(1e-12));
    const DiseaseRisk few = covered_as_of(12);
    CHECK_FALSE(few.value.has_value());
    CHECK_FALSE(few.logit.has_value());
    CHECK(said(few.missing, "with 80 % of the chance, and 90 % are needed"));
    REQUIRE(few.missing_hours.low.has_value());  // of each day something was seen
    CHECK(*few.low < *all.value);
    CHECK(*few.high > *all.value);
    for (const DiseaseRisk* some : {&most, &few}) {
        CHECK(*some->missing_hours.low <= *all.value);
        CHECK(*some->missing_hours.high >= *all.value);
    }
}

TEST_CASE("removing hours never moves a mean over dates outside its own bounds") {
    const DiseaseModel& model = find_model("warm-wet-hours");
    const StationDays whole(dated_hours());
    const DayZeroDate date = one_of(likely_day, {0.2, 0.5, 0.3}, likely_day + std::chrono::days(1));
    const double truth = *risk_over(model, dated_wheat(), date, whole).value;
    std::mt19937 random(7);
    for (int trial = 0; trial < 40; ++trial) {
        HourlySeries holed = dated_hours();
        for (std::size_t i = 0; i < holed.size(); ++i) {
            if (random() % 60 < static_cast<unsigned>(trial)) tests::forget_hour(holed, i);
        }
        const StationDays days(holed);
        const DiseaseRisk risk = risk_over(model, dated_wheat(), date, days);
        REQUIRE(risk.missing_hours.low.has_value());
        CHECK(*risk.missing_hours.low <= truth + 1e-12);
        CHECK(*risk.missing_hours.high >= truth - 1e-12);
        if (!risk.value) continue;
        CHECK(*risk.low <= *risk.value);
        CHECK(*risk.high >= *risk.value);
    }
}

TEST_CASE("what a crop record leaves open widens a mean over dates too") {
    const StationDays days(dated_hours());
    const DayZeroDate date = one_of(likely_day, {0.5, 0.5}, likely_day);
    CropRecord open = dated_wheat();
    open.resistance.reset();
    const DiseaseRisk risk = risk_over(default_model(), open, date, days);
    CHECK(risk.value == risk_over(default_model(), dated_wheat(), date, days).value);  // as susceptible
    CropRecord resistant = dated_wheat(), weak = dated_wheat();
    resistant.resistance = Resistance::moderately_resistant;
    weak.resistance = Resistance::very_susceptible;
    CHECK(*risk.unknown_agronomy.low ==
          Approx(*risk_over(default_model(), resistant, date, days).value).epsilon(1e-12));
    CHECK(*risk.unknown_agronomy.high == Approx(*risk_over(default_model(), weak, date, days).value).epsilon(1e-12));
    CHECK(*risk.low == *risk_over(default_model(), resistant, date, days).low);
    CHECK(*risk.high == *risk_over(default_model(), weak, date, days).high);
}

TEST_CASE("the value lies between low and high though nearly all dates say something else") {
    // One day in twenty-five with a wet fortnight behind it pulls the mean past what 95 % of the dates say.
    HourlySeries hours = tests::made_hours(first_hours, 92, [](int day, int) {
        return HourlyWeather{20.0, day == 56 ? 95.0 : 60.0, HourlySeries::missing, 0.0};
    });
    const StationDays days(hours);
    const DiseaseModel& model = find_model("warm-wet-hours");
    std::vector<double> chances(7, 0.0);
    chances[0] = 0.96;
    chances[6] = 0.04;  // 16 June + 10 days reaches the wet day
    const DiseaseRisk risk = risk_over(model, dated_wheat(), one_of(likely_day, chances, likely_day), days);
    REQUIRE(risk.value.has_value());
    CHECK(*risk.flowering_date.high < *risk.value);
    CHECK(*risk.low <= *risk.value);
    CHECK(*risk.high >= *risk.value);
}

TEST_CASE("the logit of a mean stays finite where the probabilities are 1 to the last digit") {
    DiseaseModel sure = default_model();
    sure.logit = [](std::span<const double>, const Agronomy&) { return 45.0; };
    const StationDays days(dated_hours());
    const DiseaseRisk risk = risk_over(sure, dated_wheat(), one_of(likely_day, {0.5, 0.5}, likely_day), days);
    CHECK(*risk.value == 1.0);
    CHECK(*risk.logit == Approx(45.0));
}

namespace {
int times_measured = 0;
}

TEST_CASE("the weather of a date is measured once however many fields ask for it") {
    DiseaseModel counted = default_model();
    counted.weather[0].measure = [](const KnownWeather& weather, const DayWindow& window) {
        ++times_measured;
        return mean_dew_point_depression_degc(weather, window);
    };
    const StationDays days(dated_hours());
    WeatherByDate weather(counted, {&days, std::nullopt});
    times_measured = 0;
    CropRecord crop = dated_wheat();
    crop.flowering_date = likely_day;
    const DayZeroDate date = estimated_day_zero(counted, crop, estimate_flowering(crop, nullptr));
    std::optional<double> value;
    for (int field = 0; field < 50; ++field) {
        const DiseaseRisk risk = disease_risk(counted, crop, date, &weather);
        if (field > 0) CHECK(risk.value == value);
        value = risk.value;
    }
    CHECK(times_measured == static_cast<int>(date.days.chance.size()));
}

TEST_CASE("the weather of an estimated date reaches from its first day's window to its last day's") {
    const DayZeroDate date = one_of(likely_day, {0.3, 0.3, 0.4}, likely_day);
    const auto needed = weather_needed(default_model(), date);
    REQUIRE(needed.has_value());
    CHECK(needed->first == likely_day - std::chrono::days(10));
    CHECK(needed->last == likely_day + std::chrono::days(12));
}
