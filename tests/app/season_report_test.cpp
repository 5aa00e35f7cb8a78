#include "app/report/season_report.h"

#include <filesystem>
#include <fstream>
#include <iterator>
#include <regex>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "app/report/page.h"
#include "app/report/season_report_json.h"
#include "models/error.h"

namespace season_report_test {

namespace report = app::report;

report::SeasonReport sample_report() {
    report::SeasonReport season;
    season.season = 2031;
    season.store = "district.lodicule";
    season.program = "lodicule 0.1.0";
    season.limit = "1 mg/kg, unprocessed common wheat, over the limit from the first digit above it";
    season.limit_source = "Regulation (EU) 2023/915, Annex I, 1.4";
    season.limit_mg_per_kg = 1.0;
    season.risk_model = "wet and mild hours around flowering";
    season.risk_source = "a printed source, table 3";
    season.risk_holds_for = "winter wheat";
    season.structure = "Structure within fields: not supported in any field; each field carries its mean.";
    season.what_next = {"Hold load L2 and send a second sample to a laboratory."};
    season.notes = {"2 samples in no field."};

    report::FieldRow tested;
    tested.name = "Long Acre";
    tested.grower = "A. Meadow & Sons";
    tested.cultivar = "Halm";
    tested.area_ha = 18.42;
    tested.flowering = "2031-06-04";
    tested.risk = 0.412;
    tested.risk_low = 0.184;
    tested.risk_high = 0.655;
    tested.risk_note = "station S2, 6.1 km";
    tested.tests = 2;
    tested.median_mg_per_kg = 0.8234;
    tested.mean_mg_per_kg = 0.9;
    tested.low90_mg_per_kg = 0.3456;
    tested.high90_mg_per_kg = 1.9611;
    tested.exceedance = 0.3312;
    report::FieldRow other;
    other.name = "Mill <Piece>";
    other.note = "no wheat this season";
    season.fields = {tested, other};

    report::TestRow value;
    value.test = "t1";
    value.time = "2031-07-19T09:40+02:00";
    value.sample = "s1";
    value.of = "Long Acre";
    value.don_mg_per_kg = 1.04;
    value.standard_uncertainty_mg_per_kg = 0.21;
    value.kit_lot = "K-17";
    value.chosen_because = "risk";
    value.over_limit = true;
    report::TestRow below = value;
    below.test = "t2";
    below.reading = models::Reading::below;
    below.don_mg_per_kg = 0.25;
    below.over_limit = false;
    report::TestRow invalid = value;
    invalid.test = "t3";
    invalid.reading = models::Reading::invalid;
    invalid.note = "no control line";
    invalid.over_limit.reset();
    season.tests = {value, below, invalid};

    report::LoadRow load;
    load.load = "L2";
    load.time = "2031-07-25T16:05+02:00";
    load.from = "Long Acre 60 %, Mill <Piece> 40 %";
    load.mass_t = 24.61;
    load.median_mg_per_kg = 0.91;
    load.exceedance = 0.41;
    load.state = models::ClearingState::undecided;
    load.reason = "chance of being over is 41 %";
    load.bin = "B7";
    load.waits = true;
    season.loads = {load};

    report::BinRow bin;
    bin.bin = "B7";
    bin.purpose = models::Purpose::hold;
    bin.content_t = 48.3;
    bin.capacity_t = 120.0;
    bin.holds = "L1, L4";
    season.bins = {bin};
    season.chain = report::Chain{1204, "3f9a0c", true, ""};
    return season;
}

long count_of(const std::string& text, const std::string& words) {
    long count = 0;
    for (std::size_t at = text.find(words); at != std::string::npos; at = text.find(words, at + words.size())) ++count;
    return count;
}

using Catch::Contains;

}  // namespace season_report_test

using namespace season_report_test;

TEST_CASE("a report rounds estimates for people and leaves readings as they were written") {
    const std::string html = report::season_report_html(sample_report());
    CHECK_THAT(html, Contains("0.82") && Contains("0.35 to 2.0") && Contains("33 %") && Contains("24.6 t"));
    CHECK_THAT(html, !Contains("0.8234") && !Contains("0.3456"));
    CHECK_THAT(html, Contains(">1.04<") && Contains("standard uncertainty 0.21") && Contains("below 0.25") &&
                         Contains(">void<"));
    CHECK_THAT(html, Contains("41 %<small>18 % to 66 %</small>"));
}

TEST_CASE("loads that wait without a state are not counted as in bins or gone") {
    auto season = sample_report();
    report::LoadRow barley = season.loads[0], dumped = barley;
    barley.load = "L3";
    barley.state.reset();
    dumped.load = "L4";
    dumped.state.reset();
    dumped.waits = false;
    dumped.is_there = true;
    season.loads.push_back(barley);
    season.loads.push_back(dumped);
    CHECK_THAT(report::season_report_html(season),
               Contains("1 in bins or gone, 2 waiting: 0 cleared, 0 over, 1 undecided, 1 not in the plan"));
    season.loads.erase(season.loads.begin() + 1);
    CHECK_THAT(report::season_report_html(season),
               Contains("1 in bins or gone, 1 waiting") && !Contains("in the plan"));
}

TEST_CASE("a report says under the tests which control failed") {
    auto season = sample_report();
    season.controls_outside = {"In doubt: control C1 read 5.5 mg/kg."};
    const std::string html = report::season_report_html(season);
    CHECK(html.find("In doubt: control C1") > html.find("id=\"tested\""));
    CHECK(html.find("In doubt: control C1") < html.find("id=\"fields\""));
}

TEST_CASE("a report names results over the limit by what they are and never counts void ones") {
    auto season = sample_report();
    std::string html = report::season_report_html(season);
    CHECK_THAT(html, Contains("suspected: hold, confirm"));
    CHECK_THAT(html,
               Contains("<b>2</b>valid tests<span>1 below and 0 above the range that can be read, 1 void</span>"));
    CHECK_THAT(html, Contains("<b>1</b>result over the limit"));
    CHECK_THAT(html, Contains("<b>1</b>load<span>0 in bins or gone, 1 waiting: 0 cleared, 0 over, 1 undecided</span>"));
    season.tests[0].method = models::Method::laboratory;
    html = report::season_report_html(season);
    CHECK_THAT(html, Contains("by the laboratory") && !Contains("suspected: hold, confirm"));
}

TEST_CASE("a report shows a corrected test and counts it nowhere") {
    auto season = sample_report();
    report::TestRow earlier = season.tests[0];
    earlier.test = "t0";
    earlier.don_mg_per_kg = 7.7;
    earlier.over_limit.reset();
    earlier.corrected = true;
    earlier.note = "corrected by t1, counts no more";
    season.tests.insert(season.tests.begin(), earlier);
    const std::string html = report::season_report_html(season);
    CHECK_THAT(html, Contains(">7.7") && Contains("corrected by t1, counts no more"));
    CHECK_THAT(html, Contains("<b>2</b>valid tests") && Contains("<b>1</b>result over the limit"));
}

TEST_CASE("a report says of which limit its chances speak") {
    auto season = sample_report();
    season.limit_mg_per_kg = 1.25;
    CHECK_THAT(report::season_report_html(season),
               Contains("Chance over 1.25 mg/kg") && Contains("State and reason go by the limit of the bin"));
}

TEST_CASE("a report without any DON result shows no content and no chance") {
    auto season = sample_report();
    season.ranking_only = true;
    season.tests.clear();
    const std::string html = report::season_report_html(season);
    CHECK_THAT(html, Contains("holds no DON result at all"));
    CHECK_THAT(html, Contains("No test was made this season"));
    const std::string fields =
        html.substr(html.find("id=\"fields\""), html.find("id=\"grain\"") - html.find("id=\"fields\""));
    CHECK_THAT(fields, !Contains("Chance over") && !Contains("0.82") && Contains("41 %"));
}

TEST_CASE("a report carries its cautions where they belong") {
    auto season = sample_report();
    std::string html = report::season_report_html(season);
    CHECK_THAT(html, Contains("Screening result, not a certificate") && Contains("accredited laboratory"));
    CHECK_THAT(html, Contains("Tested for DON only") && Contains("zearalenone"));
    CHECK_THAT(html, Contains("It is not a chance of exceeding a DON limit") && Contains("licensed adviser"));
    CHECK_THAT(html, Contains("never brought under it by grain below it") && Contains("Wet grain on hold spoils"));
    CHECK_THAT(html, Contains("Grinder dust") && Contains("never alone"));
    CHECK_THAT(html, !Contains("veterinarian"));  // no grain here is for feed
    CHECK_THAT(html, !Contains("from memory"));
    season.bins[0].purpose = models::Purpose::feed;
    season.limit_confirmed = false;
    season.extrapolated = {"All 2 disease risks are extrapolated: outside the region of the model's data (here)"};
    html = report::season_report_html(season);
    CHECK_THAT(html, Contains("veterinarian") && Contains("The limit stands in the table from memory"));
    CHECK_THAT(html, Contains("All 2 disease risks are extrapolated: outside the region"));
}

TEST_CASE("the JSON of a report holds all that its page says under keys that stay") {
    const auto season = sample_report();
    const auto json = nlohmann::ordered_json::parse(report::season_report_json(season, {"season.html"}));
    std::vector<std::string> keys;
    for (const auto& [key, value] : json.items()) keys.push_back(key);
    CHECK(keys == std::vector<std::string>{"season",
                                           "store",
                                           "program",
                                           "limit",
                                           "hindsight",
                                           "ranking_only",
                                           "load_cap",
                                           "disease_risk",
                                           "structure_sentence",
                                           "what_next",
                                           "notes",
                                           "fields",
                                           "tests",
                                           "controls_outside",
                                           "loads",
                                           "bins",
                                           "chain",
                                           "cautions",
                                           "figures",
                                           "files"});
    CHECK(json["season"] == 2031);
    CHECK(json["limit"]["limit_mg_per_kg"] == 1.0);
    REQUIRE(json["fields"].size() == 2);
    // Numbers are whole here; only the page rounds them.
    CHECK(json["fields"][0]["median_mg_per_kg"] == 0.8234);
    CHECK(json["fields"][0]["disease_risk"] == 0.412);
    CHECK(json["fields"][1]["median_mg_per_kg"].is_null());
    CHECK(json["fields"][1]["note"] == "no wheat this season");
    REQUIRE(json["tests"].size() == 3);
    CHECK(json["tests"][1]["reading"] == "below");
    CHECK(json["tests"][1]["don_mg_per_kg"] == 0.25);
    CHECK(json["tests"][2]["reading"] == "void");
    CHECK(json["tests"][2]["don_mg_per_kg"].is_null());
    CHECK(json["tests"][2]["over_limit"].is_null());
    CHECK(json["loads"][0]["state"] == "undecided");
    CHECK(json["loads"][0]["waits"] == true);
    CHECK(json["bins"][0]["purpose"] == "hold");
    CHECK(json["chain"]["last_sha256"] == "3f9a0c");
    CHECK(json["files"] == nlohmann::ordered_json{"season.html"});
}

TEST_CASE("a report ends with the chain and how to check it") {
    auto season = sample_report();
    std::string html = report::season_report_html(season);
    CHECK_THAT(html, Contains("when the chain had 1204 records") && Contains(">3f9a0c<") &&
                         Contains("lodicule check district.lodicule"));
    season.chain->unbroken = false;
    season.chain->detail = "record 17 does not carry the hash of record 16";
    html = report::season_report_html(season);
    CHECK_THAT(html, Contains("The chain of records is broken: record 17") && !Contains("3f9a0c"));
    season.chain.reset();
    CHECK_THAT(report::season_report_html(season), Contains("without a chain of records"));
}

TEST_CASE("a report is complete in itself and can be read aloud") {
    auto season = sample_report();
    season.figures = {{"Map", "<svg><title>Map</title></svg>", "", "fields of the district", "Darker is more."},
                      {"Photo", "", std::string("\x89PNG", 4), "a \"picture\"", ""}};
    const std::string html = report::season_report_html(season);
    CHECK(html.starts_with("<!DOCTYPE html>"));
    CHECK_THAT(
        html, Contains("<html lang=\"en\">") && Contains("<meta charset=\"utf-8\">") && Contains("<title>Season 2031"));
    CHECK_THAT(html, !Contains("<script") && !Contains("http") && !Contains("<link") && !Contains("@import") &&
                         !Contains("url("));
    CHECK_THAT(html, Contains("src=\"data:image/png;base64,iVBORw==\"") && Contains("alt=\"a &quot;picture&quot;\""));
    CHECK_THAT(html, Contains("<svg><title>Map</title></svg>"));
    CHECK(count_of(html, "<h1>") == 1);
    CHECK(count_of(html, "<table>") == 4);
    CHECK(count_of(html, "<caption") == 4);
    CHECK(count_of(html, "<th scope=\"row\"") == 2 + 3 + 1 + 1);
    CHECK(count_of(html, "<th scope=\"col\"") == 7 + 9 + 9 + 7);
    CHECK_THAT(html, !Contains("<Piece>") && Contains("Mill &lt;Piece&gt;") && Contains("A. Meadow &amp; Sons"));
    // Every element that is opened is closed, in order.
    std::vector<std::string> open;
    const std::regex tag("<(/?)([a-z0-9]+)[^>]*?(/?)>");
    for (auto at = std::sregex_iterator(html.begin(), html.end(), tag); at != std::sregex_iterator(); ++at) {
        const std::string name = (*at)[2];
        if (name == "meta" || name == "img" || (*at)[3] == "/") continue;
        if ((*at)[1] == "/") {
            REQUIRE(!open.empty());
            REQUIRE(open.back() == name);
            open.pop_back();
        } else {
            open.push_back(name);
        }
    }
    CHECK(open.empty());
    // Links lead somewhere.
    const std::regex link("href=\"#([a-z]+)\"");
    for (auto at = std::sregex_iterator(html.begin(), html.end(), link); at != std::sregex_iterator(); ++at) {
        CHECK_THAT(html, Contains("id=\"" + (*at)[1].str() + "\""));
    }
}

TEST_CASE("bytes go into a page as RFC 4648 writes them") {
    // RFC 4648, section 10.
    CHECK(report::base64("") == "");
    CHECK(report::base64("f") == "Zg==");
    CHECK(report::base64("fo") == "Zm8=");
    CHECK(report::base64("foo") == "Zm9v");
    CHECK(report::base64("foob") == "Zm9vYg==");
    CHECK(report::base64("fooba") == "Zm9vYmE=");
    CHECK(report::base64("foobar") == "Zm9vYmFy");
}

TEST_CASE("a report is written whole or not at all") {
    const auto folder = std::filesystem::temp_directory_path() / "season_report_test";
    std::filesystem::create_directories(folder);
    const auto file = folder / "season.html";
    report::write_season_report(sample_report(), file);
    std::ifstream in(file, std::ios::binary);
    const std::string written{std::istreambuf_iterator<char>(in), {}};
    CHECK(written == report::season_report_html(sample_report()));
    CHECK_THROWS_WITH(report::write_season_report(sample_report(), folder / "season.doc"),
                      Contains("not written as \".doc\""));
    CHECK_THROWS_WITH(report::write_season_report(sample_report(), folder / "none" / "season.html"),
                      Contains("cannot be written"));
    CHECK(std::distance(std::filesystem::directory_iterator(folder), {}) == 1);
    std::filesystem::remove_all(folder);
}
