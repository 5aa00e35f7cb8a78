#pragma once

#include "app/drawing/figures/acceptance_figure.h"
#include "app/drawing/figures/bins_figure.h"
#include "app/drawing/figures/hours_figure.h"
#include "app/drawing/figures/map_figure.h"
#include "app/drawing/figures/rank_figure.h"

/// Invented figures with as much in them as a real district has: 48 irregular fields, 120 tests, 8 bins.
namespace samples {

app::drawing::MapFigure district_map();   ///< one value a field, tests of all four kinds
app::drawing::MapFigure mapped_within();  ///< a third of the fields mapped inside, with contours
app::drawing::MapFigure exceedance_map();
app::drawing::MapFigure ranking_map();  ///< no DON result anywhere
app::drawing::HoursFigure hours();
app::drawing::BinsFigure bins();
app::drawing::RankFigure ranks();
app::drawing::RankFigure risk_ranks();
app::drawing::AcceptanceFigure acceptance();  ///< two plans and a target

}  // namespace samples
