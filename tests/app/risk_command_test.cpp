#include "app/commands/risk_command.h"

#include <algorithm>
#include <cmath>

#include <catch2/catch.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/stages/risk_stage.h"
#include "models/disease/catalogue.h"
#include "tests/app/captured_output.h"
#include "tests/support/app/window_driver.h"

namespace {

using Catch::Matchers::Contains;
using Json = nlohmann::json;

struct Answer {
    int code = 0;
    std::string out, err;
};

Answer risk_answer(std::vector<std::string> words) {
    words.insert(words.begin(), {"lodicule", "risk"});
    std::vector<const char*> bare;
    for (const std::string& word : words) bare.push_back(word.c_str());
    const tests::CapturedOutput out(stdout), err(stderr);
    Answer answer;
    answer.code =
        app::run_command_line({app::commands::make_risk_command()}, static_cast<int>(bare.size()), bare.data());
    answer.out = out.text();
    answer.err = err.text();
    return answer;
}

Json risk_json(std::vector<std::string> words) {
    words.emplace_back("--json");
    const Answer answer = risk_answer(std::move(words));
    REQUIRE(answer.code == 0);
    return Json::parse(answer.out);
}

}  // namespace

TEST_CASE("the list of models says of each what it needs and how well it does and where it is from") {
    const Answer listed = risk_answer({"--models"});
    REQUIRE(listed.code == 0);
    for (const models::DiseaseModel& model : models::disease_models()) {
        CHECK_THAT(listed.out, Contains(model.name) && Contains(model.title));
        CHECK_THAT(listed.out, Contains(models::weather_in_words(model)));
    }
    CHECK_THAT(listed.out, Contains("southern Brazil") && Contains("0.73") && Contains("refit by this project"));
    CHECK_THAT(listed.out, Contains("index") && Contains("inferred"));
    CHECK_THAT(listed.out, !Contains("unconfirmed") && !Contains("rain-before-heading"));

    const Answer all = risk_answer({"--models", "--include-unconfirmed"});
    CHECK_THAT(all.out, Contains("rain-before-heading") && Contains("content, unconfirmed"));
}

TEST_CASE("the list of models as JSON has a card for each with the same keys") {
    const Json listed = risk_json({"--models", "--include-unconfirmed"});
    REQUIRE(listed["models"].size() == models::disease_models(true).size());
    for (const Json& card : listed["models"]) {
        for (const char* key : {"model", "model_title", "model_label", "unconfirmed", "kind", "unit", "source",
                                "region", "needs", "weather", "coefficients", "skill", "meaning"}) {
            CHECK(card.contains(key));
        }
        for (const char* key : {"auc", "brier", "brier_without_model", "fields", "how", "other", "caution"}) {
            CHECK(card["skill"].contains(key));
        }
        const models::DiseaseModel& model = models::find_model(card["model"].get<std::string>(), true);
        CHECK(card["unconfirmed"] == model.unconfirmed);
        CHECK(card["weather"].size() == model.weather.size());
        CHECK(card["skill"]["auc"].is_null() == !model.skill.auc.has_value());
    }
}

TEST_CASE("the list of models as JSON names each coefficient of a logit and leaves a content without") {
    const Json listed = risk_json({"--models", "--include-unconfirmed"});
    for (const Json& card : listed["models"]) {
        const models::DiseaseModel& model = models::find_model(card["model"].get<std::string>(), true);
        INFO(model.name);
        CHECK(card["coefficients"].is_null() == (model.kind == models::RiskKind::content));
        CHECK(card["coefficients"].size() == model.coefficients.size());
        for (const models::Coefficient& of : model.coefficients) CHECK(card["coefficients"].at(of.name) == of.value);
    }
    // Carvalho & Del Ponte 2026, LM3.
    for (const Json& card : listed["models"]) {
        if (card["model"] != "night-warmth-and-rain") continue;
        CHECK(card["coefficients"] ==
              Json({{"intercept", -8.457}, {"minimum_temperature_degc", 0.579}, {"rain_mm", 0.018}}));
    }
}

TEST_CASE("every model can be named and gives the season's fields a number or says why not") {
    for (const models::DiseaseModel& model : models::disease_models()) {
        INFO(model.name);
        const Json answer = risk_json({tests::demo_store().string(), "--season", "2026", "--model", model.name});
        CHECK(answer["model"] == model.name);
        CHECK(answer["unconfirmed"] == false);
        CHECK(answer["kind"] == models::in_words(model.kind));
        REQUIRE(answer["fields"].size() > 10);
        std::size_t with_value = 0;
        for (const Json& field : answer["fields"]) {
            if (field["value"].is_null()) {
                CHECK(field["missing"].size() + field["notes"].size() > 0);
                continue;
            }
            ++with_value;
            CHECK(field["value"] >= 0.0);
            CHECK(field["value"] <= 1.0);
        }
        CHECK(with_value > 5);
    }
}

TEST_CASE("an unconfirmed model is refused without the flag and how to mend it is said") {
    for (const char* name : {"rain-before-heading", "rain-around-heading", "warm-then-wet-hours-index"}) {
        const Answer refused = risk_answer({tests::demo_store().string(), "--season", "2026", "--model", name});
        CHECK(refused.code == 1);
        CHECK(refused.out.empty());
        CHECK_THAT(refused.err,
                   Contains("\"" + std::string(name) + "\" is unconfirmed") && Contains("--include-unconfirmed"));
    }
}

TEST_CASE("the word unconfirmed stands in every output of such a number") {
    const std::vector<std::string> asked = {
        tests::demo_store().string(), "--season", "2026", "--model", "warm-then-wet-hours-index",
        "--include-unconfirmed"};
    const Answer table = risk_answer(asked);
    REQUIRE(table.code == 0);
    CHECK_THAT(table.out, Contains("(unconfirmed)") && Contains("unconfirmed index") && Contains("guess"));
    CHECK_THAT(table.out, Contains("It is no chance of anything"));
    const Json answer = risk_json(asked);
    CHECK(answer["unconfirmed"] == true);
    for (const Json& field : answer["fields"]) {
        CHECK(field["unconfirmed"] == true);
        CHECK(field["kind"] == "index");
        if (!field["value"].is_null()) CHECK_THAT(field["notes"].dump(), Contains("unconfirmed"));
    }
    const Answer beside =
        risk_answer({tests::demo_store().string(), "--season", "2026", "--all-models", "--include-unconfirmed"});
    CHECK_THAT(beside.out, Contains("index, unconfirmed") && Contains("11 unconfirmed"));
}

TEST_CASE("models side by side say the same as each alone") {
    const Json together = risk_json({tests::demo_store().string(), "--season", "2026", "--all-models"});
    const auto& all = models::disease_models();
    REQUIRE(together["models"].size() == all.size());
    for (std::size_t m = 0; m < all.size(); ++m) {
        CHECK(together["models"][m]["model"] == all[m].name);
        const Json alone = risk_json({tests::demo_store().string(), "--season", "2026", "--model", all[m].name});
        REQUIRE(together["fields"].size() == alone["fields"].size());
        for (std::size_t f = 0; f < alone["fields"].size(); ++f) {
            Json one = together["fields"][f]["risks"][m];
            CHECK(one["model"] == all[m].name);
            CHECK(together["fields"][f]["field"] == alone["fields"][f]["field"]);
            for (const char* key : {"kind", "value", "low", "high", "coverage", "extrapolated", "missing", "notes"}) {
                CHECK(one[key] == alone["fields"][f][key]);
            }
        }
    }
}

TEST_CASE("seasons side by side say the same as each season alone whatever the threads") {
    const std::string store = tests::demo_store().string();
    const Answer one_thread =
        risk_answer({store, "--seasons", "2020-2030", "--all-models", "--json", "--threads", "1"});
    const Answer four = risk_answer({store, "--seasons", "2020-2030", "--all-models", "--json", "--threads", "4"});
    REQUIRE(one_thread.code == 0);
    CHECK(one_thread.out == four.out);
    const Json together = Json::parse(one_thread.out);
    CHECK(together["seasons"] == Json::array({2024, 2025, 2026}));
    const std::size_t models_in_all = models::disease_models().size();
    REQUIRE(together["models"].size() == models_in_all);
    int compared = 0;
    for (const int season : {2024, 2025, 2026}) {
        const Json alone = risk_json({store, "--season", std::to_string(season), "--all-models"});
        for (const Json& field : alone["fields"]) {
            const auto same = std::find_if(together["fields"].begin(), together["fields"].end(),
                                           [&](const Json& other) { return other["field"] == field["field"]; });
            REQUIRE(same != together["fields"].end());
            const auto here = std::find_if((*same)["seasons"].begin(), (*same)["seasons"].end(),
                                           [&](const Json& other) { return other["season"] == season; });
            REQUIRE(here != (*same)["seasons"].end());
            for (std::size_t m = 0; m < models_in_all; ++m) {
                for (const char* key : {"model", "kind", "value", "low", "high", "coverage", "weather_source"}) {
                    CHECK((*here)["risks"][m][key] == field["risks"][m][key]);
                }
                ++compared;
            }
        }
    }
    CHECK(compared > 1000);
}

TEST_CASE("the table of seasons has a column a season and says what a dash and a gap are") {
    const Answer table = risk_answer({tests::demo_store().string(), "--seasons", "2024-2026"});
    REQUIRE(table.code == 0);
    CHECK_THAT(table.out, Contains("Disease risk, seasons 2024 to 2026") && Contains("2024    2025    2026"));
    CHECK_THAT(table.out, Contains("middle field") && Contains("fields with a number"));
    CHECK_THAT(table.out, Contains("–: no number") && Contains("Blank: no crop record"));
    CHECK_THAT(risk_answer({tests::demo_store().string(), "--seasons", "2026"}).out, Contains("season 2026: "));
}

TEST_CASE("a table of seasons names other crops and the seasons of which there is no record") {
    const std::string store = tests::demo_store().string();
    const Answer table = risk_answer({store, "--seasons", "2023-2027"});
    CHECK_THAT(table.out, Contains("barley") && Contains("No crop records in 2023, 2027."));
    CHECK_THAT(risk_answer({store, "--seasons", "1900-2200"}).out,
               Contains("No crop records in the other seasons of the range."));
    const Json json = risk_json({store, "--seasons", "2024-2026"});
    const Json& season = json["fields"][0]["seasons"][0];
    CHECK(season["crop"] == "wheat");
    CHECK(season["flowering_day"].is_string());
    CHECK(season["risks"][0]["forecast_hours"] == false);
    CHECK(season["risks"][0]["weather_passed_over"].is_boolean());
}

TEST_CASE("seasons as of a day are each told as of that day of their own year") {
    const std::string store = tests::demo_store().string();
    const Json together = risk_json({store, "--seasons", "2024-2026", "--as-of", "2026-06-05"});
    CHECK(together["how"]["as_of"] == "2026-06-05");
    const Json alone = risk_json({store, "--season", "2024", "--as-of", "2024-06-05"});
    int compared = 0;
    for (const Json& field : together["fields"]) {
        for (const Json& season : field["seasons"]) {
            if (season["season"] != 2024) continue;
            const auto same = std::find_if(alone["fields"].begin(), alone["fields"].end(),
                                           [&](const Json& other) { return other["field"] == field["field"]; });
            REQUIRE(same != alone["fields"].end());
            CHECK(season["risks"][0]["coverage"] == (*same)["coverage"]);
            CHECK(season["risks"][0]["low"] == (*same)["low"]);
            ++compared;
        }
    }
    CHECK(compared > 20);
}

TEST_CASE("an answer says as of when and by which way of the weather it was worked out and what each window held") {
    const std::string store = tests::demo_store().string();
    const Json json = risk_json({store, "--season", "2026", "--as-of", "2026-06-20", "--weather-by", "distance"});
    CHECK(json["as_of"] == "2026-06-20");
    CHECK(json["weather_by"] == "distance");
    const auto with_value = std::find_if(json["fields"].begin(), json["fields"].end(),
                                         [](const Json& field) { return !field["value"].is_null(); });
    REQUIRE(with_value != json["fields"].end());
    CHECK((*with_value)["weather_places"] > 1);
    CHECK_THAT((*with_value)["weather_source"].get<std::string>(), Catch::Matchers::EndsWith(" stations"));
    REQUIRE((*with_value)["terms"].size() == json["weather"].size());
    CHECK((*with_value)["terms"][0]["name"] == json["weather"][0]["name"]);
    CHECK((*with_value)["terms"][0]["value"].is_number());
    CHECK((*with_value)["terms"][0]["coverage"] > 0.9);
    CHECK_THAT(risk_answer({store, "--season", "2026", "--as-of", "2026-06-20", "--weather-by", "distance"}).out,
               Contains("season 2026, as of 2026-06-20, weather by distance: "));
}

TEST_CASE("a season without a number says why in the JSON of many seasons as in that of one") {
    const std::string store = tests::demo_store().string();
    const Json many = risk_json({store, "--seasons", "2024-2026"}), one = risk_json({store, "--season", "2026"});
    int without = 0;
    for (const Json& field : many["fields"]) {
        for (const Json& season : field["seasons"]) {
            const Json& risk = season["risks"][0];
            if (!risk["value"].is_null()) {
                CHECK(risk["missing"].empty());
                continue;
            }
            CHECK_FALSE(risk["missing"].empty());
            if (season["season"] != 2026) continue;
            const auto alone = std::find_if(one["fields"].begin(), one["fields"].end(),
                                            [&](const Json& of) { return of["field"] == field["field"]; });
            REQUIRE(alone != one["fields"].end());
            CHECK(risk["missing"] == ((*alone)["missing"].empty() ? (*alone)["notes"] : (*alone)["missing"]));
            ++without;
        }
    }
    CHECK(without > 5);
    CHECK_THAT(many.dump(), Contains("there is no model for barley") && Contains("temperatures from sowing on"));
}

TEST_CASE("no line of the tables of risk is wider than a hundred letters") {
    const std::string store = tests::demo_store().string();
    for (const std::vector<std::string>& asked :
         std::vector<std::vector<std::string>>{{store, "--season", "2026"},
                                               {store, "--season", "2026", "--weather-by", "kriging"},
                                               {store, "--season", "2026", "--all-models"},
                                               {store, "--seasons", "2024-2026"},
                                               {"--models"}}) {
        const Answer told = risk_answer(asked);
        REQUIRE(told.code == 0);
        std::size_t letters = 0;
        for (const char byte : told.out) {
            letters = byte == '\n' ? 0 : letters + ((static_cast<unsigned char>(byte) & 0xC0U) != 0x80U ? 1 : 0);
            REQUIRE(letters <= 100);
        }
    }
}

TEST_CASE("what many fields say alike stands once under the table with their names") {
    const Answer told = risk_answer({tests::demo_store().string(), "--season", "2026"});
    CHECK_THAT(told.out, Contains(") there is no model for barley: C03; P08; V05.\n"));
    const std::string words = "Umbrath passed over: 144 hours missing: ";
    const std::size_t once = told.out.find(words);
    REQUIRE(once != std::string::npos);
    CHECK(told.out.find(words, once + 1) == std::string::npos);
    CHECK_THAT(told.out, Contains("V04 (0.6 km)"));
}

TEST_CASE("a range of seasons that is none is refused with how to write it") {
    const std::string store = tests::demo_store().string();
    CHECK_THAT(risk_answer({store, "--seasons", "last"}).err, Contains("\"last\" is no range of seasons"));
    CHECK_THAT(risk_answer({store, "--seasons", "2026-2024"}).err, Contains("write it as 2024-2026"));
    CHECK_THAT(risk_answer({store, "--seasons", "1990-1999"}).err,
               Contains("no crop records of any season from 1990 to 1999") && Contains("it has 2024, 2025, 2026"));
    CHECK_THAT(risk_answer({store, "--seasons", "2024-2026", "--season", "2025"}).err,
               Contains("--seasons and --season cannot both be"));
}

TEST_CASE("the table of models side by side carries the skill of each") {
    const Answer table = risk_answer({tests::demo_store().string(), "--season", "2026", "--all-models"});
    REQUIRE(table.code == 0);
    for (const models::DiseaseModel& model : models::disease_models()) {
        INFO(model.name);
        const std::size_t row = table.out.find(" " + model.title + " ");
        REQUIRE(row != std::string::npos);
        const std::string line = table.out.substr(row, table.out.find('\n', row) - row);
        CHECK_THAT(line, Contains(model.skill.auc ? fmt::format(" {:.2f} ", *model.skill.auc) : " – "));
        CHECK_THAT(line, Contains(model.skill.brier ? fmt::format(" {:.3f} ", *model.skill.brier) : "(index)"));
    }
    CHECK_THAT(table.out, Contains("1-8 leaving one year out at a time; 9 bootstrap") && Contains("10 not known"));
    CHECK_THAT(table.out, Contains("60 to 64 %"));
    CHECK_THAT(table.out, Contains("flatter"));
    CHECK_THAT(table.out, !Contains("unconfirmed"));
    const Answer both = risk_answer({tests::demo_store().string(), "--all-models", "--model", "humid-days"});
    CHECK(both.code == 1);
    CHECK_THAT(both.err, Contains("cannot both be"));
}

TEST_CASE("no output of risk holds a class of risk or a word of what to do") {
    for (const std::vector<std::string>& words :
         {std::vector<std::string>{"--models", "--include-unconfirmed"},
          std::vector<std::string>{tests::demo_store().string(), "--all-models", "--include-unconfirmed"},
          std::vector<std::string>{tests::demo_store().string(), "--all-models", "--include-unconfirmed", "--json"},
          std::vector<std::string>{tests::demo_store().string(), "--model", "warm-wet-hours-index"}}) {
        const Answer answer = risk_answer(words);
        REQUIRE(answer.code == 0);
        for (const char* word :
             {"threshold", "Threshold", "treat", "spray", "low risk", "high risk", "medium risk", "moderate risk"}) {
            CHECK_THAT(answer.out, !Contains(word));
        }
    }
}

TEST_CASE("the answer says of each field what its flowering date rests on and every share of its days") {
    const Json answer = risk_json({tests::demo_store().string(), "--season", "2026"});
    std::size_t averaged = 0;
    for (const Json& field : answer["fields"]) {
        const Json& flowering = field["flowering"];
        for (const char* key : {"basis", "most_likely", "sd_days", "method", "averaged_over", "days", "unconfirmed"}) {
            CHECK(flowering.contains(key));
        }
        if (flowering["basis"].is_null()) {
            CHECK(field["value"].is_null());
            continue;
        }
        double sum = 0.0;
        for (const Json& day : flowering["days"]) sum += day["share"].get<double>();
        CHECK(sum == Approx(1.0));
        CHECK(flowering["averaged_over"] == (flowering["basis"] != "observed"));
        CHECK(field["sd_over_dates"].is_null() != flowering["averaged_over"].get<bool>());
        averaged += flowering["averaged_over"].get<bool>() ? 1 : 0;
        if (flowering["basis"] == "heading") {
            CHECK(field["flowering_date"].is_null());
            CHECK_THAT(flowering["method"].get<std::string>(), Contains("heading on "));
        }
    }
    CHECK(averaged > 1);

    const Answer table = risk_answer({tests::demo_store().string(), "--season", "2026"});
    CHECK_THAT(table.out, Contains("3 Jun ±3 d, from heading"));
    CHECK_THAT(table.out, Contains("±: standard deviation of a flowering date that was not observed"));
    CHECK_THAT(table.out, Contains("the flowering date; to estimate it: temperatures from sowing on 2025-10-13"));
    const Answer beside = risk_answer({tests::demo_store().string(), "--season", "2026", "--all-models"});
    CHECK_THAT(beside.out, Contains("3 Jun ±3 d ") && Contains("flowering date that was not observed"));
    const Json by_heading = risk_json(
        {tests::demo_store().string(), "--season", "2026", "--model", "rain-before-heading", "--include-unconfirmed"});
    for (const Json& field : by_heading["fields"]) CHECK(field.contains("heading"));
}

TEST_CASE("only a probability gives the contamination model a logit") {
    models::DiseaseRisk risk;
    risk.value = 0.4;
    risk.logit = std::log(0.4 / 0.6);
    CHECK(app::risk_logit(risk).has_value());
    for (const models::RiskKind kind : {models::RiskKind::index, models::RiskKind::content}) {
        risk.kind = kind;
        CHECK_FALSE(app::risk_logit(risk).has_value());
    }
}
