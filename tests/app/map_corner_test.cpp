#include <algorithm>
#include <string>

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "app/drawing/chart.h"
#include "app/drawing/figures/map_figure.h"
#include "app/drawing/figures/review_figure.h"
#include "tests/support/recording_painter.h"

/// What stands in the corners of the map, and how small squares of shares may get.
using namespace app::drawing;
using support::RecordingPainter;

namespace {

/// Twelve times twelve fields that share their edges: no name has room anywhere.
MapFigure crowded_district() {
    MapFigure figure;
    for (int i = 0; i < 144; ++i) {
        const double x = 30.0 * (i % 12), y = 30.0 * (i / 12);
        MapField field;
        field.label = fmt::format("Far Meadow {}", i + 1);
        field.outline_m = {{{{x, y}, {x + 30.0, y}, {x + 30.0, y + 30.0}, {x, y + 30.0}}, {}}};
        field.median_mg_per_kg = 0.5;
        field.tests = 1;
        figure.fields.push_back(field);
    }
    return figure;
}

const RecordingPainter::Text* text_with(const RecordingPainter& painter, const std::string& words) {
    const auto found =
        std::find_if(painter.texts.begin(), painter.texts.end(),
                     [&](const RecordingPainter::Text& text) { return text.words.find(words) != std::string::npos; });
    return found == painter.texts.end() ? nullptr : &*found;
}

}  // namespace

TEST_CASE("the words about names left out never lie on the scale bar however narrow the map is") {
    const MapFigure figure = crowded_district();
    const double width = GENERATE(300.0, 420.0, 600.0, 1200.0), em = GENERATE(12.0, 16.0, 26.0);
    const Rect canvas{0.0, 0.0, width, 420.0};
    Look look;
    look.text_px = em;
    const MapView view = fitted(*box_of(figure), canvas, 4.0);
    RecordingPainter map, bar;
    draw_map_canvas(map, canvas, figure, view, look);
    draw_scale_and_north(bar, canvas, view, look);
    const RecordingPainter::Text* left_out = text_with(map, "left out");
    if (left_out == nullptr) left_out = text_with(map, "…");
    REQUIRE(left_out != nullptr);
    REQUIRE_FALSE(bar.rects.empty());
    CAPTURE(width, em, left_out->words);
    CHECK_FALSE(overlap(left_out->box, bar.rects.front().area));
    CHECK(holds(canvas, left_out->box));
}

TEST_CASE("squares of shares stand in several rows rather than too small to be read") {
    ReviewFigure figure;
    figure.title = "What did we learn?";
    for (const char* title : {"Disease", "Forecasts"}) {
        ReliabilityPanel panel;
        panel.title = title;
        panel.groups = {{0.2, 0.3, 0.1, 0.5, 12}, {0.7, 0.6, 0.4, 0.8, 9}};
        figure.reliability.push_back(panel);
    }
    Look look;
    look.text_px = 26.0;
    const auto height_at = [&](double width) {
        return height_of_review_figure(RecordingPainter{}, width, figure, look);
    };
    // Side by side on a wide page; one below the other where three would have 200 pixels each.
    CHECK(height_at(640.0) > height_at(2000.0) + 200.0);
    RecordingPainter painter;
    draw_review_figure(painter, {0.0, 0.0, 640.0, height_at(640.0)}, figure, look);
    const RecordingPainter::Text* first = text_with(painter, "Disease");
    const RecordingPainter::Text* second = text_with(painter, "Forecasts");
    REQUIRE(first != nullptr);
    REQUIRE(second != nullptr);
    CHECK(second->box.y > first->box.y + 250.0);
    // The dashed diagonal of each square runs from corner to corner of its plot.
    int squares = 0;
    for (const RecordingPainter::Line& line : painter.lines)
        if (line.dashed && line.points.size() == 2) {
            ++squares;
            CHECK(line.points[1].x - line.points[0].x > 8.0 * look.text_px);
            CHECK(line.points[0].y - line.points[1].y > 8.0 * look.text_px);
        }
    CHECK(squares >= 2);
}
