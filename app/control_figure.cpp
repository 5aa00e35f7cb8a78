#include "app/control_figure.h"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <iterator>
#include <map>

#include <fmt/format.h>

#include "app/cautions.h"
#include "app/drawing/axis.h"
#include "app/drawing/chart.h"
#include "app/drawing/figures/sheet.h"
#include "app/drawing/numbers.h"
#include "app/drawing/svg_painter.h"
#include "app/words.h"
#include "geo/whole_file.h"
#include "models/error.h"

namespace app {

using namespace drawing;

namespace control_drawing {

constexpr double panel_ems = 21.0, most_panel_ems = 34.0;
constexpr double letters_beside = 34.0;  // of a line beside a chart, words not broken
constexpr double far_sds = 6.0;
constexpr double sheet_ems = 12.0;  // title and legend around the panels

std::string month_and_day(const models::Stamp& time) {
    return models::to_short_text(time.local_day());
}

/// From the lowest to the highest thing that has to be seen, with a little air.
Scale scale_of(const models::ControlChart& chart) {
    double low = 1e300, high = -1e300;
    const auto see = [&](double value) {
        if (!std::isfinite(value) || (chart.logarithm && !(value > 0.0))) return;
        low = std::min(low, value);
        high = std::max(high, value);
    };
    for (const models::ChartPoint& point : chart.points) {
        // One that lies far off stands at the edge, with its number in words, so that the others can be told apart.
        if (!point.sds || std::abs(*point.sds) <= far_sds) see(point.don_mg_per_kg);
    }
    see(chart.control.assigned_mg_per_kg);
    if (chart.control.low_mg_per_kg) see(*chart.control.low_mg_per_kg);
    if (chart.control.high_mg_per_kg) see(*chart.control.high_mg_per_kg);
    if (chart.limits) {
        see(chart.mg_per_kg_at(-3.3));
        see(chart.mg_per_kg_at(3.3));
    }
    Scale scale;
    scale.logarithmic = chart.logarithm;
    if (chart.logarithm) {
        const double air = std::pow(high / low, 0.05);
        scale.low = low / air;
        scale.high = high * std::max(air, 1.01);
    } else {
        const double air = 0.05 * (high - low);
        scale.low = low - air;
        scale.high = high + std::max(air, 1e-6);
    }
    return scale;
}

/// Ticks of the readings in their order, named by their day where there is room; a day is named once.
std::vector<Tick> ticks_of_readings(const models::ControlChart& chart, double width_px, double em) {
    std::vector<Tick> ticks;
    const auto n = chart.points.size();
    const auto every = std::max<std::size_t>(
        1, static_cast<std::size_t>(std::ceil(static_cast<double>(n) * 5.0 * em / std::max(width_px, 1.0))));
    std::string named;
    for (std::size_t i = 0; i < n; ++i) {
        std::string label = i % every == 0 ? month_and_day(chart.points[i].time) : "";
        if (label == named) label.clear();
        if (!label.empty()) named = label;
        ticks.push_back({static_cast<double>(i + 1), std::move(label)});
    }
    return ticks;
}

void draw_mark(Painter& painter, Point at, const models::ChartPoint& point, double radius, const Look& look) {
    const Theme& theme = look.theme;
    if (point.reading == models::Reading::value) {
        painter.disc(at, radius, theme.ink);
        if (!point.sets_limits) painter.disc(at, 0.55 * radius, theme.paper);
        return;
    }
    const double way = point.reading == models::Reading::below ? 1.0 : -1.0;  // where the true reading lies
    painter.polygon({{{at.x - 1.2 * radius, at.y}, {at.x + 1.2 * radius, at.y}, {at.x, at.y + way * 2.0 * radius}}},
                    theme.ink);
}

/// Lines at so many standard deviations, named at the right.
void draw_lines(Painter& painter, const Rect& plot, const models::ControlChart& chart, const Scale& scale,
                const Look& look) {
    const Theme& theme = look.theme;
    const double em = look.text_px, size = 0.85 * em, thin = std::max(look.hairline_px, em / 16.0);
    struct Named {
        double y;
        std::string words;
        Weight weight;
    };
    std::vector<Named> names;
    if (chart.limits) {
        for (int sds = 3; sds >= -3; --sds) {
            const double y = scale.px(chart.mg_per_kg_at(sds));
            const bool outer = std::abs(sds) == 3;
            const bool heavy = outer || sds == 0;
            painter.polyline({{plot.x, y}, {plot.x + plot.width, y}}, heavy ? theme.ink : theme.soft_ink,
                             heavy ? 1.6 * thin : 0.8 * thin, false, sds != 0);
            if (!heavy) continue;
            const std::string content = models::limit_in_words(chart.mg_per_kg_at(sds));
            names.push_back({y,
                             outer ? spoken(words::control_line_sds, sds > 0 ? "+" : "−", content)
                                   : spoken(words::control_line_centre, content),
                             Weight::regular});
        }
    }
    // Where the content was assigned: a mark at the right edge, for the centre line is another thing.
    const double assigned = scale.px(chart.control.assigned_mg_per_kg), right = plot.x + plot.width;
    painter.polygon(
        {{{right, assigned}, {right + 0.55 * em, assigned - 0.35 * em}, {right + 0.55 * em, assigned + 0.35 * em}}},
        theme.accent);
    names.push_back({assigned, spoken(words::control_line_assigned, set_number_text(chart.control.assigned_mg_per_kg)),
                     Weight::bold});
    std::stable_sort(names.begin(), names.end(), [](const Named& a, const Named& b) { return a.y < b.y; });
    std::vector<double> wanted;
    for (const Named& name : names) wanted.push_back(name.y);
    const std::vector<double> places = spread_apart(wanted, 1.25 * size, plot.y, plot.y + plot.height);
    for (std::size_t i = 0; i < names.size(); ++i) {
        const bool bold = names[i].weight == Weight::bold;
        painter.text({right + 0.8 * em, places[i] + 0.35 * size}, names[i].words, size,
                     bold ? theme.accent : theme.soft_ink, Align::left, names[i].weight);
    }
}

/// The bounds that the control accepts, as a bracket inside the left edge.
void draw_accepted(Painter& painter, const Rect& plot, const models::ControlMaterial& control, const Scale& scale,
                   const Look& look) {
    if (!control.low_mg_per_kg && !control.high_mg_per_kg) return;
    const double em = look.text_px, thin = std::max(look.hairline_px, em / 16.0), x = plot.x + 0.4 * em;
    const double top = control.high_mg_per_kg ? scale.px(*control.high_mg_per_kg) : plot.y;
    const double foot = control.low_mg_per_kg ? scale.px(*control.low_mg_per_kg) : plot.y + plot.height;
    const auto cap = [&](double y) { painter.polyline({{x, y}, {x + 0.5 * em, y}}, look.theme.accent, 2.0 * thin); };
    painter.polyline({{x, top}, {x, foot}}, look.theme.accent, 2.0 * thin);
    if (control.high_mg_per_kg) cap(top);
    if (control.low_mg_per_kg) cap(foot);
}

/// A rule in the few words that fit beside a chart.
std::string short_words(models::ControlRule rule, const models::ControlChart& chart) {
    switch (rule) {
        case models::ControlRule::one_beyond_three_sd:
            return spoken(words::control_rule_beyond_three);
        case models::ControlRule::two_of_three_beyond_two_sd:
            return spoken(words::control_rule_two_of_three);
        case models::ControlRule::four_of_five_beyond_one_sd:
            return spoken(words::control_rule_four_of_five);
        case models::ControlRule::eight_on_one_side:
            return spoken(words::control_rule_one_side, chart.rules.on_one_side);
        case models::ControlRule::range_too_wide:
            return chart.readings_a_point > 1 ? spoken(words::control_rule_range) : spoken(words::control_rule_change);
    }
    return "";
}

std::string signed_content(const models::ChartPoint& point) {
    const char* sign = point.reading == models::Reading::below   ? "<"
                       : point.reading == models::Reading::above ? ">"
                                                                 : "";
    return sign + models::limit_in_words(point.don_mg_per_kg);
}

/// The readings that break a rule or lie outside what the control accepts, by number, in words.
struct NumberedBreak {
    std::size_t point;
    std::string words;
};
std::vector<NumberedBreak> breaks_of(const models::ControlChart& chart) {
    std::vector<NumberedBreak> breaks;
    for (std::size_t i = 0; i < chart.points.size(); ++i) {
        const models::ChartPoint& point = chart.points[i];
        if (point.broken.empty() && !point.outside_bounds) continue;
        std::string rules;
        if (point.outside_bounds) rules = spoken(words::control_outside, models::accepted_in_words(chart.control));
        for (const models::ControlRule rule : point.broken) {
            rules += (rules.empty() ? "" : "; ") + short_words(rule, chart);
        }
        breaks.push_back(
            {i, spoken(words::control_break, month_and_day(point.time), point.tests.back(), signed_content(point),
                       rules, point.by_later_limits ? spoken(words::control_break_later) : "")});
    }
    return breaks;
}

void draw_ranges(Painter& painter, const Rect& plot, const models::ControlChart& chart, const Scale& across,
                 const Look& look) {
    const Theme& theme = look.theme;
    const double em = look.text_px, size = 0.85 * em, thin = std::max(look.hairline_px, em / 16.0);
    double most = chart.limits ? chart.limits->range_high : 0.0;
    for (const models::ChartPoint& point : chart.points) most = std::max(most, point.range.value_or(0.0));
    if (!(most > 0.0)) most = 1.0;
    const Scale up{0.0, 1.1 * most, plot.y + plot.height, plot.y, false};
    const double half = std::max(look.hairline_px, std::min(0.22 * em, 0.3 * (across.px(2.0) - across.px(1.0))));
    for (std::size_t i = 0; i < chart.points.size(); ++i) {
        const auto& range = chart.points[i].range;
        if (!range) continue;
        const double x = across.px(static_cast<double>(i + 1)), y = up.px(*range);
        painter.rect({x - half, y, 2.0 * half, plot.y + plot.height - y}, theme.soft_ink);
    }
    painter.outline(plot, theme.soft_ink, thin);
    painter.text({plot.x - 0.6 * em, plot.y + 0.5 * plot.height + 0.35 * size},
                 chart.readings_a_point > 1 ? spoken(words::control_range_of_run) : spoken(words::control_range), size,
                 theme.soft_ink, Align::right);
    if (!chart.limits) return;
    const double y = up.px(chart.limits->range_high);
    painter.polyline({{plot.x, y}, {plot.x + plot.width, y}}, theme.ink, 1.6 * thin, false, true);
    const double factor = chart.logarithm ? std::exp(chart.limits->range_high) : chart.limits->range_high;
    painter.text({plot.x + plot.width + 0.8 * em, y + 0.35 * size},
                 fmt::format(fmt::runtime(chart.logarithm ? spoken(words::control_range_limit_factor)
                                                          : spoken(words::control_range_limit)),
                             models::said(fmt::format("{:.2f}", factor))),
                 size, theme.soft_ink);
}

void draw_chart_panel(Painter& painter, const Rect& area, const models::ControlChart& chart, const Look& look) {
    const Theme& theme = look.theme;
    const double em = look.text_px, thin = std::max(look.hairline_px, em / 16.0);
    const std::string lot = chart.kit_lot.empty() ? models::lot_in_words(chart.method, chart.kit_lot)
                                                  : spoken(words::control_kit_lot, chart.kit_lot);
    painter.text({area.x, area.y + em}, spoken(words::control_panel, chart.control.control, lot), 1.05 * em, theme.ink,
                 Align::left, Weight::bold);
    const double said = paragraph(painter, area.x, area.y + 1.5 * em, chart.says + ".", 0.9 * em, area.width,
                                  theme.soft_ink, Weight::regular, 3);

    const auto breaks = breaks_of(chart);
    const double side = std::min(0.3 * area.width, 19.0 * em), names = 8.0 * em;
    Scale up = scale_of(chart);
    Rect plot{area.x, said + 0.5 * em, area.width - (breaks.empty() ? 0.0 : side) - names, 0.0};
    const double ranges_height = 2.4 * em;
    Axis left, bottom;
    left.title = spoken(words::control_axis);
    left.ticks =
        up.logarithmic && up.high > 4.0 * up.low ? log_ticks(up.low, up.high, 6) : linear_ticks(up.low, up.high, 6);
    const FrameRoom frame = frame_room(painter, left.ticks, look);
    const double gap = std::max(frame.left, 5.2 * em);
    plot.x += gap;
    plot.width -= gap;
    plot.height = area.y + area.height - plot.y - ranges_height - frame.bottom - 0.6 * em;
    up.from_px = plot.y + plot.height;
    up.to_px = plot.y;
    left.scale = up;
    bottom.scale = {0.5, static_cast<double>(chart.points.size()) + 0.5, plot.x + 1.2 * em, plot.x + plot.width, false};
    // The axis of the days belongs to the ranges below; here it has its lines only.
    draw_frame(painter, plot, Axis{"", bottom.scale, {}}, left, look);
    draw_lines(painter, plot, chart, up, look);
    draw_accepted(painter, plot, chart.control, up, look);

    const double radius = std::clamp(0.35 * (bottom.scale.px(2.0) - bottom.scale.px(1.0)), 0.12 * em, 0.26 * em);
    std::vector<Point> line;
    std::vector<Point> at;
    for (std::size_t i = 0; i < chart.points.size(); ++i) {
        const double content = chart.points[i].don_mg_per_kg;
        const double y = up.logarithmic && !(content > 0.0) ? up.from_px : up.px(content);
        at.push_back({bottom.scale.px(static_cast<double>(i + 1)),
                      kept_between(y, plot.y + 0.7 * em, plot.y + plot.height - 0.7 * em)});
    }
    for (std::size_t i = 0; i < at.size(); ++i) {
        const bool number = chart.points[i].reading == models::Reading::value;
        if (number) line.push_back(at[i]);
        if ((!number || i + 1 == at.size()) && line.size() > 1) painter.polyline(line, theme.soft_ink, thin);
        if (!number) line.clear();
    }
    LabelPlaces places;
    for (std::size_t i = 0; i < at.size(); ++i) {
        draw_mark(painter, at[i], chart.points[i], radius, look);
        places.reserve({at[i].x - radius, at[i].y - radius, 2.0 * radius, 2.0 * radius});
    }
    const double size = 0.8 * em, ring = 1.8 * radius + 0.1 * em;
    for (const NumberedBreak& one : breaks) {
        places.reserve({at[one.point].x - ring, at[one.point].y - ring, 2.0 * ring, 2.0 * ring});
    }
    for (std::size_t k = 0; k < breaks.size(); ++k) {
        const Point centre = at[breaks[k].point];
        painter.circle(centre, ring, theme.accent, 1.8 * thin);
        const std::string number = std::to_string(k + 1);
        const double away = ring + 0.3 * em;
        const Point tries[] = {{centre.x, centre.y - away},
                               {centre.x, centre.y + away + 0.8 * size},
                               {centre.x + away + 0.3 * size, centre.y + 0.35 * size},
                               {centre.x - away - 0.3 * size, centre.y + 0.35 * size}};
        for (const Point& baseline : tries) {
            const Rect box = text_box(painter, baseline, number, size, Align::centre, Weight::bold);
            if (!holds(plot, box) || !places.claim(box)) continue;
            painter.rect(box, with_alpha(theme.paper, 0.85));
            painter.text(baseline, number, size, theme.accent, Align::centre, Weight::bold);
            break;
        }
    }
    const Rect ranges{plot.x, plot.y + plot.height + 0.5 * em, plot.width, ranges_height};
    draw_ranges(painter, ranges, chart, bottom.scale, look);
    LabelPlaces days;
    for (const Tick& tick : ticks_of_readings(chart, plot.width, em)) {
        const double x = bottom.scale.px(tick.value), foot = ranges.y + ranges.height;
        painter.polyline({{x, foot}, {x, foot + (tick.label.empty() ? 0.2 : 0.35) * em}}, theme.soft_ink, thin);
        if (tick.label.empty()) continue;
        const Point baseline{x, foot + 0.35 * em + 0.95 * em};
        Rect box = text_box(painter, baseline, tick.label, 0.9 * em, Align::centre, Weight::regular);
        box.x -= 0.3 * em;
        box.width += 0.6 * em;
        if (days.claim(box)) painter.text(baseline, tick.label, 0.9 * em, theme.soft_ink, Align::centre);
    }
    painter.text({plot.x + 0.5 * plot.width, ranges.y + ranges.height + 1.4 * em + line_height * em},
                 chart.readings_a_point > 1 ? spoken(words::control_runs_in_order, chart.readings_a_point)
                                            : std::string(spoken(words::control_readings_in_order)),
                 0.95 * em, theme.ink, Align::centre);
    if (breaks.empty()) return;
    const double x = plot.x + plot.width + names;
    double y = plot.y;
    MeasuringPainter measuring(painter);
    const double last = area.y + area.height, one_line = 0.85 * line_height * em;
    for (std::size_t k = 0; k < breaks.size(); ++k) {
        const auto written = [&](Painter& on) {
            return paragraph(on, x + 1.5 * em, y, breaks[k].words, 0.85 * em, side - 1.5 * em, theme.ink,
                             Weight::regular, 12);
        };
        if (written(measuring) + (k + 1 < breaks.size() ? one_line : 0.0) > last) {
            paragraph(painter, x, y, spoken(words::control_more_breaks, breaks.size() - k), 0.85 * em, side,
                      theme.soft_ink, Weight::regular, 1);
            break;
        }
        painter.text({x, y + 0.98 * 0.85 * em}, std::to_string(k + 1), 0.85 * em, theme.accent, Align::left,
                     Weight::bold);
        y = written(painter) + 0.25 * em;
    }
}

void draw_duplicates_panel(Painter& painter, const Rect& area, const models::DuplicateChart& chart, const Look& look) {
    const Theme& theme = look.theme;
    const double em = look.text_px, thin = std::max(look.hairline_px, em / 16.0), names = 8.0 * em;
    painter.text({area.x, area.y + em}, spoken(words::control_duplicates, models::in_words(chart.what)), 1.05 * em,
                 theme.ink, Align::left, Weight::bold);
    const double said = paragraph(painter, area.x, area.y + 1.5 * em, chart.says + ".", 0.9 * em, area.width,
                                  theme.soft_ink, Weight::regular, 2);
    double low = 1e300, high = 0.0, most = chart.limit_holds ? chart.repeatability->relative_limit() * 100.0 : 1.0;
    for (const models::ChartedPair& charted : chart.pairs) {
        const double mean = 0.5 * (charted.pair.first_mg_per_kg + charted.pair.second_mg_per_kg);
        low = std::min(low, mean);
        high = std::max(high, mean);
        most = std::max(most, charted.relative_difference * 100.0);
    }
    Axis left, bottom;
    left.title = spoken(words::control_relative_difference);
    bottom.title = spoken(words::control_mean_of_both);
    left.scale = {0.0, 1.12 * most, 0.0, 0.0, false};
    bottom.scale = {low / 1.15, high * 1.15, 0.0, 0.0, true};
    left.ticks = linear_ticks(left.scale.low, left.scale.high, 6);
    const FrameRoom frame = frame_room(painter, left.ticks, look);
    const double gap = std::max(frame.left, 5.2 * em);
    const Rect plot{area.x + gap, said + 0.5 * em, area.width - gap - names,
                    area.y + area.height - said - frame.bottom - 1.0 * em};
    left.scale.from_px = plot.y + plot.height;
    left.scale.to_px = plot.y;
    bottom.scale.from_px = plot.x;
    bottom.scale.to_px = plot.x + plot.width;
    bottom.ticks = log_ticks(bottom.scale.low, bottom.scale.high, 8);
    draw_frame(painter, plot, bottom, left, look);
    if (chart.limit_holds) {
        const double limit = chart.repeatability->relative_limit() * 100.0, y = left.scale.px(limit);
        painter.polyline({{plot.x, y}, {plot.x + plot.width, y}}, theme.ink, 1.6 * thin, false, true);
        painter.text({plot.x + plot.width + 0.8 * em, y + 0.3 * em},
                     spoken(words::control_repeatability_limit, models::said(fmt::format("{:.1f}", limit))), 0.85 * em,
                     theme.soft_ink);
    }
    LabelPlaces places;
    for (const models::ChartedPair& charted : chart.pairs) {
        const double mean = 0.5 * (charted.pair.first_mg_per_kg + charted.pair.second_mg_per_kg);
        const Point at{bottom.scale.px(mean), left.scale.px(charted.relative_difference * 100.0)};
        painter.disc(at, 0.24 * em, theme.ink);
        if (!charted.over_limit) continue;
        painter.circle(at, 0.55 * em, theme.accent, 1.8 * thin);
        const std::string tests = charted.pair.first_test + ", " + charted.pair.second_test;
        const bool right = at.x < plot.x + 0.7 * plot.width;
        const Point baseline{at.x + (right ? 0.8 : -0.8) * em, at.y + 0.3 * em};
        const Align align = right ? Align::left : Align::right;
        if (places.claim(text_box(painter, baseline, tests, 0.8 * em, align, Weight::regular)))
            painter.text(baseline, tests, 0.8 * em, theme.accent, align);
    }
}

/// A chart shows how readings lie to each other: one by itself is told in words.
bool has_panel(const models::ControlChart& chart) {
    return chart.points.size() > 1;
}

std::string read_once_in_words(const std::vector<models::ControlChart>& charts) {
    std::string list;
    for (const models::ControlChart& chart : charts) {
        if (has_panel(chart)) continue;
        const models::ChartPoint& point = chart.points.front();
        const std::string outside =
            point.outside_bounds ? "; " + spoken(words::control_outside, models::accepted_in_words(chart.control)) : "";
        list += (list.empty() ? "" : "; ") + spoken(words::control_one_reading, chart.control.control,
                                                    models::lot_in_words(chart.method, chart.kit_lot),
                                                    signed_content(point), month_and_day(point.time),
                                                    set_number_text(chart.control.assigned_mg_per_kg), outside);
    }
    return list.empty() ? "" : spoken(words::control_read_once, list);
}

std::vector<const models::DuplicateChart*> drawn_duplicates(const ControlFigure& figure) {
    std::vector<const models::DuplicateChart*> drawn;
    for (const models::DuplicateChart& chart : figure.duplicates) {
        if (!chart.pairs.empty()) drawn.push_back(&chart);
    }
    return drawn;
}

/// How high a panel should be, in letters: one with many numbered readings has more to say beside it.
double wanted_ems(const ControlFigure& figure, std::size_t panel) {
    if (panel >= figure.charts.size()) return panel_ems;
    double ems = 6.0;
    for (const NumberedBreak& one : breaks_of(figure.charts[panel]))
        ems += 0.25 + 1.2 * std::ceil(static_cast<double>(one.words.size()) / letters_beside);
    return std::clamp(ems, panel_ems, most_panel_ems);
}

double wanted_ems(const ControlFigure& figure, std::size_t first, std::size_t panels) {
    double ems = 0.0;
    for (std::size_t k = 0; k < panels; ++k) ems += wanted_ems(figure, first + k);
    return ems;
}

}  // namespace control_drawing

std::size_t ControlFigure::panels() const {
    return charts.size() + control_drawing::drawn_duplicates(*this).size();
}

ControlFigure control_figure_of(const ControlView& view, const ControlQuestion& question) {
    ControlFigure figure;
    figure.title =
        question.season ? spoken(words::title_control_season, *question.season) : spoken(words::title_control);
    figure.subtitle = spoken(words::subtitle_control);
    std::copy_if(view.charts.begin(), view.charts.end(), std::back_inserter(figure.charts), control_drawing::has_panel);
    figure.read_once = control_drawing::read_once_in_words(view.charts);
    figure.duplicates = view.duplicates;
    return figure;
}

void draw_control_figure(Painter& painter, const Rect& area, const ControlFigure& figure, const Look& look,
                         std::size_t first, std::size_t panels) {
    const double em = look.text_px;
    const std::size_t shown = std::min(panels, figure.panels() - std::min(first, figure.panels()));
    std::vector<std::string> below = {spoken(words::control_key)};
    if (!figure.read_once.empty() && first + shown == figure.panels()) below.insert(below.begin(), figure.read_once);
    const Rect room = draw_sheet(painter, area, {figure.title, figure.subtitle, below, ""}, look);
    if (shown == 0) {
        draw_empty(painter, room, spoken(words::control_none), look);
        return;
    }
    const auto duplicates = control_drawing::drawn_duplicates(figure);
    const double unit = std::min((room.height + 1.2 * em) / control_drawing::wanted_ems(figure, first, shown),
                                 30.0 / control_drawing::panel_ems * em);
    double top = room.y;
    for (std::size_t k = 0; k < shown; ++k) {
        const std::size_t number = first + k;
        const double step = unit * control_drawing::wanted_ems(figure, number);
        const Rect panel{room.x, top, room.width, step - 1.2 * em};
        top += step;
        if (number < figure.charts.size()) {
            control_drawing::draw_chart_panel(painter, panel, figure.charts[number], look);
        } else {
            control_drawing::draw_duplicates_panel(painter, panel, *duplicates[number - figure.charts.size()], look);
        }
    }
}

void write_control_figure(const std::string& path, const ControlFigure& figure) {
    if (figure.panels() == 0) {
        throw models::Error(
            figure.read_once.empty() ? "there is no control reading and no duplicate, so there is nothing to draw"
                                     : "every control was read once with its kit lot, so there is nothing to draw",
            "--out",
            "leave it out, ask for another season or control, or read a control: a sample of stage control that bears "
            "the control's name");
    }
    const std::string kind = std::filesystem::path(path).extension().string();
    if (kind == ".pdf") {
        std::vector<PdfPage> pages;
        constexpr std::size_t a_page = 3;
        for (std::size_t first = 0; first < figure.panels(); first += a_page) {
            PdfPage page;
            const Rect area{36.0, 36.0, page.width - 72.0, page.height - 72.0};
            page.draw = [&figure, area, first](Painter& painter) {
                draw_control_figure(painter, area, figure, page_look(8.0), first, a_page);
            };
            pages.push_back(std::move(page));
        }
        write_pdf(path, pages, figure.title);
        return;
    }
    constexpr int width = 1280;
    Look look;
    look.text_px = 16.0;
    const double once_ems = 1.4 * std::ceil(static_cast<double>(figure.read_once.size()) / 120.0);
    const int height = static_cast<int>(look.text_px * (control_drawing::sheet_ems + once_ems +
                                                        control_drawing::wanted_ems(figure, 0, figure.panels())));
    const Rect area{24.0, 24.0, width - 48.0, height - 48.0};
    const auto draw = [&](Painter& painter) { draw_control_figure(painter, area, figure, look); };
    if (kind == ".png") {
        write_png(path, width, height, look.theme.paper, draw);
    } else if (kind == ".svg") {
        geo::write_whole_file(path, svg_text(width, height, look.theme.paper, figure.title, figure.subtitle, draw));
    } else {
        throw models::Error("\"" + path + "\" is no picture that can be written", "--out",
                            "end its name in .png, .svg or .pdf");
    }
}

}  // namespace app
