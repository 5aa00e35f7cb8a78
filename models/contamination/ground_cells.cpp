#include "models/contamination/ground_cells.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/format.h>

#include "models/error.h"

namespace models {

namespace ground_cells_parts {

constexpr int fewest_cells = 9;

struct Frame {
    double c = 1.0, s = 0.0;  ///< cosine and sine of the heading of its first axis
    PointM into(const PointM& p) const { return {c * p.x_m + s * p.y_m, -s * p.x_m + c * p.y_m}; }
    PointM out_of(const PointM& p) const { return {c * p.x_m - s * p.y_m, s * p.x_m + c * p.y_m}; }
};

/// The frame whose rectangle around the outer rings is smallest, its first axis the longer side, and the rectangle.
std::pair<Frame, BoxM> smallest_frame(const OutlineM& outline) {
    std::vector<PointM> corners;
    for (const PolygonM& piece : outline) corners.insert(corners.end(), piece.outer.begin(), piece.outer.end());
    std::pair<Frame, BoxM> best;
    double least = -1.0;
    for (int degree = 0; degree < 180; degree += 3) {
        const double heading = degree * std::numbers::pi / 180.0;
        const Frame frame{std::cos(heading), std::sin(heading)};
        std::vector<PointM> turned;
        for (const PointM& p : corners) turned.push_back(frame.into(p));
        const BoxM box = bounding_box(turned);
        if (box.width_m() < box.height_m()) continue;  // the same rectangle comes again with its longer side first
        const double area = box.width_m() * box.height_m();
        if (least >= 0.0 && area >= least * (1.0 - 1e-9)) continue;
        least = area;
        best = {frame, box};
    }
    return best;
}

GroundCells laid_out(const OutlineM& outline, double cell_m, const Frame& frame, const BoxM& box) {
    GroundCells ground;
    // The cells fill the rectangle without a rest.
    const int columns = std::max(1, static_cast<int>(std::lround(box.width_m() / cell_m)));
    const int rows = std::max(1, static_cast<int>(std::lround(box.height_m() / cell_m)));
    ground.length_m = box.width_m() / columns;
    ground.width_m = box.height_m() / rows;
    ground.along = {frame.c, frame.s};
    for (int row = 0; row < rows; ++row) {
        for (int k = 0; k < columns; ++k) {
            const int column = row % 2 == 0 ? k : columns - 1 - k;
            const PointM centre = frame.out_of(
                {box.x_min_m + (column + 0.5) * ground.length_m, box.y_min_m + (row + 0.5) * ground.width_m});
            if (side_of(outline, centre) != Side::outside) ground.cells.push_back({column, row, 0.0, centre});
        }
    }
    for (GroundCells::Cell& cell : ground.cells) cell.share = 1.0 / static_cast<double>(ground.cells.size());
    return ground;
}

void check_share(double share) {
    if (!(share > 0.0 && share <= 1.0 + 1e-9))
        throw Error(fmt::format("{} of a field's grain is no share", share), "", "give more than 0 and at most 1");
}

}  // namespace ground_cells_parts

GroundCells ground_cells(const OutlineM& outline, int about) {
    namespace parts = ground_cells_parts;
    const double area = area_m2(outline);
    if (!(area > 0.0) || !std::isfinite(area)) throw Error("the outline has no area", "", "draw the field");
    if (about < parts::fewest_cells)
        throw Error(fmt::format("{} cells do not show a field", about), "", "ask for at least 9");
    const auto [frame, box] = parts::smallest_frame(outline);
    double cell_m = std::sqrt(area / about);
    GroundCells ground = parts::laid_out(outline, cell_m, frame, box);
    // A narrow piece may hold few centres.
    for (int finer = 0; finer < 12 && static_cast<int>(ground.cells.size()) < about / 2; ++finer) {
        cell_m *= 0.8;
        ground = parts::laid_out(outline, cell_m, frame, box);
    }
    if (ground.cells.empty()) throw Error("the outline is too narrow for cells", "", "check how it is drawn");
    ground.area_ha = area * 1e-4;
    return ground;
}

GroundCells ground_cells(double area_ha, int about) {
    if (!(area_ha > 0.0) || !std::isfinite(area_ha))
        throw Error(fmt::format("a field of {} ha is none", area_ha), "", "give its area");
    const double width = std::sqrt(0.5 * area_ha * 1e4), length = 2.0 * width;
    GroundCells ground =
        ground_cells(OutlineM{{{{0.0, 0.0}, {length, 0.0}, {length, width}, {0.0, width}}, {}}}, about);
    ground.area_ha = area_ha;
    return ground;
}

double share_of(const GroundCells& ground, const CutCells& cut) {
    double share = 0.0;
    for (const auto& [cell, part] : cut) share += part * ground.cells[static_cast<std::size_t>(cell)].share;
    return share;
}

CutCells strip_of_ground(const GroundCells& ground, double from, double share) {
    ground_cells_parts::check_share(share);
    if (!(from >= -1e-9 && from + share <= 1.0 + 1e-9))
        throw Error(fmt::format("the field does not hold {:.3g} of its grain behind {:.3g} of it", share, from), "",
                    "begin earlier or cut less");
    const double to = from + share;
    CutCells cut;
    double before = 0.0;
    for (std::size_t i = 0; i < ground.cells.size(); ++i) {
        const double size = ground.cells[i].share, after = before + size;
        const double inside = std::min(after, to) - std::max(before, from);
        if (size > 0.0 && inside > 1e-12 * size) cut.emplace_back(static_cast<int>(i), std::min(inside / size, 1.0));
        before = after;
    }
    return cut;
}

std::vector<CutCells> trucks_of_ground(const GroundCells& ground, double share) {
    ground_cells_parts::check_share(share);
    std::vector<CutCells> trucks;
    for (double from = 0.0; 1.0 - from > 1e-9; from += share)
        trucks.push_back(strip_of_ground(ground, from, std::min(share, 1.0 - from)));
    return trucks;
}

CutCells block_of_ground(const GroundCells& ground, int middle, double share) {
    ground_cells_parts::check_share(share);
    const PointM& at = ground.cells.at(static_cast<std::size_t>(middle)).centre;
    std::vector<std::pair<long long, int>>
        order;  // by the millimetre, so that equal distances go by the order of cutting
    for (std::size_t i = 0; i < ground.cells.size(); ++i)
        order.emplace_back(std::llround(1000.0 * distance_m(ground.cells[i].centre, at)), static_cast<int>(i));
    std::sort(order.begin(), order.end());
    CutCells cut;
    double left = std::min(share, 1.0);
    for (const auto& [away, cell] : order) {
        const double size = ground.cells[static_cast<std::size_t>(cell)].share;
        if (!(size > 0.0)) continue;
        cut.emplace_back(cell, std::min(left / size, 1.0));
        left -= size;
        if (left <= 1e-12) break;
    }
    return cut;
}

CutCells part_of_ground(const GroundCells& ground, const OutlineM& part) {
    CutCells cut;
    for (std::size_t i = 0; i < ground.cells.size(); ++i)
        if (side_of(part, ground.cells[i].centre) != Side::outside) cut.emplace_back(static_cast<int>(i), 1.0);
    if (cut.empty()) throw Error("the part lies outside the field or is smaller than its cells", "", "draw it larger");
    return cut;
}

}  // namespace models
