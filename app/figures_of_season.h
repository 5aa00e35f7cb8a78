#pragma once

#include <string>

#include "app/drawing/figures/bins_figure.h"
#include "app/drawing/figures/hours_figure.h"
#include "app/drawing/figures/map_figure.h"
#include "app/drawing/figures/rank_figure.h"
#include "app/workflow.h"

namespace app {

/// A season put into the figures that screen, picture and report share.
drawing::MapFigure map_figure_of(const SeasonView& view, drawing::MapShows shows);
drawing::RankFigure rank_figure_of(const SeasonView& view);
drawing::BinsFigure bins_figure_of(const SeasonView& view);
/// The hours around flowering of one crop record, from the nearest station.
drawing::HoursFigure hours_figure_of(const geo::Store& store, const SeasonView& view, std::size_t crop);

/// Sentences that stand beside every number that somebody might act on.
namespace caution {
inline constexpr const char* screening =
    "Screening result, not a certificate. Confirm in an accredited laboratory before grain is condemned or released "
    "near "
    "a limit. Local law, the contract and licensed advice stand above this program.";
inline constexpr const char* only_don =
    "Tested for DON only: it says nothing about zearalenone, T-2/HT-2, ochratoxin or ergot.";
inline constexpr const char* risk_is_not_don =
    "Disease risk is the chance of a field severity of 10 % or more. It is not a chance of exceeding a DON limit.";
}  // namespace caution

}  // namespace app
