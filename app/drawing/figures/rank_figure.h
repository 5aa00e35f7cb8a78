#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/drawing/painter.h"
#include "app/drawing/palette.h"
#include "app/words.h"

namespace app::drawing {

struct RankRow {
    int rank = 0;
    std::string field;
    std::optional<double> median_mg_per_kg, low90_mg_per_kg, high90_mg_per_kg, low50_mg_per_kg, high50_mg_per_kg;
    std::optional<double> exceedance;
    std::optional<double> risk, risk_low, risk_high;  ///< probability or index; drawn where no content is known
    std::string risk_extrapolated;                    ///< what the model's data do not hold; empty: nothing
    int tests = 0;
    std::string why;  ///< one sentence
};

/// Fields in the order in which a test is worth most, with their intervals on a logarithmic axis and the limit as a
/// line. With no DON result anywhere the axis shows the disease risk, and the figure says that it is a ranking only.
struct RankFigure {
    std::string title, subtitle;
    std::vector<RankRow> rows;
    bool risk_only = false;
    std::string risk_axis = spoken(words::ranks_risk_axis);
    std::optional<double> limit_mg_per_kg;
    std::string limit_text;
    std::string caution;
};
/// Draws as many rows as there is room for and says how many more there are.
void draw_rank_figure(Painter& painter, const Rect& area, const RankFigure& figure, const Look& look);

}  // namespace app::drawing
