#include "app/commands/results_command.h"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <unistd.h>

#include "app/commands/import_command.h"
#include "app/commands/new_command.h"
#include "app/stages/test_content.h"
#include "tests/app/captured_output.h"

using Catch::Matchers::Contains;

namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;

/// A store of an intake: loads, their samples and tests, and a control.
class IntakeBench {
 public:
    IntakeBench() : folder_(fs::temp_directory_path() / ("results_command_" + std::to_string(::getpid()))) {
        fs::remove_all(folder_);
        fs::create_directories(folder_);
        {
            const tests::CapturedOutput out(stdout);
            REQUIRE(run({"new", store()}) == 0);
        }
        load("loads", "load,time\nL1,2026-08-02T09:00+02:00\nL2,2026-08-02T10:00+02:00\nL3,2026-08-03T10:00+02:00\n");
        load("controls", "control,assigned_mg_per_kg,low_mg_per_kg,high_mg_per_kg\nC1,1.0,0.8,1.2\n");
        load("samples",
             "sample,stage,kind,load,increments,mass_g,moisture_pct,parent\n"
             "S1,truck,composite,L1,10,1000,14,\n"
             "S2,truck,composite,L2,10,1000,,\n"
             "S3,truck,composite,L3,5,200,13,\n"
             "S1a,truck,composite,L1,,500,14,S1\n"
             "C1,control,composite,,,,,\n");
        load("tests",
             "test,time,sample,don,unit,method,kit_lot,portion_g,standard_uncertainty_mg_per_kg,valid,void_reason\n"
             "T1,2026-08-02T09:10+02:00,S1,0.9,mg/kg,strip,K1,5,,,\n"
             "T2,2026-08-02T15:00+02:00,S1,1.1,mg/kg,laboratory,,,0.1,,\n"
             "T3,2026-08-02T09:20+02:00,S1,,mg/kg,strip,K1,5,,no,no control line\n"
             "T4,2026-08-02T10:10+02:00,S2,<0.2,mg/kg,strip,K1,5,,,\n"
             "T5,2026-08-03T10:10+02:00,S3,6.2,mg/kg,strip,K2,25,,,\n"
             "T6,2026-08-03T10:20+02:00,S1a,>6,mg/kg,strip,K2,5,,,\n"
             "TC,2026-08-02T08:50+02:00,C1,1.5,mg/kg,strip,K1,5,,,\n");
    }
    ~IntakeBench() { fs::remove_all(folder_); }
    std::string store() const { return (folder_ / "intake.lodicule").string(); }
    void load(const std::string& kind, const std::string& table) const {
        const std::string file = (folder_ / (kind + ".csv")).string();
        std::ofstream(file) << table;
        const tests::CapturedOutput out(stdout), err(stderr);
        const int done = run({"import", store(), kind, file});
        INFO(out.text() + err.text());
        REQUIRE(done == 0);
    }
    static int run(std::vector<std::string> words) {
        words.insert(words.begin(), "lodicule");
        std::vector<const char*> bare;
        for (const std::string& word : words) bare.push_back(word.c_str());
        using namespace app::commands;
        return app::run_command_line({make_new_command(), make_import_command(), make_results_command()},
                                     static_cast<int>(bare.size()), bare.data());
    }
    Json answer(std::vector<std::string> words) const {
        words.insert(words.begin(), {"results", store(), "--season", "2026", "--json"});
        const tests::CapturedOutput out(stdout), err(stderr);
        const int done = run(words);
        INFO(err.text());
        REQUIRE(done == 0);
        return Json::parse(out.text());
    }
    std::string said(std::vector<std::string> words) const {
        words.insert(words.begin(), {"results", store(), "--season", "2026"});
        const tests::CapturedOutput out(stdout), err(stderr);
        CHECK(run(words) == 0);
        return out.text();
    }
    std::string refused(std::vector<std::string> words) const {
        words.insert(words.begin(), {"results", store()});
        const tests::CapturedOutput out(stdout), err(stderr);
        CHECK(run(words) == 1);
        CHECK(out.text().empty());
        return err.text();
    }

 private:
    fs::path folder_;
};

const Json& row_of(const Json& answer, const std::string& test) {
    for (const Json& row : answer.at("results"))
        if (row.at("test") == test) return row;
    FAIL("no row of " + test);
    return answer;
}

std::string flags_of(const Json& row) {
    std::string all;
    for (const Json& flag : row.at("flags")) all += flag.get<std::string>() + "\n";
    return all;
}

}  // namespace

TEST_CASE("every test of grain has a row with its interval and the shares of its error") {
    const IntakeBench bench;
    const Json answer = bench.answer({"--limit", "1.0"});
    CHECK(answer.at("season") == 2026);
    CHECK(answer.at("basis") == "as_is");
    CHECK(answer.at("errors_from") == "published");
    REQUIRE(answer.at("results").size() == 6);  // the control has none

    const Json& strip = row_of(answer, "T1");
    CHECK(strip.at("grain") == "load L1");
    CHECK(strip.at("don_mg_per_kg") == 0.9);
    const double low = strip.at("low90_mg_per_kg"), content = strip.at("content_mg_per_kg"),
                 high = strip.at("high90_mg_per_kg");
    CHECK(low < 0.9);
    CHECK(0.9 < content);
    CHECK(content < high);
    double whole = 0.0;
    for (const auto& [part, share] : strip.at("share").items()) whole += share.get<double>();
    CHECK(whole == Approx(1.0));
    // A portion of 5 g: most of it is preparation, and a finer grind or larger portion comes first.
    CHECK(strip.at("share").at("preparation") > 0.5);
    CHECK(strip.at("helps").at(0).at("what") == "a grind half as coarse");
    CHECK(strip.at("helps").at(1).at("what") == "a portion of 25 g");
    CHECK(strip.at("shared").at(0).at("what") == "kit lot K1");
    // K1 stands beside a laboratory (0.9 by 1.1, u 0.1) and a control (1.5 by 1.0) that nothing is said of: both in.
    const double strip_at_1_1 = std::log(1.0 + std::pow(1.1, 0.833 - 2.0) * (5.0 * 0.066 + 0.026));
    const double strip_at_1 = std::log(1.0 + 25.0 / 5.0 * 0.066 + 0.026), stated = std::log1p(0.01 / 1.21);
    const double by_laboratory = std::log(0.9) + 0.5 * strip_at_1_1 - std::log(1.1) - 0.5 * stated;
    const double by_control = std::log(1.5) + 0.5 * strip_at_1;
    const double precision = 100.0 + 1.0 / (strip_at_1_1 + stated) + 1.0 / strip_at_1;
    const double known = (by_laboratory / (strip_at_1_1 + stated) + by_control / strip_at_1) / precision;
    CHECK(strip.at("shared").at(0).at("log_variance") == Approx(1.0 / precision));
    CHECK(strip.at("kit_lot_log_mean") == Approx(known));
    CHECK(answer.at("kit_lots").at(0).at("laboratory_pairs") == 1);
    CHECK(answer.at("kit_lots").at(0).at("controls") == 1);
    CHECK(strip.at("outcome") == "meets");
    // The error at the limit: a kilogram in ten increments, a portion of 5 g, one strip, and the kit lot's 10 %.
    const double q = std::log(1.0 + 0.454 * 0.026 + 5.0 * 0.066 + 0.026 + 0.25 * 0.25 / 10.0);
    const double t = (std::log(0.9) - known + 0.5 * q) / std::sqrt(q + 1.0 / precision);
    CHECK(strip.at("chance_over") == Approx(0.5 * std::erfc(-t / std::sqrt(2.0))).epsilon(1e-9));

    const Json& laboratory = row_of(answer, "T2");
    CHECK(laboratory.at("stated_uncertainty") == true);
    CHECK(laboratory.at("share").at("preparation") == 0.0);
    CHECK(laboratory.at("share").at("shared") == 0.0);
    CHECK(laboratory.at("outcome") == "over");
}

TEST_CASE("beside a limit each grain has the conclusion for the counter") {
    const IntakeBench bench;
    const Json all = bench.answer({"--limit", "1.0"});
    REQUIRE(all.at("conclusions").size() == 3);
    const Json& first = all.at("conclusions").at(0);
    CHECK(first.at("grain") == "load L1");
    CHECK(first.at("tests") == Json({"T1", "T3", "T2", "T6"}));
    // The laboratory read sample S1, of which S1a was split: T6, over 6, is answered; the laboratory's 1.1 is over.
    CHECK(first.at("state") == "laboratory decides");
    CHECK_THAT(first.at("sentence").get<std::string>(), Contains("1.1 mg/kg, which is over by the rule of the limit"));
    CHECK_THAT(first.at("notes").dump(), Contains("Test T3 is void and does not count: no control line"));
    CHECK_THAT(first.at("doubts").dump(), Contains("in doubt by control C1"));
    const Json& second = all.at("conclusions").at(1);
    CHECK(second.at("state") == "below the cut-off");
    CHECK_THAT(second.at("notes").dump(), Contains("guarded acceptance") && Contains("No procedure of repeats"));
    CHECK_THAT(row_of(all, "T2").at("official").at("says").get<std::string>(),
               Contains("Official control in the European Union would"));
    CHECK(row_of(all, "T2").at("conformity").at("guarded") == "undecided");
    CHECK(row_of(all, "T1").at("official").is_null());

    const Json one = bench.answer({"--limit", "1.0", "--load", "L2"});
    CHECK(one.at("results").size() == 1);
    CHECK(one.at("conclusions").size() == 1);
    CHECK(bench.answer({"--sample", "S1"}).at("results").size() == 4);  // and what was split from it
    CHECK_THAT(bench.refused({"--load", "L9"}), Contains("there is no load \"L9\"") && Contains("L1"));
    bench.load("loads", "load,time\nL8,2026-08-03T11:00+02:00\n");
    CHECK_THAT(bench.refused({"--load", "L8"}),
               Contains("load L8 is in the store, and no test of its grain is of season 2026") &&
                   Contains("lodicule bins STORE --next L8"));
}

TEST_CASE("a test that is called one of another grain than its load is never below the cut-off") {
    const IntakeBench bench;
    bench.load("loads", "load,time,commodity\nL5,2026-08-04T09:00+02:00,wheat\nL6,2026-08-04T10:00+02:00,durum\n");
    bench.load(
        "samples",
        "sample,stage,kind,load,increments,mass_g\nS5,truck,composite,L5,10,1000\nS6,truck,composite,L6,10,1000\n");
    bench.load("tests",
               "test,time,sample,don,unit,commodity,portion_g\nT5b,2026-08-04T09:20+02:00,S5,0.3,mg/kg,barley,5\n"
               "T6b,2026-08-04T10:20+02:00,S6,0.3,mg/kg,wheat,5\n");
    const Json told = bench.answer({"--limit", "1.0", "--load", "L5"});
    CHECK(told.at("conclusions").at(0).at("state") == "undecided");
    CHECK_THAT(told.at("conclusions").at(0).at("sentence").get<std::string>(),
               Contains("it is called a test of barley, and load L5 is wheat: one of the two is wrong"));
    CHECK_THAT(row_of(told, "T5b").at("flags").dump(), Contains("a test of barley"));
    // Durum is often called wheat.
    CHECK(bench.answer({"--limit", "1.0", "--load", "L6"}).at("conclusions").at(0).at("state") == "below the cut-off");
}

TEST_CASE("grain of which only single places were tested is told why it is not concluded on") {
    const IntakeBench bench;
    bench.load("loads", "load,time\nL7,2026-07-04T09:00+02:00\n");
    bench.load("samples", "sample,stage,kind,load\nP1,truck,point,L7\nP2,truck,point,L7\n");
    bench.load("tests",
               "test,time,sample,don,unit\nTP1,2026-07-04T09:20+02:00,P1,1.3,mg/"
               "kg\nTP2,2026-07-04T09:20+02:00,P2,1.4,mg/kg\n");
    const Json told = bench.answer({"--limit", "1.0", "--load", "L7"});
    CHECK(told.at("conclusions").empty());
    CHECK_THAT(told.at("notes").dump(), Contains("load L7 is not concluded on: 2 results of single places speak of "
                                                 "those places and not of the whole"));
}

TEST_CASE("a validated cut-off and a procedure that is laid down are what the counter goes by") {
    const IntakeBench bench;
    bench.load("kit-lots",
               "kit_lot,commodity,dilution,low_mg_per_kg,high_mg_per_kg,cut_off_mg_per_kg,cut_off_for_mg_per_kg,"
               "cut_off_from\nK1,wheat,1,0.2,6,0.85,1.0,20 + 20 samples\n");
    bench.load("limits",
               "limit_id,jurisdiction,commodity,purpose,limit_mg_per_kg,basis,from,kind,source,repeat_when,repeat_most,"
               "repeat_of\nmill,contract,wheat,food,1.0,as_is,2026-01-01,contract,contract,always,2,sample\n");
    bench.load("loads", "load,time\nL4,2026-08-04T09:00+02:00\n");
    bench.load("samples", "sample,stage,kind,load,increments,mass_g\nS4,truck,composite,L4,10,1000\n");
    bench.load("tests", "test,time,sample,don,unit,kit_lot,portion_g\nT9,2026-08-04T09:20+02:00,S4,0.86,mg/kg,K1,5\n");
    const Json told = bench.answer({"--limit", "mill", "--load", "L4"}).at("conclusions").at(0);
    CHECK(told.at("state") == "suspected");
    CHECK(told.at("repeats_due") == 2);
    CHECK_THAT(told.at("sentence").get<std::string>(),
               Contains("Suspected: hold and confirm") && Contains("2 more samples of the grain") &&
                   Contains("would bring that to") && Contains("0.86 mg/kg against the cut-off 0.85"));
    CHECK_THAT(told.at("notes").dump(), Contains("validation of kit lot K1: 20 + 20 samples") &&
                                            Contains("After the first result 2 more samples") &&
                                            !Contains("No procedure"));
    // Validated for 1.0, it says nothing of another limit.
    CHECK_THAT(bench.answer({"--limit", "1.25", "--load", "L4"}).at("conclusions").at(0).at("notes").dump(),
               Contains("guarded acceptance"));
}

TEST_CASE("errors that results share beside the kit lot are as large as the user says") {
    const IntakeBench bench;
    const Json none = bench.answer({});
    const Json given = bench.answer({"--operator-cv", "6", "--reader-cv", "4", "--run-cv", "3"});
    CHECK(row_of(none, "T1").at("shared").size() == 1);
    REQUIRE(row_of(given, "T1").at("shared").size() == 4);
    CHECK(row_of(given, "T1").at("shared").at(3).at("what") == "run of K1 on 2026-08-02");
    CHECK(row_of(given, "T1").at("log_variance").at("shared").get<double>() -
              row_of(none, "T1").at("log_variance").at("shared").get<double>() ==
          Approx(std::log1p(0.0036) + std::log1p(0.0016) + std::log1p(0.0009)));
    CHECK(row_of(given, "T1").at("high90_mg_per_kg") > row_of(none, "T1").at("high90_mg_per_kg"));
    CHECK(row_of(given, "T2").at("shared").empty());  // a laboratory's are in what it states
    CHECK_THAT(bench.refused({"--run-cv", "-3"}), Contains("--run-cv") && Contains("no coefficient of variation"));
}

TEST_CASE("one result has one chance of being over at the counter and in its row") {
    const IntakeBench bench;
    bench.load("loads", "load,time\nL5,2026-08-05T09:00+02:00\n");
    bench.load("samples", "sample,stage,kind,load,increments,mass_g\nS5,truck,composite,L5,7,800\n");
    bench.load("tests", "test,time,sample,don,unit,kit_lot,portion_g\nT10,2026-08-05T09:20+02:00,S5,0.7,mg/kg,K1,10\n");
    const Json answer = bench.answer({"--limit", "1.0", "--load", "L5"});
    CHECK(answer.at("conclusions").at(0).at("chance_over_low").get<double>() ==
          Approx(row_of(answer, "T10").at("chance_over").get<double>()).epsilon(1e-12));
    CHECK(1.0 - row_of(answer, "T10").at("conformity").at("meets_at_least").get<double>() ==
          Approx(row_of(answer, "T10").at("chance_over").get<double>()).epsilon(1e-12));
}

TEST_CASE("grain is not concluded on by results that cannot be taken at their word") {
    const IntakeBench bench;
    bench.load(
        "loads",
        "load,time,commodity,moisture_pct\nL6,2026-08-06T09:00+02:00,wheat,\nL7,2026-08-06T10:00+02:00,wheat,15\n"
        "L8,2026-08-06T11:00+02:00,wheat,\nL9,2026-08-06T12:00+02:00,durum,\n");
    bench.load("samples",
               "sample,stage,kind,load,increments,mass_g\nS6,truck,composite,L6,10,1000\n"
               "S7,truck,composite,L7,10,1000\nS8,truck,composite,L8,10,1000\nS9,truck,composite,L9,10,1000\n");
    bench.load(
        "tests",
        "test,time,sample,don,unit,basis,method\n"
        "U6,2026-08-06T09:20+02:00,S6,0.5,mg/kg,dry,strip\nU7,2026-08-06T10:20+02:00,S7,0.5,mg/kg,dry,strip\n"
        "U8,2026-08-06T11:20+02:00,S8,<0.25,mg/kg,as_is,strip\nU9,2026-08-06T11:30+02:00,S8,4.8,mg/kg,as_is,strip\n"
        "U10,2026-08-06T12:30+02:00,S9,0.3,mg/kg,as_is,strip\n");
    bench.load("limits",
               "limit_id,jurisdiction,commodity,purpose,limit_mg_per_kg,basis,from,kind,source\n"
               "one,contract,wheat,food,6.0,as_is,2026-01-01,contract,contract\n"
               "late,contract,wheat,food,1.0,as_is,2026-08-05,contract,contract\n");
    const auto told = [&](const char* load, const char* limit) {
        return bench.answer({"--limit", limit, "--load", load}).at("conclusions").at(0);
    };
    const Json dry = told("L6", "1.0");
    CHECK(dry.at("state") == "undecided");
    CHECK_THAT(dry.at("sentence").get<std::string>(),
               Contains("reported on dry matter, and the moisture of sample S6 is not recorded"));
    // The load's own moisture stands in where the sample has none: 0.5 dry is 0.425 as is at 15 %.
    CHECK(told("L7", "1.0").at("mean_low_mg_per_kg").get<double>() == Approx(0.425));
    const Json apart = told("L8", "one");
    CHECK(apart.at("state") == "undecided");
    CHECK_THAT(apart.at("sentence").get<std::string>(),
               Contains("tests U8 (<0.25) and U9 (4.8 mg/kg) of one sample do not agree: look for a mix-up"));
    CHECK(told("L8", "1.0").at("state") == "suspected");
    CHECK_THAT(told("L9", "one").at("sentence").get<std::string>(),
               Contains("the limit is for wheat, and this is durum"));
    CHECK_THAT(told("L1", "late").dump(), Contains("not in force on 2026-08-02"));
}

TEST_CASE("a strip whose signals say more than was reported does not clear its grain") {
    const IntakeBench bench;
    bench.load("kit-lots",
               "kit_lot,commodity,dilution,low_mg_per_kg,high_mg_per_kg,signal,curve_a,curve_b,curve_c,curve_d\n"
               "K9,wheat,6,0.2,6,test_over_control,1.2,1.1,0.9,0.08\n");
    bench.load("loads", "load,time\nL5,2026-08-05T09:00+02:00\n");
    bench.load("samples", "sample,stage,kind,load,increments,mass_g\nS5,truck,composite,L5,10,1000\n");
    bench.load("tests",
               "test,time,sample,don,unit,kit_lot,commodity,test_signal,control_signal\n"
               "T10,2026-08-05T09:20+02:00,S5,0.3,mg/kg,K9,wheat,300,1000\n");
    const Json told = bench.answer({"--limit", "1.0", "--load", "L5"}).at("conclusions").at(0);
    CHECK(told.at("state") == "suspected");
    CHECK(told.at("mean_low_mg_per_kg") > 1.0);
    CHECK_THAT(told.at("doubts").dump(), Contains("0.3 mg/kg was reported, and the strip's signals give"));
}

TEST_CASE("results outside the range stand as inequalities with one end") {
    const IntakeBench bench;
    const Json answer = bench.answer({});
    const Json& below = row_of(answer, "T4");
    CHECK(below.at("reading") == "below");
    CHECK(below.at("content_mg_per_kg").is_null());
    CHECK(below.at("low90_mg_per_kg").is_null());
    CHECK(below.at("high90_mg_per_kg") > 0.2);
    const Json& above = row_of(answer, "T6");
    CHECK(above.at("grain") == "load L1");
    CHECK(above.at("high90_mg_per_kg").is_null());
    CHECK(above.at("low90_mg_per_kg") < 6.0);
    CHECK(above.at("chance_over").is_null());
}

TEST_CASE("a strip read by its curve brings the curve's error and what is odd about it") {
    const IntakeBench bench;
    const std::string columns =
        "kit_lot,commodity,dilution,low_mg_per_kg,high_mg_per_kg,expires,signal,curve_a,curve_b,curve_c,curve_d,"
        "covariance_aa,covariance_ab,covariance_ac,covariance_ad,covariance_bb,covariance_bc,covariance_bd,"
        "covariance_cc,covariance_cd,covariance_dd\n";
    bench.load("kit-lots", columns +
                               "K8,wheat,6,0.2,6,2026-08-01,test_over_control,1.2,1.1,0.9,0.08,"
                               "0,0,0,0,0,0,0,0.04,0,0\n"
                               "K9,wheat,6,0.2,6,2027-08-01,test_over_control,1.2,1.1,0.9,0.08,"
                               "0,0,0,0,0,0,0,0,0,0\n");
    bench.load("tests",
               "test,time,sample,kit_lot,commodity,test_signal,control_signal,portion_g\n"
               "T8,2026-08-02T11:00+02:00,S1,K8,wheat,500,1000,5\n"
               "T9,2026-08-02T11:10+02:00,S1,K9,wheat,500,1000,5\n");
    const Json answer = bench.answer({});
    const Json& unsure = row_of(answer, "T8");
    const Json& sure = row_of(answer, "T9");
    CHECK(unsure.at("don_mg_per_kg") == sure.at("don_mg_per_kg"));
    CHECK(unsure.at("low90_mg_per_kg") < sure.at("low90_mg_per_kg"));
    CHECK(unsure.at("high90_mg_per_kg") > sure.at("high90_mg_per_kg"));
    CHECK_THAT(flags_of(unsure),
               Contains("kit lot K8 was good until 2026-08-01, and the strip was read on 2026-08-02"));
    CHECK(sure.at("flags").empty());
}

TEST_CASE("a row says what is the matter with its result") {
    const IntakeBench bench;
    const Json answer = bench.answer({});
    CHECK_THAT(flags_of(row_of(answer, "T1")),
               Contains("in doubt by control C1 (test TC): outside the 0.8 to 1.2 that is accepted"));
    CHECK_THAT(flags_of(row_of(answer, "T3")), Contains("void: no control line"));
    CHECK(row_of(answer, "T3").at("don_mg_per_kg").is_null());
    CHECK(row_of(answer, "T3").at("share").is_null());
    CHECK(row_of(answer, "T2").at("flags").empty());
}

TEST_CASE("a table of results is on one basis and says what cannot be brought to it") {
    const IntakeBench bench;
    const Json dry = bench.answer({"--basis", "dry"});
    CHECK(dry.at("basis") == "dry");
    CHECK(row_of(dry, "T1").at("don_mg_per_kg") == Approx(0.9 / 0.86));
    CHECK(row_of(dry, "T1").at("reported_mg_per_kg") == 0.9);
    CHECK(row_of(bench.answer({"--basis", "pct12"}), "T1").at("don_mg_per_kg") == Approx(0.9 * 0.88 / 0.86));
    const Json& unknown = row_of(dry, "T4");
    CHECK(unknown.at("don_mg_per_kg").is_null());
    CHECK(unknown.at("high90_mg_per_kg").is_null());
    CHECK_THAT(flags_of(unknown), Contains("not converted: the sample's moisture is not recorded"));
    CHECK_THAT(bench.refused({"--basis", "wet"}), Contains("\"wet\" is no basis") && Contains("as_is, dry or pct12"));
    CHECK_THAT(bench.refused({"--season", "2019"}), Contains("season 2019 has no test of grain") && Contains("2026"));
}

TEST_CASE("own duplicates take the place of the published errors where they tell them") {
    const IntakeBench bench;
    CHECK_THAT(bench.refused({"--own-duplicates"}), Contains("has a duplicate"));
    bench.load("samples",
               "sample,stage,kind,load,mass_g,parent\n"
               "D1,truck,composite,L1,1000,\nD1a,truck,composite,L1,500,D1\nD1b,truck,composite,L1,500,D1\n"
               "D2,truck,composite,L2,1000,\nD2a,truck,composite,L2,500,D2\nD2b,truck,composite,L2,500,D2\n");
    bench.load("tests",
               "test,time,sample,don,unit\n"
               "E1,2026-08-04T09:00+02:00,D1a,0.90,mg/kg\nE2,2026-08-04T09:10+02:00,D1a,1.00,mg/kg\n"
               "E3,2026-08-04T09:20+02:00,D1b,1.20,mg/kg\nE4,2026-08-04T09:30+02:00,D2a,0.50,mg/kg\n"
               "E5,2026-08-04T09:40+02:00,D2a,0.46,mg/kg\nE6,2026-08-04T09:50+02:00,D2b,0.40,mg/kg\n");
    const Json answer = bench.answer({"--own-duplicates"});
    CHECK(answer.at("errors_from") == "own duplicates");
    CHECK(answer.at("own_duplicates").at("preparation").at("told") == true);
    CHECK(answer.at("own_duplicates").at("analysis").at("told") == true);
    CHECK(answer.at("own_duplicates").at("analysis").at("low90") <
          answer.at("own_duplicates").at("analysis").at("high90"));
    // Two samples of one load are a pair; of the portions and readings no more than the table holds.
    CHECK(answer.at("own_duplicates").at("analysis").at("pairs").get<int>() < 8);
    CHECK_THAT(answer.at("notes").dump(), Contains("fewer than 8 pairs tell little: take more before relying on them"));
    const double analysis = answer.at("own_duplicates").at("analysis").at("log_variance");
    CHECK_THAT(answer.at("error_model").dump(), Contains("the user's own duplicates"));
    // With the analysis alone in the assay its log variance is what ln(1 + CV^2) adds on top of the other steps.
    CHECK(row_of(answer, "E1").at("log_variance").at("assay") < analysis);
    CHECK(row_of(answer, "E1").at("log_variance").at("assay") > 0.8 * analysis);
}

TEST_CASE("no line of the results has more than a hundred letters and every row says what its error comes from") {
    const IntakeBench bench;
    std::istringstream lines(bench.said({"--limit", "1.0"}));
    int rows_of_t1 = 0, heads = 0;
    for (std::string line; std::getline(lines, line);) {
        const auto letters = std::count_if(
            line.begin(), line.end(), [](char byte) { return (static_cast<unsigned char>(byte) & 0xC0U) != 0x80U; });
        INFO(line);
        CHECK(letters <= 100);
        rows_of_t1 += line.starts_with("T1 ") ? 1 : 0;
        heads += line.starts_with("test ") && line.find("assay") != std::string::npos ? 1 : 0;
    }
    CHECK(heads == 1);
    CHECK(rows_of_t1 >= 1);
}

TEST_CASE("what a laboratory states moves with its result to another basis") {
    models::Sample sample;
    sample.moisture_pct = 20.0;
    models::Test test;
    test.don_mg_per_kg = 0.8;
    test.standard_uncertainty_mg_per_kg = 0.08;
    const app::TestContent dry = app::content_on(models::Basis::dry, test, sample);
    CHECK(dry.don_mg_per_kg == Approx(1.0));
    CHECK(*dry.standard_uncertainty_mg_per_kg == Approx(0.1));
    sample.moisture_pct.reset();
    const app::TestContent stays = app::content_on(models::Basis::dry, test, sample);
    CHECK_FALSE(stays.converted);
    CHECK(stays.don_mg_per_kg == 0.8);
    test.don_mg_per_kg = 0.0;
    test.loq_mg_per_kg = 0.3;
    const app::TestContent nothing = app::content_on(models::Basis::as_is, test, sample);
    CHECK(nothing.reading == models::Reading::below);
    CHECK(nothing.don_mg_per_kg == 0.3);
}
