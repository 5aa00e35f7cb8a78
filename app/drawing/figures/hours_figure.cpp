#include "app/drawing/figures/hours_figure.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "app/drawing/chart.h"
#include "app/drawing/figures/sheet.h"
#include "app/drawing/numbers.h"
#include "app/words.h"

namespace app::drawing {

namespace {

/// Nearness to flowering is told in greys, for colours stand for contents and chances: ink at flowering, pale at the
/// ends.
Colour shade_of(double days, double farthest, const Theme& theme) {
    const double share = std::min(1.0, std::abs(days) / std::max(farthest, 1.0));
    return blended(theme.ink, theme.paper, 0.12 + 0.66 * share);
}

bool is_measured(const HourMark& hour) {
    return std::isfinite(hour.temperature_degc) && std::isfinite(hour.dew_point_depression_degc);
}

struct Reach {
    double first_day = 0.0, last_day = 0.0, farthest = 1.0;
    double coldest = 0.0, warmest = 0.0, driest = 0.0;
    double most_rain_mm = 0.0;
    int measured = 0;
};

Reach reach_of(const HoursFigure& figure) {
    Reach reach;
    reach.first_day = reach.coldest = 1e300;
    reach.last_day = reach.warmest = -1e300;
    for (const auto& hour : figure.hours) {
        reach.first_day = std::min(reach.first_day, hour.days_from_flowering);
        reach.last_day = std::max(reach.last_day, hour.days_from_flowering);
        if (hour.rain_mm > 0.0) reach.most_rain_mm = std::max(reach.most_rain_mm, hour.rain_mm);
        if (!is_measured(hour)) continue;
        ++reach.measured;
        reach.coldest = std::min(reach.coldest, hour.temperature_degc);
        reach.warmest = std::max(reach.warmest, hour.temperature_degc);
        reach.driest = std::max(reach.driest, hour.dew_point_depression_degc);
    }
    reach.farthest = std::max(std::abs(reach.first_day), std::abs(reach.last_day));
    return reach;
}

std::string window_words(const HoursFigure& figure) {
    const auto days = [](double day) {
        const double size = std::abs(day);
        const std::string number = set_number_text(size);
        if (size == 1.0)
            return fmt::format(fmt::runtime(day < 0.0 ? spoken(words::one_day_before) : spoken(words::one_day_after)),
                               number);
        return fmt::format(fmt::runtime(day < 0.0 ? spoken(words::days_before) : spoken(words::days_after)), number);
    };
    return spoken(words::hours_of_model, figure.model, days(figure.window_first_day), days(figure.window_last_day));
}

/// The days along the foot: their shade, the rain of each hour, and the days that the model looks at. It is the legend
/// of the shades and an axis at once.
void draw_days(Painter& painter, const Rect& area, const HoursFigure& figure, const Reach& reach, const Look& look) {
    const Theme& theme = look.theme;
    const double em = look.text_px, size = 0.9 * em, thin = std::max(look.hairline_px, em / 16.0);
    const double first = std::floor(reach.first_day), last = std::ceil(reach.last_day);
    const Scale days{first, last, area.x, area.x + area.width, false};
    const double window_y = area.y + 1.1 * em, rain_floor = area.y + area.height - 3.3 * em - 0.7 * em;
    const double rain_top = window_y + 0.5 * em, band = 0.7 * em;

    const double from = std::max(days.px(figure.window_first_day), area.x);
    const double to = std::min(days.px(figure.window_last_day), area.x + area.width);
    if (to > from) {
        const double foot = 0.35 * em;
        painter.polyline({{from, window_y + foot}, {from, window_y}, {to, window_y}, {to, window_y + foot}}, theme.ink,
                         2.0 * thin);
        const std::string words = shortened(painter, spoken(words::hours_bracket), size, to - from - em);
        const double width = painter.text_width(words, size) + 0.8 * em;
        painter.rect({0.5 * (from + to - width), window_y - 2.0 * thin, width, 4.0 * thin}, theme.paper);
        painter.text({0.5 * (from + to), window_y + 0.35 * size}, words, size, theme.ink, Align::centre);
    }
    for (double day = first; day < last; day += 1.0) {
        const double left = days.px(day), right = days.px(day + 1.0);
        painter.rect({left, rain_floor, right - left + 0.5, band}, shade_of(day + 0.5, reach.farthest, theme));
    }
    painter.outline({area.x, rain_floor, area.width, band}, theme.soft_ink, thin);
    for (const auto& hour : figure.hours) {
        if (!(hour.rain_mm > 0.0)) continue;
        const double x = days.px(hour.days_from_flowering),
                     width = std::max(look.hairline_px, days.px(1.0 / 24.0) - days.px(0.0));
        const double height = (rain_floor - rain_top) * hour.rain_mm / reach.most_rain_mm;
        painter.rect({x - 0.5 * width, rain_floor - height, width, height}, theme.accent);
    }
    const double axis_y = rain_floor + band;
    LabelPlaces places;
    for (const auto& tick : linear_ticks(first, last, std::max(2, static_cast<int>(area.width / (3.2 * em))))) {
        if (tick.value != std::round(tick.value)) continue;
        const double x = days.px(tick.value);
        painter.polyline({{x, axis_y}, {x, axis_y + 0.3 * em}}, theme.soft_ink, thin);
        const std::string words = tick.value > 0.0 ? "+" + tick.label : tick.label;
        const double half = 0.5 * painter.text_width(words, size);
        const Point baseline{kept_between(x, area.x + half, area.x + area.width - half), axis_y + 0.3 * em + size};
        Rect box = text_box(painter, baseline, words, size, Align::centre, Weight::regular);
        box.x -= 0.25 * em;
        box.width += 0.5 * em;
        if (places.claim(box)) painter.text(baseline, words, size, theme.soft_ink, Align::centre);
    }
    const std::string title = reach.most_rain_mm > 0.0
                                  ? spoken(words::hours_days_and_rain, number_text(reach.most_rain_mm))
                                  : spoken(words::hours_days);
    painter.text({area.x + 0.5 * area.width, axis_y + 0.3 * em + size + line_height * em},
                 shortened(painter, title, em, area.width), em, theme.ink, Align::centre);
}

void draw_hour(Painter& painter, Point at, const HourMark& hour, bool in_window, double radius, double farthest,
               const Theme& theme) {
    const Colour shade = shade_of(hour.days_from_flowering, farthest, theme);
    if (in_window)
        painter.disc(at, radius, shade);
    else
        painter.circle(at, 0.75 * radius, shade, 0.25 * radius + 0.2);
    if (hour.rain_mm > 0.0) painter.circle(at, 1.55 * radius, theme.accent, 0.4 * radius);
}

}  // namespace

void draw_hours_figure(Painter& painter, const Rect& area, const HoursFigure& figure, const Look& look) {
    const Theme& theme = look.theme;
    const double em = look.text_px;
    const Reach reach = reach_of(figure);
    const bool nothing = figure.hours.empty() || reach.measured == 0;
    SheetWords words{figure.title, figure.subtitle, {}, ""};
    if (!nothing) words.notes.push_back(window_words(figure));
    if (!figure.note.empty()) words.notes.push_back(figure.note);
    words.notes.push_back(spoken(words::hours_information));
    const Rect room = draw_sheet(painter, area, words, look);
    if (nothing) {
        draw_empty(painter, room, figure.hours.empty() ? spoken(words::hours_none) : spoken(words::hours_unmeasured),
                   look);
        return;
    }
    const double radius = 0.2 * em;
    const Look small = {0.95 * em, theme};
    const auto mark = [&](double days, double rain_mm, bool in_window) {
        return [=, &theme, farthest = reach.farthest](Painter& on, const Rect& box) {
            HourMark hour;
            hour.days_from_flowering = days;
            hour.rain_mm = rain_mm;
            draw_hour(on, middle(box), hour, in_window, radius * 1.15, farthest, theme);
        };
    };
    const std::vector<LegendBlock> blocks = {
        swatch_block(mark(0.0, 0.0, true), spoken(words::hours_in_window), small),
        swatch_block(mark(0.0, 1.0, true), spoken(words::hours_wet), small),
        swatch_block(mark(0.7 * reach.farthest, 0.0, false), spoken(words::hours_outside), small)};
    const double legend_height = height_of_blocks(painter, room.width, blocks, 15.0 * em, 1.5 * em);
    draw_blocks(painter, {room.x, room.y + 0.2 * em, room.width, legend_height}, blocks, 15.0 * em, 1.5 * em);

    const double days_height = 4.1 * em + 1.6 * em + std::clamp(0.11 * room.height, 1.5 * em, 4.0 * em);
    Rect plot{room.x, room.y + legend_height + 0.6 * em, room.width,
              room.height - legend_height - days_height - 0.6 * em};
    const double span = std::max(1.0, reach.warmest - reach.coldest);
    Axis left, bottom;
    left.scale.low = reach.coldest - 0.04 * span;
    left.scale.high = reach.warmest + 0.04 * span;
    bottom.scale.low = 0.0;
    bottom.scale.high = 1.04 * std::max(1.0, reach.driest);
    left.title = spoken(words::hours_temperature);
    bottom.title = spoken(words::hours_depression);
    left.ticks = linear_ticks(left.scale.low, left.scale.high, std::max(2, static_cast<int>(plot.height / (2.6 * em))));
    const FrameRoom frame = frame_room(painter, left.ticks, look);
    plot = {plot.x + frame.left, plot.y, plot.width - frame.left - 0.5 * em, plot.height - frame.bottom - 0.4 * em};
    bottom.ticks =
        linear_ticks(bottom.scale.low, bottom.scale.high, std::max(2, static_cast<int>(plot.width / (3.5 * em))));
    left.scale.from_px = plot.y + plot.height;
    left.scale.to_px = plot.y;
    bottom.scale.from_px = plot.x;
    bottom.scale.to_px = plot.x + plot.width;
    draw_frame(painter, plot, bottom, left, look);

    std::vector<const HourMark*> order;
    for (const auto& hour : figure.hours)
        if (is_measured(hour)) order.push_back(&hour);
    // The hours nearest to flowering come on top.
    std::stable_sort(order.begin(), order.end(), [](const HourMark* a, const HourMark* b) {
        return std::abs(a->days_from_flowering) > std::abs(b->days_from_flowering);
    });
    painter.push_clip(plot);
    for (const HourMark* hour : order) {
        const bool in_window =
            hour->days_from_flowering >= figure.window_first_day && hour->days_from_flowering <= figure.window_last_day;
        draw_hour(painter, {bottom.scale.px(hour->dew_point_depression_degc), left.scale.px(hour->temperature_degc)},
                  *hour, in_window, radius, reach.farthest, theme);
    }
    painter.pop_clip();
    draw_days(painter, {plot.x, room.y + room.height - days_height, plot.width, days_height}, figure, reach, look);
}

}  // namespace app::drawing
