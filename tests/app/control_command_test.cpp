#include "app/commands/control_command.h"

#include <cmath>
#include <filesystem>
#include <fstream>
#include <iterator>

#include <catch2/catch.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>
#include <unistd.h>

#include "app/commands/check_command.h"
#include "app/commands/import_command.h"
#include "app/commands/new_command.h"
#include "app/control_figure.h"
#include "models/error.h"
#include "tests/app/captured_output.h"
#include "tests/support/recording_painter.h"

namespace {

namespace fs = std::filesystem;

/// A store with control N1 (assigned 1 mg/kg, 0.7 to 1.3 accepted) read once a day with lot Q1, from the 21st day with
/// a lot that reads a tenth more, and on every day a load read twice.
class ControlStore {
 public:
    ControlStore() : folder_(fs::temp_directory_path() / ("control_command_" + std::to_string(::getpid()))) {
        fs::remove_all(folder_);
        fs::create_directories(folder_);
        write("controls.csv",
              "control,assigned_mg_per_kg,standard_uncertainty_mg_per_kg,low_mg_per_kg,high_mg_per_kg\n"
              "N1,1,0.02,0.7,1.3\n");
        std::string tests = "test,time,sample,stage,kind,load,don,unit,kit_lot\n";
        std::string loads = "load,time\nLOLD,2025-07-01T07:00:00+02:00\n";  // of a year in which no control was read
        const auto row = [&](const std::string& name, int day, int hour, const std::string& sample, double don,
                             const char* lot) {
            const bool control = sample == "N1";
            tests += fmt::format("{},2026-{:02}-{:02}T{:02}:00:00+02:00,{},{},composite,{},{:.3f},mg/kg,{}\n", name,
                                 7 + (day - 1) / 31, (day - 1) % 31 + 1, hour, sample, control ? "control" : "truck",
                                 control ? "" : "L" + sample, don, lot);
        };
        for (int day = 1; day <= 50; ++day) {
            const char* lot = day <= 30 ? "Q1" : "Q2";
            double don = std::exp((day % 2 == 0 ? 0.03 : -0.03) + (day % 3 == 0 ? 0.02 : 0.0));
            if (day > 30) don *= 1.1;
            if (day == 25) don = 1.29;  // inside what is accepted, and beyond 3 standard deviations
            row(fmt::format("C{}", day), day, 8, "N1", don, lot);
            const std::string sample = fmt::format("S{}", day);
            loads += fmt::format("LS{},2026-07-01T07:00:00+02:00\n", day);
            row(fmt::format("A{}", day), day, 9, sample, 1.0, lot);
            row(fmt::format("B{}", day), day, 10, sample, day == 12 ? 2.0 : day % 2 == 0 ? 1.1 : 0.9, lot);
        }
        row("X1", 50, 11, "S50", 1.0, "Q2");
        tests += "Y1,2026-07-01T12:00:00+02:00,N9,control,composite,,1,mg/kg,Q1\n";
        write("tests.csv", tests);
        write("loads.csv", loads);
        said({"new", store()});
        said({"import", store(), "controls", path("controls.csv")});
        said({"import", store(), "loads", path("loads.csv")});
        said({"import", store(), "tests", path("tests.csv")});
    }
    ~ControlStore() { fs::remove_all(folder_); }
    std::string path(const std::string& name) const { return (folder_ / name).string(); }
    std::string store() const { return path("bench.lodicule"); }
    void write(const std::string& name, const std::string& text) const { std::ofstream(folder_ / name) << text; }
    std::string bytes(const std::string& name) const {
        std::ifstream file(folder_ / name, std::ios::binary);
        return {std::istreambuf_iterator<char>(file), {}};
    }
    int run(std::vector<std::string> words) const {
        words.insert(words.begin(), "lodicule");
        std::vector<const char*> bare;
        for (const std::string& word : words) bare.push_back(word.c_str());
        using namespace app::commands;
        return app::run_command_line(
            {make_new_command(), make_import_command(), make_check_command(), make_control_command()},
            static_cast<int>(bare.size()), bare.data());
    }
    std::string said(const std::vector<std::string>& words, int code = 0) const {
        const tests::CapturedOutput captured(code == 0 ? stdout : stderr);
        CHECK(run(words) == code);
        std::string text = captured.text();
        for (std::size_t at = 0; (at = text.find('\n', at)) != std::string::npos;) text[at] = ' ';
        return text;
    }
    std::string control(std::vector<std::string> options, int code = 0) const {
        options.insert(options.begin(), {"control", store()});
        return said(options, code);
    }

 private:
    fs::path folder_;
};

models::ControlSeries made_series(const std::vector<double>& contents) {
    models::ControlSeries series;
    series.control = {"N1", 1.0, 0.7, 1.3};
    series.kit_lot = "Q1";
    for (std::size_t i = 0; i < contents.size(); ++i) {
        models::Test test;
        test.test = fmt::format("C{}", i + 1);
        test.time = *models::parse_stamp("2026-07-01T08:00:00+02:00");
        test.time.utc += std::chrono::days(static_cast<int>(i));
        series.readings.push_back({test, contents[i]});
    }
    return series;
}

}  // namespace

TEST_CASE("control tells charts and recovery and duplicates and lot changes of a store in words") {
    const ControlStore bench;
    const std::string text = bench.control({"--lot-bound", "5"});
    CHECK_THAT(text, Catch::Contains("limits from the first 20 of 30 readings of this kit lot that can set them"));
    CHECK_THAT(text, Catch::Contains("control N1 read 1.29 mg/kg and breaks rules of its chart: one beyond 3 standard "
                                     "deviations of the centre line and neighbouring readings farther apart than the "
                                     "limit of their range (test C25, 2026-07-25, kit lot Q1); A25 and B25 of "
                                     "that day and kit lot are in doubt and count as they are"));
    CHECK_THAT(text, Catch::Contains("N1, Q1: 102 % of the assigned content in 30 readings"));
    CHECK_THAT(text, Catch::Contains("sample S12, tests A12 and B12: 1 and 2 mg/kg, 67 % apart"));
    CHECK_THAT(text,
               Catch::Contains("test X1 is result number 3 of sample S50: a duplicate of a duplicate is no pair"));
    CHECK_THAT(text, Catch::Contains("the lots read differently") && Catch::Contains("kit lot Q2 reads +"));
    CHECK_THAT(text, Catch::Contains("test Y1 is of control N9, which has no assigned content"));
    CHECK_THAT(bench.control({}), Catch::Contains("no bound was given, so nothing says whether that matters"));
    CHECK_THAT(text, Catch::StartsWith("Controls of the bench "));
    CHECK_THAT(text, Catch::Contains("(a) limits from the first 20") && Catch::Contains(": N1, Q1."));
    CHECK_THAT(bench.control({"--season", "2025"}), Catch::Contains("No control was read; a control is a sample of"));
}

TEST_CASE("a rule of a chart marks the run where the store is checked and where tests come in") {
    const ControlStore bench;
    const std::string words = "control N1 read 1.29 mg/kg and breaks rules of its chart";
    CHECK_THAT(bench.said({"check", bench.store()}), Catch::Contains(words));
    CHECK_THAT(bench.said({"check", bench.store(), "--json"}),
               Catch::Contains("\"outside_bounds\": false") && Catch::Contains("one beyond 3 standard deviations"));
    bench.write("more.csv", "test,time,sample,don,unit,kit_lot\nZ1,2026-07-25T15:00:00+02:00,S25,1.0,mg/kg,Q1\n");
    CHECK_THAT(bench.said({"import", bench.store(), "tests", bench.path("more.csv")}),
               Catch::Contains("Caution: " + words) && Catch::Contains("A25, B25 and Z1"));
}

TEST_CASE("the rules asked for are the rules looked at") {
    const ControlStore bench;
    CHECK_THAT(bench.control({"--rules", "four-of-five,one-side"}), !Catch::Contains("read 1.29 mg/kg and breaks"));
    CHECK_THAT(bench.control({"--reading-cv", "20"}),
               Catch::Contains("centre line at the assigned 1 mg/kg, one reading within 20 % of it (stated)"));
    CHECK_THAT(bench.control({"--repeatability", "40"}),
               Catch::Contains("repeatability 40.0 % (stated)") && Catch::Contains("none is over it"));
}

TEST_CASE("control as JSON keeps its keys") {
    const ControlStore bench;
    const auto out = nlohmann::json::parse(bench.control({"--control", "N1", "--lot-bound", "50", "--json"}));
    CHECK(out["season"].is_null());
    REQUIRE(out["charts"].size() == 2);
    CHECK(out["charts"][0]["kit_lot"] == "Q1");
    CHECK(out["charts"][0]["points"].size() == 30);
    CHECK(out["charts"][0]["points"][24]["broken_rules"][0]["rule"] == "beyond-3");
    CHECK(out["charts"][0]["limits"]["points"] == 20);
    CHECK(out["charts"][1]["limits"]["provisional"] == false);
    CHECK(out["recovery"][0]["readings"][0]["standard_uncertainty_from_assigned_pct"].get<double>() ==
          Approx(0.02 * out["recovery"][0]["readings"][0]["recovery_pct"].get<double>()));
    REQUIRE(out["lot_changes"].size() == 1);
    CHECK(out["lot_changes"][0]["outcome"] == "equivalent");
    CHECK(out.at("marks").at(0).at("tests_in_doubt") == nlohmann::json({"A25", "B25"}));
    CHECK(out["duplicates"].empty());
}

TEST_CASE("control refuses what it cannot tell by its words") {
    const ControlStore bench;
    CHECK_THAT(bench.control({"--control", "N9"}, 1),
               Catch::Contains("control N9 has no assigned content, so nothing says what it should read"));
    CHECK_THAT(bench.control({"--control", "N2"}, 1), Catch::Contains("there is no control \"N2\"; did you mean"));
    CHECK_THAT(bench.control({"--control", "Zebra"}, 1),
               Catch::Contains("there is no control \"Zebra\"") && Catch::Contains("write one of N1; or lodicule add"));
    CHECK_THAT(bench.control({"--limits-from", "7"}, 1), Catch::Contains("limits from 7 readings would be no limits"));
    CHECK_THAT(bench.control({"--lot-bound", "0"}, 1), Catch::Contains("0 % says nothing"));
    CHECK_THAT(bench.control({"--rules", "two-of-tree"}, 1),
               Catch::Contains("--rules: there is no rule") && Catch::Contains("did you mean \"two-of-three\"?"));
    CHECK_THAT(bench.control({"--one-side", "1"}, 1),
               Catch::Contains("--one-side: 1 on one side is no run") && Catch::Contains("or 0 to leave the rule out"));
    CHECK_THAT(bench.control({"--out", bench.path("bench.jpg")}, 1), Catch::Contains("end its name in .png, .svg or"));
    CHECK_THAT(bench.control({"--season", "2025", "--out", bench.path("bench.png")}, 1),
               Catch::Contains("there is nothing to draw") && Catch::Contains("ask for another season or control"));
    CHECK_FALSE(fs::exists(bench.path("bench.png")));
    CHECK_THAT(
        bench.control({"--season", "1999"}, 1),
        Catch::Contains("--season: the store has no records of season 1999") && Catch::Contains("it has 2025, 2026"));
}

TEST_CASE("the charts are written as picture and page and drawing with the same bytes each time") {
    const ControlStore bench;
    for (const char* kind : {"png", "svg", "pdf"}) {
        const std::string first = fmt::format("one.{}", kind), second = fmt::format("two.{}", kind);
        bench.control({"--out", bench.path(first)});
        bench.control({"--out", bench.path(second)});
        CHECK(bench.bytes(first).size() > 5000);
        CHECK(bench.bytes(first) == bench.bytes(second));
    }
    CHECK(bench.bytes("one.svg").find("25 Jul, C25, 1.29 mg/kg: one beyond 3") != std::string::npos);
}

TEST_CASE("a chart rings each reading that breaks a rule and says the rule beside it") {
    using namespace app::drawing;
    std::vector<double> contents;
    for (int i = 0; i < 24; ++i) contents.push_back(i % 2 == 0 ? 0.96 : 1.04);
    contents[21] = 1.29;
    contents[23] = 5.0;
    app::ControlFigure figure{"Bench", "sub", {models::control_chart(made_series(contents))}, {}};
    support::RecordingPainter painter;
    const Rect area{0.0, 0.0, 1200.0, 500.0};
    Look look;
    look.text_px = 16.0;
    app::draw_control_figure(painter, area, figure, look);
    int broken = 0;
    for (const models::ChartPoint& point : figure.charts[0].points) broken += point.broken.empty() ? 0 : 1;
    CHECK(broken >= 2);
    CHECK(painter.circles == broken);
    std::string all;
    for (const auto& text : painter.texts) {
        all += text.words + " ";
        CHECK(holds(area, text.box));
    }
    CHECK_THAT(all, Catch::Contains("22 Jul, C22, 1.29 mg/kg") && Catch::Contains("24 Jul, C24, 5.00 mg/kg"));
    CHECK_THAT(all,
               Catch::Contains("Control N1, kit lot Q1") && Catch::Contains("+3 sd") && Catch::Contains("assigned 1"));
    // Of colours there is the accent alone; everything else is grey.
    for (const auto& line : painter.lines) {
        const Colour c = line.colour, accent = look.theme.accent;
        const bool grey = std::abs(c.red - c.green) < 24 && std::abs(c.green - c.blue) < 24;
        CHECK((grey || (c.red == accent.red && c.green == accent.green && c.blue == accent.blue)));
    }
}

TEST_CASE("a reading outside what its control accepts is ringed though there are no limits yet") {
    app::ControlFigure figure{"Bench", "sub", {models::control_chart(made_series({1.0, 1.4, 0.9}))}, {}};
    support::RecordingPainter painter;
    app::draw_control_figure(painter, {0.0, 0.0, 1200.0, 500.0}, figure, app::drawing::Look{});
    std::string all;
    for (const auto& text : painter.texts) all += text.words + " ";
    CHECK(painter.circles == 1);
    CHECK_THAT(all, Catch::Contains("2 Jul, C2, 1.40 mg/kg: outside the 0.7 to"));
}

TEST_CASE("a control of no content is called a blank once and with a count") {
    const ControlStore bench;
    bench.write("blanks.csv", "control,assigned_mg_per_kg\nB0,0\n");
    bench.write("read.csv",
                "test,time,sample,stage,kind,don,unit,kit_lot\n"
                "E1,2026-07-01T07:00:00+02:00,B0,control,composite,<0.25,mg/kg,Q1\n"
                "E2,2026-07-02T07:00:00+02:00,B0,control,composite,<0.25,mg/kg,Q1\n"
                "E3,2026-07-03T07:00:00+02:00,B0,control,composite,<0.25,mg/kg,Q1\n");
    bench.said({"import", bench.store(), "controls", bench.path("blanks.csv")});
    bench.said({"import", bench.store(), "tests", bench.path("read.csv")});
    CHECK_THAT(bench.control({}), Catch::Contains("3 tests are of control B0, a blank (assigned content 0)") &&
                                      !Catch::Contains("test E1"));
    CHECK_THAT(bench.control({"--control", "B0"}, 1), Catch::Contains("control B0 is a blank (assigned content 0)"));
}

TEST_CASE("a control that was read once has no panel and is listed below them") {
    app::ControlView view;
    view.charts = {models::control_chart(made_series({1.0, 1.1, 0.9})), models::control_chart(made_series({1.4}))};
    const app::ControlFigure figure = app::control_figure_of(view, {});
    CHECK(figure.panels() == 1);
    CHECK(
        figure.read_once ==
        "Read once and not drawn: N1, Q1: 1.40 mg/kg on 1 Jul (assigned 1; outside the 0.7 to 1.3 that is accepted).");
    support::RecordingPainter painter;
    app::draw_control_figure(painter, {0.0, 0.0, 1200.0, 600.0}, figure, app::drawing::Look{});
    std::string all;
    for (const auto& text : painter.texts) all += text.words + " ";
    CHECK_THAT(all, Catch::Contains("Read once and not drawn: N1"));
}

TEST_CASE("a chart without limits shows its readings and says why there are none") {
    app::ControlFigure figure{"Bench", "sub", {models::control_chart(made_series({1.0, 1.1, 0.9}))}, {}};
    support::RecordingPainter painter;
    app::draw_control_figure(painter, {0.0, 0.0, 900.0, 460.0}, figure, app::drawing::Look{});
    std::string all;
    for (const auto& text : painter.texts) all += text.words + " ";
    CHECK_THAT(all, Catch::Contains("no limits yet: they take 8 readings of this kit lot."));
    CHECK(painter.circles == 0);
    CHECK(all.find("+3 sd") == std::string::npos);
}
