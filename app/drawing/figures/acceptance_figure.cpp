#include "app/drawing/figures/acceptance_figure.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "app/drawing/chart.h"
#include "app/drawing/figures/sheet.h"
#include "app/drawing/numbers.h"
#include "app/words.h"

namespace app::drawing {

namespace {

struct AcceptanceScales {
    Scale content, accepted;
    Point at(const AcceptanceCurve::At& point) const {
        return {content.px(point.content_mg_per_kg), accepted.px(point.accepted)};
    }
};

double chance_on_curve(const AcceptanceCurve& curve, double content_mg_per_kg) {
    const auto& points = curve.points;
    const auto after = std::lower_bound(
        points.begin(), points.end(), content_mg_per_kg,
        [](const AcceptanceCurve::At& point, double content) { return point.content_mg_per_kg < content; });
    if (after == points.begin()) return points.front().accepted;
    if (after == points.end()) return points.back().accepted;
    const auto before = after - 1;
    const double share =
        (content_mg_per_kg - before->content_mg_per_kg) / (after->content_mg_per_kg - before->content_mg_per_kg);
    return before->accepted + share * (after->accepted - before->accepted);
}

/// What lies between the curve and the floor (beyond the limit) or the ceiling (before it).
std::vector<Point> risk_area(const AcceptanceFigure& figure, const AcceptanceScales& scales, bool buyers) {
    const double edge = figure.breaking_mg_per_kg, base = buyers ? 0.0 : 1.0;
    std::vector<Point> ring;
    const auto add = [&](double content, double accepted) { ring.push_back(scales.at({content, accepted})); };
    if (buyers) add(edge, chance_on_curve(figure.plan, edge));
    for (const auto& point : figure.plan.points)
        if (buyers ? point.content_mg_per_kg > edge : point.content_mg_per_kg < edge) ring.push_back(scales.at(point));
    if (!buyers) add(edge, chance_on_curve(figure.plan, edge));
    add(buyers ? figure.plan.points.back().content_mg_per_kg : edge, base);
    add(buyers ? edge : figure.plan.points.front().content_mg_per_kg, base);
    return ring;
}

void fill_sellers_risk(Painter& painter, const std::vector<std::vector<Point>>& rings, const Look& look) {
    painter.polygon(rings, blended(look.theme.paper, look.theme.ink, 0.13));
}
void fill_buyers_risk(Painter& painter, const std::vector<std::vector<Point>>& rings, const Look& look) {
    painter.polygon(rings, blended(look.theme.paper, look.theme.ink, 0.04));
    hatch(painter, rings, 0.5 * look.text_px, blended(look.theme.paper, look.theme.ink, 0.55),
          std::max(look.hairline_px, look.text_px / 14.0));
}

void draw_curve(Painter& painter, const AcceptanceCurve& curve, const AcceptanceScales& scales, bool other,
                const Look& look) {
    std::vector<Point> line;
    for (const auto& point : curve.points) line.push_back(scales.at(point));
    painter.polyline(line, other ? look.theme.accent : look.theme.ink, (other ? 0.17 : 0.2) * look.text_px, false,
                     other);
}

/// What the target allows at its content, as a bar from the side where right decisions lie.
void draw_allowance(Painter& painter, const AcceptanceTarget& target, bool good, const AcceptanceScales& scales,
                    const Look& look) {
    const double em = look.text_px, x = scales.content.px(target.content_mg_per_kg);
    const double from = scales.accepted.px(good ? 1.0 : 0.0);
    const double to = scales.accepted.px(good ? 1.0 - target.most_wrong : target.most_wrong);
    const double half = 0.55 * em;
    painter.polyline({{x - half, to}, {x + half, to}}, look.theme.ink, 0.14 * em);
    painter.polyline({{x, from}, {x, to}}, look.theme.ink, 0.14 * em);
}

Rect box_of_line(const Rect& box) {
    return {box.x, box.y + 0.5 * box.height - 0.08 * box.height, box.width, 0.16 * box.height};
}

std::vector<LegendBlock> acceptance_legend(const AcceptanceFigure& figure, const Look& look) {
    const Look small = {0.95 * look.text_px, look.theme, look.hairline_px, look.least_text_px};
    const auto ring_of = [](const Rect& box) {
        return std::vector<std::vector<Point>>{{{box.x, box.y},
                                                {box.x + box.width, box.y},
                                                {box.x + box.width, box.y + box.height},
                                                {box.x, box.y + box.height}}};
    };
    const auto across = [](Painter& painter, const Rect& box, Colour ink, double width, bool dashed) {
        const double y = middle(box_of_line(box)).y;
        painter.polyline({{box.x, y}, {box.x + box.width, y}}, ink, width, false, dashed);
    };
    std::vector<LegendBlock> blocks;
    blocks.push_back(swatch_block(
        [=](Painter& painter, const Rect& box) { across(painter, box, look.theme.ink, 0.2 * look.text_px, false); },
        figure.plan.name, small));
    if (figure.other)
        blocks.push_back(
            swatch_block([=](Painter& painter,
                             const Rect& box) { across(painter, box, look.theme.accent, 0.17 * look.text_px, true); },
                         figure.other->name, small));
    blocks.push_back(
        swatch_block([=](Painter& painter, const Rect& box) { fill_sellers_risk(painter, ring_of(box), look); },
                     spoken(words::acceptance_sellers_risk), small));
    blocks.push_back(
        swatch_block([=](Painter& painter, const Rect& box) { fill_buyers_risk(painter, ring_of(box), look); },
                     spoken(words::acceptance_buyers_risk), small));
    if (figure.good || figure.bad)
        blocks.push_back(swatch_block(
            [=](Painter& painter, const Rect& box) {
                const Point at = middle(box);
                painter.polyline({{at.x, box.y}, {at.x, box.y + 0.7 * box.height}}, look.theme.ink,
                                 0.14 * look.text_px);
                painter.polyline({{at.x - 0.55 * look.text_px, box.y + 0.7 * box.height},
                                  {at.x + 0.55 * look.text_px, box.y + 0.7 * box.height}},
                                 look.theme.ink, 0.14 * look.text_px);
            },
            spoken(words::acceptance_allowed), small));
    return blocks;
}

}  // namespace

void draw_acceptance_figure(Painter& painter, const Rect& area, const AcceptanceFigure& figure, const Look& look) {
    const Theme& theme = look.theme;
    const double em = look.text_px;
    const Rect room = draw_sheet(painter, area, {figure.title, figure.subtitle, figure.notes, figure.caution}, look);
    if (figure.plan.points.size() < 2) {
        draw_empty(painter, room, spoken(words::acceptance_none), look);
        return;
    }
    const auto blocks = acceptance_legend(figure, look);
    const double column = 22.0 * em;
    const double legend_height = height_of_blocks(painter, room.width, blocks, column, 1.5 * em);
    draw_blocks(painter, {room.x, room.y, room.width, legend_height}, blocks, column, 1.5 * em);

    // The limit's own words stand over the plot.
    const double over_plot = legend_height + 1.9 * em;
    Rect plot{room.x, room.y + over_plot, room.width, room.height - over_plot};
    Axis left, bottom;
    left.title = spoken(words::acceptance_chance_axis);
    bottom.title = spoken(words::acceptance_content_axis);
    left.scale.low = 0.0;
    left.scale.high = 1.0;
    for (int percent = 0; percent <= 100; percent += plot.height > 16.0 * em ? 10 : 25)
        left.ticks.push_back({percent / 100.0, fmt::format("{} %", percent)});
    const FrameRoom frame = frame_room(painter, left.ticks, look);
    plot = {plot.x + frame.left, plot.y, plot.width - frame.left - 0.8 * em, plot.height - frame.bottom - 0.4 * em};
    bottom.scale.low = figure.plan.points.front().content_mg_per_kg;
    bottom.scale.high = figure.plan.points.back().content_mg_per_kg;
    bottom.ticks =
        linear_ticks(bottom.scale.low, bottom.scale.high, std::max(2, static_cast<int>(plot.width / (4.0 * em))));
    left.scale.from_px = plot.y + plot.height;
    left.scale.to_px = plot.y;
    bottom.scale.from_px = plot.x;
    bottom.scale.to_px = plot.x + plot.width;
    const AcceptanceScales scales{bottom.scale, left.scale};

    fill_sellers_risk(painter, {risk_area(figure, scales, false)}, look);
    fill_buyers_risk(painter, {risk_area(figure, scales, true)}, look);
    draw_frame(painter, plot, bottom, left, look);
    const double limit_x = bottom.scale.px(figure.limit_mg_per_kg);
    painter.polyline({{limit_x, plot.y - 0.4 * em}, {limit_x, plot.y + plot.height}}, theme.ink, 0.1 * em);
    const std::string limit_words = spoken(words::acceptance_limit, set_number_text(figure.limit_mg_per_kg));
    const double half = 0.5 * painter.text_width(limit_words, 0.9 * em, Weight::bold);
    painter.text({kept_between(limit_x, plot.x + half, plot.x + plot.width - half), plot.y - 0.7 * em}, limit_words,
                 0.9 * em, theme.ink, Align::centre, Weight::bold);
    painter.push_clip({plot.x, plot.y - 0.1 * em, plot.width, plot.height + 0.2 * em});
    draw_curve(painter, figure.plan, scales, false, look);
    if (figure.other) draw_curve(painter, *figure.other, scales, true, look);
    if (figure.good) draw_allowance(painter, *figure.good, true, scales, look);
    if (figure.bad) draw_allowance(painter, *figure.bad, false, scales, look);
    painter.pop_clip();
}

}  // namespace app::drawing
