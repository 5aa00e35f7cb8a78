#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/workflow.h"

namespace app {

/// A line over the map, in the store's flat system.
struct TransectLine {
    models::PointM from, to;
    bool operator==(const TransectLine&) const = default;
};

/// What is known of the content at one place of it.
struct TransectPlace {
    double at_m = 0.0;                                                          ///< from the line's first end
    double median = 0.0, low90 = 0.0, high90 = 0.0, low50 = 0.0, high50 = 0.0;  ///< mg/kg
};

/// A stretch of the line in one field. Between stretches nothing is known and nothing is said.
struct TransectStretch {
    std::string field;
    double from_m = 0.0, to_m = 0.0;
    bool by_surface = false;            ///< of places; else of the field's mean, the same all along
    std::vector<TransectPlace> places;  ///< in order, both ends of the stretch among them; empty: no number
    std::string note;                   ///< why there is none
};

struct Transect {
    TransectLine line;
    double length_m = 0.0;
    std::vector<TransectStretch> stretches;  ///< in order
};

/// The content along a line: in a field whose surface is supported (maps_within_fields) that of the cell under each
/// place, lognormal about its median, in any other field its mean's with the intervals of field_season. Of fields that
/// overlap the smaller one speaks. Edges of fields are found to a ten-thousandth of the line.
/// @throws models::Error  an end that is not finite; both ends at one place
Transect transect_along(const SeasonView& view, const TransectLine& line);

}  // namespace app
