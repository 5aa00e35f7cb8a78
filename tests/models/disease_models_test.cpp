#include <cmath>

#include <catch2/catch.hpp>

#include "models/disease/catalogue.h"
#include "models/error.h"

using namespace models;
using Catch::Matchers::Contains;

namespace {

constexpr Agronomy s_wwc = {Resistance::susceptible, WheatGroup::winter_with_maize_residue};
constexpr Agronomy mr_wwnoc = {Resistance::moderately_resistant, WheatGroup::winter_without_maize_residue};
constexpr Agronomy vs_sw = {Resistance::very_susceptible, WheatGroup::spring};

double probability(const char* model, std::vector<double> weather, const Agronomy& agronomy = {}) {
    return 1.0 / (1.0 + std::exp(-find_model(model).logit(weather, agronomy)));
}

}  // namespace

// The expected values were computed apart from this program, with the fits' own software (R 4.2, glm and predict), from
// the coefficients that the headers print.
TEST_CASE("dew-point depression gives the values of its fit") {
    const char* model = "dew-point-depression";
    CHECK(probability(model, {5.0}, s_wwc) == Approx(0.541100).margin(5e-7));
    CHECK(probability(model, {5.0}, mr_wwnoc) == Approx(0.155991).margin(5e-7));
    CHECK(probability(model, {4.0}, s_wwc) == Approx(0.660544).margin(5e-7));
    CHECK(probability(model, {6.0}, mr_wwnoc) == Approx(0.100714).margin(5e-7));
    CHECK(probability(model, {5.0}, vs_sw) == Approx(0.538415).margin(5e-7));
}

TEST_CASE("dew-point depression has the odds ratios of its fit") {
    const auto logit = [](const Agronomy& agronomy) {
        return find_model("dew-point-depression").logit(std::vector<double>{5.0}, agronomy);
    };
    const double reference = logit({});
    const auto winter = WheatGroup::winter_without_maize_residue;
    CHECK(std::exp(logit({Resistance::moderately_resistant, winter}) - reference) == Approx(0.337).margin(5e-4));
    CHECK(std::exp(logit({Resistance::moderately_susceptible, winter}) - reference) == Approx(0.601).margin(5e-4));
    CHECK(std::exp(logit({Resistance::very_susceptible, winter}) - reference) == Approx(2.00).margin(5e-3));
    CHECK(std::exp(logit(s_wwc) - reference) == Approx(2.15).margin(5e-3));
}

TEST_CASE("humidity before flowering gives the values of its fit") {
    CHECK(probability("humidity-before-flowering", {75.0}, s_wwc) == Approx(0.499572).margin(5e-7));
    CHECK(probability("humidity-before-flowering", {75.0}, mr_wwnoc) == Approx(0.131321).margin(5e-7));
}

TEST_CASE("warm and wet hours give the values of their fit") {
    CHECK(probability("warm-wet-hours", {40.0}, s_wwc) == Approx(0.481101).margin(5e-7));
    CHECK(probability("warm-wet-hours", {40.0}, mr_wwnoc) == Approx(0.106397).margin(5e-7));
}

TEST_CASE("night warmth and rain give the values of the published equation") {
    // Carvalho & Del Ponte 2026, LM3; arithmetic by hand.
    const DiseaseModel& model = find_model("night-warmth-and-rain");
    const auto logit = [&](double minimum, double rain) { return model.logit(std::vector<double>{minimum, rain}, {}); };
    CHECK(logit(15, 40) == Approx(0.948).margin(1e-9));
    CHECK(logit(10, 20) == Approx(-2.307).margin(1e-9));
    CHECK(logit(12, 100) == Approx(0.291).margin(1e-9));
    CHECK(logit(18, 0) == Approx(1.965).margin(1e-9));
    CHECK(probability("night-warmth-and-rain", {15, 40}) == Approx(0.72071).margin(5e-6));
    CHECK(probability("night-warmth-and-rain", {10, 20}) == Approx(0.09054).margin(5e-6));
    CHECK(probability("night-warmth-and-rain", {12, 100}) == Approx(0.57224).margin(5e-6));
    CHECK(probability("night-warmth-and-rain", {18, 0}) == Approx(0.87707).margin(5e-6));
}

TEST_CASE("more moisture never lowers the risk") {
    for (const Resistance resistance : {Resistance::very_susceptible, Resistance::susceptible,
                                        Resistance::moderately_susceptible, Resistance::moderately_resistant}) {
        for (const WheatGroup group :
             {WheatGroup::winter_without_maize_residue, WheatGroup::winter_with_maize_residue, WheatGroup::spring}) {
            const Agronomy agronomy{resistance, group};
            double wet = 0.0, humid = 0.0, near_saturation = 0.0, rain = 0.0;
            for (int step = 0; step <= 50; ++step) {
                const double next_wet = probability("warm-wet-hours", {5.0 * step}, agronomy);
                const double next_humid = probability("humidity-before-flowering", {2.0 * step}, agronomy);
                const double next_near = probability("dew-point-depression", {15.0 - 0.3 * step}, agronomy);
                const double next_rain = probability("night-warmth-and-rain", {12.0, 3.0 * step}, agronomy);
                CHECK(next_wet > wet);
                CHECK(next_humid > humid);
                CHECK(next_near > near_saturation);
                CHECK(next_rain > rain);
                wet = next_wet, humid = next_humid, near_saturation = next_near, rain = next_rain;
            }
        }
    }
}

TEST_CASE("a better cultivar never has the higher risk") {
    for (const char* name : {"dew-point-depression", "humidity-before-flowering", "warm-wet-hours"}) {
        const DiseaseModel& model = find_model(name);
        const std::vector<double> weather = {model.weather[0].data_low};
        for (const WheatGroup group : {WheatGroup::winter_without_maize_residue, WheatGroup::spring}) {
            const auto logit = [&](Resistance resistance) { return model.logit(weather, {resistance, group}); };
            CHECK(logit(Resistance::very_susceptible) > logit(Resistance::susceptible));
            CHECK(logit(Resistance::susceptible) > logit(Resistance::moderately_susceptible));
            CHECK(logit(Resistance::moderately_susceptible) > logit(Resistance::moderately_resistant));
        }
    }
}

TEST_CASE("every model says where it comes from and how well it does") {
    CHECK(default_model().name == "dew-point-depression");
    CHECK(model_names().size() == disease_models().size());
    for (const DiseaseModel& model : disease_models()) {
        INFO(model.name);
        CHECK(&find_model(model.name) == &model);
        CHECK_FALSE(model.title.empty());
        CHECK_FALSE(model.about.empty());
        CHECK_FALSE(model.label.empty());
        CHECK_FALSE(model.region.words.empty());
        CHECK_THAT(model.source, Contains("doi 10."));
        CHECK(model.skill.auc > 0.5);
        CHECK(model.skill.auc < 0.85);  // what simple equations can do on such data
        CHECK(model.skill.brier < model.skill.brier_without_model);
        CHECK(model.skill.diseased < model.skill.fields);
        CHECK_FALSE(model.skill.how.empty());
        for (const WeatherTerm& term : model.weather) {
            CHECK(term.from_day <= term.to_day);
            CHECK(term.data_low < term.data_high);
        }
        if (model.uses_agronomy) CHECK(model.label == "refit by this project from the public 999-field data");
    }
    CHECK(find_model("humidity-before-flowering").last_day() == 0);
    CHECK(find_model("dew-point-depression").first_day() == -10);
    CHECK(find_model("night-warmth-and-rain").first_day() == 2);
    CHECK(find_model("night-warmth-and-rain").last_day() == 10);
}

TEST_CASE("no model speaks of DON or a limit or of what to do in the field") {
    for (const DiseaseModel& model : disease_models()) {
        for (const std::string* text : {&model.name, &model.title, &model.about, &model.label}) {
            for (const char* word : {"DON", "limit", "spray", "treat", "fungicide"}) CHECK_THAT(*text, !Contains(word));
        }
    }
}

TEST_CASE("an unknown disease model is answered with the nearest or with all") {
    CHECK_THROWS_WITH(find_model("dew-point-depresion"),
                      Contains("there is no disease model \"dew-point-depresion\"") &&
                          Contains("did you mean \"dew-point-depression\"?"));
    CHECK_THROWS_WITH(find_model("x"), Contains("write one of dew-point-depression, humidity-before-flowering"));
    CHECK_THROWS_AS(find_model(""), Error);
}
