#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/drawing/painter.h"
#include "app/drawing/palette.h"

namespace app::drawing {

/// The content along a line over the map, with the fields that it crosses named below it.
struct TransectFigure {
    std::string title, subtitle;
    double length_m = 0.0;
    struct Place {
        double at_m = 0.0;
        double median = 0.0, low90 = 0.0, high90 = 0.0, low50 = 0.0, high50 = 0.0;
    };
    struct Stretch {
        std::string field;
        double from_m = 0.0, to_m = 0.0;
        bool by_surface = false;
        std::vector<Place> places;  ///< empty: no number
    };
    std::vector<Stretch> stretches;
    std::optional<double> limit_mg_per_kg;
    std::string empty;  ///< what to say where no field is crossed
    std::vector<std::string> notes;
};
/// `at_m` marks a place of the line that the reader points at.
/// @returns the plot, so that a window knows which place that is
Rect draw_transect_figure(Painter& painter, const Rect& area, const TransectFigure& figure, const Look& look,
                          std::optional<double> at_m = std::nullopt);

}  // namespace app::drawing
