#include "models/decision/sampling_walk.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <numeric>
#include <random>

#include <fmt/format.h>

#include "models/error.h"
#include "models/spoken.h"

namespace models {

namespace walk_parts {

constexpr double cells_wanted = 2500.0;
constexpr int starts = 20;
constexpr double infinite = std::numeric_limits<double>::infinity();

double squared_m2(const PointM& a, const PointM& b) {
    return (a.x_m - b.x_m) * (a.x_m - b.x_m) + (a.y_m - b.y_m) * (a.y_m - b.y_m);
}

bool is_kept_out(const WalkQuestion& question, const PointM& place) {
    return std::any_of(question.keep_out.begin(), question.keep_out.end(),
                       [&](const OutlineM& one) { return side_of(one, place) != Side::outside; });
}

/// The ground that may be sampled, as the middles of square cells.
struct Ground {
    std::vector<PointM> cells;
    double cell_m = 0.0, headland_m = 0.0;
};

Ground ground_of(const WalkQuestion& question) {
    Ground ground;
    ground.cell_m = std::sqrt(area_m2(question.outline) / cells_wanted);
    const GridM grid = grid_over(bounding_box(question.outline), ground.cell_m);
    std::vector<PointM> all;
    std::vector<double> from_edge_m;
    for (int row = 0; row < grid.rows; ++row) {
        for (int column = 0; column < grid.columns; ++column) {
            const PointM place = grid.centre(row, column);
            if (side_of(question.outline, place) != Side::inside || is_kept_out(question, place)) continue;
            all.push_back(place);
            from_edge_m.push_back(distance_to_edge_m(question.outline, place));
        }
    }
    if (all.empty())
        throw Error(phrase("no ground of the field is left to be sampled"), "", phrase("keep less of it out"));
    std::vector<double> sorted = from_edge_m;
    std::nth_element(sorted.begin(), sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2), sorted.end());
    ground.headland_m = std::min(question.headland_m, sorted[sorted.size() / 2]);
    for (std::size_t i = 0; i < all.size(); ++i) {
        if (from_edge_m[i] >= ground.headland_m) ground.cells.push_back(all[i]);
    }
    return ground;
}

std::size_t nearest(const std::vector<PointM>& places, const PointM& to) {
    std::size_t best = 0;
    for (std::size_t i = 1; i < places.size(); ++i) {
        if (squared_m2(places[i], to) < squared_m2(places[best], to)) best = i;
    }
    return best;
}

struct Parting {
    std::vector<PointM> middles;
    double mean_square_m2 = infinite;
};

/// Lloyd's iteration: cells go to the nearest middle, middles to the mean of their cells, until nothing moves.
Parting parted(const std::vector<PointM>& cells, std::vector<PointM> middles) {
    constexpr int rounds = 200;
    std::vector<std::size_t> of(cells.size(), middles.size());
    Parting parting;
    for (int round = 0; round < rounds; ++round) {
        bool moved = false;
        double sum = 0.0;
        std::vector<PointM> means(middles.size());
        std::vector<double> counts(middles.size(), 0.0);
        for (std::size_t i = 0; i < cells.size(); ++i) {
            const std::size_t here = nearest(middles, cells[i]);
            moved = moved || here != of[i];
            of[i] = here;
            sum += squared_m2(cells[i], middles[here]);
            means[here].x_m += cells[i].x_m;
            means[here].y_m += cells[i].y_m;
            counts[here] += 1.0;
        }
        parting = {middles, sum / static_cast<double>(cells.size())};
        if (!moved) break;
        for (std::size_t k = 0; k < middles.size(); ++k) {
            if (counts[k] > 0.0) middles[k] = {means[k].x_m / counts[k], means[k].y_m / counts[k]};
        }
    }
    return parting;
}

/// The first middle anywhere, each next one the likelier the farther from those there are.
std::vector<PointM> first_middles(const std::vector<PointM>& cells, int count, std::mt19937_64& random) {
    const auto uniform = [&] { return static_cast<double>(random() >> 11) * 0x1.0p-53; };
    std::vector<PointM> middles = {
        cells[std::min(cells.size() - 1, static_cast<std::size_t>(uniform() * static_cast<double>(cells.size())))]};
    std::vector<double> far_m2(cells.size(), infinite);
    while (static_cast<int>(middles.size()) < count) {
        double sum = 0.0;
        for (std::size_t i = 0; i < cells.size(); ++i) {
            far_m2[i] = std::min(far_m2[i], squared_m2(cells[i], middles.back()));
            sum += far_m2[i];
        }
        double at = uniform() * sum;
        std::size_t chosen = 0;
        while (chosen + 1 < cells.size() && at >= far_m2[chosen]) at -= far_m2[chosen++];
        middles.push_back(cells[chosen]);
    }
    return middles;
}

std::vector<PointM> spread_stops(const Ground& ground, int stops) {
    std::mt19937_64 random(20100901);
    Parting best;
    for (int start = 0; start < starts; ++start) {
        Parting found = parted(ground.cells, first_middles(ground.cells, stops, random));
        if (found.mean_square_m2 < best.mean_square_m2) best = std::move(found);
    }
    // The middle of a bent piece may lie in a pond.
    for (PointM& stop : best.middles) {
        const PointM& cell = ground.cells[nearest(ground.cells, stop)];
        if (std::max(std::abs(cell.x_m - stop.x_m), std::abs(cell.y_m - stop.y_m)) > 0.5 * ground.cell_m) stop = cell;
    }
    return best.middles;
}

double leg_m(const std::vector<PointM>& places, std::size_t a, std::size_t b) {
    return distance_m(places[a], places[b]);
}

double length_m(const std::vector<PointM>& places, const std::vector<std::size_t>& order) {
    double sum = 0.0;
    for (std::size_t i = 1; i < order.size(); ++i) sum += leg_m(places, order[i - 1], order[i]);
    return sum;
}

/// Turns pieces of an open way round while that makes it shorter. The first place stays first.
void untangle(const std::vector<PointM>& places, std::vector<std::size_t>& order) {
    constexpr double least_gain_m = 1e-9;
    for (bool better = true; better;) {
        better = false;
        for (std::size_t i = 1; i + 1 < order.size(); ++i) {
            for (std::size_t j = i + 1; j < order.size(); ++j) {
                double gain = leg_m(places, order[i - 1], order[i]) - leg_m(places, order[i - 1], order[j]);
                if (j + 1 < order.size())
                    gain += leg_m(places, order[j], order[j + 1]) - leg_m(places, order[i], order[j + 1]);
                if (gain <= least_gain_m) continue;
                std::reverse(order.begin() + static_cast<std::ptrdiff_t>(i),
                             order.begin() + static_cast<std::ptrdiff_t>(j) + 1);
                better = true;
            }
        }
    }
}

/// @param firsts  where it may begin
std::vector<std::size_t> short_order(const std::vector<PointM>& places, const std::vector<std::size_t>& firsts) {
    std::vector<std::size_t> best;
    for (const std::size_t first : firsts) {
        std::vector<std::size_t> order = {first};
        std::vector<bool> seen(places.size(), false);
        seen[first] = true;
        while (order.size() < places.size()) {
            std::size_t next = places.size();
            for (std::size_t i = 0; i < places.size(); ++i) {
                if (seen[i]) continue;
                if (next == places.size() || leg_m(places, order.back(), i) < leg_m(places, order.back(), next))
                    next = i;
            }
            seen[next] = true;
            order.push_back(next);
        }
        untangle(places, order);
        if (best.empty() || length_m(places, order) < length_m(places, best)) best = std::move(order);
    }
    return best;
}

/// Stops that no other lies nearer to the edge than, by more than a quarter of what stops are apart.
std::vector<std::size_t> outermost(const std::vector<PointM>& stops, OutlineM outline) {
    for (auto& piece : outline) piece.holes.clear();  // nobody comes into a field out of its pond
    std::vector<double> from_edge_m;
    for (const PointM& stop : stops) from_edge_m.push_back(distance_to_edge_m(outline, stop));
    const double apart_m = std::sqrt(area_m2(outline) / static_cast<double>(stops.size()));
    const double most_m = *std::min_element(from_edge_m.begin(), from_edge_m.end()) + 0.25 * apart_m;
    std::vector<std::size_t> found;
    for (std::size_t i = 0; i < stops.size(); ++i)
        if (from_edge_m[i] <= most_m) found.push_back(i);
    return found;
}

/// Puts the stops in order. @returns the way's length
double put_in_order(std::vector<PointM>& stops, const WalkQuestion& question) {
    const std::optional<PointM>& enter_at = question.enter_at;
    std::vector<PointM> places = stops;
    if (enter_at) places.insert(places.begin(), *enter_at);
    const std::vector<std::size_t> order =
        short_order(places, enter_at ? std::vector<std::size_t>{0} : outermost(stops, question.outline));
    stops.clear();
    for (std::size_t i = enter_at ? 1 : 0; i < order.size(); ++i) stops.push_back(places[order[i]]);
    return length_m(places, order);
}

/// Along and across the longer main axis of the ground.
struct Axes {
    PointM middle, along;
    PointM place(double u, double v) const {
        return {middle.x_m + u * along.x_m - v * along.y_m, middle.y_m + u * along.y_m + v * along.x_m};
    }
};

Axes axes_of(const std::vector<PointM>& cells) {
    const double n = static_cast<double>(cells.size());
    Axes axes;
    for (const PointM& cell : cells) {
        axes.middle.x_m += cell.x_m / n;
        axes.middle.y_m += cell.y_m / n;
    }
    double xx = 0.0, xy = 0.0, yy = 0.0;
    for (const PointM& cell : cells) {
        const double dx = cell.x_m - axes.middle.x_m, dy = cell.y_m - axes.middle.y_m;
        xx += dx * dx;
        xy += dx * dy;
        yy += dy * dy;
    }
    const double angle = 0.5 * std::atan2(2.0 * xy, xx - yy);
    axes.along = {std::cos(angle), std::sin(angle)};
    return axes;
}

std::vector<PointM> stops_of_w(const WalkQuestion& question, const Ground& ground) {
    const Axes axes = axes_of(ground.cells);
    double u_low = infinite, u_high = -infinite, v_low = infinite, v_high = -infinite;
    for (const PointM& cell : ground.cells) {
        const double dx = cell.x_m - axes.middle.x_m, dy = cell.y_m - axes.middle.y_m;
        const double u = dx * axes.along.x_m + dy * axes.along.y_m, v = dy * axes.along.x_m - dx * axes.along.y_m;
        u_low = std::min(u_low, u);
        u_high = std::max(u_high, u);
        v_low = std::min(v_low, v);
        v_high = std::max(v_high, v);
    }
    std::vector<PointM> inside;
    constexpr int corners = 5, steps_a_leg = 2000;
    for (int leg = 0; leg + 1 < corners; ++leg) {
        for (int step = 0; step < steps_a_leg; ++step) {
            const double t = (step + 0.5) / steps_a_leg;
            const double u = u_low + (u_high - u_low) * (leg + t) / (corners - 1);
            const double v = leg % 2 == 0 ? v_high + (v_low - v_high) * t : v_low + (v_high - v_low) * t;
            const PointM place = axes.place(u, v);
            if (side_of(question.outline, place) != Side::inside || is_kept_out(question, place)) continue;
            if (distance_to_edge_m(question.outline, place) >= ground.headland_m) inside.push_back(place);
        }
    }
    if (inside.empty()) throw Error("a W over the field does not meet its ground", "", "walk it by spread stops");
    std::vector<PointM> stops;
    for (int k = 0; k < question.stops; ++k) {
        const double at = (k + 0.5) / question.stops * static_cast<double>(inside.size());
        stops.push_back(inside[std::min(inside.size() - 1, static_cast<std::size_t>(at))]);
    }
    if (question.enter_at &&
        distance_m(*question.enter_at, stops.back()) < distance_m(*question.enter_at, stops.front()))
        std::reverse(stops.begin(), stops.end());
    return stops;
}

}  // namespace walk_parts

SamplingWalk sampling_walk(const WalkQuestion& question) {
    using namespace walk_parts;
    if (question.stops < 1 || question.stops > 200)
        throw Error(fmt::format("a walk of {} stops cannot be laid", question.stops), "", "give 1 to 200");
    if (!(question.headland_m >= 0.0) || !std::isfinite(question.headland_m))
        throw Error(fmt::format("a headland of {} m cannot be kept off", question.headland_m), "", "give 0 or more");
    if (question.outline.empty() || !(area_m2(question.outline) > 0.0))
        throw Error(phrase("a field without an outline cannot be walked"), "",
                    phrase("import its outline: kind fields"));
    const Ground ground = ground_of(question);
    SamplingWalk walk;
    walk.headland_m = ground.headland_m;
    if (ground.headland_m < question.headland_m) {
        walk.notes.push_back(
            phrase("a headland of {:.0f} m would take more than half of the ground; {:.0f} m are "
                   "kept off",
                   question.headland_m, ground.headland_m));
    }
    if (question.shape == WalkShape::spread) {
        walk.stops = spread_stops(ground, question.stops);
        walk.length_m = put_in_order(walk.stops, question);
    } else {
        walk.stops = stops_of_w(question, ground);
        std::vector<std::size_t> order(walk.stops.size());
        std::iota(order.begin(), order.end(), std::size_t{0});
        walk.length_m = length_m(walk.stops, order);
        if (question.enter_at) walk.length_m += distance_m(*question.enter_at, walk.stops.front());
    }
    double sum = 0.0;
    for (const PointM& cell : ground.cells) {
        const double far_m2 = squared_m2(cell, walk.stops[nearest(walk.stops, cell)]);
        sum += far_m2;
        walk.farthest_m = std::max(walk.farthest_m, std::sqrt(far_m2));
    }
    walk.mean_distance_m = std::sqrt(sum / static_cast<double>(ground.cells.size()));
    return walk;
}

}  // namespace models
