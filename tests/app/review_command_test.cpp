#include "app/commands/review_command.h"

#include <algorithm>
#include <map>
#include <sstream>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "app/figure_of_review.h"
#include "models/disease/catalogue.h"
#include "tests/app/demo_tables.h"
#include "tests/app/review_store.h"
#include "tests/support/recording_painter.h"

using Catch::Contains;

namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;

/// The demo store, made beside the tests where it is not there.
std::string demo_of_review() {
    return (fs::path(LODICULE_DEMO_DIR) / "demo.lodicule").string();
}

std::size_t longest_line_of_review(const std::string& text) {
    std::istringstream lines(text);
    std::size_t longest = 0;
    for (std::string line; std::getline(lines, line);) {
        const auto letters = std::count_if(
            line.begin(), line.end(), [](char byte) { return (static_cast<unsigned char>(byte) & 0xC0U) != 0x80U; });
        longest = std::max(longest, static_cast<std::size_t>(letters));
    }
    return longest;
}

/// As it was before it was broken into lines.
std::string joined_lines(const std::string& text) {
    std::istringstream words(text);
    std::string all;
    for (std::string word; words >> word;) all += (all.empty() ? "" : " ") + word;
    return all;
}

}  // namespace

TEST_CASE("review tells a season whose scouting is not there how to import it") {
    const tests::ReviewStore store("review_empty", false);
    const std::string said = store.review({"--seasons", "2022"});
    CHECK_THAT(said, Contains("lodicule import STORE scouting"));
    CHECK_THAT(said, Contains("Name a limit to hold results against: --limit 1.0"));
    CHECK_THAT(said, Contains("lodicule map STORE --season Y --limit L --keep"));
    CHECK_THAT(joined_lines(said), Contains("With --as-of DATE it is what would have been said on a past day"));
    CHECK_THAT(said, Contains("One season: what it shows holds for it; nothing can be told of other seasons."));
    CHECK_THAT(said, Contains("the costs table needs test and sample"));
    CHECK_THAT(store.review({"--limit", "1"}), Contains("lodicule import STORE tests FILE.csv"));
    const Json json = Json::parse(store.review({"--json"}));
    CHECK(json["n"] == 0);
    CHECK(json["auc"].is_null());
    CHECK(json["brier"].is_null());
    CHECK(json["table"].empty());
    CHECK(json["seasons"] == Json({2021, 2022, 2023}));
    store.review({"--out", store.path("empty.png")});
    CHECK(store.bytes("empty.png").substr(1, 3) == "PNG");
}

TEST_CASE("review refuses what it cannot tell in one sentence each") {
    const tests::ReviewStore store("review_refusals");
    CHECK_THAT(store.review({"--seasons", "2023-2021"}, 1), Contains("season 2023 comes after season 2021"));
    CHECK_THAT(store.review({"--seasons", "1999"}, 1), Contains("no crop records of season 1999"));
    CHECK_THAT(store.review({"--limit", "0"}, 1), Contains("0"));
    CHECK_THAT(store.review({"--model", "humid-day"}, 1), Contains("humid-days"));
    CHECK_THAT(store.review({"--field", "Z"}, 1), Contains("no crop record is of a field \"Z\""));
    CHECK_THAT(store.review({"--field", "A", "--out", "x.png"}, 1), Contains("cannot both be"));
    CHECK_THAT(store.review({"--out", store.path("x.bmp")}, 1), Contains("end its name in .png, .svg or .pdf"));
    CHECK_FALSE(fs::exists(store.path("x.bmp")));
    CHECK_THAT(store.review({"--threads", "-1"}, 1), Contains("cannot be negative"));
    const std::string empty = store.path("nothing.lodicule");
    tests::ReviewStore::said({"new", empty});
    CHECK_THAT(tests::ReviewStore::said({"review", empty}, 1), Contains("there is no season to look back on"));
}

TEST_CASE("review holds a small store's risks and forecasts against what was found") {
    const tests::ReviewStore store("review_small");
    store.keep_season_2022();
    const std::string said = store.review({"--limit", "1.0", "--model", "cultivar-and-residue"});
    CHECK_THAT(said, Contains("8 of 17 fields came to a severity of 10 % or more"));
    CHECK_THAT(said, Contains("cultivar-and-residue *"));
    CHECK_THAT(said, Contains("Local re-calibration "));
    CHECK_THAT(said, Contains("5 of 8 tested fields are over by their own results"));
    CHECK_THAT(said, Contains("7 forecasts kept of limit 1 mg/kg; 3 fields had a result after one."));
    CHECK_THAT(joined_lines(said), Contains("of 3 fields foretold before a first result of theirs, ") &&
                                       Contains("came out on the side that was foretold") &&
                                       Contains("So few tell little."));
    CHECK_THAT(said, Contains("Made when no result of the field was known:"));
    CHECK_THAT(said, Contains("90 % intervals: 2 of 3 readings inside as they stand, 3 of 3 once the reading's own"));
    CHECK_THAT(said, Contains("1 ("));  // A moved over the cap
    CHECK_THAT(said, Contains("moved under") && Contains("moved over") && Contains("compared"));
    CHECK_THAT(joined_lines(said), Contains("moved under, moved over: of the fields compared, foretold twice or more, "
                                            "those (and their tonnes) whose chance of being over the limit fell under "
                                            "the load cap of 5 %"));
    // Three fields, and seventeen: no parts of a score.
    CHECK_THAT(joined_lines(said), Contains("3 fields tell next to nothing of how far chances can be trusted"));
    CHECK_THAT(said, Contains("17 fields tell next to nothing"));
    CHECK_THAT(said, !Contains("resolution 0"));
    CHECK(longest_line_of_review(said) <= 100);
    const Json json = Json::parse(store.review({"--model", "cultivar-and-residue", "--json"}));
    CHECK(json["n"] == 17);
    CHECK(json["parts_tell"] == false);
    CHECK(json["limit_mg_per_kg"] == 1.0);
    CHECK(json["brier"].get<double>() ==
          Approx(json["reliability"].get<double>() - json["resolution"].get<double>() +
                 json["uncertainty"].get<double>() + json["within_groups"].get<double>()));
    CHECK(json["forecasts"]["classes"][0]["fields"][0]["test"] == "A2");
    CHECK(json["forecasts"]["classes"][1]["own_results_known"] == true);
    CHECK(json["strips"][1]["left_cap"] == 1);
    int cases = 0;
    for (const Json& row : json["table"]) cases += row["n"].get<int>();
    CHECK(cases == 17);
    // Of two seasons nothing is claimed of others.
    CHECK_THAT(store.review({"--seasons", "2021-2022", "--model", "cultivar-and-residue"}),
               Contains("nothing can be told of other seasons; it takes 3"));
}

TEST_CASE("review tells forecasts made afterwards apart from those that were at hand") {
    const tests::ReviewStore store("review_afterwards");
    using tests::ReviewStore;
    store.keep("2023-08-01T08:00:00Z",
               {ReviewStore::afterwards(ReviewStore::forecast(2022, "B", 0.1, 0.4, 0.15, 1.0, 0),
                                        models::day_of(2022, 7, 3))});
    const std::string said = store.review({});
    CHECK_THAT(joined_lines(said), Contains("All are made afterwards (map --keep --as-of), by the program and the "
                                            "records as they stood when it was made"));
    CHECK_THAT(said, Contains("Made afterwards, as of a day when no result of the field was known:"));
    CHECK_THAT(said, !Contains("Made when no result"));
    store.keep_season_2022();
    const std::string both = store.review({});
    CHECK_THAT(joined_lines(both),
               Contains("8 forecasts kept of limit 1 mg/kg (the one that most are of); 3 fields had "
                        "a result after one. 1 is made afterwards"));
    CHECK_THAT(both, Contains("Made when no result of the field was known:") &&
                         Contains("Made afterwards, as of a day when no result of the field was known:"));
    const Json json = Json::parse(store.review({"--json"}));
    CHECK(json["forecasts"]["made_afterwards"] == 1);
    REQUIRE(json["forecasts"]["classes"].size() == 4);
    CHECK(json["forecasts"]["classes"][0]["n"] == 3);
    CHECK(json["forecasts"]["classes"][2]["made_afterwards"] == true);
    CHECK(json["forecasts"]["classes"][2]["fields"][0]["as_of"] == "2022-07-03");
    CHECK(json["forecasts"]["classes"][2]["fields"][0]["test"] == "B2");
    CHECK(json["forecasts"]["classes"][0]["fields"][0]["as_of"].is_null());
}

TEST_CASE("the headline of review is the interval over seasons") {
    const std::string said =
        tests::ReviewStore::said({"review", demo_of_review(), "--limit", "1.0", "--model", "dew-point-depression"});
    const Json json = Json::parse(tests::ReviewStore::said(
        {"review", demo_of_review(), "--limit", "1.0", "--model", "dew-point-depression", "--json"}));
    const auto span = [](const Json& low, const Json& high) {
        return fmt::format("{:.2f} to {:.2f}", low.get<double>(), high.get<double>());
    };
    const std::string over = span(json["auc_over_seasons"]["low95"], json["auc_over_seasons"]["high95"]),
                      independent = span(json["auc_low"], json["auc_high"]);
    std::istringstream lines(said);
    bool found = false;
    for (std::string line; std::getline(lines, line);) {
        if (line.find("dew-point-depression *") == std::string::npos || found) continue;
        found = true;
        const std::size_t first = line.find(over), second = line.find(independent);
        INFO(line);
        REQUIRE(first != std::string::npos);
        REQUIRE(second != std::string::npos);
        CHECK(first < second);
    }
    CHECK(found);
    CHECK_THAT(joined_lines(said), Contains("if independent: 95 % interval as if fields were independent (DeLong); too "
                                            "narrow"));
    for (const Json& row : json["models"]) CHECK(row["auc_over_seasons"].contains("low95"));
    CHECK(json["parts_tell"] == true);
}

TEST_CASE("the demo keeps forecasts of past days and review holds them against what came after") {
    const Json json = Json::parse(tests::ReviewStore::said({"review", demo_of_review(), "--json"}));
    CHECK(json["limit_mg_per_kg"] == 1.0);
    const Json& forecasts = json["forecasts"];
    CHECK(forecasts["kept"] == forecasts["made_afterwards"]);
    CHECK(forecasts["followed"].get<int>() >= 30);
    CHECK(forecasts["classes"][0]["n"] == 0);
    CHECK(forecasts["classes"][2]["n"].get<int>() >= 20);
    // Of each field one result, later than the day that its forecast is as of.
    for (const Json& of : forecasts["classes"]) {
        for (const Json& check : of["fields"])
            CHECK(check["time"].get<std::string>().substr(0, 10) > check["as_of"].get<std::string>());
    }
    CHECK(json["strips"][2]["fields_compared"].get<int>() > 10);
    CHECK(longest_line_of_review(tests::ReviewStore::said({"review", demo_of_review()})) <= 100);
}

TEST_CASE("review tells the years of one field") {
    const tests::ReviewStore store("review_field");
    const std::string said = store.review({"--field", "A", "--limit", "1.0"});
    CHECK_THAT(said, Contains("Field A, Orl"));
    CHECK_THAT(said, Contains("15.0 %"));
    CHECK_THAT(said, Contains("by all results up to season"));
    CHECK(longest_line_of_review(said) <= 100);
    const Json json = Json::parse(store.review({"--field", "C", "--seasons", "2021-2022", "--json"}));
    REQUIRE(json["seasons"].size() == 2);
    CHECK(json["seasons"][0]["severity_pct"] == 22.0);
    CHECK(json["seasons"][0]["flowering_day"] == "2021-06-03");
    CHECK(json["seasons"][1]["load_tests"] == 1);
    CHECK(json["results_known_up_to"] == 2022);
    // Without a result anywhere there is no content.
    const tests::ReviewStore bare("review_field_bare", false);
    CHECK(Json::parse(bare.review({"--field", "A", "--json"}))["seasons"][0]["median_mg_per_kg"].is_null());
}

TEST_CASE("review of the demo seasons agrees with its scouting table and the risks of its fields") {
    const Json json = Json::parse(tests::ReviewStore::said({"review", demo_of_review(), "--limit", "1.0", "--json"}));
    CHECK(json["seasons"] == Json({2024, 2025, 2026}));
    // The AUC once more by pairs, from the committed table and the risks over seasons.
    app::Question question;
    const auto side = app::look_over_seasons(geo::Store::open(demo_of_review(), geo::Store::Access::read_only),
                                             question, {2024, 2026}, {&models::default_model()});
    std::map<std::pair<std::string, int>, double> risk;
    for (std::size_t r = 0; r < side.over.records.size(); ++r) {
        const models::CropRecord& crop = side.data.crops[side.over.records[r]];
        if (side.over.risks[0][r].value) risk[{crop.field, crop.season}] = *side.over.risks[0][r].value;
    }
    double wins = 0.0, pairs = 0.0, brier = 0.0;
    int n = 0;
    const auto scouting = tests::demo_data::table("scouting.csv");
    const auto of = [&](const tests::demo_data::Row& row) {
        return risk.find({row.at("field"), std::stoi(row.at("date").substr(0, 4))});
    };
    for (const auto& row : scouting) {
        if (of(row) == risk.end()) continue;
        ++n;
        const bool diseased = tests::demo_data::number(row, "severity_pct") >= 10.0;
        brier += std::pow(of(row)->second - (diseased ? 1.0 : 0.0), 2);
        for (const auto& other : scouting) {
            if (of(other) == risk.end() || !diseased || tests::demo_data::number(other, "severity_pct") >= 10.0)
                continue;
            pairs += 1.0;
            wins += of(row)->second > of(other)->second ? 1.0 : of(row)->second == of(other)->second ? 0.5 : 0.0;
        }
    }
    CHECK(json["n"] == n);
    CHECK(json["auc"].get<double>() == Approx(wins / pairs));
    CHECK(json["brier"].get<double>() == Approx(brier / n));
    CHECK(json["models"].size() == models::disease_models().size());
    CHECK(json["don"]["n"].get<int>() > 40);
    CHECK(json["don"]["auc"].get<double>() > 0.6);
    CHECK(json["strips"][2]["money"].get<double>() > 1000.0);
    const std::string said = tests::ReviewStore::said({"review", demo_of_review(), "--limit", "1.0"});
    CHECK(longest_line_of_review(said) <= 100);
}

TEST_CASE("review writes the same bytes whatever the number of threads") {
    const tests::ReviewStore store("review_threads");
    const auto text = [&](const char* threads, const std::string& file, std::vector<std::string> more) {
        std::vector<std::string> words = {"review", demo_of_review(), "--limit", "1.0", "--threads", threads};
        words.insert(words.end(), more.begin(), more.end());
        if (!file.empty()) words.insert(words.end(), {"--out", store.path(file)});
        return tests::ReviewStore::said(words);
    };
    CHECK(text("1", "", {"--json"}) == text("2", "", {"--json"}));
    CHECK(text("1", "", {"--field", "C01", "--json"}) == text("3", "", {"--field", "C01", "--json"}));
    text("1", "one.svg", {});
    text("2", "two.svg", {});
    CHECK(store.bytes("one.svg") == store.bytes("two.svg"));
    CHECK(store.bytes("one.svg").size() > 10000);
    text("1", "page.pdf", {});
    CHECK(store.bytes("page.pdf").substr(0, 4) == "%PDF");
}

TEST_CASE("the review figure says every model by name and number and clips nothing") {
    const tests::ReviewStore store("review_figure");
    store.keep_season_2022();
    app::Question question;
    std::vector<const models::DiseaseModel*> by;
    for (const models::DiseaseModel& model : models::disease_models()) by.push_back(&model);
    const auto review =
        app::review_seasons(geo::Store::open(store.store(), geo::Store::Access::read_only), question, {2021, 2023}, by);
    const auto& model = models::find_model("cultivar-and-residue");
    const auto figure = app::review_figure_of(review, model);
    CHECK(figure.reliability.size() == 2);
    REQUIRE(figure.order.size() == 1);
    CHECK(figure.order[0].chosen);
    CHECK(figure.league.size() == by.size());
    app::drawing::Look look;
    look.text_px = 16.0;
    support::RecordingPainter painter;
    const double height = app::drawing::height_of_review_figure(painter, 1312.0, figure, look);
    const app::drawing::Rect area{24.0, 24.0, 1312.0, height};
    app::drawing::draw_review_figure(painter, area, figure, look);
    std::string all;
    for (const auto& text : painter.texts) {
        INFO(text.words);
        CHECK(app::drawing::holds({0.0, 0.0, 1360.0, height + 48.0}, text.box));
        all += text.words + "\n";
    }
    for (const models::DiseaseModel* one : by) CHECK_THAT(all, Contains(one->title));
    CHECK_THAT(all, Contains("What seasons 2021 to 2023 teach"));
    CHECK_THAT(all, Contains("Forecasts before a first result"));
    // The limit behind the column, and the interval over seasons before the other.
    CHECK_THAT(all, Contains("DON AUC, over 1.0 mg/kg"));
    CHECK_THAT(all, Contains("95 % over seasons"));
    const auto row =
        std::find_if(figure.league.begin(), figure.league.end(), [](const auto& one) { return one.chosen; });
    REQUIRE(row != figure.league.end());
    const app::ModelReview& told = review.risks.of(model);
    CHECK(row->low95 == told.auc_over_seasons.low95);
    CHECK(row->independent_low95 == told.rank->low95);
    CHECK(row->interval_text == fmt::format("{:.2f} to {:.2f}", *row->low95, *row->high95));
    for (std::size_t i = 0; i < painter.texts.size(); ++i) {
        for (std::size_t j = i + 1; j < painter.texts.size(); ++j) {
            INFO(painter.texts[i].words << " | " << painter.texts[j].words);
            CHECK_FALSE(app::drawing::overlap(painter.texts[i].box, painter.texts[j].box));
        }
    }
    // A model that has an order only says so in place of the curve.
    const auto index = std::find_if(
        by.begin(), by.end(), [](const models::DiseaseModel* one) { return one->kind == models::RiskKind::index; });
    REQUIRE(index != by.end());
    CHECK_THAT(app::review_figure_of(review, **index).reliability[0].empty, Contains("an order only"));
}
