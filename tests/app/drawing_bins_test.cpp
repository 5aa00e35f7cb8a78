#include <algorithm>
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

RecordingPainter drawn_bins(const BinsFigure& figure, double width, double height) {
    RecordingPainter painter;
    draw_bins_figure(painter, {0.0, 0.0, width, height}, figure, look_for(width, height));
    return painter;
}

}  // namespace

TEST_CASE("bins show tonnes against capacity, the limit and the chance in words, and a hold that looks different") {
    const BinsFigure figure = samples::bins();
    const RecordingPainter painter = drawn_bins(figure, 1600, 1000);
    CHECK(painter.says("187 t of 240 t"));
    CHECK(painter.says("empty, takes 300 t"));
    CHECK(painter.says("93.5 t, more than its 90 t"));
    CHECK(painter.says("On hold: neither cleared nor over"));
    CHECK(painter.says("Limit 1.25 mg/kg"));
    CHECK(painter.says("20 % chance of lying over it"));
    CHECK(painter.says("Keep apart: organic"));
    CHECK(painter.says("6 loads, mixed"));
    CHECK(painter.says("median and 90 % interval"));
    CHECK(painter.says("Screening result, not a certificate"));
    int dashed = 0;
    for (const auto& line : painter.lines) dashed += line.dashed;
    CHECK(dashed == 2);  // the bin and its swatch
}

TEST_CASE("compact bins say what decides in few words and all of it to the pointer") {
    BinsFigure figure = samples::bins();
    figure.bins[0].coming = "W26-27, W26-28";
    figure.bins[0].coming_t = 47.3;
    figure.compact = true;
    const Look look = look_for(1280, 800);
    RecordingPainter measure;
    const Rect full = [&] {
        BinsFigure wordy = figure;
        wordy.compact = false;
        return least_bins_area(measure, 720.0, wordy, look);
    }();
    const Rect least = least_bins_area(measure, 720.0, figure, look);
    CHECK(least.height < 0.8 * full.height);
    RecordingPainter painter;
    draw_bins_figure(painter, least, figure, look);
    CHECK(painter.says("47.3 t planned: W26-27, W26-28"));
    CHECK(painter.texts_outside(least) == std::vector<std::string>{});
    CHECK(painter.texts_over_each_other() == std::vector<std::string>{});
    CHECK_THAT(bin_sentences(figure.bins[0]),
               Catch::Contains("Limit 1.25 mg/kg") && Catch::Contains("chance of lying over it"));
}

TEST_CASE("a load that is not in its bin yet is dashed above what lies there, named and legible") {
    const auto dashed_lines = [](const RecordingPainter& painter) {
        return std::count_if(painter.lines.begin(), painter.lines.end(), [](const auto& line) { return line.dashed; });
    };
    BinsFigure figure = samples::bins();
    const auto before = dashed_lines(drawn_bins(figure, 1600, 1000));
    for (BinDrawing& bin : figure.bins) {
        if (bin.hold) continue;
        bin.would_be = BinLayer{"ON-SCALE", 24.5, 0.6, 0.3, 1.1};
        bin.rejection = 0.12;
        const RecordingPainter painter = drawn_bins(figure, 1600, 1000);
        CAPTURE(bin.bin);
        CHECK(painter.says("ON-SCALE"));
        CHECK(painter.says("A buyer's test would read over with a chance of 12 %"));
        CHECK(painter.says("the load on the scale"));
        CHECK(dashed_lines(painter) == before + 2);  // the layer and its swatch
        CHECK(painter.texts_over_each_other() == std::vector<std::string>{});
        bin.would_be.reset();
        bin.rejection.reset();
    }
}

TEST_CASE("the height of a layer is its share of the capacity") {
    BinsFigure figure;
    BinDrawing bin;
    bin.bin = "Bin 1";
    bin.capacity_t = 200.0;
    bin.layers = {{"A", 50.0, 0.5, 0.3, 0.8}, {"B", 100.0, 2.0, 1.0, 4.0}};
    figure.bins = {bin};
    const RecordingPainter painter = drawn_bins(figure, 800, 600);
    const ContentScale scale = content_colours(std::nullopt);
    const auto height_of = [&](double content) {
        const Colour fill = scale.colour(content);
        for (const auto& rect : painter.rects)
            if (rect.fill.red == fill.red && rect.fill.green == fill.green && rect.area.height > 30.0)
                return rect.area.height;
        return 0.0;
    };
    CHECK(height_of(0.5) > 30.0);
    CHECK(height_of(2.0) == Approx(2.0 * height_of(0.5)));
}

TEST_CASE("every layer of a bin is named however thin it is and no name lies on another") {
    BinsFigure figure;
    BinDrawing bin;
    bin.bin = "S1";
    bin.capacity_t = 160.0;
    // Eleven loads, of which the thinnest would have a band of four pixels.
    for (const double mass_t : {4.0, 25.0, 8.0, 3.0, 3.5, 26.0, 22.0, 4.5, 18.0, 12.0, 24.0})
        bin.layers.push_back({fmt::format("W26-{:02}", bin.layers.size() + 1), mass_t, 0.4, 0.2, 0.8});
    figure.bins.assign(8, bin);
    for (std::size_t i = 0; i < 8; ++i) figure.bins[i].bin = fmt::format("S{}", i + 1);
    const Look look = look_for(1100, 640);
    const RecordingPainter painter = drawn_bins(figure, 1100, 640);
    for (const auto& layer : bin.layers) {
        int named = 0;
        for (const auto& text : painter.texts) named += text.words == layer.load;
        INFO(layer.load);
        CHECK(named == 8);
    }
    CHECK(painter.texts_over_each_other() == std::vector<std::string>{});
    for (const auto& text : painter.texts) CHECK(text.size >= look.least_text_px);
}

TEST_CASE("a name inside a narrow layer is whole though its number has to go") {
    BinsFigure figure;
    BinDrawing bin;
    bin.bin = "S1";
    bin.capacity_t = 100.0;
    for (const char* load : {"W26-21", "W26-22", "opening of S6"}) bin.layers.push_back({load, 30.0, 0.48, 0.4, 0.6});
    figure.bins.assign(9, bin);
    const RecordingPainter painter = drawn_bins(figure, 1100, 640);
    const auto count = [&](const std::string& words) {
        return std::count_if(painter.texts.begin(), painter.texts.end(),
                             [&](const auto& text) { return text.words == words; });
    };
    CHECK(count("W26-21") == 9);
    CHECK(count("W26-22") == 9);
    CHECK(count("opening of S6") + count("opening of") + count("opening") == 9);
    CHECK(painter.texts_over_each_other() == std::vector<std::string>{});
}

TEST_CASE("the pointer over a layer or over its name is told what lies there") {
    BinsFigure figure;
    BinDrawing bin;
    bin.bin = "S1";
    bin.capacity_t = 100.0;
    bin.layers = {{"thick", 60.0, 0.5, 0.25, 1.0}, {"thin", 0.5, 2.0, 1.0, 4.0}, {"unread", 30.0, {}, {}, {}}};
    figure.bins = {bin};
    const Rect area{0.0, 0.0, 800.0, 600.0};
    const Look look = look_for(800, 600);
    RecordingPainter painter;
    draw_bins_figure(painter, area, figure, look);
    const std::vector<std::pair<std::string, std::string>> expected = {
        {"thick", "thick: 60.0 t, 0.50 (0.25 to 1.0) mg/kg"},
        {"thin", "thin: 0.5 t, 2.0 (1.0 to 4.0) mg/kg"},
        {"unread", "unread: 30.0 t, content not known"}};
    for (const auto& [name, sentence] : expected)
        for (const auto& text : painter.texts)
            if (text.words == name)
                CHECK(layer_sentence_under(painter, area, figure, look, middle(text.box)) == sentence);
    CHECK(layer_sentence_under(painter, area, figure, look, {1.0, 1.0}).empty());
}

TEST_CASE("the limits of the bins are said with their bins") {
    BinsFigure figure;
    for (const auto& [name, limit] :
         std::vector<std::pair<const char*, double>>{{"S1", 1.0}, {"F1", 1.4}, {"S2", 1.0}}) {
        BinDrawing bin;
        bin.bin = name;
        bin.limit_mg_per_kg = limit;
        figure.bins.push_back(bin);
    }
    CHECK(limits_in_words(figure) == "1 (S1, S2), 1.4 (F1)");
    CHECK(limits_in_words({}).empty());
}

TEST_CASE("the pointer finds the bin under it") {
    const BinsFigure figure = samples::bins();
    const Look look = look_for(1600, 1000);
    const Rect area{0.0, 0.0, 1600.0, 1000.0};
    RecordingPainter painter;
    draw_bins_figure(painter, area, figure, look);
    for (std::size_t i = 0; i < figure.bins.size(); ++i)
        for (const auto& text : painter.texts)
            if (text.words.starts_with(figure.bins[i].bin + ":"))
                CHECK(bin_under(painter, area, figure, look, middle(text.box)) == i);
    CHECK_FALSE(bin_under(painter, area, figure, look, {1.0, 1.0}));
}

TEST_CASE("a closed bin has a lid, told by its form, that leaves the heading free, and the legend names it") {
    BinsFigure figure = samples::bins();
    for (BinDrawing& bin : figure.bins) bin.closed.clear();
    const RecordingPainter open = drawn_bins(figure, 1600, 1000);
    CHECK_FALSE(open.says("lid: closed"));
    figure.bins[0].closed = "its probe G7 is over (test T9)";
    for (const bool compact : {false, true}) {
        figure.compact = compact;
        const RecordingPainter painter = drawn_bins(figure, 1600, 1000);
        CAPTURE(compact);
        CHECK(painter.says("lid: closed, nothing more goes in"));
        const Look look = look_for(1600, 1000);
        const Rect cell = area_of_bin(painter, {0.0, 0.0, 1600.0, 1000.0}, figure, look, 0);
        // One plate over the edge and a side on each wall, of ink; no other bin has them.
        const auto is_of_lid = [&](const RecordingPainter::Filled& one) {
            return one.fill.red == look.theme.ink.red && one.fill.green == look.theme.ink.green &&
                   one.fill.blue == look.theme.ink.blue && one.area.x < cell.x + cell.width &&
                   one.area.y < cell.y + cell.height && one.area.x > cell.x - look.text_px && one.area.y > cell.y;
        };
        std::vector<Rect> lid;
        for (const auto& one : painter.rects)
            if (is_of_lid(one)) lid.push_back(one.area);
        REQUIRE(lid.size() == 3);
        for (const auto& text : painter.texts)
            for (const Rect& part : lid)
                if (text.words.find(figure.bins[0].bin) == 0) CHECK_FALSE(overlap(text.box, part));
    }
    CHECK_THAT(bin_sentences(figure.bins[0]), Catch::Contains("Closed: its probe G7 is over (test T9)"));
}
