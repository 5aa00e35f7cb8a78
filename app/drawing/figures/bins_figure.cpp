#include "app/drawing/figures/bins_figure.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "app/drawing/chart.h"
#include "app/drawing/figures/sheet.h"
#include "app/drawing/numbers.h"

namespace app::drawing {

namespace {

double mass_of(const BinDrawing& bin) {
    double mass_t = 0.0;
    for (const auto& layer : bin.layers) mass_t += layer.mass_t;
    return mass_t;
}

ContentScale scale_of(const BinsFigure& figure) {
    if (figure.scale) return *figure.scale;
    std::vector<double> contents;
    for (const auto& bin : figure.bins) {
        if (bin.limit_mg_per_kg) contents.push_back(*bin.limit_mg_per_kg);
        for (const auto& layer : bin.layers)
            for (const auto& content : {layer.median_mg_per_kg, layer.low90_mg_per_kg, layer.high90_mg_per_kg})
                if (content) contents.push_back(*content);
    }
    return content_scale_for(contents, 0.0);
}

std::vector<LegendBlock> legend_of(const BinsFigure& figure, const ContentScale& scale, const Look& look) {
    const double em = look.text_px;
    std::vector<LegendBlock> blocks = {content_ramp_block("DON of a load, mg/kg (median)", scale, std::nullopt, look)};
    blocks.push_back(swatch_block(
        [look, em, scale](Painter& on, const Rect& box) {
            const Scale axis{scale.low_mg_per_kg, scale.high_mg_per_kg, box.x, box.x + box.width, true};
            const double low = scale.content_mg_per_kg(0.15), median = scale.content_mg_per_kg(0.5),
                         high = scale.content_mg_per_kg(0.85);
            draw_interval(on, axis, box.y + 0.5 * box.height, 0.5 * em, {median, low, high, 0.0, 0.0},
                          scale.colour(median), look);
        },
        "beside each layer: median and 90 % interval of its load, on the same scale as the ramp", look));
    blocks.push_back(swatch_block(
        [look, em](Painter& on, const Rect& box) {
            const double x = box.x + 0.5 * box.width;
            on.polyline({{x, box.y}, {x, box.y + box.height}}, look.theme.ink, 0.14 * em);
        },
        "line: the bin's limit", look));
    if (std::any_of(figure.bins.begin(), figure.bins.end(), [](const BinDrawing& bin) { return bin.hold; }))
        blocks.push_back(swatch_block(
            [look, em](Painter& on, const Rect& box) {
                on.polyline({{box.x, box.y},
                             {box.x + box.width, box.y},
                             {box.x + box.width, box.y + box.height},
                             {box.x, box.y + box.height}},
                            look.theme.ink, std::max(1.5 * look.hairline_px, em / 8.0), true, true);
            },
            "dashed bin: on hold, neither cleared nor over", look));
    return blocks;
}

/// One bin with its words: a heading above, the body with the layers, the intervals beside it, sentences below.
struct Cell {
    Rect area, body, strip;
};

struct Layout {
    Rect room;
    double legend_height = 0.0;
    std::vector<Cell> cells;
};

constexpr double heading_lines = 2.0;

constexpr double words_share = 0.9;  // of the text size, for what stands below a bin

/// What is said below a bin, a line each.
std::vector<std::pair<std::string, Weight>> sentences_of(const BinDrawing& bin) {
    std::vector<std::pair<std::string, Weight>> lines;
    const auto say = [&lines](std::string words, Weight weight = Weight::regular) {
        if (!words.empty() && words[0] >= 'a' && words[0] <= 'z') words[0] = static_cast<char>(words[0] - 'a' + 'A');
        if (!words.empty()) lines.emplace_back(std::move(words), weight);
    };
    if (!bin.closed.empty()) say("Closed: " + bin.closed, Weight::bold);
    if (bin.hold) say("on hold: neither cleared nor over", Weight::bold);
    if (bin.limit_mg_per_kg) say("limit " + set_number_text(*bin.limit_mg_per_kg) + " mg/kg");
    if (!bin.layers.empty()) {
        std::string mean = "mean " + (bin.mean_mg_per_kg ? mg_per_kg_text(*bin.mean_mg_per_kg) : "not known");
        if (bin.mean_mg_per_kg && bin.low90_mg_per_kg && bin.high90_mg_per_kg)
            mean += " (" + interval_text(*bin.low90_mg_per_kg, *bin.high90_mg_per_kg) + ")";
        say(mean);
        if (bin.limit_mg_per_kg)
            say(bin.exceedance ? percent_text(*bin.exceedance) + " chance of lying over it"
                               : "chance of lying over it not known",
                Weight::bold);
    }
    say(bin.note);
    return lines;
}

double draw_sentences(Painter& painter, const BinDrawing& bin, double x, double top, double width, const Look& look) {
    for (const auto& [words, weight] : sentences_of(bin))
        top = paragraph(painter, x, top, words, words_share * look.text_px, width, look.theme.ink, weight,
                        words.rfind("Closed", 0) == 0 ? 6 : 2);
    return top;
}

std::vector<Cell> cells_of(const Painter& painter, const Rect& room, const BinsFigure& figure, const Look& look) {
    const double em = look.text_px, gap = 1.4 * em, axis_height = 1.2 * em;
    const auto count = static_cast<int>(figure.bins.size());
    const auto words_height = [&](double width) {
        MeasuringPainter measure(painter);
        double highest = 0.0;
        for (const auto& bin : figure.bins)
            highest = std::max(highest, draw_sentences(measure, bin, 0.0, 0.0, width, look));
        return highest;
    };
    // Of all numbers of rows the one that leaves the bodies largest, with a width that still takes words.
    double best_score = -1.0, width = room.width, height = room.height, body = 0.0;
    int columns = 1;
    for (int rows = 1; rows <= count; ++rows) {
        const int across = (count + rows - 1) / rows;
        const double w = std::min(24.0 * em, (room.width - gap * (across - 1)) / across);
        const double h = (room.height - gap * (rows - 1)) / rows;
        if (w < 4.0 * em) continue;
        const double b = h - heading_lines * line_height * em - axis_height - words_height(w) - 0.4 * em;
        const double score =
            std::min(w / (10.0 * em), 1.6) * std::clamp(b / (9.0 * em), 0.01, 1.6) * (w < 9.0 * em ? 0.2 : 1.0);
        if (score <= best_score + 1e-9) continue;
        best_score = score;
        columns = across;
        width = w;
        height = h;
        body = std::max(0.0, b);
    }
    std::vector<Cell> cells;
    for (int i = 0; i < count; ++i) {
        Cell cell;
        cell.area = {room.x + i % columns * (width + gap), room.y + i / columns * (height + gap), width, height};
        const double top = cell.area.y + heading_lines * line_height * em + 0.2 * em;
        cell.body = {cell.area.x, top, 0.52 * width, body};
        cell.strip = {cell.area.x + 0.56 * width, top, 0.44 * width, body};
        cells.push_back(cell);
    }
    return cells;
}

SheetWords words_of(const BinsFigure& figure) {
    return {figure.title, figure.subtitle, {}, figure.caution};
}

Layout layout_of(const Painter& painter, const Rect& room, const BinsFigure& figure, const Look& look) {
    Layout layout{room, 0.0, {}};
    layout.legend_height = height_of_blocks(painter, room.width, legend_of(figure, scale_of(figure), look),
                                            15.0 * look.text_px, 1.5 * look.text_px);
    Rect rest = room;
    rest.y += layout.legend_height + 0.8 * look.text_px;
    rest.height = std::max(0.0, room.height - layout.legend_height - 0.8 * look.text_px);
    layout.cells = cells_of(painter, rest, figure, look);
    return layout;
}

/// What is drawn from the floor up: the layers, or one block where the grain lies mixed or its order is not known.
std::vector<BinLayer> blocks_of(const BinDrawing& bin) {
    if (bin.layered || bin.layers.size() < 2) return bin.layers;
    return {{fmt::format("{} loads, mixed", bin.layers.size()), mass_of(bin), bin.mean_mg_per_kg, bin.low90_mg_per_kg,
             bin.high90_mg_per_kg}};
}

void draw_layers(Painter& painter, const BinDrawing& bin, const Cell& cell, const ContentScale& scale,
                 const Look& look) {
    const Theme& theme = look.theme;
    const double em = look.text_px, thin = std::max(look.hairline_px, em / 16.0);
    const Scale axis{scale.low_mg_per_kg, scale.high_mg_per_kg, cell.strip.x + 0.4 * em,
                     cell.strip.x + cell.strip.width - 0.4 * em, true};
    const double full = std::max(bin.capacity_t, mass_of(bin));
    const std::vector<BinLayer> layers = blocks_of(bin);
    // One size of words for the whole bin; a layer too thin for it goes without.
    double thinnest = 1e300;
    for (const auto& layer : layers) thinnest = std::min(thinnest, cell.body.height * layer.mass_t / full);
    const double size =
        std::clamp(0.8 * thinnest, std::max(look.least_text_px, 0.66 * em), std::max(look.least_text_px, 0.85 * em));
    double floor_y = cell.body.y + cell.body.height;
    for (const auto& layer : layers) {
        const double height = full > 0.0 ? cell.body.height * layer.mass_t / full : 0.0;
        const Rect band{cell.body.x, floor_y - height, cell.body.width, height};
        floor_y -= height;
        const Colour fill = layer.median_mg_per_kg ? scale.colour(*layer.median_mg_per_kg) : theme.unknown;
        painter.rect(band, fill);
        painter.polyline({{band.x, band.y}, {band.x + band.width, band.y}}, theme.paper, 1.5 * thin);
        if (height >= 1.05 * size) {
            const Colour ink = readable_ink_on(fill);
            const double baseline = band.y + 0.5 * height + 0.35 * size;
            const std::string number = layer.median_mg_per_kg ? number_text(*layer.median_mg_per_kg) : "?";
            const double number_width = painter.text_width(number, size, Weight::bold);
            painter.text({band.x + band.width - 0.4 * em, baseline}, number, size, ink, Align::right, Weight::bold);
            painter.text({band.x + 0.4 * em, baseline},
                         shortened(painter, layer.load, size, band.width - number_width - 1.3 * em), size, ink);
        }
        if (layer.median_mg_per_kg) {
            const double median = *layer.median_mg_per_kg;
            draw_interval(
                painter, axis, band.y + 0.5 * height, std::min(0.5 * em, 0.7 * height),
                {median, layer.low90_mg_per_kg.value_or(median), layer.high90_mg_per_kg.value_or(median), 0.0, 0.0},
                fill, look);
        }
    }
}

void draw_bin(Painter& painter, const BinDrawing& bin, const Cell& cell, const ContentScale& scale, const Look& look) {
    const Theme& theme = look.theme;
    const double em = look.text_px, small = 0.9 * em, wall = std::max(1.5 * look.hairline_px, em / 8.0);
    const double mass_t = mass_of(bin);
    const std::string capacity = set_number_text(bin.capacity_t) + " t";
    const std::string fill = bin.layers.empty()        ? "empty, takes " + capacity
                             : mass_t > bin.capacity_t ? tonnes_text(mass_t) + ", more than its " + capacity
                                                       : tonnes_text(mass_t) + " of " + capacity;
    painter.text({cell.area.x, cell.area.y + 0.95 * em},
                 shortened(painter, bin.bin + ": " + bin.purpose, 1.05 * em, cell.area.width, Weight::bold), 1.05 * em,
                 theme.ink, Align::left, Weight::bold);
    painter.text({cell.area.x, cell.area.y + 0.95 * em + line_height * em},
                 shortened(painter, fill, small, cell.area.width), small, theme.soft_ink);

    painter.rect(cell.body, theme.panel);
    painter.rect(cell.strip, theme.panel);
    const Scale axis{scale.low_mg_per_kg, scale.high_mg_per_kg, cell.strip.x + 0.4 * em,
                     cell.strip.x + cell.strip.width - 0.4 * em, true};
    LabelPlaces places;
    for (const auto& tick : log_ticks(scale.low_mg_per_kg, scale.high_mg_per_kg, 3)) {
        if (tick.label.empty()) continue;
        const double x = axis.px(tick.value);
        const double strip_floor = cell.strip.y + cell.strip.height;
        painter.polyline({{x, cell.strip.y}, {x, strip_floor}}, theme.line, std::max(look.hairline_px, em / 16.0));
        const double tick_size = 0.75 * em, half = 0.5 * painter.text_width(tick.label, tick_size);
        const Point baseline{kept_between(x, cell.strip.x + half, cell.strip.x + cell.strip.width - half),
                             strip_floor + 1.05 * tick_size};
        Rect box = text_box(painter, baseline, tick.label, tick_size, Align::centre, Weight::regular);
        box.x -= 0.2 * em;
        box.width += 0.4 * em;
        if (places.claim(box)) painter.text(baseline, tick.label, tick_size, theme.soft_ink, Align::centre);
    }
    // A limit off the scale is told in the words below the bin; a line at the end would lie.
    if (bin.limit_mg_per_kg && scale.holds(*bin.limit_mg_per_kg)) {
        const double x = axis.px(*bin.limit_mg_per_kg);
        painter.polyline({{x, cell.strip.y}, {x, cell.strip.y + cell.strip.height}}, theme.ink, 0.14 * em);
    }
    draw_layers(painter, bin, cell, scale, look);
    const Rect& body = cell.body;
    const Point left_top{body.x, body.y}, left_floor{body.x, body.y + body.height};
    const Point right_floor{body.x + body.width, body.y + body.height}, right_top{body.x + body.width, body.y};
    // Open above: a bin is filled from there. On hold the wall is dashed all around.
    painter.polyline({left_top, left_floor, right_floor, right_top}, theme.ink, wall, bin.hold, bin.hold);

    draw_sentences(painter, bin, cell.area.x, cell.body.y + cell.body.height + 1.2 * em, cell.area.width, look);
}

constexpr double least_width_em = 11.0, least_body_em = 8.0;  // of a bin that can still be read

}  // namespace

Rect least_bins_area(const Painter& painter, double width, const BinsFigure& figure, const Look& look) {
    const double em = look.text_px, gap = 1.4 * em;
    MeasuringPainter measure(painter);
    const auto count = static_cast<int>(figure.bins.size());
    if (count == 0) return {0.0, 0.0, width, 12.0 * em};
    // What the sheet keeps for title, edges and caution, told from a sheet that has height enough.
    constexpr double high = 1e5;
    const Rect room = draw_sheet(measure, {0.0, 0.0, width, high}, words_of(figure), look);
    const int across = std::clamp(static_cast<int>((room.width + gap) / (least_width_em * em + gap)), 1, count);
    const int rows = (count + across - 1) / across;
    const double w = std::min(24.0 * em, (room.width - gap * (across - 1)) / across);
    double words = 0.0;
    for (const auto& bin : figure.bins) words = std::max(words, draw_sentences(measure, bin, 0.0, 0.0, w, look));
    const double legend =
        height_of_blocks(painter, room.width, legend_of(figure, scale_of(figure), look), 15.0 * em, 1.5 * em);
    const double cell = heading_lines * line_height * em + 1.2 * em + words + 0.4 * em + least_body_em * em;
    return {0.0, 0.0, width, high - room.height + legend + 0.8 * em + rows * cell + (rows - 1) * gap};
}

void draw_bins_figure(Painter& painter, const Rect& area, const BinsFigure& figure, const Look& look) {
    const Rect room = draw_sheet(painter, area, words_of(figure), look);
    if (figure.bins.empty()) {
        draw_empty(painter, room, "There are no bins in the store. Add them with their capacity and purpose first.",
                   look);
        return;
    }
    const ContentScale scale = scale_of(figure);
    const Layout layout = layout_of(painter, room, figure, look);
    draw_blocks(painter, room, legend_of(figure, scale, look), 15.0 * look.text_px, 1.5 * look.text_px);
    for (std::size_t i = 0; i < figure.bins.size(); ++i)
        draw_bin(painter, figure.bins[i], layout.cells[i], scale, look);
}

std::optional<std::size_t> bin_under(const Painter& painter, const Rect& area, const BinsFigure& figure,
                                     const Look& look, Point px) {
    MeasuringPainter measure(painter);
    const Layout layout = layout_of(measure, draw_sheet(measure, area, words_of(figure), look), figure, look);
    for (std::size_t i = 0; i < layout.cells.size(); ++i)
        if (overlap(layout.cells[i].area, {px.x, px.y, 1e-9, 1e-9})) return i;
    return std::nullopt;
}

}  // namespace app::drawing
