#include "app/drawing/figures/review_figure.h"

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "app/drawing/chart.h"
#include "app/drawing/figures/sheet.h"
#include "app/drawing/numbers.h"
#include "app/words.h"

namespace app::drawing {

namespace {

constexpr double league_row_ems = 1.75, league_head_ems = 3.9, league_axis_ems = 3.6, between_panels_ems = 1.6;

double thin_line(const Look& look) {
    return std::max(look.hairline_px, look.text_px / 16.0);
}

/// A square of shares with its title above and, where it is empty, why.
Rect share_frame(Painter& painter, const Rect& area, const std::string& title, const char* across, const char* up,
                 Axis& bottom, Axis& left, const Look& look) {
    const double em = look.text_px;
    painter.text({area.x, area.y + em}, shortened(painter, title, 1.05 * em, area.width, Weight::bold), 1.05 * em,
                 look.theme.ink, Align::left, Weight::bold);
    left.title = up;
    bottom.title = across;
    for (Axis* axis : {&left, &bottom}) {
        axis->scale.low = 0.0;
        axis->scale.high = 1.0;
        for (int percent = 0; percent <= 100; percent += 25)
            axis->ticks.push_back({percent / 100.0, fmt::format("{} %", percent)});
    }
    const FrameRoom frame = frame_room(painter, left.ticks, look);
    const Rect plot{area.x + frame.left, area.y + 2.2 * em, area.width - frame.left - 1.4 * em,
                    area.height - 2.2 * em - frame.bottom - 0.4 * em};
    left.scale.from_px = plot.y + plot.height;
    left.scale.to_px = plot.y;
    bottom.scale.from_px = plot.x;
    bottom.scale.to_px = plot.x + plot.width;
    draw_frame(painter, plot, bottom, left, look);
    painter.polyline({{plot.x, plot.y + plot.height}, {plot.x + plot.width, plot.y}}, look.theme.soft_ink,
                     1.4 * thin_line(look), false, true);
    return plot;
}

void say_in_plot(Painter& painter, const Rect& plot, const std::string& words, const Look& look) {
    const double em = look.text_px, width = 0.8 * plot.width;
    const auto lines = wrapped(painter, words, 0.9 * em, width);
    double y = plot.y + 0.3 * plot.height, widest = 0.0;
    for (const std::string& line : lines) widest = std::max(widest, painter.text_width(line, 0.9 * em));
    const double height = line_height * 0.9 * em * static_cast<double>(lines.size());
    const double x = plot.x + 0.5 * (plot.width - widest);
    painter.rect({x - 0.4 * em, y - 0.2 * em, widest + 0.8 * em, height + 0.4 * em}, look.theme.paper);
    paragraph(painter, x, y, words, 0.9 * em, width, look.theme.ink);
}

void draw_reliability(Painter& painter, const Rect& area, const ReliabilityPanel& panel, const Look& look) {
    const double em = look.text_px, thin = thin_line(look), radius = 0.27 * em;
    Axis bottom, left;
    const Rect plot = share_frame(painter, area, panel.title, spoken(words::review_predicted),
                                  spoken(words::review_observed), bottom, left, look);
    if (panel.groups.empty()) {
        say_in_plot(painter, plot, panel.empty, look);
        return;
    }
    const auto at = [&](const ReliabilityPanel::Group& group) {
        return Point{bottom.scale.px(group.predicted), left.scale.px(group.observed)};
    };
    LabelPlaces places;
    std::vector<Point> line;
    for (const ReliabilityPanel::Group& group : panel.groups) {
        const Point here = at(group);
        line.push_back(here);
        places.reserve({here.x - radius, here.y - radius, 2.0 * radius, 2.0 * radius});
        const double top = left.scale.px(group.high95), foot = left.scale.px(group.low95);
        painter.polyline({{here.x, foot}, {here.x, top}}, look.theme.soft_ink, 1.6 * thin);
        places.reserve({here.x - thin, top, 2.0 * thin, foot - top});
    }
    painter.polyline(line, look.theme.ink, 1.8 * thin);
    // Numbers keep off the line, too.
    for (std::size_t i = 1; i < line.size(); ++i) {
        for (int step = 1; step < 24; ++step) {
            const double share = step / 24.0;
            const Point on{line[i - 1].x + share * (line[i].x - line[i - 1].x),
                           line[i - 1].y + share * (line[i].y - line[i - 1].y)};
            places.reserve({on.x - thin, on.y - thin, 2.0 * thin, 2.0 * thin});
        }
    }
    for (const ReliabilityPanel::Group& group : panel.groups) painter.disc(at(group), radius, look.theme.ink);
    for (const ReliabilityPanel::Group& group : panel.groups) {
        const Point here = at(group);
        const std::string words = std::to_string(group.n);
        const double size = 0.8 * em;
        // Right of the dot, else left, below or above, wherever there is room.
        const std::array<std::pair<Point, Align>, 6> where = {{{{here.x + 0.5 * em, here.y + 0.95 * em}, Align::left},
                                                               {{here.x - 0.5 * em, here.y - 0.35 * em}, Align::right},
                                                               {{here.x + 0.5 * em, here.y - 0.35 * em}, Align::left},
                                                               {{here.x - 0.5 * em, here.y + 0.95 * em}, Align::right},
                                                               {{here.x + 0.5 * em, here.y + 1.9 * em}, Align::left},
                                                               {{here.x - 0.5 * em, here.y - 1.3 * em}, Align::right}}};
        for (const auto& [baseline, align] : where) {
            const Rect box = text_box(painter, baseline, words, size, align, Weight::regular);
            if (!holds(plot, box) || !places.claim(box)) continue;
            painter.text(baseline, words, size, look.theme.ink, align);
            break;
        }
    }
}

void draw_order(Painter& painter, const Rect& area, const ReviewFigure& figure, const Look& look) {
    Axis bottom, left;
    const Rect plot = share_frame(painter, area, spoken(words::review_roc), spoken(words::review_roc_other),
                                  spoken(words::review_roc_diseased), bottom, left, look);
    if (figure.order.empty()) {
        say_in_plot(painter, plot, figure.order_empty, look);
        return;
    }
    for (const bool chosen : {false, true}) {
        for (const OrderCurve& curve : figure.order) {
            if (curve.chosen != chosen) continue;
            std::vector<Point> line;
            for (const Point& share : curve.shares) line.push_back({bottom.scale.px(share.x), left.scale.px(share.y)});
            painter.polyline(line, chosen ? look.theme.ink : blended(look.theme.paper, look.theme.ink, 0.45),
                             chosen ? 0.2 * look.text_px : 1.2 * thin_line(look));
        }
    }
}

struct Column {
    std::string head;
    std::string LeagueRow::*text;
    int leaves;  ///< in which order they leave where there is little room; the area is drawn, too
    double width = 0.0, right = 0.0;
};

/// The room of the names, the longest whole where there is room for it, and the columns beside what is drawn.
struct LeagueColumns {
    double names = 0.0;
    std::vector<Column> columns;
};

LeagueColumns columns_of_league(const Painter& painter, double width, const ReviewFigure& figure, const Look& look) {
    const double em = look.text_px, size = 0.95 * em, least_plot = 7.0 * em;
    LeagueColumns out;
    double longest = 0.0;
    for (const LeagueRow& row : figure.league)
        longest = std::max(longest, painter.text_width(row.name, size, Weight::bold));
    out.names = std::min(longest, 0.36 * width);
    std::vector<Column>& columns = out.columns;
    columns = {{spoken(words::review_league_fields), &LeagueRow::fields, 3},
               {spoken(words::review_league_auc), &LeagueRow::auc_text, 5},
               {spoken(words::review_league_interval), &LeagueRow::interval_text, 4},
               {spoken(words::review_league_brier), &LeagueRow::brier, 0},
               {spoken(words::review_league_skill), &LeagueRow::skill, 1}};
    if (!figure.don_head.empty()) columns.push_back({figure.don_head, &LeagueRow::don, 2});
    double columns_width = 0.0;
    for (Column& column : columns) {
        double widest = painter.text_width(column.head, 0.85 * em);
        for (const LeagueRow& row : figure.league)
            widest = std::max(widest, painter.text_width(row.*(column.text), size, Weight::bold));
        column.width = widest + 1.1 * em;
        columns_width += column.width;
    }
    while (columns.size() > 1 && width - out.names - columns_width - 2.6 * em < least_plot) {
        const auto first_to_leave = std::min_element(columns.begin(), columns.end(),
                                                     [](const auto& a, const auto& b) { return a.leaves < b.leaves; });
        columns_width -= first_to_leave->width;
        columns.erase(first_to_leave);
    }
    out.names = std::clamp(width - columns_width - 2.6 * em - 1.4 * least_plot, out.names, longest);
    return out;
}

void draw_league(Painter& painter, const Rect& area, const ReviewFigure& figure, const Look& look) {
    const Theme& theme = look.theme;
    const double em = look.text_px, size = 0.95 * em, thin = thin_line(look);
    painter.text({area.x, area.y + em}, shortened(painter, figure.league_title, 1.05 * em, area.width, Weight::bold),
                 1.05 * em, theme.ink, Align::left, Weight::bold);
    LeagueColumns room = columns_of_league(painter, area.width, figure, look);
    std::vector<Column>& columns = room.columns;
    const double names = room.names;
    double right = area.x + area.width;
    const double head = area.y + 2.9 * em, first = area.y + league_head_ems * em;
    for (auto column = columns.rbegin(); column != columns.rend(); ++column) {
        column->right = right;
        painter.text({right, head}, column->head, 0.85 * em, theme.soft_ink, Align::right);
        right -= column->width;
    }
    const Rect plot{area.x + names + 1.6 * em, first - 0.5 * em, right - area.x - names - 2.6 * em,
                    league_row_ems * em * static_cast<double>(figure.league.size()) + 0.3 * em};
    Scale across{0.0, 1.0, plot.x, plot.x + plot.width, false};
    LabelPlaces places;
    for (const double share : {0.0, 1.0, 0.5, 0.25, 0.75}) {
        const double x = across.px(share);
        painter.polyline({{x, plot.y}, {x, plot.y + plot.height}}, share == 0.5 ? theme.soft_ink : theme.line,
                         share == 0.5 ? 1.4 * thin : thin, false, share == 0.5);
        const Point baseline{x, plot.y + plot.height + 1.2 * em};
        const std::string label = models::said(fmt::format("{:.2f}", share));
        Rect box = text_box(painter, baseline, label, 0.85 * em, Align::centre, Weight::regular);
        box.x -= 0.2 * em;
        box.width += 0.4 * em;
        if (places.claim(box)) painter.text(baseline, label, 0.85 * em, theme.soft_ink, Align::centre);
    }
    paragraph(painter, plot.x, plot.y + plot.height + 1.6 * em, spoken(words::review_league_area), 0.85 * em,
              area.x + area.width - plot.x, theme.soft_ink, Weight::regular, 1);
    for (std::size_t i = 0; i < figure.league.size(); ++i) {
        const LeagueRow& row = figure.league[i];
        const double middle_y = first + league_row_ems * em * (static_cast<double>(i) + 0.25);
        const double baseline = middle_y + 0.35 * size;
        const Weight weight = row.chosen ? Weight::bold : Weight::regular;
        painter.text({area.x, baseline}, shortened(painter, row.name, size, names, weight), size, theme.ink,
                     Align::left, weight);
        for (const Column& column : columns) {
            const std::string& text = row.*(column.text);
            painter.text({column.right, baseline}, text.empty() ? "–" : text, size, theme.ink, Align::right, weight);
        }
        if (!row.auc) continue;
        if (row.independent_low95 && row.independent_high95) {
            const double below_y = middle_y + 0.42 * em;
            painter.polyline(
                {{across.px(*row.independent_low95), below_y}, {across.px(*row.independent_high95), below_y}},
                blended(theme.paper, theme.ink, 0.4), 1.6 * thin);
        }
        if (row.low95 && row.high95) {
            painter.polyline({{across.px(*row.low95), middle_y}, {across.px(*row.high95), middle_y}}, theme.ink,
                             (row.chosen ? 3.0 : 1.6) * thin);
        }
        painter.disc({across.px(*row.auc), middle_y}, (row.chosen ? 0.34 : 0.26) * em, theme.ink);
    }
}

double league_height(const ReviewFigure& figure, const Look& look) {
    if (figure.league.empty()) return 0.0;
    return look.text_px *
           (league_head_ems + league_axis_ems + league_row_ems * static_cast<double>(figure.league.size()));
}

/// What stands around it, at that width of the whole: a column that has no room is not explained.
SheetWords sheet_of_review(const Painter& painter, double width, const ReviewFigure& figure, const Look& look) {
    SheetWords words{figure.title, figure.subtitle, figure.notes, figure.caution};
    if (figure.league.empty()) return words;
    constexpr double margins_ems = 1.8;  // of a sheet
    for (const Column& column : columns_of_league(painter, width - margins_ems * look.text_px, figure, look).columns) {
        if (column.text == &LeagueRow::brier) words.notes.push_back(figure.brier_note);
        if (column.text == &LeagueRow::skill) words.notes.push_back(figure.skill_note);
    }
    return words;
}

}  // namespace

namespace {

/// The squares of shares side by side, in several rows where they would be too small to be read.
struct PanelRows {
    int columns = 1, rows = 1;
    double width = 0.0, height = 0.0;  ///< of a panel; the height as wanted
};
PanelRows rows_of_panels(const ReviewFigure& figure, double width, const Look& look) {
    constexpr double least_ems = 17.0;
    const double em = look.text_px, gap = between_panels_ems * em;
    const int panels = static_cast<int>(figure.reliability.size()) + 1;
    PanelRows out;
    out.columns = std::clamp(static_cast<int>((width + gap) / (least_ems * em + gap)), 1, panels);
    out.rows = (panels + out.columns - 1) / out.columns;
    out.width = (width - gap * (out.columns - 1)) / out.columns;
    out.height = std::min(out.width, 26.0 * em) + 2.0 * em;
    return out;
}

}  // namespace

double height_of_review_figure(const Painter& measure, double width, const ReviewFigure& figure, const Look& look) {
    MeasuringPainter nothing(measure);
    constexpr double ample = 1e5;
    const Rect room =
        draw_sheet(nothing, {0.0, 0.0, width, ample}, sheet_of_review(measure, width, figure, look), look);
    const PanelRows panels = rows_of_panels(figure, room.width, look);
    return ample - room.height + panels.rows * (panels.height + 1.2 * look.text_px) + league_height(figure, look);
}

void draw_review_figure(Painter& painter, const Rect& area, const ReviewFigure& figure, const Look& look) {
    const Rect room = draw_sheet(painter, area, sheet_of_review(painter, area.width, figure, look), look);
    if (figure.reliability.empty() && figure.order.empty() && figure.league.empty()) {
        draw_empty(painter, room, spoken(words::review_nothing), look);
        return;
    }
    const double em = look.text_px, gap = between_panels_ems * em, league = league_height(figure, look);
    const PanelRows panels = rows_of_panels(figure, room.width, look);
    const double row = (room.height - league) / panels.rows;
    int drawn = 0;
    const auto next = [&] {
        const Rect panel{room.x + (panels.width + gap) * (drawn % panels.columns),
                         room.y + row * (drawn / panels.columns), panels.width, row - 1.2 * em};
        ++drawn;
        return panel;
    };
    for (const ReliabilityPanel& one : figure.reliability) draw_reliability(painter, next(), one, look);
    draw_order(painter, next(), figure, look);
    if (!figure.league.empty())
        draw_league(painter, {room.x, room.y + room.height - league, room.width, league}, figure, look);
}

}  // namespace app::drawing
