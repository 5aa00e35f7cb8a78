#include "app/drawing/figures/sheet.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "app/drawing/chart.h"
#include "app/drawing/content_unit.h"
#include "app/drawing/numbers.h"
#include "app/words.h"

namespace app::drawing {

namespace {

double draw_ramp(Painter& painter, const Ramp& ramp, double x, double top, double width, const Look& look) {
    const double height = 1.1 * look.text_px;
    constexpr int slices = 64;
    for (int i = 0; i < slices; ++i) {
        const double from = std::round(x + width * i / slices), to = std::round(x + width * (i + 1) / slices);
        painter.rect({from, top, to - from, height}, ramp.at((i + 0.5) / slices));
    }
    painter.outline({std::round(x), top, std::round(x + width) - std::round(x), height}, look.theme.soft_ink,
                    std::max(look.hairline_px, look.text_px / 16.0));
    return top + height;
}

/// A label under or over a point of the ramp, kept between its ends.
Point label_place(const Painter& painter, double at, double baseline, const std::string& words, double size, double x,
                  double width, Weight weight) {
    const double half = 0.5 * painter.text_width(words, size, weight);
    return {kept_between(at, x + half, x + width - half), baseline};
}

double draw_ramp_labels(Painter& painter, const std::vector<std::pair<double, std::string>>& labels, double x,
                        double top, double width, const Look& look) {
    const double size = 0.85 * look.text_px, tick = 0.25 * look.text_px;
    LabelPlaces places;
    for (const auto& [share, words] : labels) {
        const double at = x + share * width;
        painter.polyline({{at, top}, {at, top + tick}}, look.theme.soft_ink,
                         std::max(look.hairline_px, look.text_px / 16.0));
        if (words.empty()) continue;
        const Point baseline = label_place(painter, at, top + tick + size, words, size, x, width, Weight::regular);
        Rect box = text_box(painter, baseline, words, size, Align::centre, Weight::regular);
        box.x -= 0.2 * size;
        box.width += 0.4 * size;
        if (places.claim(box)) painter.text(baseline, words, size, look.theme.soft_ink, Align::centre);
    }
    return top + tick + 1.3 * size;
}

struct SheetColumns {
    int count = 1;
    double width = 0.0;
    std::vector<std::vector<std::size_t>> blocks;
};

SheetColumns arranged(const Painter& painter, double width, const std::vector<LegendBlock>& blocks, double column_px,
                      double gap_px) {
    MeasuringPainter measure(painter);
    SheetColumns columns;
    columns.count = std::clamp(static_cast<int>((width + gap_px) / (column_px + gap_px)), 1, 4);
    columns.width = (width - gap_px * (columns.count - 1)) / columns.count;
    std::vector<double> heights;
    double total = 0.0, highest = 0.0;
    for (const auto& block : blocks) {
        heights.push_back(block(measure, 0.0, 0.0, columns.width));
        total += heights.back();
        highest = std::max(highest, heights.back());
    }
    // The shortest length of column into which all blocks go in order.
    for (double length = std::max(highest, total / columns.count);; length *= 1.05) {
        columns.blocks.assign(1, {});
        double used = 0.0;
        for (std::size_t i = 0; i < blocks.size(); ++i) {
            if (used + heights[i] > length + 1e-6 && !columns.blocks.back().empty()) {
                columns.blocks.emplace_back();
                used = 0.0;
            }
            columns.blocks.back().push_back(i);
            used += heights[i];
        }
        if (static_cast<int>(columns.blocks.size()) <= columns.count) return columns;
    }
}

}  // namespace

Rect draw_sheet(Painter& painter, const Rect& area, const SheetWords& words, const Look& look) {
    const Theme& theme = look.theme;
    const double em = look.text_px, margin = 0.9 * em, width = area.width - 2.0 * margin, x = area.x + margin;
    double top = area.y + 0.7 * em;
    if (!words.title.empty())
        top = paragraph(painter, x, top, words.title, 1.5 * em, width, theme.ink, Weight::bold, 2);
    if (!words.subtitle.empty())
        top = paragraph(painter, x, top, words.subtitle, em, width, theme.soft_ink, Weight::regular, 2);
    const double small = 0.9 * em, caution_x = x + 0.8 * em;
    const auto foot = [&](Painter& on, double y) {
        for (const auto& note : words.notes)
            if (!note.empty()) y = paragraph(on, x, y, note, small, width, theme.ink, Weight::regular, 6) + 0.2 * em;
        if (words.caution.empty()) return y;
        const double from = y;
        y = paragraph(on, caution_x, y, words.caution, small, width - 0.8 * em, theme.ink, Weight::bold, 4);
        on.rect({x, from + 0.1 * em, 0.28 * em, y - from - 0.2 * em}, theme.accent);
        return y;
    };
    MeasuringPainter measure(painter);
    const double foot_height = foot(measure, 0.0);
    const double foot_top = area.y + area.height - foot_height - 0.5 * em;
    foot(painter, foot_top);
    const double from = top + 0.4 * em, to = (foot_height > 0.0 ? foot_top : area.y + area.height) - 0.6 * em;
    return {x, from, width, std::max(0.0, to - from)};
}

double draw_blocks(Painter& painter, const Rect& area, const std::vector<LegendBlock>& blocks, double column_px,
                   double gap_px) {
    const SheetColumns columns = arranged(painter, area.width, blocks, column_px, gap_px);
    double lowest = area.y;
    for (std::size_t column = 0; column < columns.blocks.size(); ++column) {
        const double x = area.x + static_cast<double>(column) * (columns.width + gap_px);
        double top = area.y;
        for (const std::size_t block : columns.blocks[column]) top = blocks[block](painter, x, top, columns.width);
        lowest = std::max(lowest, top);
    }
    return lowest;
}

double height_of_blocks(const Painter& painter, double width, const std::vector<LegendBlock>& blocks, double column_px,
                        double gap_px) {
    MeasuringPainter measure(painter);
    return draw_blocks(measure, {0.0, 0.0, width, 0.0}, blocks, column_px, gap_px);
}

LegendBlock swatch_block(std::function<void(Painter&, const Rect&)> swatch, std::string words, const Look& look) {
    return [swatch = std::move(swatch), words = std::move(words), look](Painter& painter, double x, double top,
                                                                        double width) {
        const double em = look.text_px, size = 0.9 * em, swatch_width = 1.9 * em;
        swatch(painter, {x, top + 0.1 * em, swatch_width, 1.15 * em});
        const double end = paragraph(painter, x + swatch_width + 0.6 * em, top + 0.1 * em, words, size,
                                     width - swatch_width - 0.6 * em, look.theme.ink);
        return std::max(end, top + 1.25 * em) + 0.3 * em;
    };
}

LegendBlock heading_block(std::string words, const Look& look) {
    return [words = std::move(words), look](Painter& painter, double x, double top, double width) {
        return paragraph(painter, x, top + 0.3 * look.text_px, words, look.text_px, width, look.theme.ink,
                         Weight::bold) +
               0.15 * look.text_px;
    };
}

LegendBlock sentence_block(std::string words, const Look& look) {
    return [words = std::move(words), look](Painter& painter, double x, double top, double width) {
        return paragraph(painter, x, top, words, 0.9 * look.text_px, width, look.theme.ink) + 0.35 * look.text_px;
    };
}

namespace {

/// An end of the ramp is a tenth of the limit, or ten times it.
std::string ramp_end_text(double mg_per_kg) {
    const double shown = in_shown_unit(mg_per_kg);
    return shown >= 9999.5 ? axis_number_text(shown, 1.0) : models::said(fmt::format("{:.4g}", shown));
}

}  // namespace

LegendBlock content_ramp_block(std::string title, const ContentScale& scale, std::optional<double> limit_mg_per_kg,
                               const Look& look) {
    return
        [title = std::move(title), scale, limit_mg_per_kg, look](Painter& painter, double x, double top, double width) {
            const double em = look.text_px;
            top = paragraph(painter, x, top, title, em, width, look.theme.ink, Weight::bold);
            const bool has_limit = limit_mg_per_kg && *limit_mg_per_kg > 0.0;
            const bool on_scale = has_limit && scale.holds(*limit_mg_per_kg);
            const double limit_x = has_limit ? x + scale.share(*limit_mg_per_kg) * width : x;
            if (has_limit) {
                const std::string number = set_content_text(*limit_mg_per_kg);
                const std::string label =
                    on_scale ? spoken(words::ramp_limit, number) : spoken(words::ramp_limit_off, number);
                painter.text(label_place(painter, limit_x, top + 0.95 * em, label, 0.9 * em, x, width, Weight::bold),
                             label, 0.9 * em, look.theme.ink, Align::centre, Weight::bold);
                top += 1.5 * em;
            } else {
                top += 0.3 * em;
            }
            const double floor_y = draw_ramp(painter, content_ramp(look.theme), x, top, width, look);
            // What lies beyond an end has its colour, and the ends say so.
            std::vector<std::pair<double, std::string>> labels = {
                {0.0, spoken(words::ramp_low_end, ramp_end_text(scale.low_mg_per_kg))},
                {1.0, spoken(words::ramp_high_end, ramp_end_text(scale.high_mg_per_kg))}};
            for (const auto& tick : content_ticks(scale.low_mg_per_kg, scale.high_mg_per_kg, 12))
                labels.emplace_back(scale.share(tick.value), tick.label);
            const double end = draw_ramp_labels(painter, labels, x, floor_y, width, look);
            if (on_scale) {
                painter.polyline({{limit_x, top - 0.25 * em}, {limit_x, floor_y}}, look.theme.paper, 0.4 * em);
                painter.polyline({{limit_x, top - 0.25 * em}, {limit_x, floor_y}}, look.theme.ink, 0.17 * em);
            }
            return end + 0.4 * em;
        };
}

LegendBlock plain_ramp_block(std::string title, const Ramp& ramp,
                             std::vector<std::pair<double, std::string>> labels_at_shares, const Look& look) {
    return [title = std::move(title), &ramp, labels = std::move(labels_at_shares), look](Painter& painter, double x,
                                                                                         double top, double width) {
        top = paragraph(painter, x, top, title, look.text_px, width, look.theme.ink, Weight::bold) + 0.3 * look.text_px;
        const double floor_y = draw_ramp(painter, ramp, x, top, width, look);
        return draw_ramp_labels(painter, labels, x, floor_y, width, look) + 0.4 * look.text_px;
    };
}

}  // namespace app::drawing
