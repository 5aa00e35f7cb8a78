#include <algorithm>
#include <cmath>
#include <map>

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
    return find_model(model, true).value(weather, agronomy);
}

}  // namespace

// The expected values were computed apart from this program, with the fits' own software (R 4.2, glm and predict), from
// the coefficients that the headers print.
TEST_CASE("dew-point depression gives the values of its fit") {
    const char* model = "dew-point-depression";
    CHECK(probability(model, {5.0}, s_wwc) == Approx(0.541100).margin(1e-6).epsilon(0.0));
    CHECK(probability(model, {5.0}, mr_wwnoc) == Approx(0.155991).margin(1e-6).epsilon(0.0));
    CHECK(probability(model, {4.0}, s_wwc) == Approx(0.660544).margin(1e-6).epsilon(0.0));
    CHECK(probability(model, {6.0}, mr_wwnoc) == Approx(0.100714).margin(1e-6).epsilon(0.0));
    CHECK(probability(model, {5.0}, vs_sw) == Approx(0.538415).margin(1e-6).epsilon(0.0));
}

TEST_CASE("dew-point depression has the odds ratios of its fit") {
    const auto logit = [](const Agronomy& agronomy) {
        return find_model("dew-point-depression").logit(std::vector<double>{5.0}, agronomy);
    };
    const double reference = logit({});
    const auto winter = WheatGroup::winter_without_maize_residue;
    CHECK(std::exp(logit({Resistance::moderately_resistant, winter}) - reference) ==
          Approx(0.337).margin(5e-4).epsilon(0.0));
    CHECK(std::exp(logit({Resistance::moderately_susceptible, winter}) - reference) ==
          Approx(0.601).margin(5e-4).epsilon(0.0));
    CHECK(std::exp(logit({Resistance::very_susceptible, winter}) - reference) ==
          Approx(2.00).margin(5e-3).epsilon(0.0));
    CHECK(std::exp(logit(s_wwc) - reference) == Approx(2.15).margin(5e-3).epsilon(0.0));
}

TEST_CASE("humidity before flowering gives the values of its fit") {
    CHECK(probability("humidity-before-flowering", {75.0}, s_wwc) == Approx(0.499572).margin(1e-6).epsilon(0.0));
    CHECK(probability("humidity-before-flowering", {75.0}, mr_wwnoc) == Approx(0.131321).margin(1e-6).epsilon(0.0));
}

TEST_CASE("warm and wet hours give the values of their fit") {
    CHECK(probability("warm-wet-hours", {40.0}, s_wwc) == Approx(0.481101).margin(1e-6).epsilon(0.0));
    CHECK(probability("warm-wet-hours", {40.0}, mr_wwnoc) == Approx(0.106397).margin(1e-6).epsilon(0.0));
}

TEST_CASE("every other refit gives the values of its fit") {
    CHECK(probability("cultivar-and-residue", {}, s_wwc) == Approx(0.459326).margin(1e-6).epsilon(0.0));
    CHECK(probability("cultivar-and-residue", {}, mr_wwnoc) == Approx(0.091935).margin(1e-6).epsilon(0.0));
    // 5000 h2, as two factors.
    CHECK(probability("warm-then-wet-hours", {100.0, 50.0}, s_wwc) == Approx(0.471317).margin(1e-6).epsilon(0.0));
    CHECK(probability("warm-then-wet-hours", {125.0, 40.0}, mr_wwnoc) == Approx(0.100236).margin(1e-6).epsilon(0.0));
    CHECK(probability("humidity-around-flowering", {75.0}, s_wwc) == Approx(0.533042).margin(1e-6).epsilon(0.0));
    CHECK(probability("humidity-around-flowering", {75.0}, mr_wwnoc) == Approx(0.150726).margin(1e-6).epsilon(0.0));
    CHECK(probability("dew-point-depression-after-flowering", {5.0}, s_wwc) ==
          Approx(0.520942).margin(1e-6).epsilon(0.0));
    CHECK(probability("dew-point-depression-after-flowering", {5.0}, mr_wwnoc) ==
          Approx(0.124667).margin(1e-6).epsilon(0.0));
    CHECK(probability("humid-days", {15.0, 14.0}, s_wwc) == Approx(0.368603).margin(1e-6).epsilon(0.0));
    CHECK(probability("humid-days", {15.0, 14.0}, mr_wwnoc) == Approx(0.068782).margin(1e-6).epsilon(0.0));
}

TEST_CASE("every logit is the sum that its named coefficients say") {
    const auto has = [](const std::string& name, const Agronomy& agronomy) {
        if (name == "very_susceptible") return agronomy.resistance == Resistance::very_susceptible;
        if (name == "moderately_susceptible") return agronomy.resistance == Resistance::moderately_susceptible;
        if (name == "moderately_resistant") return agronomy.resistance == Resistance::moderately_resistant;
        if (name == "winter_with_maize_residue") return agronomy.group == WheatGroup::winter_with_maize_residue;
        if (name == "spring") return agronomy.group == WheatGroup::spring;
        return false;
    };
    for (const DiseaseModel& model : disease_models(true)) {
        INFO(model.name);
        CHECK(model.coefficients.empty() == (model.logit == nullptr));
        if (!model.logit) continue;
        CHECK(model.coefficients.front().name == "intercept");
        std::map<std::string, double> x = {{"intercept", 1.0}};
        std::vector<double> weather;
        for (const WeatherTerm& term : model.weather) {
            weather.push_back(term.data_low + 7.0);
            x[term.name] = weather.back();
        }
        if (weather.size() == 2) x["warm_hours_times_warm_wet_hours"] = weather[0] * weather[1];
        if (model.kind == RiskKind::index) x["share_of_113_h"] = weather[0] / 113.0;
        if (weather.size() == 2) x["share_of_168_h_times_113_h"] = weather[0] * weather[1] / (168.0 * 113.0);
        for (const Resistance resistance : {Resistance::very_susceptible, Resistance::susceptible,
                                            Resistance::moderately_susceptible, Resistance::moderately_resistant}) {
            for (const WheatGroup group : {WheatGroup::winter_without_maize_residue,
                                           WheatGroup::winter_with_maize_residue, WheatGroup::spring}) {
                const Agronomy agronomy{resistance, group};
                double sum = 0.0;
                for (const Coefficient& of : model.coefficients) {
                    sum += of.value * (x.count(of.name) ? x[of.name] : has(of.name, agronomy) ? 1.0 : 0.0);
                }
                CHECK(sum == Approx(model.logit(weather, agronomy)).margin(1e-12).epsilon(0.0));
            }
        }
    }
}

TEST_CASE("two points of humidity move the logit of humidity around flowering by 0.235") {
    const auto logit = [](double humidity) {
        return find_model("humidity-around-flowering").logit(std::vector<double>{humidity}, {});
    };
    CHECK(logit(72.0) - logit(70.0) == Approx(0.235).margin(5e-5).epsilon(0.0));
}

TEST_CASE("the indices of 2003 give the values of their equations and stand still beyond their scale") {
    const double expected_a[] = {0.033067, 0.158105, 0.507700, 0.968847};
    const double expected_b[] = {0.023543, 0.250176, 0.821970, 0.998870};
    const double shares[] = {0.0, 0.25, 0.5, 1.0};
    for (std::size_t i = 0; i < 4; ++i) {
        CHECK(probability("warm-wet-hours-index", {113.0 * shares[i]}) ==
              Approx(expected_a[i]).margin(1e-6).epsilon(0.0));
        CHECK(probability("warm-then-wet-hours-index", {168.0, 113.0 * shares[i]}) ==
              Approx(expected_b[i]).margin(1e-6).epsilon(0.0));
    }
    // Where the equations give one half.
    CHECK(probability("warm-wet-hours-index", {113.0 * 0.49548}) == Approx(0.5).margin(1e-5).epsilon(0.0));
    CHECK(probability("warm-then-wet-hours-index", {168.0, 113.0 * 0.35444}) == Approx(0.5).margin(2e-5).epsilon(0.0));
    CHECK(probability("warm-wet-hours-index", {113.0 * 1.2}) == probability("warm-wet-hours-index", {264.0}));
    CHECK(probability("warm-wet-hours-index", {113.0 * 1.19}) < probability("warm-wet-hours-index", {113.0 * 1.2}));
    for (const char* name : {"warm-wet-hours-index", "warm-then-wet-hours-index"}) {
        CHECK(find_model(name, true).kind == RiskKind::index);
    }
    CHECK_THAT(find_model("warm-wet-hours-index").label, Contains("inferred"));
    CHECK_THAT(find_model("warm-then-wet-hours-index", true).label, Contains("guess") && Contains("unconfirmed"));
}

TEST_CASE("the days around heading give the contents of their equations") {
    const auto before = [](double rain, double cold) { return probability("rain-before-heading", {rain, cold}); };
    CHECK(before(0, 0) == Approx(0.64082).margin(5e-6).epsilon(0.0));
    CHECK(before(2, 0) == Approx(5.15931).margin(5e-6).epsilon(0.0));
    CHECK(before(2, 2) == Approx(1.61601).margin(5e-6).epsilon(0.0));
    // The order of the terms: rain before, rain of days 3 to 6, of days 7 to 10, cold nights, hot days.
    const auto around = [](std::vector<double> days) { return probability("rain-around-heading", std::move(days)); };
    CHECK(around({1, 1, 1, 0, 0}) == Approx(2.17050).margin(5e-6).epsilon(0.0));
    CHECK(around({2, 2, 1, 1, 0}) == Approx(5.65460).margin(5e-6).epsilon(0.0));
    CHECK(around({0, 0, 0, 0, 0}) == Approx(0.33171).margin(5e-6).epsilon(0.0));
    CHECK(around({1, 0, 2, 1, 0}) == Approx(1.27713).margin(5e-6).epsilon(0.0));
    CHECK(around({0, 1, 0, 4, 4}) == 0.0);  // exp(-6.9) less 0.1 would be under nothing
    CHECK(find_model("rain-before-heading", true).kind == RiskKind::content);
    CHECK(find_model("rain-before-heading", true).day_zero == DayZero::heading);
    CHECK(find_model("rain-before-heading", true).first_day() == -7);
    CHECK(find_model("rain-before-heading", true).last_day() == -4);
    CHECK(find_model("rain-around-heading", true).last_day() == 10);
}

TEST_CASE("a logit only rises or only falls with each of its weather terms") {
    for (const DiseaseModel& model : disease_models(true)) {
        if (!model.logit) continue;
        INFO(model.name);
        for (std::size_t term = 0; term < model.weather.size(); ++term) {
            std::vector<double> weather;
            for (const WeatherTerm& of : model.weather) weather.push_back(std::max(of.data_low, 1.0) + 3.0);
            double rises = 0.0, falls = 0.0, last = 0.0;
            for (int step = 0; step <= 120; ++step) {
                weather[term] = 2.0 * step;
                const double logit = model.logit(weather, s_wwc);
                if (step > 0) (logit > last ? rises : falls) += std::abs(logit - last);
                last = logit;
            }
            CHECK(rises + falls > 0.0);
            CHECK(std::min(rises, falls) == 0.0);
        }
    }
}

TEST_CASE("night warmth and rain give the values of the published equation") {
    // Carvalho & Del Ponte 2026, LM3; arithmetic by hand.
    const DiseaseModel& model = find_model("night-warmth-and-rain");
    const auto logit = [&](double minimum, double rain) { return model.logit(std::vector<double>{minimum, rain}, {}); };
    CHECK(logit(15, 40) == Approx(0.948).margin(1e-9).epsilon(0.0));
    CHECK(logit(10, 20) == Approx(-2.307).margin(1e-9).epsilon(0.0));
    CHECK(logit(12, 100) == Approx(0.291).margin(1e-9).epsilon(0.0));
    CHECK(logit(18, 0) == Approx(1.965).margin(1e-9).epsilon(0.0));
    CHECK(probability("night-warmth-and-rain", {15, 40}) == Approx(0.72071).margin(5e-6).epsilon(0.0));
    CHECK(probability("night-warmth-and-rain", {10, 20}) == Approx(0.09054).margin(5e-6).epsilon(0.0));
    CHECK(probability("night-warmth-and-rain", {12, 100}) == Approx(0.57224).margin(5e-6).epsilon(0.0));
    CHECK(probability("night-warmth-and-rain", {18, 0}) == Approx(0.87707).margin(5e-6).epsilon(0.0));
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
    for (const DiseaseModel& model : disease_models()) {
        if (!model.uses_agronomy) continue;
        INFO(model.name);
        std::vector<double> weather;
        for (const WeatherTerm& term : model.weather) weather.push_back(term.data_low);
        for (const WheatGroup group : {WheatGroup::winter_without_maize_residue, WheatGroup::spring}) {
            const auto logit = [&](Resistance resistance) { return model.logit(weather, {resistance, group}); };
            CHECK(logit(Resistance::very_susceptible) > logit(Resistance::susceptible));
            CHECK(logit(Resistance::susceptible) > logit(Resistance::moderately_susceptible));
            CHECK(logit(Resistance::moderately_susceptible) > logit(Resistance::moderately_resistant));
        }
        CHECK(model.logit(weather, s_wwc) > model.logit(weather, {}));
    }
}

TEST_CASE("every model says where it comes from and how well it does") {
    CHECK(default_model().name == "dew-point-depression");
    CHECK(model_names().size() == disease_models().size());
    for (const DiseaseModel& model : disease_models(true)) {
        INFO(model.name);
        CHECK(&find_model(model.name, true) == &model);
        CHECK_FALSE(model.title.empty());
        CHECK_FALSE(model.about.empty());
        CHECK_FALSE(model.label.empty());
        CHECK_FALSE(model.region.words.empty());
        CHECK_THAT(model.source, Contains("doi 10.") || Contains("Phytopathology 93") || Contains("Plant Disease 86"));
        CHECK(model.skill.auc.has_value() == (model.kind == RiskKind::probability));
        CHECK(model.skill.brier.has_value() == (model.kind == RiskKind::probability));
        if (model.skill.auc) {
            CHECK(*model.skill.auc > 0.5);
            CHECK(*model.skill.auc < 0.85);  // what simple equations can do on such data
            CHECK(*model.skill.brier < *model.skill.brier_without_model);
            CHECK(*model.skill.diseased < model.skill.fields);
        } else {
            CHECK_FALSE(model.skill.other.empty());
            CHECK_THAT(in_words(model.skill), Contains("not known"));
        }
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

TEST_CASE("no model speaks of a limit or of what to do in the field and only a content of DON") {
    for (const DiseaseModel& model : disease_models(true)) {
        for (const std::string* text : {&model.name, &model.title, &model.about, &model.label}) {
            for (const char* word : {"limit", "spray", "treat", "fungicide", "threshold", "low risk", "high risk"}) {
                CHECK_THAT(*text, !Contains(word));
            }
            if (model.kind != RiskKind::content) CHECK_THAT(*text, !Contains("DON"));
        }
    }
}

TEST_CASE("an unknown disease model is answered with the nearest or with all") {
    CHECK_THROWS_WITH(find_model("dew-point-depresion"),
                      Contains("there is no disease model \"dew-point-depresion\"") &&
                          Contains("did you mean \"dew-point-depression\"?"));
    CHECK_THROWS_WITH(find_model("x"), Contains("write one of dew-point-depression, humidity-around-flowering"));
    CHECK_THROWS_AS(find_model(""), Error);
}

TEST_CASE("the models known to be flattered by their figures say so") {
    CHECK_THAT(in_words(find_model("humid-days").skill), Contains("AUC 0.77") && Contains("flatter"));
    for (const DiseaseModel& model : disease_models()) {
        if (model.name != "humid-days") CHECK(model.skill.caution.empty());
    }
    CHECK(in_words(default_model().skill) ==
          "On fields it had not seen (leaving one year out at a time): AUC 0.73, Brier 0.173 against 0.199 without the "
          "model.");
}

TEST_CASE("the skill of the refits is that of leaving one year out and beats naming the share") {
    struct Skill {
        const char* name;
        double auc, brier;
    };
    for (const Skill& of :
         {Skill{"cultivar-and-residue", 0.641, 0.1866}, Skill{"warm-wet-hours", 0.686, 0.1808},
          Skill{"warm-then-wet-hours", 0.685, 0.1810}, Skill{"humidity-before-flowering", 0.706, 0.1783},
          Skill{"humidity-around-flowering", 0.727, 0.1743}, Skill{"dew-point-depression", 0.730, 0.1733},
          Skill{"dew-point-depression-after-flowering", 0.708, 0.1768}, Skill{"humid-days", 0.770, 0.1628}}) {
        INFO(of.name);
        CHECK(find_model(of.name).skill.auc == of.auc);
        CHECK(find_model(of.name).skill.brier == of.brier);
        // The share of diseased fields, 273 of 999, named for all.
        CHECK(*find_model(of.name).skill.brier_without_model ==
              Approx(273.0 / 999 * 726 / 999).margin(5e-5).epsilon(0.0));
    }
}

TEST_CASE("unconfirmed models are there only for who asks and come last") {
    std::size_t unconfirmed = 0;
    for (const DiseaseModel& model : disease_models(true)) {
        if (model.unconfirmed) {
            ++unconfirmed;
            CHECK_THAT(model.label, Contains("unconfirmed"));
            CHECK_THROWS_WITH(find_model(model.name),
                              Contains("\"" + model.name + "\" is unconfirmed") && Contains("--include-unconfirmed"));
        } else {
            CHECK(unconfirmed == 0);
            CHECK_THAT(model.label, !Contains("unconfirmed"));
        }
    }
    CHECK(unconfirmed == 3);
    CHECK(disease_models().size() + unconfirmed == disease_models(true).size());
    for (const DiseaseModel& model : disease_models()) CHECK_FALSE(model.unconfirmed);
    // A slip of the pen offers only what may be had.
    CHECK_THROWS_WITH(find_model("rain-before-headin"), !Contains("rain-before-heading\"?"));
    CHECK_THROWS_WITH(find_model("rain-before-headin", true), Contains("did you mean \"rain-before-heading\"?"));
}

TEST_CASE("a model says in words which days it needs") {
    CHECK(weather_in_words(default_model()) == "days -10 to 10 of flowering");
    CHECK(weather_in_words(find_model("humid-days")) == "days -20 to 10 of flowering");
    CHECK(weather_in_words(find_model("cultivar-and-residue")) == "no weather");
    CHECK(weather_in_words(find_model("rain-around-heading", true)) == "days -7 to 10 of heading");
}
