#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>

#include <catch2/catch.hpp>
#include <unistd.h>

#include "app/drawing/axis.h"
#include "app/drawing/chart.h"
#include "app/drawing/figures/rings.h"
#include "app/drawing/fonts.h"
#include "app/drawing/map_view.h"
#include "app/drawing/numbers.h"
#include "tests/support/recording_painter.h"

using namespace app::drawing;
using support::RecordingPainter;

namespace {

std::vector<std::string> labels(const std::vector<Tick>& ticks) {
    std::vector<std::string> words;
    for (const auto& tick : ticks) words.push_back(tick.label);
    return words;
}

}  // namespace

TEST_CASE("numbers have two digits below 1 and one decimal from 1 up") {
    CHECK(number_text(0.0343) == "0.034");
    CHECK(number_text(0.5) == "0.50");
    CHECK(number_text(0.0996) == "0.10");
    CHECK(number_text(0.996) == "1.0");
    CHECK(number_text(0.994) == "0.99");
    CHECK(number_text(12.34) == "12.3");
    CHECK(number_text(0.0) == "0");
    CHECK(number_text(-0.25) == "\u22120.25");
    CHECK(number_text(12345.6) == "12\u202f346");
    CHECK(number_text(std::nan("")) == "–");
    CHECK(set_number_text(1.25) == "1.25");
    CHECK(set_number_text(1.0) == "1");
}

TEST_CASE("a chance is never called nothing or certain") {
    CHECK(percent_text(0.0) == "under 1 %");
    CHECK(percent_text(0.004) == "under 1 %");
    CHECK(percent_text(0.0051) == "1 %");
    CHECK(percent_text(0.126) == "13 %");
    CHECK(percent_text(0.99) == "99 %");
    CHECK(percent_text(1.0) == "over 99 %");
}

TEST_CASE("ticks stand at round values inside the axis and are no more than asked for") {
    CHECK(labels(linear_ticks(0.0, 10.0, 6)) == std::vector<std::string>{"0", "2", "4", "6", "8", "10"});
    CHECK(labels(linear_ticks(-0.6, 0.6, 5)) == std::vector<std::string>{"\u22120.5", "0.0", "0.5"});
    for (const double high : {0.013, 0.7, 3.0, 999.0, 1e6})
        for (const int most : {2, 3, 7, 12}) {
            const auto ticks = linear_ticks(0.0, high, most);
            CHECK(static_cast<int>(ticks.size()) <= most);
            for (const auto& tick : ticks) CHECK(tick.value <= high * (1 + 1e-9));
        }
    CHECK(linear_ticks(1.0, 1.0, 5).empty());
    CHECK(linear_ticks(0.0, std::nan(""), 5).empty());
}

TEST_CASE("logarithmic ticks are 1 2 5 of each decade or the decades alone") {
    CHECK(labels(log_ticks(0.1, 10.0, 12)) == std::vector<std::string>{"0.1", "0.2", "0.5", "1", "2", "5", "10"});
    int named = 0;
    for (const auto& tick : log_ticks(0.1, 10.0, 4))
        if (!tick.label.empty()) {
            ++named;
            CHECK(std::round(std::log10(tick.value)) == Approx(std::log10(tick.value)).margin(1e-9).epsilon(0.0));
        }
    CHECK(named == 3);
    CHECK(log_ticks(1.1, 1.4, 5).size() >= 2);
    CHECK(log_ticks(0.0, 1.0, 5).empty());
}

TEST_CASE("days are marked by days or weeks or months") {
    const auto day = [](unsigned month, unsigned d) { return models::day_of(2026, month, d); };
    CHECK(labels(day_ticks(day(6, 3), day(6, 7), 8)) ==
          std::vector<std::string>{"3 Jun", "4 Jun", "5 Jun", "6 Jun", "7 Jun"});
    CHECK(labels(day_ticks(day(6, 1), day(6, 30), 6)) ==
          std::vector<std::string>{"1 Jun", "8 Jun", "15 Jun", "22 Jun", "29 Jun"});
    CHECK(labels(day_ticks(day(4, 10), day(7, 20), 4)) == std::vector<std::string>{"1 May", "1 Jun", "1 Jul"});
}

TEST_CASE("an axis takes a value to its pixel and back") {
    for (const bool logarithmic : {false, true}) {
        const Scale scale{0.1, 10.0, 400.0, 20.0, logarithmic};
        CHECK(scale.px(0.1) == Approx(400.0));
        CHECK(scale.px(10.0) == Approx(20.0));
        CHECK(scale.value(scale.px(3.7)) == Approx(3.7));
    }
    CHECK((Scale{0.1, 10.0, 0.0, 100.0, true}).px(1.0) == Approx(50.0));
}

TEST_CASE("a map view takes a place to its pixel and back, north up") {
    const Rect area{100.0, 50.0, 600.0, 400.0};
    MapView view{{1000.0, -2000.0}, 2.5};
    CHECK(view.to_px({1000.0, -2000.0}, area).x == Approx(400.0));
    CHECK(view.to_px({1000.0, -1900.0}, area).y == Approx(250.0 - 40.0));
    const models::PointM place = view.to_world(view.to_px({1234.5, -1777.0}, area), area);
    CHECK(place.x_m == Approx(1234.5));
    CHECK(place.y_m == Approx(-1777.0));
}

TEST_CASE("zooming keeps the place under the pointer and panning moves the ground with it") {
    const Rect area{0.0, 0.0, 800.0, 600.0};
    MapView view{{0.0, 0.0}, 4.0};
    const Point pointer{123.0, 456.0};
    const models::PointM before = view.to_world(pointer, area);
    view.zoom(3.0, pointer, area);
    CHECK(view.metres_per_px == Approx(4.0 / 3.0));
    CHECK(view.to_world(pointer, area).x_m == Approx(before.x_m));
    CHECK(view.to_world(pointer, area).y_m == Approx(before.y_m));
    view.pan(50.0, -20.0);
    CHECK(view.to_px(before, area).x == Approx(173.0));
    CHECK(view.to_px(before, area).y == Approx(436.0));
    for (int i = 0; i < 100; ++i) view.zoom(10.0, pointer, area);
    CHECK(view.metres_per_px == 0.01);
    view.zoom(0.0, pointer, area);
    view.zoom(std::nan(""), pointer, area);
    CHECK(view.metres_per_px == 0.01);
}

TEST_CASE("a fitted view shows the whole box inside its margin") {
    const Rect area{10.0, 20.0, 500.0, 300.0};
    for (const models::BoxM box :
         {models::BoxM{0, 0, 8000, 100}, models::BoxM{-50, -900, 40, 900}, models::BoxM{7, 7, 7, 7}}) {
        const MapView view = fitted(box, area, 15.0);
        const Point a = view.to_px({box.x_min_m, box.y_max_m}, area), b = view.to_px({box.x_max_m, box.y_min_m}, area);
        CHECK(holds(inset(area, 15.0), {a.x, a.y, b.x - a.x, b.y - a.y}));
    }
    CHECK(fitted({7, 7, 7, 7}, area, 0.0).shown(area).height_m() == Approx(200.0));
}

TEST_CASE("a scale bar has a round length that fits") {
    for (const double metres_per_px : {0.013, 0.9, 3.3, 47.0}) {
        const ScaleBar bar = scale_bar({{0, 0}, metres_per_px}, 150.0);
        CHECK(bar.length_px <= 150.0 * (1 + 1e-9));
        CHECK(bar.length_px > 55.0);
        CHECK(bar.length_m == Approx(bar.length_px * metres_per_px));
        const double lead = bar.length_m / std::pow(10.0, std::floor(std::log10(bar.length_m * (1 + 1e-9))));
        CHECK((lead == Approx(1.0) || lead == Approx(2.0) || lead == Approx(5.0)));
    }
}

TEST_CASE("wrapped text is no wider than its room and loses no letter") {
    const RecordingPainter painter;
    const std::string words = "Screening result, not a certificate: Überschwemmungsgebietsgrenzfeld 1.25 mg/kg ≥ 0.6";
    for (const double width : {25.0, 60.0, 140.0, 1000.0}) {
        std::string together;
        for (const auto& line : wrapped(painter, words, 13.0, width)) {
            CHECK(painter.text_width(line, 13.0, Weight::regular) <= width);
            for (const char letter : line)
                if (letter != ' ') together += letter;
        }
        std::string without_spaces;
        for (const char letter : words)
            if (letter != ' ') without_spaces += letter;
        CHECK(together == without_spaces);
    }
    CHECK(wrapped(painter, "one\ntwo", 13.0, 500.0) == std::vector<std::string>{"one", "two"});
    CHECK(wrapped(painter, "", 13.0, 500.0).empty());
    CHECK_FALSE(wrapped(painter, "wide", 13.0, 0.5).empty());
}

TEST_CASE("shortened text says that it was cut and fits") {
    const RecordingPainter painter;
    CHECK(shortened(painter, "Thistle Hill", 13.0, 500.0) == "Thistle Hill");
    const std::string cut = shortened(painter, "Thistle Hill", 13.0, 50.0);
    CHECK(cut.ends_with("…"));
    CHECK(painter.text_width(cut, 13.0, Weight::regular) <= 50.0);
    CHECK(shortened(painter, "Thistle Hill", 13.0, 3.0).empty());
}

TEST_CASE("a place for a label is given once") {
    LabelPlaces places;
    CHECK(places.claim({0, 0, 10, 10}));
    CHECK_FALSE(places.claim({9, 9, 10, 10}));
    CHECK(places.claim({10, 0, 10, 10}));
    places.reserve({100, 100, 5, 5});
    CHECK_FALSE(places.is_free({102, 102, 1, 1}));
}

TEST_CASE("hatching stays inside the outline and out of its holes") {
    const std::vector<std::vector<Point>> rings = {{{10, 10}, {110, 20}, {95, 100}, {60, 55}, {5, 90}},
                                                   {{40, 25}, {70, 25}, {70, 45}, {40, 45}}};
    const auto lines = hatch_lines(rings, 5.0);
    CHECK(lines.size() > 20);
    for (const auto& line : lines) {
        REQUIRE(line.size() == 2);
        for (const double t : {0.01, 0.5, 0.99}) {
            const Point p{line[0].x + t * (line[1].x - line[0].x), line[0].y + t * (line[1].y - line[0].y)};
            CHECK(inside_rings(rings, p));
        }
    }
    CHECK(hatch_lines(rings, 0.0).empty());
    CHECK(hatch_lines({}, 5.0).empty());
}

TEST_CASE("a rim lies inside its field and outside its pond whichever way the rings turn") {
    std::vector<Point> outer = {{0, 0}, {100, 0}, {100, 80}, {0, 80}};
    std::vector<Point> hole = {{40, 30}, {60, 30}, {60, 50}, {40, 50}};
    for (int turn = 0; turn < 2; ++turn) {
        for (const Point p : moved_inwards(outer, 4.0, false)) {
            CHECK(inside_rings({outer}, p));
            CHECK(distance_to_rings({outer}, p) == Approx(4.0));
        }
        for (const Point p : moved_inwards(hole, 4.0, true)) CHECK_FALSE(inside_rings({hole}, p));
        std::reverse(outer.begin(), outer.end());
        std::reverse(hole.begin(), hole.end());
    }
}

TEST_CASE("text that is no UTF-8 is set as replacement signs, byte by byte") {
    const std::string broken = "a\xC3(\xE2\x82\xFF";
    const SetLine line = set_line(broken, Weight::regular);
    int bytes = 0;
    for (const auto& glyph : line.glyphs) bytes += glyph.byte_count;
    CHECK(bytes == static_cast<int>(broken.size()));
    CHECK(line.glyphs[1].index == set_line("\uFFFD", Weight::regular).glyphs[0].index);
    CHECK(set_line("mg/kg ≥ µ", Weight::bold).glyphs.size() == 9);
    CHECK(width_of("", 12.0) == 0.0);
    CHECK(width_of("ab", 24.0) == Approx(2.0 * width_of("ab", 12.0)));
}

TEST_CASE("a file that is no font is passed over") {
    const auto folder = std::filesystem::temp_directory_path() / ("lodicule-fonts-" + std::to_string(getpid()));
    std::filesystem::create_directories(folder);
    std::ofstream(folder / "Inter-Regular.otf") << "this is no font";
    const char* before = std::getenv("LODICULE_FONT_DIR");
    const std::string kept = before ? before : "";
    setenv("LODICULE_FONT_DIR", folder.c_str(), 1);
    const FontFamily passed_over = find_fonts();
    CHECK(passed_over.regular.path.find(folder.string()) == std::string::npos);

    std::filesystem::copy_file(passed_over.regular.path, folder / "DejaVuSans.ttf");
    const FontFamily own = find_fonts();
    CHECK(own.regular.path == (folder / "DejaVuSans.ttf").string());
    CHECK(own.bold.path == own.regular.path);

    if (before)
        setenv("LODICULE_FONT_DIR", kept.c_str(), 1);
    else
        unsetenv("LODICULE_FONT_DIR");
    std::filesystem::remove_all(folder);
}

TEST_CASE("what rests on draws is shown with two digits") {
    using app::drawing::rough_text;
    CHECK(rough_text(796.2) == "800");
    CHECK(rough_text(13.24) == "13");
    CHECK(rough_text(0.846) == "0.85");
    CHECK(rough_text(9.97) == "10");
}

TEST_CASE("labels along a line keep their gap and their order and move as little as they must") {
    CHECK(spread_apart({}, 10.0, 0.0, 100.0).empty());
    CHECK(spread_apart({20.0, 50.0}, 10.0, 0.0, 100.0) == std::vector<double>{20.0, 50.0});
    // Two that want the same place share the move; one too near an end is kept on the line.
    CHECK(spread_apart({50.0, 50.0}, 10.0, 0.0, 100.0) == std::vector<double>{45.0, 55.0});
    CHECK(spread_apart({-5.0, 99.0}, 10.0, 0.0, 100.0) == std::vector<double>{0.0, 99.0});
    const std::vector<double> crowded = spread_apart({10.0, 11.0, 12.0, 60.0, 61.0, 99.0}, 12.0, 0.0, 100.0);
    for (std::size_t i = 0; i + 1 < crowded.size(); ++i) CHECK(crowded[i + 1] - crowded[i] >= 12.0 - 1e-9);
    CHECK(crowded.front() >= 0.0);
    CHECK(crowded.back() <= 100.0);
    // No room for the gaps: the line is shared out.
    CHECK(spread_apart({50.0, 50.0, 50.0}, 80.0, 0.0, 100.0) == std::vector<double>{0.0, 50.0, 100.0});
}
