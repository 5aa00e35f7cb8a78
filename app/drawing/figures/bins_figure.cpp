#include "app/drawing/figures/bins_figure.h"

#include <algorithm>

#include <fmt/format.h>

#include "app/drawing/chart.h"
#include "app/drawing/content_unit.h"
#include "app/drawing/figures/bin_layers.h"
#include "app/drawing/figures/sheet.h"
#include "app/drawing/numbers.h"
#include "app/words.h"
#include "models/words.h"

namespace app::drawing {

namespace {

ContentScale scale_of(const BinsFigure& figure) {
    if (figure.scale) return *figure.scale;
    std::optional<double> limit = figure.limit_mg_per_kg;
    if (!limit)
        for (const auto& bin : figure.bins)
            if (bin.limit_mg_per_kg) limit = std::min(*bin.limit_mg_per_kg, limit.value_or(*bin.limit_mg_per_kg));
    return content_colours(limit);
}

/// The ends of the axis beside the layers, which holds all intervals and limits and the colours.
Scale axis_ends(const BinsFigure& figure, const ContentScale& colours) {
    std::vector<double> contents = {colours.low_mg_per_kg, colours.high_mg_per_kg};
    for (const auto& bin : figure.bins) {
        if (bin.limit_mg_per_kg) contents.push_back(*bin.limit_mg_per_kg);
        for (const auto& layer : bin.layers)
            for (const auto& content : {layer.median_mg_per_kg, layer.low90_mg_per_kg, layer.high90_mg_per_kg})
                // A lower end near zero would leave the rest no room; it is drawn up to the edge.
                if (content) contents.push_back(std::max(*content, 0.2 * colours.low_mg_per_kg));
        if (bin.would_be)
            for (const auto& content : {bin.would_be->low90_mg_per_kg, bin.would_be->high90_mg_per_kg})
                if (content) contents.push_back(std::max(*content, 0.2 * colours.low_mg_per_kg));
    }
    const ContentScale ends = content_scale_for(contents, 0.0);
    return {ends.low_mg_per_kg, ends.high_mg_per_kg, 0.0, 1.0, true};
}

/// A lid over the top edge of a bin: told from an open one by its form alone. It stands out on both sides and reaches
/// down over the walls.
void draw_lid(Painter& painter, const Rect& body, double height, const Theme& theme) {
    const double over = 0.55 * height, plate = 0.5 * height, top = body.y - 0.35 * height;
    painter.rect({body.x - over, top, body.width + 2.0 * over, plate}, theme.ink);
    painter.rect({body.x - over, top, over, 1.6 * height}, theme.ink);
    painter.rect({body.x + body.width, top, over, 1.6 * height}, theme.ink);
}

std::vector<LegendBlock> legend_of(const BinsFigure& figure, const ContentScale& scale, const Look& look) {
    const double em = look.text_px;
    std::vector<LegendBlock> blocks = {
        content_ramp_block(with_unit(spoken(words::content_of_loads_ramp)), scale, std::nullopt, look)};
    blocks.push_back(swatch_block(
        [look, em, scale](Painter& on, const Rect& box) {
            const Scale axis{scale.low_mg_per_kg, scale.high_mg_per_kg, box.x, box.x + box.width, true};
            const double low = scale.content_mg_per_kg(0.15), median = scale.content_mg_per_kg(0.5),
                         high = scale.content_mg_per_kg(0.85);
            draw_interval(on, axis, box.y + 0.5 * box.height, 0.5 * em, {median, low, high, 0.0, 0.0},
                          scale.colour(median, look.theme), look);
        },
        with_unit(spoken(words::bins_interval)), look));
    blocks.push_back(swatch_block(
        [look, em](Painter& on, const Rect& box) {
            const double x = box.x + 0.5 * box.width;
            on.polyline({{x, box.y}, {x, box.y + box.height}}, look.theme.ink, 0.14 * em);
        },
        spoken(words::bins_limit), look));
    if (std::any_of(figure.bins.begin(), figure.bins.end(),
                    [](const BinDrawing& bin) { return bin.would_be.has_value(); }))
        blocks.push_back(swatch_block(
            [look, em](Painter& on, const Rect& box) {
                on.polyline({{box.x, box.y},
                             {box.x + box.width, box.y},
                             {box.x + box.width, box.y + box.height},
                             {box.x, box.y + box.height}},
                            look.theme.accent, std::max(2.0 * look.hairline_px, em / 7.0), true, true);
            },
            spoken(words::bins_would_be), look));
    if (std::any_of(figure.bins.begin(), figure.bins.end(), [](const BinDrawing& bin) { return bin.hold; }))
        blocks.push_back(swatch_block(
            [look, em](Painter& on, const Rect& box) {
                on.polyline({{box.x, box.y},
                             {box.x + box.width, box.y},
                             {box.x + box.width, box.y + box.height},
                             {box.x, box.y + box.height}},
                            look.theme.ink, std::max(1.5 * look.hairline_px, em / 8.0), true, true);
            },
            spoken(words::bins_hold), look));
    if (std::any_of(figure.bins.begin(), figure.bins.end(), [](const BinDrawing& bin) { return !bin.closed.empty(); }))
        blocks.push_back(swatch_block(
            [look](Painter& on, const Rect& box) {
                const double height = 0.45 * box.height, side = 0.55 * height;
                const Rect body{box.x + side, box.y + 0.35 * height, box.width - 2.0 * side,
                                box.height - 0.35 * height};
                on.outline(body, look.theme.ink, std::max(look.hairline_px, look.text_px / 8.0));
                draw_lid(on, body, height, look.theme);
            },
            spoken(words::bins_lid), look));
    return blocks;
}

double legend_column_px(const BinsFigure& figure, const Look& look) {
    return (figure.compact ? 12.0 : 15.0) * look.text_px;
}

struct Layout {
    Rect room;
    double legend_top = 0.0, legend_height = 0.0;
    std::vector<BinCell> cells;
};

constexpr double lid_em = 0.5;       // height of a lid, which stands in the room between heading and body
constexpr double words_share = 0.9;  // of the text size, for what stands below a bin

struct Sentence {
    std::string words;
    Weight weight = Weight::regular;
    int lines = 2;  ///< at most
};

void begin_large(std::vector<Sentence>& sentences) {
    for (Sentence& sentence : sentences) {
        char& first = sentence.words[0];
        if (first >= 'a' && first <= 'z') first = static_cast<char>(first - 'a' + 'A');
    }
}

bool is_known(const BinDrawing& bin) {
    return bin.mean_mg_per_kg && bin.low90_mg_per_kg && bin.high90_mg_per_kg;
}
bool is_known_with_planned(const BinDrawing& bin) {
    return bin.planned_mean_mg_per_kg && bin.planned_low90_mg_per_kg && bin.planned_high90_mg_per_kg;
}

/// What is said below a bin, a paragraph each: what is now, then what would be with what is planned into it.
std::vector<Sentence> sentences_of(const BinDrawing& bin) {
    std::vector<Sentence> sentences;
    if (!bin.coming.empty())
        sentences.push_back({spoken(words::bin_planned, models::said(fmt::format("{:.1f}", bin.coming_t)), bin.coming),
                             Weight::bold, 4});
    if (!bin.closed.empty()) sentences.push_back({spoken(words::bin_closed, bin.closed), Weight::bold, 8});
    if (bin.hold) sentences.push_back({spoken(words::bin_on_hold), Weight::bold});
    if (bin.limit_mg_per_kg) sentences.push_back({with_unit(words::bin_limit, set_content_text(*bin.limit_mg_per_kg))});
    if (!bin.layers.empty()) {
        if (!bin.mean_mg_per_kg) {
            sentences.push_back({spoken(words::bin_mean_unknown)});
        } else if (is_known(bin)) {
            const std::string mean = content_and_unit_text(*bin.mean_mg_per_kg),
                              interval = content_interval_text(*bin.low90_mg_per_kg, *bin.high90_mg_per_kg);
            sentences.push_back({is_known_with_planned(bin) ? spoken(words::bin_now_interval, mean, interval)
                                                            : spoken(words::bin_mean_interval, mean, interval)});
        } else {
            sentences.push_back({spoken(words::bin_mean, content_and_unit_text(*bin.mean_mg_per_kg))});
        }
        if (bin.limit_mg_per_kg)
            sentences.push_back({bin.exceedance ? spoken(words::bin_exceedance, percent_text(*bin.exceedance))
                                                : spoken(words::bin_exceedance_unknown),
                                 Weight::bold});
    }
    if (is_known_with_planned(bin)) {
        sentences.push_back({spoken(words::bin_then_interval, content_and_unit_text(*bin.planned_mean_mg_per_kg),
                                    content_interval_text(*bin.planned_low90_mg_per_kg, *bin.planned_high90_mg_per_kg)),
                             Weight::regular, 3});
        if (bin.planned_exceedance)
            sentences.push_back({spoken(words::bin_then_exceedance, percent_text(*bin.planned_exceedance))});
    }
    if (bin.rejection) {
        const std::string chance = percent_text(*bin.rejection);
        sentences.push_back(
            {bin.coming.empty() ? spoken(words::bin_rejection, chance) : spoken(words::bin_rejection_planned, chance),
             Weight::regular, 4});
    }
    const std::string note = bin.draw_off + (bin.draw_off.empty() || bin.note.empty() ? "" : "; ") + bin.note;
    if (!note.empty()) sentences.push_back({note});
    begin_large(sentences);
    return sentences;
}

/// The same in few words, for bins that have little height: what decides, and what lies in it.
std::vector<Sentence> short_sentences_of(const BinDrawing& bin) {
    std::vector<Sentence> sentences;
    if (!bin.coming.empty())
        sentences.push_back(
            {spoken(words::bin_planned_short, models::said(fmt::format("{:.1f}", bin.coming_t)), bin.coming),
             Weight::bold, 4});
    if (!bin.closed.empty()) sentences.push_back({spoken(words::bin_closed, bin.closed), Weight::bold, 8});
    if (bin.hold) sentences.push_back({spoken(words::bin_on_hold_short), Weight::bold, 1});
    if (bin.limit_mg_per_kg) {
        const std::string limit = set_content_text(*bin.limit_mg_per_kg);
        if (bin.layers.empty())
            sentences.push_back({with_unit(words::bin_limit, limit), Weight::regular, 1});
        else
            sentences.push_back({bin.exceedance
                                     ? spoken(words::bin_over_limit_short, percent_text(*bin.exceedance), limit)
                                     : spoken(words::bin_unknown_short, limit),
                                 Weight::bold, 2});
    }
    if (!bin.layers.empty() && is_known(bin))
        sentences.push_back({spoken(words::bin_mean_interval, content_and_unit_text(*bin.mean_mg_per_kg),
                                    content_interval_text(*bin.low90_mg_per_kg, *bin.high90_mg_per_kg)),
                             Weight::regular, 2});
    if (is_known_with_planned(bin) && bin.planned_exceedance)
        sentences.push_back({spoken(words::bin_then_short, percent_text(*bin.planned_exceedance),
                                    content_text(*bin.planned_mean_mg_per_kg)),
                             Weight::regular, 3});
    if (bin.rejection) {
        const std::string chance = percent_text(*bin.rejection);
        sentences.push_back({bin.coming.empty() ? spoken(words::bin_rejection_short, chance)
                                                : spoken(words::bin_rejection_planned_short, chance),
                             Weight::regular, 2});
    }
    if (!bin.note.empty()) sentences.push_back({bin.note, Weight::regular, 1});
    begin_large(sentences);
    return sentences;
}

double draw_sentences(Painter& painter, const BinDrawing& bin, bool compact, double x, double top, double width,
                      const Look& look) {
    for (const auto& sentence : compact ? short_sentences_of(bin) : sentences_of(bin))
        top = paragraph(painter, x, top, sentence.words, words_share * look.text_px, width, look.theme.ink,
                        sentence.weight, sentence.lines);
    return top;
}

std::string fill_in_words(const BinDrawing& bin) {
    const double mass_t = mass_of(bin);
    const std::string capacity = set_number_text(bin.capacity_t) + " t";
    return bin.layers.empty()        ? spoken(words::bin_empty, capacity)
           : mass_t > bin.capacity_t ? spoken(words::bin_overfull, tonnes_text(mass_t), capacity)
                                     : spoken(words::bin_filled, tonnes_text(mass_t), capacity);
}

constexpr double name_share = 1.0, fill_share = 0.82;  // of the text size, where both stand in one line

/// Name and filling of a bin: in two lines, in one where a compact bin has the width for both.
int heading_lines(const Painter& painter, const BinsFigure& figure, double width, const Look& look) {
    const double em = look.text_px;
    const bool one = std::all_of(figure.bins.begin(), figure.bins.end(), [&](const BinDrawing& bin) {
        const std::string name = spoken(words::bin_heading, bin.bin, bin.purpose);
        return painter.text_width(name, name_share * em, Weight::bold) + 0.4 * em +
                   painter.text_width(fill_in_words(bin), fill_share * em) <=
               width;
    });
    return figure.compact && one ? 1 : 2;
}

constexpr double gap_between_bins_em = 1.4, axis_em = 1.2;
constexpr double least_width_em = 8.2;  // of a bin that can still be read

double gap_between_rows(const BinsFigure& figure, const Look& look) {
    return (figure.compact ? 0.8 : gap_between_bins_em) * look.text_px;
}

/// What a row of bins needs besides their bodies; the bins from `first` on.
double words_of_row(const Painter& painter, const BinsFigure& figure, int first, int across, double width,
                    const Look& look) {
    MeasuringPainter measure(painter);
    double highest = 0.0;
    for (int i = first; i < std::min(first + across, static_cast<int>(figure.bins.size())); ++i)
        highest = std::max(highest, draw_sentences(measure, figure.bins[static_cast<std::size_t>(i)], figure.compact,
                                                   0.0, 0.0, width, look));
    return highest + heading_lines(painter, figure, width, look) * line_height * look.text_px +
           (axis_em + 0.4) * look.text_px;
}

std::vector<BinCell> cells_of(const Painter& painter, const Rect& room, const BinsFigure& figure, const Look& look) {
    const double em = look.text_px, gap = gap_between_bins_em * em, gap_down = gap_between_rows(figure, look);
    const auto count = static_cast<int>(figure.bins.size());
    // Of all numbers of rows the one that leaves the bodies largest, with a width that still takes words.
    double best_score = -1.0, width = room.width, body = 0.0;
    int columns = 1;
    for (int rows = 1; rows <= count; ++rows) {
        const int across = (count + rows - 1) / rows;
        const double w = std::min(24.0 * em, (room.width - gap * (across - 1)) / across);
        if (w < 4.0 * em) continue;
        double rest = room.height - gap_down * (rows - 1);
        for (int row = 0; row < rows; ++row) rest -= words_of_row(painter, figure, row * across, across, w, look);
        const double b = rest / rows;
        const double score = std::min(w / (10.0 * em), 1.6) * std::clamp(b / (9.0 * em), 0.01, 1.6) *
                             (w < least_width_em * em ? 0.2 : 1.0);
        if (score <= best_score + 1e-9) continue;
        best_score = score;
        columns = across;
        width = w;
        body = std::max(0.0, b);
    }
    const double heading = heading_lines(painter, figure, width, look) * line_height * em + 0.2 * em;
    std::vector<BinCell> cells;
    double row_top = room.y, height = 0.0;
    for (int i = 0; i < count; ++i) {
        if (i % columns == 0) {
            row_top += i > 0 ? height + gap_down : 0.0;
            height = words_of_row(painter, figure, i, columns, width, look) + body;
        }
        BinCell cell;
        cell.area = {room.x + i % columns * (width + gap), row_top, width, height};
        const double top = cell.area.y + heading;
        const bool beside =
            wants_names_beside(figure.bins[static_cast<std::size_t>(i)], {cell.area.x, top, 0.0, body}, look);
        const double body_width = (beside ? 0.14 : 0.52) * width, names_width = beside ? 0.52 * width : 0.0;
        const double strip_x = cell.area.x + body_width + names_width + (beside ? 0.03 : 0.04) * width;
        cell.body = {cell.area.x, top, body_width, body};
        cell.names = {cell.area.x + body_width, top, names_width, body};
        cell.strip = {strip_x, top, cell.area.x + width - strip_x, body};
        cells.push_back(cell);
    }
    return cells;
}

SheetWords words_of(const BinsFigure& figure) {
    return {figure.compact ? "" : figure.title, figure.subtitle, {}, figure.caution};
}

Layout layout_of(const Painter& painter, const Rect& room, const BinsFigure& figure, const Look& look) {
    Layout layout{room, room.y, 0.0, {}};
    layout.legend_height = height_of_blocks(painter, room.width, legend_of(figure, scale_of(figure), look),
                                            legend_column_px(figure, look), 1.5 * look.text_px);
    Rect rest = room;
    rest.height = std::max(0.0, room.height - layout.legend_height - 0.8 * look.text_px);
    if (figure.compact)
        layout.legend_top = rest.y + rest.height + 0.8 * look.text_px;
    else
        rest.y += layout.legend_height + 0.8 * look.text_px;
    layout.cells = cells_of(painter, rest, figure, look);
    return layout;
}

void draw_bin(Painter& painter, const BinDrawing& bin, bool compact, const BinCell& cell, const ContentScale& scale,
              const Scale& ends, const Look& look) {
    const Theme& theme = look.theme;
    const double em = look.text_px, wall = std::max(1.5 * look.hairline_px, em / 8.0);
    const std::string name = spoken(words::bin_heading, bin.bin, bin.purpose), fill = fill_in_words(bin);
    const bool one_line = cell.body.y - cell.area.y < 1.9 * line_height * em;
    const double name_px = (one_line ? name_share : 1.05) * em, fill_px = (one_line ? fill_share : 0.9) * em;
    const double name_y = cell.area.y + 0.95 * em;
    painter.text({cell.area.x, name_y}, shortened(painter, name, name_px, cell.area.width, Weight::bold), name_px,
                 theme.ink, Align::left, Weight::bold);
    painter.text({cell.area.x + (one_line ? cell.area.width : 0.0), name_y + (one_line ? 0.0 : line_height * em)},
                 shortened(painter, fill, fill_px, cell.area.width), fill_px, theme.soft_ink,
                 one_line ? Align::right : Align::left);

    painter.rect(cell.body, theme.panel);
    painter.rect(cell.strip, theme.panel);
    const Scale axis{ends.low, ends.high, cell.strip.x + 0.4 * em, cell.strip.x + cell.strip.width - 0.4 * em, true};
    LabelPlaces places;
    for (const auto& tick : content_ticks(ends.low, ends.high, 3)) {
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
    if (bin.limit_mg_per_kg && *bin.limit_mg_per_kg > 0.0) {
        const double x = axis.px(*bin.limit_mg_per_kg);
        painter.polyline({{x, cell.strip.y}, {x, cell.strip.y + cell.strip.height}}, theme.ink, 0.14 * em);
    }
    draw_layers(painter, bin, cell, scale, axis, look);
    if (bin.would_be) draw_would_be(painter, bin, cell, scale, axis, look);
    const Rect& body = cell.body;
    const Point left_top{body.x, body.y}, left_floor{body.x, body.y + body.height};
    const Point right_floor{body.x + body.width, body.y + body.height}, right_top{body.x + body.width, body.y};
    // Open above: a bin is filled from there. On hold the wall is dashed all around.
    painter.polyline({left_top, left_floor, right_floor, right_top}, theme.ink, wall, bin.hold, bin.hold);
    if (!bin.closed.empty()) draw_lid(painter, body, lid_em * em, theme);

    draw_sentences(painter, bin, compact, cell.area.x, cell.body.y + cell.body.height + axis_em * em, cell.area.width,
                   look);
}

/// How high a body has to be for the names of its layers; those of a compact one are as small as they may be.
double least_body_px(const BinsFigure& figure, const Look& look) {
    double body = (figure.compact ? 5.0 : 10.0) * look.text_px;
    const double name = figure.compact ? least_name_px(look) : 0.8 * look.text_px;
    for (const auto& bin : figure.bins)
        body = std::max(body, name_pitch * name * static_cast<double>(blocks_of(bin).size()) + 1.0);
    return body;
}

}  // namespace

Rect least_bins_area(const Painter& painter, double width, const BinsFigure& figure, const Look& look) {
    const double em = look.text_px, gap = gap_between_bins_em * em;
    MeasuringPainter measure(painter);
    const auto count = static_cast<int>(figure.bins.size());
    if (count == 0) return {0.0, 0.0, width, 12.0 * em};
    // What the sheet keeps for title, edges and caution, told from a sheet that has height enough.
    constexpr double high = 1e5;
    const Rect room = draw_sheet(measure, {0.0, 0.0, width, high}, words_of(figure), look);
    const int across = std::clamp(static_cast<int>((room.width + gap) / (least_width_em * em + gap)), 1, count);
    const int rows = (count + across - 1) / across;
    const double w = std::min(24.0 * em, (room.width - gap * (across - 1)) / across);
    double height = (rows - 1) * gap_between_rows(figure, look);
    for (int row = 0; row < rows; ++row)
        height += words_of_row(painter, figure, row * across, across, w, look) + least_body_px(figure, look);
    const double legend = height_of_blocks(painter, room.width, legend_of(figure, scale_of(figure), look),
                                           legend_column_px(figure, look), 1.5 * em);
    return {0.0, 0.0, width, high - room.height + legend + 0.8 * em + height};
}

std::string bin_sentences(const BinDrawing& bin) {
    std::string all = spoken(words::bin_heading, bin.bin, bin.purpose) + ", " + fill_in_words(bin);
    for (const Sentence& sentence : sentences_of(bin)) all += "\n" + sentence.words;
    if (bin.draw_off == models::in_words(models::DrawOff::unknown))
        all += std::string("\n") + spoken(words::bin_draw_off_unknown);
    return all;
}

void draw_bins_figure(Painter& painter, const Rect& area, const BinsFigure& figure, const Look& look) {
    const Rect room = draw_sheet(painter, area, words_of(figure), look);
    if (figure.bins.empty()) {
        draw_empty(painter, room, spoken(words::bins_none), look);
        return;
    }
    const ContentScale scale = scale_of(figure);
    const Scale ends = axis_ends(figure, scale);
    const Layout layout = layout_of(painter, room, figure, look);
    draw_blocks(painter, {room.x, layout.legend_top, room.width, layout.legend_height}, legend_of(figure, scale, look),
                legend_column_px(figure, look), 1.5 * look.text_px);
    for (std::size_t i = 0; i < figure.bins.size(); ++i)
        draw_bin(painter, figure.bins[i], figure.compact, layout.cells[i], scale, ends, look);
}

std::string limits_in_words(const BinsFigure& figure) {
    std::vector<std::pair<double, std::string>> limits;
    for (const auto& bin : figure.bins) {
        if (!bin.limit_mg_per_kg) continue;
        const auto found = std::find_if(limits.begin(), limits.end(),
                                        [&](const auto& known) { return known.first == *bin.limit_mg_per_kg; });
        if (found == limits.end())
            limits.emplace_back(*bin.limit_mg_per_kg, bin.bin);
        else
            found->second += ", " + bin.bin;
    }
    std::sort(limits.begin(), limits.end());
    std::string all;
    for (const auto& [limit, bins] : limits)
        all += (all.empty() ? "" : ", ") + set_content_text(limit) + " (" + bins + ")";
    return all;
}

std::optional<std::size_t> bin_under(const Painter& painter, const Rect& area, const BinsFigure& figure,
                                     const Look& look, Point px) {
    MeasuringPainter measure(painter);
    const Layout layout = layout_of(measure, draw_sheet(measure, area, words_of(figure), look), figure, look);
    for (std::size_t i = 0; i < layout.cells.size(); ++i)
        if (overlap(layout.cells[i].area, {px.x, px.y, 1e-9, 1e-9})) return i;
    return std::nullopt;
}

Rect area_of_bin(const Painter& painter, const Rect& area, const BinsFigure& figure, const Look& look,
                 std::size_t bin) {
    MeasuringPainter measure(painter);
    return layout_of(measure, draw_sheet(measure, area, words_of(figure), look), figure, look).cells.at(bin).area;
}

std::string layer_sentence_under(const Painter& painter, const Rect& area, const BinsFigure& figure, const Look& look,
                                 Point px) {
    MeasuringPainter measure(painter);
    const Layout layout = layout_of(measure, draw_sheet(measure, area, words_of(figure), look), figure, look);
    for (std::size_t i = 0; i < layout.cells.size(); ++i) {
        const BinCell& cell = layout.cells[i];
        if (!overlap(cell.area, {px.x, px.y, 1e-9, 1e-9})) continue;
        const LayerStack stack = stack_of(measure, figure.bins[i], cell, look);
        const BinLayer* const grain = layer_under(stack, cell, px);
        if (grain == nullptr) continue;
        const std::string content =
            !grain->median_mg_per_kg ? spoken(words::layer_unknown)
            : grain->low90_mg_per_kg && grain->high90_mg_per_kg
                ? with_unit(words::layer_content, content_text(*grain->median_mg_per_kg),
                            content_interval_text(*grain->low90_mg_per_kg, *grain->high90_mg_per_kg))
                : content_and_unit_text(*grain->median_mg_per_kg);
        const std::string says = spoken(words::layer_sentence, grain->load, tonnes_text(grain->mass_t), content);
        return grain->note.empty() ? says : says + "\n" + spoken(words::layer_uncleared, grain->note);
    }
    return "";
}

}  // namespace app::drawing
