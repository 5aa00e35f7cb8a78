#pragma once

#include <limits>
#include <string>
#include <vector>

#include "app/drawing/painter.h"
#include "app/drawing/palette.h"

namespace app::drawing {

/// One hour at a field. What was not measured is NaN and is counted, not drawn.
struct HourMark {
    double days_from_flowering = 0.0;  ///< middle of the hour, from noon of the flowering day; before it negative
    double temperature_degc = std::numeric_limits<double>::quiet_NaN();
    double dew_point_depression_degc = std::numeric_limits<double>::quiet_NaN();
    double rain_mm = std::numeric_limits<double>::quiet_NaN();
};

/// The hours around flowering of one field: temperature against how far the air was from saturation. Information
/// only: it shows no threshold and no class, and says nothing about a limit.
struct HoursFigure {
    std::string title;     ///< "Hours around flowering: Long Acre, 2026"
    std::string subtitle;  ///< flowering date and its source, station and distance
    std::vector<HourMark> hours;
    std::string model;               ///< display name of the disease model
    double window_first_day = -7.0;  ///< the days that the model looks at, relative to flowering
    double window_last_day = 10.0;
    std::string note;  ///< coverage, what is missing; may be empty
};
void draw_hours_figure(Painter& painter, const Rect& area, const HoursFigure& figure, const Look& look);

}  // namespace app::drawing
