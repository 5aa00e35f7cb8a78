#include <functional>
#include <tuple>

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "app/drawing/chart.h"
#include "app/drawing/numbers.h"
#include "tests/app/drawing_samples.h"
#include "tests/support/recording_painter.h"

using namespace app::drawing;
using support::RecordingPainter;

namespace {

struct NamedFigure {
    std::string name;
    std::function<void(Painter&, const Rect&, const Look&)> draw;
};

std::vector<NamedFigure> named_figures() {
    const auto map = [](MapFigure figure) {
        return [figure = std::move(figure)](Painter& painter, const Rect& area, const Look& look) {
            draw_map_figure(painter, area, figure, look);
        };
    };
    return {{"map", map(samples::district_map())},
            {"map with a surface", map(samples::mapped_within())},
            {"exceedance", map(samples::exceedance_map())},
            {"ranking", map(samples::ranking_map())},
            {"hours", [](Painter& p, const Rect& r, const Look& l) { draw_hours_figure(p, r, samples::hours(), l); }},
            {"bins", [](Painter& p, const Rect& r, const Look& l) { draw_bins_figure(p, r, samples::bins(), l); }},
            {"ranks", [](Painter& p, const Rect& r, const Look& l) { draw_rank_figure(p, r, samples::ranks(), l); }},
            {"risk ranks",
             [](Painter& p, const Rect& r, const Look& l) { draw_rank_figure(p, r, samples::risk_ranks(), l); }},
            {"acceptance",
             [](Painter& p, const Rect& r, const Look& l) { draw_acceptance_figure(p, r, samples::acceptance(), l); }}};
}

const std::vector<std::pair<double, double>> sizes = {{800, 600}, {1600, 1000}, {2400, 1600}, {700, 1000}};

RecordingPainter drawn(const std::function<void(Painter&, const Rect&, const Look&)>& draw, double width,
                       double height) {
    RecordingPainter painter;
    draw(painter, {0.0, 0.0, width, height}, look_for(width, height));
    return painter;
}

RecordingPainter drawn_map(const MapFigure& figure) {
    return drawn([&](Painter& p, const Rect& r, const Look& l) { draw_map_figure(p, r, figure, l); }, 1600, 1000);
}

}  // namespace

TEST_CASE("no text of a figure leaves the picture and none lies on another") {
    for (const auto& sample : named_figures())
        for (const auto& [width, height] : sizes) {
            INFO(sample.name << " at " << width << " x " << height);
            const RecordingPainter painter = drawn(sample.draw, width, height);
            CHECK(painter.texts.size() > 15);
            CHECK(painter.texts_outside({0.0, 0.0, width, height}) == std::vector<std::string>{});
            CHECK(painter.texts_over_each_other() == std::vector<std::string>{});
            CHECK(painter.open_clips() == 0);
            for (const auto& text : painter.texts) CHECK(text.size >= Look{}.least_text_px);
        }
}

TEST_CASE("figures keep their place in a picture that is not theirs alone") {
    for (const auto& sample : named_figures()) {
        INFO(sample.name);
        const Rect area{300.0, 200.0, 900.0, 640.0};
        RecordingPainter painter;
        sample.draw(painter, area, look_for(900.0, 640.0));
        CHECK(painter.texts_outside(area) == std::vector<std::string>{});
        for (const auto& rect : painter.rects)
            if (rect.fill.alpha > 0) CHECK(holds(inset(area, -1.0), rect.area));
    }
}

TEST_CASE("text twice the size still fits") {
    for (const auto& sample : named_figures()) {
        INFO(sample.name);
        RecordingPainter painter;
        Look look = look_for(1600.0, 1000.0);
        look.text_px *= 1.5;
        sample.draw(painter, {0.0, 0.0, 1600.0, 1000.0}, look);
        CHECK(painter.texts_outside({0.0, 0.0, 1600.0, 1000.0}) == std::vector<std::string>{});
        CHECK(painter.texts_over_each_other() == std::vector<std::string>{});
    }
}

TEST_CASE("the contamination map carries its legend, unit, limit, verdict and caution") {
    const MapFigure figure = samples::district_map();
    const RecordingPainter painter = drawn_map(figure);
    CHECK(painter.says("Contamination, season 2026"));
    CHECK(painter.says("DON, mg/kg (median)"));
    CHECK(painter.says("limit 1.25"));
    CHECK(painter.says("Limit 1.25 mg/kg, unprocessed wheat for food"));
    CHECK(painter.says("Structure within fields: not supported"));
    CHECK(painter.says("Screening result, not a certificate"));
    CHECK(painter.says("Tested for DON only"));
    CHECK(painter.says("hatched: unsure; the 90 % interval spans more than a factor of 6"));
    CHECK(painter.says("one colour for the field's mean; nothing is claimed about places inside it"));
    CHECK(painter.says("dashed outline: no test of its own"));
    CHECK(painter.says("test: below the working range"));
    CHECK(painter.says("test: above the working range"));
    CHECK(painter.says("test: void"));
    CHECK(painter.says("grey: nothing known"));
    CHECK(painter.says("2 km"));
    CHECK(painter.says(" N "));
    CHECK_FALSE(painter.says("kriging"));
    CHECK(painter.images == 0);
}

TEST_CASE("the name of a field stands above its number or both are listed beside the map") {
    for (const auto& [width, height] : {std::pair{1600.0, 1000.0}, std::pair{1100.0, 760.0}}) {
        const MapFigure figure = samples::district_map();
        const RecordingPainter painter =
            drawn([&](Painter& p, const Rect& r, const Look& l) { draw_map_figure(p, r, figure, l); }, width, height);
        int in_the_map = 0;
        for (const auto& field : figure.fields) {
            INFO(field.label << " at " << width << " x " << height);
            const std::string number = field.median_mg_per_kg ? number_text(*field.median_mg_per_kg) : "";
            bool named = false, listed = false;
            for (std::size_t i = 0; i < painter.texts.size(); ++i) {
                const auto& text = painter.texts[i];
                listed |= text.words.find("  " + field.label + "  " + number) != std::string::npos;
                if (text.words != field.label) continue;
                named = true;
                if (number.empty()) continue;
                REQUIRE(i + 1 < painter.texts.size());
                const auto& below = painter.texts[i + 1];
                CHECK(below.words == number);
                CHECK(middle(below.box).x == Approx(middle(text.box).x));
                CHECK(middle(below.box).y == Approx(middle(text.box).y + 1.15 * text.size).epsilon(0.02));
            }
            CHECK((named || listed || painter.says("more")));
            in_the_map += named;
        }
        CHECK(in_the_map > 24);
    }
}

TEST_CASE("a field that is too small for its name is named on free ground at the end of a line") {
    MapFigure figure;
    const auto square = [](double x, double y, double side) {
        return models::OutlineM{{{{x, y}, {x + side, y}, {x + side, y + side}, {x, y + side}}, {}}};
    };
    // Four small fields that touch, with much free ground around.
    for (int i = 0; i < 4; ++i) {
        MapField field;
        field.label = fmt::format("Long name {}", i + 1);
        field.outline_m = square(1000.0 + 30.0 * (i % 2), 1000.0 + 30.0 * (i / 2), 30.0);
        field.median_mg_per_kg = 0.5 * (i + 1);
        figure.fields.push_back(field);
    }
    MapField wide;
    wide.label = "Wide";
    wide.outline_m = square(0.0, 0.0, 600.0);
    figure.fields.push_back(wide);
    const Rect canvas{0.0, 0.0, 900.0, 700.0};
    const Look look = look_for(900, 700);
    const MapView view = fitted({0.0, 0.0, 1600.0, 1400.0}, canvas, 40.0);
    RecordingPainter painter;
    draw_map_canvas(painter, canvas, figure, view, look);
    for (const auto& field : figure.fields) {
        CAPTURE(field.label);
        CHECK(painter.says(field.label));
    }
    CHECK(painter.texts_over_each_other() == std::vector<std::string>{});
    for (const auto& text : painter.texts) {
        if (!text.words.starts_with("Long")) continue;
        for (const auto& field : figure.fields)
            CHECK(models::side_of(field.outline_m, view.to_world(middle(text.box), canvas)) == models::Side::outside);
    }
    CHECK(painter.discs >= 4);  // where the lines end in their fields
}

TEST_CASE("a field of another crop is not one about which nothing is known") {
    MapFigure figure = samples::district_map();
    MapField& field = figure.fields[3];
    field.median_mg_per_kg.reset();
    field.without = MapField::Without::other_crop;
    field.note = "no wheat this season: barley";
    CHECK(field_sentence(field, figure) == field.label + ": no wheat this season: barley");
    const Colour fill = fill_of(field, figure, content_scale_of(figure), light_theme());
    CHECK(fill.red > light_theme().unknown.red + 15);
    CHECK(drawn_map(figure).says("almost white: no wheat this season"));
    MapFigure ranking = samples::ranking_map();
    ranking.fields[2].rank.reset();
    ranking.fields[2].without = MapField::Without::no_weather;
    ranking.fields[2].note = "no disease risk, missing: the flowering date";
    CHECK(field_sentence(ranking.fields[2], ranking) ==
          ranking.fields[2].label + ": no disease risk, missing: the flowering date");
    CHECK(drawn_map(ranking).says("no flowering date or no weather"));
}

TEST_CASE("a mapped field looks different from one that carries its mean, and the legend says so") {
    const RecordingPainter painter = drawn_map(samples::mapped_within());
    CHECK(painter.images == 1);
    CHECK(painter.says("no pale rim: drawn from its samples"));
    CHECK(painter.says("pale rim: one colour for the field's mean"));
    CHECK(painter.says("line inside a field: equal content, in mg/kg"));
    CHECK(painter.says("supported in 16 of 48 fields"));
}

TEST_CASE("without any result the map is an order of disease risk, says so and shows no limit") {
    const MapFigure figure = samples::ranking_map();
    const RecordingPainter painter = drawn_map(figure);
    CHECK(painter.says("Order of disease risk only"));
    CHECK(painter.says("There is no DON result in the store."));
    CHECK(painter.says("says nothing about a limit"));
    CHECK_FALSE(painter.says("mg/kg"));
    CHECK_FALSE(painter.says("limit 1.25"));
    const Theme& theme = light_theme();
    const ContentScale scale = content_scale_of(figure);
    for (const auto& field : figure.fields) {
        const Colour fill = fill_of(field, figure, scale, theme);
        const Colour expected = field.rank ? ranking_ramp().at((48.0 - *field.rank) / 47.0) : theme.unknown;
        CHECK((fill.red == expected.red && fill.green == expected.green && fill.blue == expected.blue));
    }
}

TEST_CASE("the map of exceedance runs from 0 to 100 percent and colours no test by its content") {
    const RecordingPainter painter = drawn_map(samples::exceedance_map());
    CHECK(painter.says("Chance that the mean is over 1.25 mg/kg"));
    CHECK(painter.says("0 %"));
    CHECK(painter.says("100 %"));
    CHECK(painter.says("test: content read "));
    CHECK_FALSE(painter.says("in its colour"));
}

TEST_CASE("a field is unsure when its interval spans more than the factor that the map names") {
    MapFigure figure;
    figure.hatched_from_factor = 6.0;
    MapField field;
    CHECK_FALSE(is_unsure(field, figure));
    field.low90_mg_per_kg = 0.5;
    field.high90_mg_per_kg = 2.9;
    CHECK_FALSE(is_unsure(field, figure));
    field.high90_mg_per_kg = 3.1;
    CHECK(is_unsure(field, figure));
    field.low90_mg_per_kg = 0.0;
    CHECK(is_unsure(field, figure));
}

TEST_CASE("the pointer finds the field under it, the smaller of two, and none in a pond or a lane") {
    MapFigure figure;
    MapField large, small;
    large.outline_m = {
        {{{0, 0}, {1000, 0}, {1000, 1000}, {0, 1000}}, {{{100, 100}, {300, 100}, {300, 300}, {100, 300}}}}};
    small.outline_m = {{{{600, 600}, {800, 600}, {800, 800}, {600, 800}}, {}}};
    figure.fields = {large, small};
    const Rect canvas{50.0, 50.0, 500.0, 500.0};
    const MapView view = fitted(*box_of(figure), canvas, 50.0);
    const auto under = [&](double x_m, double y_m) {
        return field_under(figure, view, canvas, view.to_px({x_m, y_m}, canvas));
    };
    CHECK(under(500, 500) == std::size_t{0});
    CHECK(under(700, 700) == std::size_t{1});
    CHECK_FALSE(under(200, 200));
    CHECK_FALSE(under(-50, 500));
    CHECK_FALSE(field_under(figure, view, canvas, {10.0, 10.0}));
}

TEST_CASE("the sentence of a field tells content, interval, chance and tests") {
    const MapFigure figure = samples::district_map();
    MapField field;
    field.label = "Crow Bank";
    CHECK(field_sentence(field, figure) == "Crow Bank: nothing known");
    field.median_mg_per_kg = 0.84;
    field.low90_mg_per_kg = 0.4;
    field.high90_mg_per_kg = 1.76;
    field.exceedance = 0.12;
    field.tests = 3;
    CHECK(field_sentence(field, figure) ==
          "Crow Bank: 0.84 mg/kg (90 % interval 0.40 to 1.8), 12 % chance of lying over the limit, 3 tests");
    field.tests = 0;
    CHECK(field_sentence(field, figure).ends_with("no test of its own"));
}

TEST_CASE("the hours are information: units, window and model are named, no threshold and no class") {
    const HoursFigure figure = samples::hours();
    const RecordingPainter painter =
        drawn([&](Painter& p, const Rect& r, const Look& l) { draw_hours_figure(p, r, figure, l); }, 1600, 1000);
    CHECK(painter.says("temperature, °C"));
    CHECK(painter.says("dew-point depression, °C"));
    CHECK(
        painter.says("“dew-point depression around flowering” looks at the hours from 7 days before to 10 days after"));
    CHECK(painter.says("wet: rain in that hour"));
    CHECK(painter.says("days from flowering; bars: rain of each hour, the highest 4.2 mm"));
    CHECK(painter.says("no threshold"));
    CHECK(painter.says("7 of 576 hours were not measured"));
    int measured = 0, wet = 0, outside = 0;
    for (const auto& hour : figure.hours) {
        if (std::isnan(hour.dew_point_depression_degc)) continue;
        ++measured;
        wet += hour.rain_mm > 0.0;
        outside += hour.days_from_flowering < -7.0 || hour.days_from_flowering > 10.0;
    }
    // One mark more of each kind stands in the legend: two discs, two rings.
    CHECK(painter.discs == measured - outside + 2);
    CHECK(painter.circles == wet + outside + 2);
}

TEST_CASE("the label of a contour covers no mark of a test however dense they stand") {
    MapFigure figure;
    MapField field;
    field.label = "C02";
    field.outline_m = {{{{0, 0}, {600, 0}, {600, 400}, {0, 400}}, {}}};
    field.median_mg_per_kg = 1.0;
    field.tests = 1;  // one is enough to be a tested field; the marks keep their usual size
    figure.fields = {field};
    for (int column = 0; column < 24; ++column)
        for (int row = 0; row < 16; ++row)
            figure.tests.push_back({{12.5 + 25.0 * column, 12.5 + 25.0 * row}, TestMark::value, 1.0});
    MapContour contour;
    contour.level_mg_per_kg = 1.0;
    contour.lines_m.emplace_back();
    for (int step = 0; step <= 12; ++step) contour.lines_m[0].push_back({50.0 * step, 200.0 + 10.0 * (step % 3)});
    figure.contours = {contour};
    const Rect canvas{0.0, 0.0, 900.0, 700.0};
    const Look look = look_for(900, 700);
    const MapView view = fitted(*box_of(figure), canvas, 120.0);
    RecordingPainter painter;
    draw_map_canvas(painter, canvas, figure, view, look);
    int labels = 0;
    for (const auto& text : painter.texts) {
        if (text.words != "1") continue;
        ++labels;
        for (const MapTest& test : figure.tests) {
            const Point mark = view.to_px(test.place_m, canvas);
            const double reach = 0.3 * look.text_px;
            CHECK_FALSE(overlap(text.box, {mark.x - reach, mark.y - reach, 2.0 * reach, 2.0 * reach}));
        }
    }
    CHECK(labels == 1);
}

TEST_CASE("a content keeps its colour however few results a store holds") {
    MapField known;
    known.median_mg_per_kg = 0.84;
    MapFigure one, many = samples::district_map();
    one.limit_mg_per_kg = many.limit_mg_per_kg;
    one.fields = {known};
    const auto colour_in = [&](const MapFigure& figure) {
        const Colour c = fill_of(known, figure, content_scale_of(figure), light_theme());
        return std::tuple{c.red, c.green, c.blue};
    };
    CHECK(colour_in(one) == colour_in(many));
    const RecordingPainter painter = drawn_map(many);
    CHECK(painter.says("≤ 0.125"));
    CHECK(painter.says("≥ 12.5"));
    // The bins of a store with that limit use the same.
    BinsFigure bins;
    BinDrawing bin;
    bin.bin = "S1";
    bin.capacity_t = 10.0;
    bin.layers = {{"A", 8.0, 0.84, 0.8, 0.9}};
    bins.bins = {bin};
    bins.limit_mg_per_kg = many.limit_mg_per_kg;
    const RecordingPainter drawn_bins =
        drawn([&](Painter& p, const Rect& r, const Look& l) { draw_bins_figure(p, r, bins, l); }, 800, 600);
    CHECK(std::any_of(drawn_bins.rects.begin(), drawn_bins.rects.end(), [&](const auto& rect) {
        return std::tuple{rect.fill.red, rect.fill.green, rect.fill.blue} == colour_in(one) && rect.area.height > 50.0;
    }));
}

TEST_CASE("a limit off the scale is said in words and not drawn at its end") {
    MapFigure figure = samples::district_map();
    const auto limit_lines = [](const RecordingPainter& painter) {
        int count = 0;
        const Colour ink = light_theme().ink;
        for (const auto& line : painter.lines)
            count += line.points.size() == 2 && line.colour.red == ink.red && line.colour.alpha == 255 &&
                     line.points[0].x == line.points[1].x;
        return count;
    };
    figure.scale = ContentScale{0.1, 10.0};
    CHECK(limit_lines(drawn_map(figure)) == 1);
    figure.limit_mg_per_kg = 50.0;
    CHECK(limit_lines(drawn_map(figure)) == 0);
    CHECK(drawn_map(figure).says("limit 50, off this scale"));
}

TEST_CASE("ranked fields have their order, chance and limit line, and the rest is counted") {
    const RankFigure figure = samples::ranks();
    const RecordingPainter painter =
        drawn([&](Painter& p, const Rect& r, const Look& l) { draw_rank_figure(p, r, figure, l); }, 800, 600);
    CHECK(painter.says("1. Long Acre"));
    CHECK(painter.says("limit 1.25"));
    CHECK(painter.says("mg/kg (logarithmic)"));
    CHECK(painter.says("more fields are not shown"));
    CHECK(painter.says("Screening result"));
    double first = 0.0, last = 0.0;
    for (const auto& text : painter.texts) {
        if (text.words == "1.") first = text.box.y;
        if (text.words == "2.") last = text.box.y;
    }
    CHECK(first < last);
}

TEST_CASE("a ranking by disease risk alone says so and carries no limit and no content") {
    const RecordingPainter painter =
        drawn([&](Painter& p, const Rect& r, const Look& l) { draw_rank_figure(p, r, samples::risk_ranks(), l); }, 1600,
              1000);
    CHECK(painter.says("Ranking by disease risk only."));
    CHECK(painter.says("There is no DON result in the store."));
    CHECK(painter.says("chance of field severity of 10 % or more"));
    CHECK_FALSE(painter.says("mg/kg"));
    CHECK_FALSE(painter.says("limit 1.25"));
}

TEST_CASE("where there is nothing to draw a sentence says why") {
    const auto said = [](const std::function<void(Painter&, const Rect&, const Look&)>& draw) {
        return drawn(draw, 800, 600).all_words();
    };
    CHECK_THAT(said([](Painter& p, const Rect& r, const Look& l) { draw_map_figure(p, r, {}, l); }),
               Catch::Contains("There are no fields to show."));
    CHECK_THAT(said([](Painter& p, const Rect& r, const Look& l) { draw_hours_figure(p, r, {}, l); }),
               Catch::Contains("There are no hours to show."));
    CHECK_THAT(said([](Painter& p, const Rect& r, const Look& l) {
                   HoursFigure figure;
                   figure.hours.resize(5);
                   draw_hours_figure(p, r, figure, l);
               }),
               Catch::Contains("No hour around flowering has both a temperature and a humidity."));
    CHECK_THAT(said([](Painter& p, const Rect& r, const Look& l) { draw_bins_figure(p, r, {}, l); }),
               Catch::Contains("There are no bins in the store."));
    CHECK_THAT(said([](Painter& p, const Rect& r, const Look& l) { draw_rank_figure(p, r, {}, l); }),
               Catch::Contains("There is no field to rank"));
}

TEST_CASE("a figure in a tiny area draws without falling over") {
    for (const auto& sample : named_figures())
        for (const auto& [width, height] : {std::pair{60.0, 40.0}, {1.0, 1.0}, {0.0, 0.0}, {2000.0, 30.0}}) {
            RecordingPainter painter;
            sample.draw(painter, {0.0, 0.0, width, height}, Look{});
            CHECK(painter.open_clips() == 0);
        }
}

TEST_CASE("the risks of a plan part at the limit and fill what the curve leaves") {
    AcceptanceFigure figure = samples::acceptance();
    const auto painted = [&] {
        return drawn([&](Painter& p, const Rect& r, const Look& l) { draw_acceptance_figure(p, r, figure, l); }, 1600,
                     1000);
    };
    CHECK(painted().says("limit 1.25 mg/kg"));
    CHECK(painted().says("buyer’s risk"));
    CHECK(painted().says("the cheapest plan"));
    figure.other.reset();
    CHECK_FALSE(painted().says("the cheapest plan"));
    figure.plan.points.clear();
    CHECK(painted().says("There is no plan to show."));
}
