#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/drawing/painter.h"
#include "app/drawing/palette.h"

namespace app::drawing {

/// Groups of like chances against the share of each that happened.
struct ReliabilityPanel {
    std::string title;
    struct Group {
        double predicted = 0.0, observed = 0.0;
        double low95 = 0.0, high95 = 1.0;  ///< of the observed share
        int n = 0;
    };
    std::vector<Group> groups;
    std::string empty;  ///< what to say where there is none
};

/// How a score parts events from the rest, for every bound.
struct OrderCurve {
    std::vector<Point> shares;  ///< x: of the others, y: of the events, at or over the bound; from 0, 0 to 1, 1
    bool chosen = false;
};

/// One model of the league table. Texts are as they stand; empty: a dash.
struct LeagueRow {
    std::string name;
    std::string fields, auc_text, interval_text, brier, skill, don;
    std::optional<double> auc;
    std::optional<double> low95, high95;                          ///< over seasons
    std::optional<double> independent_low95, independent_high95;  ///< as if fields were independent
    bool chosen = false;
};

/// What past seasons teach: reliability of a disease model, and of kept forecasts where there are any; how models order
/// fields; and all models as a table with the interval of each. Greys and ink; the chosen model is thick and bold, not
/// coloured.
struct ReviewFigure {
    std::string title, subtitle;
    std::vector<ReliabilityPanel> reliability;
    std::vector<OrderCurve> order;
    std::string order_empty;
    std::string league_title;
    std::string don_head;  ///< of the column that says how results over a limit were ordered; empty: no such column
    std::vector<LeagueRow> league;
    std::string brier_note, skill_note;  ///< below the others where the table has these columns
    std::vector<std::string> notes;
    std::string caution;
};
/// The height that it wants at that width.
double height_of_review_figure(const Painter& measure, double width, const ReviewFigure& figure, const Look& look);
void draw_review_figure(Painter& painter, const Rect& area, const ReviewFigure& figure, const Look& look);

}  // namespace app::drawing
