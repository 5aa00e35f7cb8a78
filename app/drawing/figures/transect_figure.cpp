#include "app/drawing/figures/transect_figure.h"

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

using TransectPlaceDrawn = TransectFigure::Place;

/// The area between two quantiles along a stretch.
std::vector<Point> band_of(const TransectFigure::Stretch& stretch, double TransectPlaceDrawn::*low,
                           double TransectPlaceDrawn::*high, const Scale& along, const Scale& up) {
    std::vector<Point> ring;
    const auto y = [&](double value) { return up.px(std::max(value, 0.5 * up.low)); };
    for (const TransectPlaceDrawn& place : stretch.places) ring.push_back({along.px(place.at_m), y(place.*high)});
    for (auto place = stretch.places.rbegin(); place != stretch.places.rend(); ++place)
        ring.push_back({along.px(place->at_m), y((*place).*low)});
    return ring;
}

}  // namespace

Rect draw_transect_figure(Painter& painter, const Rect& area, const TransectFigure& figure, const Look& look,
                          std::optional<double> at_m) {
    const double em = look.text_px, thin = std::max(look.hairline_px, em / 16.0);
    const Theme& theme = look.theme;
    const Rect room = draw_sheet(painter, area, {figure.title, figure.subtitle, figure.notes, ""}, look);
    std::vector<double> contents;
    for (const TransectFigure::Stretch& stretch : figure.stretches)
        for (const TransectPlaceDrawn& place : stretch.places) {
            contents.push_back(place.low90);
            contents.push_back(place.high90);
        }
    if (figure.stretches.empty()) {
        draw_empty(painter, room, figure.empty, look);
        return room;
    }
    const ContentScale ends = content_scale_for(contents, figure.limit_mg_per_kg.value_or(1.0));
    Axis bottom, left;
    const bool in_km = figure.length_m > 3000.0;
    const double unit_m = in_km ? 1000.0 : 1.0;
    bottom.title = in_km ? spoken(words::transect_along_km) : spoken(words::transect_along_m);
    left.title = with_unit(spoken(words::transect_content));
    left.scale = {ends.low_mg_per_kg, ends.high_mg_per_kg, 0.0, 1.0, true};
    bottom.scale.high = figure.length_m / unit_m;
    left.ticks = content_ticks(left.scale.low, left.scale.high,
                               std::max(3, static_cast<int>((room.height - 6.0 * em) / (1.35 * em))));
    const double names = 1.5 * em;  // below the axis: the fields
    const FrameRoom frame = frame_room(painter, left.ticks, look);
    const Rect plot{room.x + frame.left, room.y + 0.4 * em, room.width - frame.left - 4.5 * em,
                    std::max(2.0 * em, room.height - frame.bottom - names - 0.8 * em)};
    bottom.ticks = linear_ticks(0.0, bottom.scale.high, std::max(2, static_cast<int>(plot.width / (5.0 * em))));
    left.scale.from_px = plot.y + plot.height;
    left.scale.to_px = plot.y;
    bottom.scale.from_px = plot.x;
    bottom.scale.to_px = plot.x + plot.width;
    const Scale along{0.0, figure.length_m, plot.x, plot.x + plot.width, false};
    draw_frame(painter, plot, bottom, left, look);
    const ContentScale colours = content_colours(figure.limit_mg_per_kg);
    painter.push_clip(plot);
    for (const TransectFigure::Stretch& stretch : figure.stretches) {
        if (stretch.places.size() < 2) continue;
        const Colour of90 = blended(theme.paper, theme.soft_ink, 0.22),
                     of50 = blended(theme.paper, theme.soft_ink, 0.5);
        painter.polygon({band_of(stretch, &TransectPlaceDrawn::low90, &TransectPlaceDrawn::high90, along, left.scale)},
                        of90);
        painter.polygon({band_of(stretch, &TransectPlaceDrawn::low50, &TransectPlaceDrawn::high50, along, left.scale)},
                        of50);
        std::vector<Point> line;
        for (const TransectPlaceDrawn& place : stretch.places)
            line.push_back({along.px(place.at_m), left.scale.px(std::max(place.median, left.scale.low))});
        painter.polyline(line, theme.ink, 4.0 * thin);
        for (std::size_t i = 1; i < line.size(); ++i)
            painter.polyline(
                {line[i - 1], line[i]},
                colours.colour(0.5 * (stretch.places[i - 1].median + stretch.places[i].median), look.theme),
                2.0 * thin);
    }
    if (figure.limit_mg_per_kg) {
        const double y = left.scale.px(*figure.limit_mg_per_kg);
        painter.polyline({{plot.x, y}, {plot.x + plot.width, y}}, theme.ink, 1.6 * thin);
    }
    if (at_m && *at_m >= 0.0 && *at_m <= figure.length_m)
        painter.polyline({{along.px(*at_m), plot.y}, {along.px(*at_m), plot.y + plot.height}}, theme.accent,
                         1.4 * thin);
    painter.pop_clip();
    if (figure.limit_mg_per_kg)
        painter.text({plot.x + plot.width + 0.3 * em, left.scale.px(*figure.limit_mg_per_kg) + 0.3 * em},
                     with_unit(words::ramp_limit, set_content_text(*figure.limit_mg_per_kg)), 0.85 * em, theme.ink,
                     Align::left, Weight::bold);
    // The fields below the axis: a bar as long as the stretch, its name where it has room.
    const double bar_y = plot.y + plot.height + frame.bottom + 0.5 * em, size = 0.85 * em;
    double free_from = plot.x;
    for (const TransectFigure::Stretch& stretch : figure.stretches) {
        const double from = along.px(stretch.from_m), to = along.px(stretch.to_m);
        painter.rect({from, bar_y, std::max(to - from, thin), 0.25 * em},
                     stretch.places.empty() ? theme.unknown : theme.ink);
        const double half = 0.5 * painter.text_width(stretch.field, size);
        const double middle = kept_between(0.5 * (from + to), plot.x + half, plot.x + plot.width - half);
        if (middle - half < free_from) continue;
        painter.text({middle, bar_y + 0.4 * em + size}, stretch.field, size, theme.ink, Align::centre);
        free_from = middle + half + 0.5 * em;
    }
    return plot;
}

}  // namespace app::drawing
