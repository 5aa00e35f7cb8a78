#pragma once

#include <vector>

#include "models/geometry.h"

namespace geo {

/// An outline cut along parallel lines into what lies between them, exactly: holes and pieces and all, their areas
/// adding up to that of the outline. Lines are given by where they lie along `across` (of length 1, in the outline's
/// own plane); what lies before the first is the first answer, what lies behind the last the last one. A part with no
/// ground has no polygons.
/// @throws models::Error  a line that is no number, or lines that do not rise; an outline without ground; the geometry
///                        library cannot cut it
std::vector<models::OutlineM> cut_along(const models::OutlineM& outline, const models::PointM& across,
                                        const std::vector<double>& lines_m);

}  // namespace geo
