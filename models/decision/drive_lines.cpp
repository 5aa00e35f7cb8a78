#include "models/decision/drive_lines.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

#include <fmt/format.h>

#include "models/error.h"
#include "models/spoken.h"

namespace models {

namespace drive_parts {

constexpr int most_swaths = 120;
constexpr double same = 1e-6;  // of a header: less than this is rounding of the width

double dot(const PointM& a, const PointM& b) {
    return a.x_m * b.x_m + a.y_m * b.y_m;
}

/// The convex hull counter-clockwise: Andrew (1979), Information Processing Letters 9, 216-219.
std::vector<PointM> hull_of(const OutlineM& outline) {
    std::vector<PointM> corners;
    for (const PolygonM& piece : outline) corners.insert(corners.end(), piece.outer.begin(), piece.outer.end());
    std::sort(corners.begin(), corners.end(),
              [](const PointM& a, const PointM& b) { return a.x_m != b.x_m ? a.x_m < b.x_m : a.y_m < b.y_m; });
    corners.erase(std::unique(corners.begin(), corners.end()), corners.end());
    const auto left_turn = [](const PointM& a, const PointM& b, const PointM& c) {
        return (b.x_m - a.x_m) * (c.y_m - a.y_m) - (b.y_m - a.y_m) * (c.x_m - a.x_m) > 0.0;
    };
    std::vector<PointM> hull;
    for (const bool upper : {false, true}) {
        const std::size_t begin = hull.size();
        for (const PointM& corner : corners) {
            while (hull.size() >= begin + 2 && !left_turn(hull[hull.size() - 2], hull.back(), corner)) hull.pop_back();
            hull.push_back(corner);
        }
        hull.pop_back();  // the other half begins with it
        if (!upper) std::reverse(corners.begin(), corners.end());
    }
    return hull;
}

double heading_of(const PointM& direction) {
    double degrees = std::atan2(direction.x_m, direction.y_m) * 180.0 / std::numbers::pi;
    degrees = std::fmod(degrees + 360.0, 180.0);
    return degrees > 180.0 - 1e-9 ? 0.0 : degrees;
}

/// What of a ring lies on one side of a line across: on the far side of `at_m`, or on the near one.
RingM beyond(const RingM& ring, const PointM& across, double at_m, bool far) {
    RingM kept;
    const double sign = far ? 1.0 : -1.0;
    for (std::size_t i = 0; i < ring.size(); ++i) {
        const PointM &a = ring[i], &b = ring[(i + 1) % ring.size()];
        const double da = sign * (dot(a, across) - at_m), db = sign * (dot(b, across) - at_m);
        if (da >= 0.0) kept.push_back(a);
        if ((da > 0.0 && db < 0.0) || (da < 0.0 && db > 0.0)) {
            const double t = da / (da - db);
            kept.push_back({a.x_m + t * (b.x_m - a.x_m), a.y_m + t * (b.y_m - a.y_m)});
        }
    }
    return kept;
}

RingM between(const RingM& ring, const PointM& across, double from_m, double to_m) {
    return beyond(beyond(ring, across, from_m, true), across, to_m, false);
}

double ring_area(const RingM& ring) {
    return ring.size() < 3 ? 0.0 : area_m2(ring);
}

double area_between(const OutlineM& outline, const PointM& across, double from_m, double to_m) {
    double area = 0.0;
    for (const PolygonM& piece : outline) {
        area += ring_area(between(piece.outer, across, from_m, to_m));
        for (const RingM& hole : piece.holes) area -= ring_area(between(hole, across, from_m, to_m));
    }
    return std::max(area, 0.0);
}

void check_outline(const OutlineM& outline) {
    const double area = area_m2(outline);
    if (!(area > 0.0) || !std::isfinite(area))
        throw Error(phrase("the outline has no area"), "", phrase("draw the field"));
}

}  // namespace drive_parts

double DriveLines::all_m() const {
    return std::accumulate(width_m.begin(), width_m.end(), 0.0);
}

double DriveLines::line_m(int swath) const {
    const double step = header_m * headers;
    return swath < swaths() ? first_m + swath * step : first_m + all_m();
}

double DriveLines::total_m2() const {
    return std::accumulate(area_m2.begin(), area_m2.end(), 0.0);
}

double long_side_heading_deg(const OutlineM& outline) {
    namespace parts = drive_parts;
    parts::check_outline(outline);
    const std::vector<PointM> hull = parts::hull_of(outline);
    double best_area = -1.0, best_heading = 0.0;
    for (std::size_t i = 0; i < hull.size(); ++i) {
        const PointM &a = hull[i], &b = hull[(i + 1) % hull.size()];
        const double length = distance_m(a, b);
        if (!(length > 0.0)) continue;
        const PointM edge{(b.x_m - a.x_m) / length, (b.y_m - a.y_m) / length}, other{edge.y_m, -edge.x_m};
        double least_u = 0.0, most_u = 0.0, least_v = 0.0, most_v = 0.0;
        for (const PointM& corner : hull) {
            const PointM from{corner.x_m - a.x_m, corner.y_m - a.y_m};
            const double u = parts::dot(from, edge), v = parts::dot(from, other);
            least_u = std::min(least_u, u), most_u = std::max(most_u, u);
            least_v = std::min(least_v, v), most_v = std::max(most_v, v);
        }
        const double u = most_u - least_u, v = most_v - least_v, area = u * v;
        // Of a square both sides are the longer one.
        const double heading = u > v * (1.0 + 1e-9)   ? parts::heading_of(edge)
                               : v > u * (1.0 + 1e-9) ? parts::heading_of(other)
                                                      : std::min(parts::heading_of(edge), parts::heading_of(other));
        const bool smaller = best_area < 0.0 || area < best_area * (1.0 - 1e-9);
        const bool as_small = !smaller && area <= best_area * (1.0 + 1e-9);
        if (smaller || (as_small && heading < best_heading)) {
            best_heading = heading;
            if (smaller) best_area = area;
        }
    }
    return best_heading;
}

DriveLines drive_lines(const OutlineM& outline, double heading_deg, double header_m) {
    namespace parts = drive_parts;
    parts::check_outline(outline);
    if (!std::isfinite(heading_deg))
        throw Error("the heading of the driving is no number", "", "give degrees from north by east, as in 35");
    if (!(header_m >= 0.5 && header_m <= 60.0))
        throw Error(fmt::format("a header of {} m is none", header_m), "", "give its width in metres, as in 9");
    DriveLines lines;
    lines.heading_deg = std::fmod(std::fmod(heading_deg, 180.0) + 180.0, 180.0);
    lines.header_m = header_m;
    const double angle = lines.heading_deg * std::numbers::pi / 180.0;
    lines.along = {std::sin(angle), std::cos(angle)};
    lines.across = {lines.along.y_m, -lines.along.x_m};
    double from = 0.0, to = 0.0;
    bool first = true;
    for (const PolygonM& piece : outline)
        for (const PointM& corner : piece.outer) {
            const double at = parts::dot(corner, lines.across);
            from = first ? at : std::min(from, at);
            to = first ? at : std::max(to, at);
            first = false;
        }
    lines.first_m = from;
    const auto steps_of = [&](double step) {
        return std::max(1, static_cast<int>(std::ceil((to - from) / step - parts::same)));
    };
    const double most = std::ceil((to - from) / header_m);
    if (!(most < 1e6)) throw Error(phrase("the field is too wide to be cut"), "", phrase("check how it is drawn"));
    lines.headers = (static_cast<int>(most) + parts::most_swaths - 1) / parts::most_swaths;
    const double step = header_m * lines.headers;
    const int count = steps_of(step);
    for (int i = 0; i < count; ++i) {
        const double begin = from + i * step, end = i + 1 < count ? begin + step : to;
        lines.width_m.push_back(end - begin);
        lines.area_m2.push_back(parts::area_between(outline, lines.across, begin, end));
    }
    return lines;
}

GroundCells ground_in_swaths(const OutlineM& outline, const DriveLines& lines, int about) {
    namespace parts = drive_parts;
    if (about < 9) throw Error(fmt::format("{} cells do not show a field", about), "", "ask for at least 9");
    const double whole = lines.total_m2(), step = lines.header_m * lines.headers;
    double from = 0.0, to = 0.0;
    bool first = true;
    for (const PolygonM& piece : outline)
        for (const PointM& corner : piece.outer) {
            const double at = parts::dot(corner, lines.along);
            from = first ? at : std::min(from, at);
            to = first ? at : std::max(to, at);
            first = false;
        }
    GroundCells ground;
    const int columns = std::max(1, static_cast<int>((to - from) / std::max(whole / (about * step), step)));
    ground.length_m = (to - from) / columns;
    ground.width_m = step;
    ground.along = lines.along;
    ground.area_ha = whole * 1e-4;
    const auto place = [&](double along_m, double across_m) {
        return PointM{along_m * lines.along.x_m + across_m * lines.across.x_m,
                      along_m * lines.along.y_m + across_m * lines.across.y_m};
    };
    constexpr int tried = 5;
    for (int swath = 0; swath < lines.swaths(); ++swath) {
        const auto s = static_cast<std::size_t>(swath);
        if (!(lines.area_m2[s] > 0.0)) continue;
        const double begin = lines.line_m(swath);
        const std::size_t before = ground.cells.size();
        double counted = 0.0;
        for (int k = 0; k < columns; ++k) {
            const int column = swath % 2 == 0 ? k : columns - 1 - k;
            const double left = from + column * ground.length_m;
            int inside = 0;
            for (int i = 0; i < tried * tried; ++i) {
                const double u = (i % tried + 0.5) / tried, v = (static_cast<double>(i / tried) + 0.5) / tried;
                if (side_of(outline, place(left + u * ground.length_m, begin + v * lines.width_m[s])) != Side::outside)
                    ++inside;
            }
            if (inside == 0) continue;
            counted += inside;
            ground.cells.push_back(
                {column, swath, static_cast<double>(inside), place(left + 0.5 * ground.length_m, begin + 0.5 * step)});
        }
        if (ground.cells.size() == before) {  // a sliver that lies between the places tried
            RingM seen;
            for (const PolygonM& piece : outline) {
                const RingM part = parts::between(piece.outer, lines.across, begin, begin + lines.width_m[s]);
                if (parts::ring_area(part) > parts::ring_area(seen)) seen = part;
            }
            double along_m = 0.0;
            for (const PointM& corner : seen)
                along_m += parts::dot(corner, lines.along) / static_cast<double>(seen.size());
            const int column = std::clamp(static_cast<int>((along_m - from) / ground.length_m), 0, columns - 1);
            ground.cells.push_back(
                {column, swath, 1.0, place(from + (column + 0.5) * ground.length_m, begin + 0.5 * step)});
            counted = 1.0;
        }
        for (std::size_t c = before; c < ground.cells.size(); ++c)
            ground.cells[c].share *= lines.area_m2[s] / whole / counted;
    }
    return ground;
}

std::vector<CutCells> cells_of_swaths(const GroundCells& ground, const DriveLines& lines) {
    std::vector<CutCells> swaths(static_cast<std::size_t>(lines.swaths()));
    for (std::size_t c = 0; c < ground.cells.size(); ++c)
        swaths.at(static_cast<std::size_t>(ground.cells[c].row)).emplace_back(static_cast<int>(c), 1.0);
    return swaths;
}

const char* compass_word(double heading_deg) {
    constexpr Word words[] = {word("north"), word("north-east"), word("east"), word("south-east"),
                              word("south"), word("south-west"), word("west"), word("north-west")};
    const double turned = std::fmod(std::fmod(heading_deg, 360.0) + 360.0, 360.0);
    return spoken(words[static_cast<int>(std::floor(turned / 45.0 + 0.5)) % 8]);
}

}  // namespace models
