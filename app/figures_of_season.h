#pragma once

#include <string>
#include <vector>

#include "app/cautions.h"
#include "app/drawing/figures/bins_figure.h"
#include "app/drawing/figures/hours_figure.h"
#include "app/drawing/figures/map_figure.h"
#include "app/drawing/figures/rank_figure.h"
#include "app/workflow.h"

namespace app {

/// A season put into the figures that screen, picture and report share.
drawing::MapFigure map_figure_of(const SeasonView& view, drawing::MapShows shows);
/// The tests that the map marks, as indices into SeasonData::tests in the order of MapFigure::tests.
std::vector<std::size_t> tests_on_map(const SeasonView& view);
drawing::RankFigure rank_figure_of(const SeasonView& view);
drawing::BinsFigure bins_figure_of(const SeasonView& view);
/// The hours around flowering of one crop record, from the nearest station.
drawing::HoursFigure hours_figure_of(const geo::Store& store, const SeasonView& view, std::size_t crop);

}  // namespace app
