#include "app/drawing/figures/map_frames.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "app/drawing/chart.h"
#include "app/far_apart.h"
#include "tests/support/recording_painter.h"

using namespace app::drawing;

namespace {

models::OutlineM square_at(double x, double y, double side) {
    return {{{{x, y}, {x + side, y}, {x + side, y + side}, {x, y + side}}, {}}};
}

/// A farm of 3 x 3 fields of 300 m, a lane of 100 m between them.
void add_farm(MapFigure& figure, const std::string& name, double x, double y) {
    for (int i = 0; i < 9; ++i) {
        MapField field;
        field.label = fmt::format("{} {}", name, i + 1);
        field.outline_m = square_at(x + 400.0 * (i % 3), y + 400.0 * (i / 3), 300.0);
        field.median_mg_per_kg = 0.2 + 0.1 * i;
        field.tests = 1;
        figure.fields.push_back(field);
        figure.tests.push_back({{x + 400.0 * (i % 3) + 150.0, y + 400.0 * (i / 3) + 150.0}, TestMark::value, 0.5});
    }
}

models::BoxM box_at(double x, double y) {
    return {x, y, x + 1.0, y + 1.0};
}

const Rect page{0.0, 0.0, 1600.0, 1000.0};

}  // namespace

TEST_CASE("boxes are parted where the way from one to the next is longest") {
    // A row with steps of 10 and one of 15 in the middle, and the same row shuffled.
    const app::TwoGroups row = app::parted_at_widest_gap(
        {box_at(0.0, 0.0), box_at(10.0, 0.0), box_at(20.0, 0.0), box_at(35.0, 0.0), box_at(45.0, 0.0)});
    CHECK(row.first == std::vector<std::size_t>{0, 1, 2});
    CHECK(row.second == std::vector<std::size_t>{3, 4});
    CHECK(row.gap_m == 14.0);
    const app::TwoGroups shuffled = app::parted_at_widest_gap(
        {box_at(45.0, 0.0), box_at(10.0, 0.0), box_at(35.0, 0.0), box_at(0.0, 0.0), box_at(20.0, 0.0)});
    CHECK(shuffled.first == std::vector<std::size_t>{0, 2});
    CHECK(shuffled.second == std::vector<std::size_t>{1, 3, 4});
    CHECK(app::parted_at_widest_gap({box_at(0.0, 0.0)}).second.empty());
    CHECK(app::parted_at_widest_gap({}).first.empty());
}

TEST_CASE("two farms far apart have a frame each in which their fields are seen") {
    MapFigure figure;
    add_farm(figure, "North", 3000.0, 50000.0);
    add_farm(figure, "South", 0.0, 0.0);
    const Look look = look_for(page.width, page.height);
    const std::vector<MapFrame> frames = map_frames(figure, page, look);
    REQUIRE(frames.size() == 2);
    std::vector<std::size_t> north(9), south(9);
    std::iota(north.begin(), north.end(), 0U);
    std::iota(south.begin(), south.end(), 9U);
    CHECK(frames[0].fields == north);
    CHECK(frames[1].fields == south);
    CHECK_FALSE(overlap(frames[0].canvas, frames[1].canvas));
    for (const MapFrame& frame : frames) {
        CHECK(holds(page, frame.canvas));
        const MapView view = fitted(frame.box, frame.canvas, 20.0);
        CHECK(300.0 / view.metres_per_px > 3.0 * look.text_px);
    }
    const MapFigure alone = figure_of_frame(figure, frames[1]);
    CHECK(alone.tests.size() == 9);
    CHECK(alone.fields.size() == figure.fields.size());  // ranks and colours are those of the whole map
    CHECK(alone.fields[0].outline_m.empty());
    CHECK(frame_words(frames, 0) == "A");
    CHECK(frame_words(frames, 1) == "B: 50 km south of A");

    support::RecordingPainter painter;
    draw_map_figure(painter, page, figure, look);
    for (const MapField& field : figure.fields) CHECK(painter.says(field.label));
    CHECK(painter.says("B: 50 km south of A"));
    CHECK(painter.says("each frame has its own scale"));
    CHECK(painter.texts_over_each_other() == std::vector<std::string>{});
}

TEST_CASE("fields near one another share a frame however small they are") {
    MapFigure one_farm;
    add_farm(one_farm, "Home", 0.0, 0.0);
    const Look look = look_for(page.width, page.height);
    CHECK(map_frames(one_farm, page, look).size() == 1);
    // Dots all over a district: no gap among them is wide beside the whole.
    MapFigure district;
    for (int i = 0; i < 100; ++i) {
        MapField field;
        field.outline_m = square_at(5000.0 * (i % 10) + 700.0 * (i / 10 % 3), 5000.0 * (i / 10), 200.0);
        district.fields.push_back(field);
    }
    CHECK(map_frames(district, page, look).size() == 1);
    CHECK(map_frames({}, page, look).empty());
}

TEST_CASE("one field far from all others takes no room that they need") {
    MapFigure figure;
    add_farm(figure, "Home", 0.0, 0.0);
    MapField outlier;
    outlier.label = "Away";
    outlier.outline_m = square_at(40000.0, 3000.0, 300.0);
    outlier.median_mg_per_kg = 1.0;
    figure.fields.push_back(outlier);
    const Look look = look_for(page.width, page.height);
    const std::vector<MapFrame> frames = map_frames(figure, page, look);
    REQUIRE(frames.size() == 2);
    const auto farm = std::find_if(frames.begin(), frames.end(), [](const auto& f) { return f.fields.size() == 9; });
    const auto away = std::find_if(frames.begin(), frames.end(), [](const auto& f) { return f.fields.size() == 1; });
    REQUIRE(farm != frames.end());
    REQUIRE(away != frames.end());
    CHECK(farm->canvas.width * farm->canvas.height > 1.5 * away->canvas.width * away->canvas.height);
    CHECK(300.0 / fitted(farm->box, farm->canvas, 20.0).metres_per_px > 6.0 * look.text_px);
}

TEST_CASE("directions are those of the compass") {
    const auto second = [](double x, double y) {
        return frame_words({{page, box_at(0.0, 0.0), {}}, {page, box_at(x, y), {}}}, 1);
    };
    CHECK(second(0.0, 7000.0) == "B: 7.0 km north of A");
    CHECK(second(20000.0, 20000.0) == "B: 28 km north-east of A");
    CHECK(second(-30000.0, 1000.0) == "B: 30 km west of A");
}

TEST_CASE("no line leads from a name to the dot of another field") {
    // Two fields of a few pixels side by side; the test of the one lies over the other.
    MapFigure figure;
    MapField tested, covered;
    tested.label = "Tested";
    tested.outline_m = square_at(0.0, 0.0, 60.0);
    tested.median_mg_per_kg = 2.0;
    tested.tests = 1;
    covered.label = "Covered";
    covered.outline_m = square_at(60.0, 0.0, 60.0);
    covered.median_mg_per_kg = 1.0;
    figure.fields = {tested, covered};
    figure.tests.push_back({{50.0, 30.0}, TestMark::value, 2.0});
    const Rect canvas{0.0, 0.0, 900.0, 700.0};
    const Look look = look_for(900, 700);
    MapView view;
    view.centre_m = {60.0, 30.0};
    view.metres_per_px = 60.0;
    support::RecordingPainter painter;
    std::vector<MapKeyLine> key;
    MapMarks marks;
    marks.key = &key;
    draw_map_canvas(painter, canvas, figure, view, look, marks);
    CHECK_FALSE(painter.says("Covered"));
    REQUIRE_FALSE(key.empty());
    CHECK(key.back().name == "Covered");
    // Where there is room between them each has its name.
    view.metres_per_px = 2.0;
    key.clear();
    support::RecordingPainter nearer;
    draw_map_canvas(nearer, canvas, figure, view, look, marks);
    CHECK(nearer.says("Covered"));
    CHECK(nearer.says("Tested"));
}
