#include "app/drawing/figures/evidence_figure.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "app/drawing/chart.h"
#include "app/drawing/content_unit.h"
#include "app/drawing/figures/sheet.h"
#include "app/drawing/numbers.h"
#include "app/ground_words.h"
#include "app/words.h"

namespace app::drawing {

namespace {

double evidence_line(const Look& look) {
    return std::max(look.hairline_px, look.text_px / 16.0);
}

double write_says(Painter& painter, double x, double y, double width, const std::vector<std::string>& says,
                  const Look& look) {
    for (const std::string& sentence : says)
        if (!sentence.empty())
            y = paragraph(painter, x, y, sentence, 0.88 * look.text_px, width, look.theme.ink) + 0.2 * look.text_px;
    return y;
}

/// Its title, its sentences below the plot, and the room between them.
/// @param says_px  that its sentences take, or those of a panel beside it
Rect panel_room(Painter& painter, const Rect& area, const std::string& title, const std::vector<std::string>& says,
                double says_px, const Look& look) {
    const double em = look.text_px;
    const double top =
        paragraph(painter, area.x, area.y, title, 1.05 * em, area.width, look.theme.ink, Weight::bold, 2) + 0.3 * em;
    MeasuringPainter measure(painter);
    const double foot = area.y + area.height - std::max(says_px, write_says(measure, 0.0, 0.0, area.width, says, look));
    write_says(painter, area.x, foot, area.width, says, look);
    return {area.x, top, area.width, std::max(0.0, foot - 0.5 * em - top)};
}

/// The plot between the labels of its axes, whose scales then point into it.
Rect plot_of(Painter& painter, const Rect& room, Axis& bottom, Axis& left, const Look& look) {
    const FrameRoom frame = frame_room(painter, left.ticks, look);
    const double right = 1.2 * look.text_px;
    const Rect plot{room.x + frame.left, room.y + 0.3 * look.text_px, room.width - frame.left - right,
                    room.height - frame.bottom - 0.7 * look.text_px};
    left.scale.from_px = plot.y + plot.height;
    left.scale.to_px = plot.y;
    bottom.scale.from_px = plot.x;
    bottom.scale.to_px = plot.x + plot.width;
    return plot;
}

void draw_pairs(Painter& painter, const Rect& area, const PairsPanel& panel, double says_px, const Look& look) {
    const double em = look.text_px, thin = evidence_line(look);
    const Theme& theme = look.theme;
    const Rect room = panel_room(painter, area, panel.title, panel.says, says_px, look);
    if (panel.classes.empty()) {
        painter.outline(room, theme.line, thin);
        draw_empty(painter, room, panel.empty, look);
        return;
    }
    double farthest = 0.0, highest = 1.3 * panel.error;
    for (const PairsPanel::Class& one : panel.classes) {
        farthest = std::max(farthest, one.distance_m);
        highest = std::max(highest, one.unlike);
    }
    farthest *= 1.06;
    for (const Point& point : panel.believed)
        if (point.x <= farthest) highest = std::max(highest, point.y);
    Axis bottom, left;
    const bool in_km = farthest > 3000.0;
    const double unit_m = in_km ? 1000.0 : 1.0;
    bottom.title = in_km ? spoken(words::pairs_distance_km) : spoken(words::pairs_distance_m);
    left.title = spoken(words::pairs_unlike);
    bottom.scale.high = farthest / unit_m;
    left.scale.high = std::max(1.18 * highest, 1e-6);  // room for the counts above the marks
    left.ticks = linear_ticks(0.0, left.scale.high, std::max(2, static_cast<int>(room.height / (3.2 * em))));
    bottom.ticks = linear_ticks(0.0, bottom.scale.high, std::max(2, static_cast<int>(room.width / (5.0 * em))));
    const Rect plot = plot_of(painter, room, bottom, left, look);
    draw_frame(painter, plot, bottom, left, look);
    painter.push_clip(plot);
    if (panel.error > 0.0)
        painter.polyline({{plot.x, left.scale.px(panel.error)}, {plot.x + plot.width, left.scale.px(panel.error)}},
                         theme.soft_ink, 1.4 * thin, false, true);
    std::vector<Point> line;
    for (const Point& point : panel.believed)
        if (point.x <= 1.02 * farthest) line.push_back({bottom.scale.px(point.x / unit_m), left.scale.px(point.y)});
    if (line.size() > 1) painter.polyline(line, theme.ink, 1.8 * thin);
    painter.pop_clip();
    LabelPlaces places;
    const double radius = 0.28 * em;
    for (const PairsPanel::Class& one : panel.classes) {
        const Point at{bottom.scale.px(one.distance_m / unit_m), left.scale.px(one.unlike)};
        places.reserve({at.x - radius, at.y - radius, 2.0 * radius, 2.0 * radius});
    }
    for (const PairsPanel::Class& one : panel.classes) {
        const Point at{bottom.scale.px(one.distance_m / unit_m), left.scale.px(one.unlike)};
        painter.disc(at, radius, one.pairs < panel.few_pairs ? theme.paper : theme.ink);
        painter.circle(at, radius, theme.ink, 1.4 * thin);
        const double size = std::max(look.least_text_px, 0.8 * em);
        const std::string count = std::to_string(one.pairs);
        const double half = 0.5 * painter.text_width(count, size);
        const double x = kept_between(at.x, plot.x + half + 0.2 * em, plot.x + plot.width - half - 0.2 * em);
        // Above the mark, or below it where another stands there.
        for (const double baseline : {at.y - radius - 0.35 * em, at.y + radius + 0.2 * em + size}) {
            if (baseline > plot.y + plot.height - 0.2 * em || baseline - size < plot.y) continue;
            if (!places.claim(text_box(painter, {x, baseline}, count, size, Align::centre, Weight::regular))) continue;
            // The line runs behind it.
            painter.rect({x - half, baseline - 0.85 * size, 2.0 * half, size}, with_alpha(theme.paper, 0.8));
            painter.text({x, baseline}, count, size, theme.ink, Align::centre);
            break;
        }
    }
}

void draw_triangle(Painter& painter, Point at, double size, bool down, Colour colour) {
    const double up = down ? 1.0 : -1.0;
    painter.polygon({{{at.x - size, at.y - 0.6 * up * size},
                      {at.x + size, at.y - 0.6 * up * size},
                      {at.x, at.y + 1.0 * up * size}}},
                    colour);
}

void draw_foretold(Painter& painter, const Rect& area, const ForetoldPanel& panel, double says_px, const Look& look) {
    const double em = look.text_px, thin = evidence_line(look);
    const Theme& theme = look.theme;
    const Rect room = panel_room(painter, area, panel.title, panel.says, says_px, look);
    if (panel.results.empty()) {
        painter.outline(room, theme.line, thin);
        draw_empty(painter, room, panel.empty, look);
        return;
    }
    double least = 1e300, most = 0.0;
    for (const ForetoldPanel::Result& one : panel.results)
        for (const double value : {one.read_mg_per_kg, one.median}) {
            if (value > 0.0) least = std::min(least, value);
            most = std::max(most, value);
        }
    Axis bottom, left;
    for (Axis* axis : {&bottom, &left}) {
        axis->scale.logarithmic = true;
        axis->scale.low = 0.75 * least;
        axis->scale.high = std::max(1.3 * most, 2.0 * least);
    }
    bottom.title = with_unit(spoken(words::foretold_axis));
    left.title = with_unit(spoken(words::read_axis));
    const auto ticks = [&](double length) {
        return content_ticks(left.scale.low, left.scale.high, std::max(2, static_cast<int>(length / (3.6 * em))));
    };
    left.ticks = ticks(room.height);
    bottom.ticks = ticks(room.width);
    const Rect plot = plot_of(painter, room, bottom, left, look);
    draw_frame(painter, plot, bottom, left, look);
    painter.push_clip(plot);
    painter.polyline({{plot.x, plot.y + plot.height}, {plot.x + plot.width, plot.y}}, theme.soft_ink, 1.4 * thin, false,
                     true);
    if (panel.limit_mg_per_kg && *panel.limit_mg_per_kg > left.scale.low && *panel.limit_mg_per_kg < left.scale.high) {
        const double x = bottom.scale.px(*panel.limit_mg_per_kg), y = left.scale.px(*panel.limit_mg_per_kg);
        painter.polyline({{plot.x, y}, {plot.x + plot.width, y}}, theme.ink, 1.2 * thin);
        painter.polyline({{x, plot.y}, {x, plot.y + plot.height}}, theme.ink, 1.2 * thin);
    }
    const auto outside = [](const ForetoldPanel::Result& one) {
        const bool low = one.read_mg_per_kg<one.low90, high = one.read_mg_per_kg> one.high90;
        return one.mark == TestMark::value ? low || high : one.mark == TestMark::below_range ? low : high;
    };
    // Of many results the intervals are a mist behind the dots.
    const double mist = panel.results.size() > 30 ? 0.14 : 0.35;
    for (const bool surprising : {false, true}) {
        for (const ForetoldPanel::Result& one : panel.results) {
            if (outside(one) != surprising) continue;
            const Colour ink = surprising ? theme.accent : theme.ink;
            const double x = bottom.scale.px(one.median), y = left.scale.px(one.read_mg_per_kg);
            if (one.mark != TestMark::value) {
                draw_triangle(painter, {x, y}, 0.26 * em, one.mark == TestMark::below_range, ink);
                continue;
            }
            const double from = bottom.scale.px(std::max(one.low90, 0.1 * bottom.scale.low));
            painter.polyline({{from, y}, {bottom.scale.px(one.high90), y}}, with_alpha(ink, surprising ? 0.5 : mist),
                             1.2 * thin);
            painter.disc({x, y}, 0.22 * em, ink);
            if (surprising) painter.circle({x, y}, 0.42 * em, ink, 1.2 * thin);
        }
    }
    painter.pop_clip();
}

/// Under this width of the area, in sizes of text, the plots stand one below the other.
constexpr double side_by_side_ems = 54.0;

}  // namespace

double height_of_evidence_figure(double width, const Look& look) {
    return (width < side_by_side_ems * look.text_px ? 84.0 : 44.0) * look.text_px;
}

EvidencePlaces draw_evidence_figure(Painter& painter, const Rect& area, const EvidenceFigure& figure,
                                    const Look& look) {
    const double em = look.text_px, gap = 1.4 * em;
    const Rect room = draw_sheet(painter, area, {figure.title, figure.subtitle, {}, figure.caution}, look);
    MeasuringPainter measure(painter);
    const auto write_notes = [&](Painter& on, double y) {
        y = paragraph(on, room.x, y, spoken(words::how_to_read), 1.05 * em, room.width, look.theme.ink, Weight::bold,
                      1) +
            0.2 * em;
        for (const std::string& sentence : figure.how_to_read)
            y = paragraph(on, room.x, y, sentence, 0.88 * em, room.width, look.theme.ink) + 0.2 * em;
        return y;
    };
    const double notes = write_notes(measure, 0.0);
    const double panels = room.height - notes - gap;
    double says_px = 0.0;
    EvidencePlaces at;
    if (area.width < side_by_side_ems * em) {
        const double height = (panels - 2.0 * gap) / 3.0;
        at.between = {room.x, room.y, room.width, height};
        at.within = {room.x, room.y + height + gap, room.width, height};
        at.foretold = {room.x, room.y + 2.0 * (height + gap), room.width, height};
    } else {
        const double width = (room.width - 2.0 * gap) / 3.0;
        at.between = {room.x, room.y, width, panels};
        at.within = {room.x + width + gap, room.y, width, panels};
        at.foretold = {room.x + 2.0 * (width + gap), room.y, width, panels};
        // Plots beside one another end at one height.
        for (const auto* says : {&figure.between.says, &figure.within.says, &figure.foretold.says})
            says_px = std::max(says_px, write_says(measure, 0.0, 0.0, width, *says, look));
    }
    draw_pairs(painter, at.between, figure.between, says_px, look);
    draw_pairs(painter, at.within, figure.within, says_px, look);
    draw_foretold(painter, at.foretold, figure.foretold, says_px, look);
    write_notes(painter, room.y + room.height - notes);
    return at;
}

}  // namespace app::drawing
