// From a flowering date that is not known for sure to what the contamination model makes of the field.
#include <cmath>

#include <catch2/catch.hpp>

#include "app/stages/contamination_stage.h"
#include "models/disease/catalogue.h"
#include "models/disease/disease_risk.h"
#include "tests/support/made_weather.h"

namespace {

using models::LocalDay;

const LocalDay middle_day = models::day_of(2026, 6, 10);
constexpr double likely_chance = 0.4, other_chance = 0.3;  // on that day; eight days before it and eight after

/// Relative humidity of 60 %, and of 100 % on the eight days that only the latest of the three dates has within its ten
/// days.
models::StationDays humid_after() {
    return models::StationDays(tests::made_hours(middle_day - std::chrono::days(30), 61, [](int day, int) {
        return models::HourlyWeather{18.0, day >= 41 && day < 49 ? 100.0 : 60.0, models::HourlySeries::missing, 0.0};
    }));
}

models::CropRecord wheat_of(const std::string& field) {
    models::CropRecord crop;
    crop.field = field;
    crop.season = 2026;
    crop.wheat_type = models::WheatType::winter;
    crop.resistance = models::Resistance::susceptible;
    crop.previous_crop = "sugar beet";
    crop.residue = models::Residue::none;
    crop.irrigated = false;
    crop.flowering_date = middle_day;
    return crop;
}

/// The equation of the model by hand: susceptible winter wheat, no maize, the mean of 21 days with so many humid ones.
double humid_logit(int humid_days) {
    return -9.446708 + 0.1175096 * (60.0 + 40.0 * humid_days / 21.0);
}
double chance_of(double logit) {
    return 1.0 / (1.0 + std::exp(-logit));
}

/// Three fields with the same crop record: one is sure of its date and one is not, and the third has a test.
struct UnsureSeason {
    app::SeasonData data;
    std::vector<app::FieldRisk> risks;

    UnsureSeason() {
        const models::DiseaseModel& model = models::find_model("humidity-around-flowering", true);
        const models::StationDays days = humid_after();
        for (const char* field : {"Sure", "Unsure", "Tested"}) {
            data.crops_by_field[field].push_back(data.crops.size());
            data.crops.push_back(wheat_of(field));
            app::FieldRisk risk;
            risk.crop = data.crops.size() - 1;
            risk.risk = models::disease_risk(model, data.crops.back(), &days);
            risks.push_back(risk);
        }
        models::DayZeroDate date;
        date.basis = models::DateBasis::heading;
        date.most_likely = middle_day;
        std::vector<double> chances(17, 0.0);
        chances[8] = likely_chance;
        chances[0] = chances[16] = other_chance;
        date.days = {middle_day - std::chrono::days(8), chances};
        date.sd_days = date.days.sd_days();
        models::WeatherByDate weather(model, {&days, {}});
        risks[1].risk = models::disease_risk(model, data.crops[1], date, &weather);
        models::Sample sample;
        sample.sample = "S1";
        sample.kind = models::SampleKind::composite;
        sample.field = "Tested";
        data.samples.push_back(sample);
        models::Test test;
        test.test = "T1";
        test.sample = "S1";
        test.reading = models::Reading::value;
        test.don_mg_per_kg = 0.8;
        test.time = *models::parse_stamp("2026-07-20T12:00:00+02:00");
        data.tests.push_back(test);
    }
    app::ContaminationView view() const {
        app::ContaminationSettings settings;
        settings.season = 2026;
        return app::contamination_of_season(data, risks, settings);
    }
};

double log_variance_of(const models::Content& content) {
    return std::pow(std::log(content.high90 / content.low90) / (2.0 * 1.6448536269514722), 2);
}

}  // namespace

TEST_CASE("a risk averaged over an unsure flowering date is nearly twice the risk at its mean") {
    const UnsureSeason season;
    CHECK(*season.risks[0].risk.value == Approx(chance_of(humid_logit(0))).epsilon(1e-9));
    const double averaged =
        (likely_chance + other_chance) * chance_of(humid_logit(0)) + other_chance * chance_of(humid_logit(8));
    CHECK(*season.risks[1].risk.value == Approx(averaged).epsilon(1e-9));
    CHECK(*season.risks[1].risk.value > 1.9 * *season.risks[0].risk.value);
}

TEST_CASE("the contamination model takes an unsure flowering date as the mean and spread of the logits of its days") {
    const app::ContaminationView view = UnsureSeason().view();
    REQUIRE(view.input.field_seasons.size() == 3);
    const models::FieldSeason &sure = view.input.field_seasons[0], &unsure = view.input.field_seasons[1];
    const double apart = humid_logit(8) - humid_logit(0);
    CHECK(*sure.risk_logit == Approx(humid_logit(0)).epsilon(1e-9));
    CHECK(sure.risk_logit_sd == Approx(0.0).margin(1e-9).epsilon(0.0));
    CHECK(*unsure.risk_logit == Approx(humid_logit(0) + other_chance * apart).epsilon(1e-9));
    CHECK(unsure.risk_logit_sd == Approx(apart * std::sqrt(other_chance * (1.0 - other_chance))).epsilon(1e-9));

    // Nothing else tells the two apart: at a slope that is known the log of the content moves by slope times mean and
    // widens by slope times sd.
    models::ContaminationPriors priors;
    priors.slope_sd = 0.0;
    priors.fixed = {true, 0.3, 0.5, 0.3, 0.0, 0.0, 1.0};
    const models::ContaminationModel known = models::fit_contamination(view.input, priors);
    const models::Content at_mean = *known.field_season(0), averaged = *known.field_season(1);
    CHECK(std::log(averaged.median / at_mean.median) == Approx(0.9 * other_chance * apart).epsilon(1e-8));
    CHECK(log_variance_of(averaged) - log_variance_of(at_mean) ==
          Approx(std::pow(0.9 * unsure.risk_logit_sd, 2)).epsilon(1e-8));

    // And so it is in the map's own fit, whose slope is learnt.
    const models::Content mapped_sure = *view.model->field_season(0), mapped_unsure = *view.model->field_season(1);
    CHECK(mapped_unsure.median > 1.3 * mapped_sure.median);
    CHECK(log_variance_of(mapped_unsure) > log_variance_of(mapped_sure) + 0.3);
}
