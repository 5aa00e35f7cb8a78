#pragma once

#include <vector>

#include <Eigen/Core>

#include "models/geometry.h"
#include "models/spatial/kriging.h"

namespace models {

/// A shape as places with weights that sum to 1: its mean is the weighted sum of the values there.
struct ShapeNodes {
    Eigen::VectorXd x, y, weight;
};

/// Nodes of an area, part by part: bands between the heights of its corners, cut so that there are at least `across` of
/// them over the whole shape, each with four Gauss-Legendre heights; at each height the stretches inside (holes are
/// seen), cut in the same measure, each with four Gauss-Legendre places. Exact for polynomials up to degree 7 along a
/// stretch, and the weights are shares of the area, all positive. A part of more than twelve corner heights gets bands
/// of no less than a twelfth of such a cut: an outline of thousands of corners then costs no more than a plain one, and
/// is exact in its area only.
/// @throws Error  the outline has no area
ShapeNodes nodes_of_area(const OutlineM& outline, int across = 4);
/// Nodes of lines that are one shape, by length: four Gauss-Legendre places in each of at least `pieces` pieces.
/// @throws Error  fewer than two different points
ShapeNodes nodes_of_lines(const std::vector<std::vector<PointM>>& lines, int pieces = 8);
ShapeNodes nodes_of_line(const std::vector<PointM>& points, int pieces = 8);
/// Into how many cuts a shape is to be divided so that a cut is no longer than a sixth of the shortest range of the
/// model, within bounds: what `across` and `pieces` should be for a shape of that extent or length.
int cuts_for(const VariogramModel& model, double extent_m, int least, int most);
/// Places that count equally, such as the cells of a whole area.
ShapeNodes nodes_of_places(const Eigen::MatrixX2d& places);

/// The mean over each shape, from all observations; estimates, variances and Lagrange multipliers as of Kriging over
/// blocks (the nugget and the error are left out of an area's mean).
/// @param shape_drift  shapes x p: the mean of each drift column over the shape
/// @throws Error  as Kriging does; settings with a block or a neighbourhood
/// Source: Chiles & Delfiner (2012), Geostatistics, 2nd ed., section 3.5.2.
KrigingEstimates krige_shapes(const SpatialData& data, const VariogramModel& model,
                              const std::vector<ShapeNodes>& shapes, const KrigingSettings& settings = {},
                              const Eigen::MatrixXd& shape_drift = {}, const Progress& progress = {});

}  // namespace models
