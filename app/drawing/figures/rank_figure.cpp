#include "app/drawing/figures/rank_figure.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "app/drawing/chart.h"
#include "app/drawing/content_unit.h"
#include "app/drawing/figures/sheet.h"
#include "app/drawing/numbers.h"
#include "app/words.h"

namespace app::drawing {

namespace {

// Sizes of the reasons, in sizes of running text: smaller before they take a second line.
constexpr double large_why = 0.92;
constexpr double small_why = 0.82;

/// Left and right edge of each column; a column without room has none.
struct Columns {
    double rank_right = 0.0, name_x = 0.0, name_width = 0.0, plot_x = 0.0, plot_width = 0.0;
    double chance_right = 0.0, tests_right = 0.0, why_x = 0.0, why_width = 0.0;
    double why_size = 0.0;
    bool two_lines = false;  ///< some reason is too long for one line
};

Columns columns_of(const Painter& painter, const Rect& room, const RankFigure& figure, const Look& look) {
    const double em = look.text_px;
    Columns columns;
    double widest = 0.0;
    for (const auto& row : figure.rows) widest = std::max(widest, painter.text_width(row.field, em, Weight::bold));
    columns.rank_right = room.x + 2.2 * em;
    columns.name_x = columns.rank_right + 0.7 * em;
    columns.name_width = std::min(widest + 0.2 * em, 0.24 * room.width);
    columns.plot_x = columns.name_x + columns.name_width + 1.2 * em;
    double right = room.x + room.width;
    const bool any_why =
        std::any_of(figure.rows.begin(), figure.rows.end(), [](const RankRow& row) { return !row.why.empty(); });
    if (any_why && room.width > 58.0 * em) {
        columns.why_width = 0.34 * room.width;
        columns.why_x = right - columns.why_width;
        right = columns.why_x - 1.0 * em;
        const auto some_wider = [&](double size) {
            return std::any_of(figure.rows.begin(), figure.rows.end(), [&](const RankRow& row) {
                return painter.text_width(row.why, size, Weight::regular) > columns.why_width;
            });
        };
        columns.why_size = (some_wider(large_why * em) ? small_why : large_why) * em;
        columns.two_lines = some_wider(columns.why_size);
    }
    columns.tests_right = right;
    columns.chance_right = figure.risk_only ? right : right - 3.6 * em;
    columns.plot_width = columns.chance_right - 5.4 * em - columns.plot_x;
    return columns;
}

Axis axis_of(const RankFigure& figure, const Columns& columns, const Look& look) {
    Axis axis;
    const int most = std::max(2, static_cast<int>(columns.plot_width / (2.4 * look.text_px)));
    if (figure.risk_only) {
        double high = 0.0;
        for (const auto& row : figure.rows)
            high = std::max({high, row.risk.value_or(0.0), row.risk_high.value_or(0.0)});
        axis.scale = {0.0, high > 0.0 && high <= 1.0 ? 1.0 : std::max(1.0, high), 0.0, 1.0, false};
        axis.ticks = linear_ticks(axis.scale.low, axis.scale.high, most);
    } else {
        std::vector<double> contents;
        for (const auto& row : figure.rows)
            for (const auto& content : {row.median_mg_per_kg, row.low90_mg_per_kg, row.high90_mg_per_kg})
                if (content) contents.push_back(*content);
        const ContentScale scale = content_scale_for(contents, figure.limit_mg_per_kg.value_or(0.0));
        axis.scale = {scale.low_mg_per_kg, scale.high_mg_per_kg, 0.0, 1.0, true};
        axis.ticks = content_ticks(axis.scale.low, axis.scale.high, most);
    }
    axis.scale.from_px = columns.plot_x;
    axis.scale.to_px = columns.plot_x + columns.plot_width;
    return axis;
}

void draw_row(Painter& painter, const RankRow& row, double y, double height, const Columns& columns, const Axis& axis,
              const RankFigure& figure, const Look& look) {
    const Theme& theme = look.theme;
    const double em = look.text_px, baseline = y + 0.35 * em;
    painter.text({columns.rank_right, baseline}, fmt::format("{}.", row.rank), em, theme.soft_ink, Align::right);
    painter.text({columns.name_x, baseline}, shortened(painter, row.field, em, columns.name_width, Weight::bold), em,
                 theme.ink, Align::left, Weight::bold);
    const double thickness = std::min(0.62 * em, 0.42 * height);
    std::string chance;
    if (figure.risk_only) {
        if (row.risk) {
            const double risk = *row.risk;
            draw_interval(painter, axis.scale, y, thickness,
                          {risk, row.risk_low.value_or(risk), row.risk_high.value_or(risk), 0.0, 0.0},
                          ranking_ramp(look.theme).at(axis.scale.high > 0.0 ? risk / axis.scale.high : 0.0), look);
            chance = number_text(risk);
        } else {
            chance = "–";
        }
    } else if (row.median_mg_per_kg) {
        const double median = *row.median_mg_per_kg;
        const ContentScale scale = content_colours(figure.limit_mg_per_kg);
        draw_interval(painter, axis.scale, y, thickness,
                      {median, row.low90_mg_per_kg.value_or(median), row.high90_mg_per_kg.value_or(median),
                       row.low50_mg_per_kg.value_or(0.0), row.high50_mg_per_kg.value_or(0.0)},
                      scale.colour(median, look.theme), look);
        chance = row.exceedance ? percent_text(*row.exceedance) : "–";
    } else {
        chance = "–";
    }
    painter.text({columns.chance_right, baseline}, chance, em, theme.ink, Align::right);
    if (!figure.risk_only)
        painter.text({columns.tests_right, baseline}, fmt::format("{}", row.tests), em, theme.soft_ink, Align::right);
    if (columns.why_width <= 0.0) return;
    const double size = columns.why_size;
    const auto lines = wrapped(painter, row.why, size, columns.why_width);
    const double lines_height = line_height * size * static_cast<double>(std::min<std::size_t>(lines.size(), 2));
    paragraph(painter, columns.why_x, y - 0.5 * lines_height, row.why, size, columns.why_width, theme.ink,
              Weight::regular, columns.two_lines ? 2 : 1);
}

}  // namespace

void draw_rank_figure(Painter& painter, const Rect& area, const RankFigure& figure, const Look& look) {
    const Theme& theme = look.theme;
    const double em = look.text_px, small = 0.88 * em, thin = std::max(look.hairline_px, em / 16.0);
    SheetWords words{figure.title, figure.subtitle, {}, figure.caution};
    if (figure.risk_only) words.subtitle = spoken(words::ranks_risk_subtitle, figure.subtitle);
    if (figure.risk_only)
        words.notes = {spoken(words::ranks_risk_note)};
    else
        words.notes = {figure.limit_text};
    const Rect room = draw_sheet(painter, area, words, look);
    if (figure.rows.empty()) {
        draw_empty(painter, room, spoken(words::ranks_none), look);
        return;
    }
    const Columns columns = columns_of(painter, room, figure, look);
    const Axis axis = axis_of(figure, columns, look);
    const double head = 1.5 * em + line_height * small, foot = 1.4 * em + 1.4 * em + 1.4 * em;
    const double space = room.height - head - foot;
    const auto all = static_cast<int>(figure.rows.size());
    const int count = std::clamp(static_cast<int>(space / ((columns.two_lines ? 2.4 : 1.55) * em)), 1, all);
    const double height = std::min(2.5 * em, space / count);
    const double top = room.y + head, floor_y = top + height * count;

    // Headings stand in one line; the limit's own line above the plot tells its number.
    const double heading_y = room.y + 1.2 * em + small;
    painter.text({columns.chance_right, heading_y},
                 figure.risk_only ? spoken(words::ranks_risk) : spoken(words::ranks_over), small, theme.soft_ink,
                 Align::right);
    if (!figure.risk_only)
        painter.text({columns.tests_right, heading_y}, spoken(words::ranks_tests), small, theme.soft_ink, Align::right);
    painter.text({columns.name_x, heading_y}, spoken(words::ranks_field), small, theme.soft_ink);
    if (columns.why_width > 0.0)
        painter.text({columns.why_x, heading_y}, spoken(words::ranks_why), small, theme.soft_ink);

    LabelPlaces places;
    for (const auto& tick : axis.ticks) {
        const double x = axis.scale.px(tick.value);
        painter.polyline({{x, top}, {x, floor_y}}, tick.label.empty() ? with_alpha(theme.line, 0.5) : theme.line, thin);
        const Point baseline{x, floor_y + 0.3 * em + small};
        Rect box = text_box(painter, baseline, tick.label, small, Align::centre, Weight::regular);
        box.x -= 0.2 * em;
        box.width += 0.4 * em;
        if (!tick.label.empty() && places.claim(box))
            painter.text(baseline, tick.label, small, theme.soft_ink, Align::centre);
    }
    for (int i = 0; i < count; ++i) {
        const double y = top + height * (i + 0.5);
        if (i > 0)
            painter.polyline({{room.x, y - 0.5 * height}, {room.x + room.width, y - 0.5 * height}},
                             with_alpha(theme.line, 0.55), thin);
    }
    if (!figure.risk_only && figure.limit_mg_per_kg && *figure.limit_mg_per_kg > 0.0) {
        const double x = axis.scale.px(*figure.limit_mg_per_kg);
        painter.polyline({{x, top - 0.3 * em}, {x, floor_y}}, theme.ink, 0.14 * em);
        const std::string limit = spoken(words::ramp_limit, set_content_text(*figure.limit_mg_per_kg));
        const double half = 0.5 * painter.text_width(limit, small, Weight::bold);
        painter.text({kept_between(x, columns.plot_x + half, columns.plot_x + columns.plot_width - half), heading_y},
                     limit, small, theme.ink, Align::centre, Weight::bold);
    }
    for (int i = 0; i < count; ++i)
        draw_row(painter, figure.rows[static_cast<std::size_t>(i)], top + height * (i + 0.5), height, columns, axis,
                 figure, look);
    painter.polyline({{columns.plot_x, floor_y}, {columns.plot_x + columns.plot_width, floor_y}}, theme.soft_ink, thin);

    const std::string title = figure.risk_only ? figure.risk_axis : with_unit(spoken(words::ranks_axis));
    const double title_y = floor_y + 0.3 * em + small + line_height * em;
    painter.text({columns.plot_x + 0.5 * columns.plot_width, title_y},
                 shortened(painter, title, small, columns.plot_width + 6.0 * em), small, theme.ink, Align::centre);
    std::string key = figure.risk_only ? spoken(words::ranks_risk_key) : spoken(words::ranks_key);
    if (all - count == 1) key += spoken(words::ranks_one_more);
    if (all - count > 1) key += spoken(words::ranks_more, all - count);
    painter.text({room.x, title_y + line_height * em}, shortened(painter, key, small, room.width), small,
                 theme.soft_ink);
}

}  // namespace app::drawing
