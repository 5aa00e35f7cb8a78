#include "models/decision/sampling_walk.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include <catch2/catch.hpp>

#include "models/error.h"

namespace {

using Catch::Matchers::Contains;
using models::PointM;
using models::SamplingWalk;
using models::WalkQuestion;

models::OutlineM rectangle_of(double width_m, double height_m, double x_m = 0.0, double y_m = 0.0) {
    return {{{{x_m, y_m}, {x_m + width_m, y_m}, {x_m + width_m, y_m + height_m}, {x_m, y_m + height_m}}, {}}};
}

/// An L of 6 ha with a pond of 60 m by 60 m in its corner.
models::OutlineM bent_field() {
    return {
        {{{0, 0}, {400, 0}, {400, 100}, {100, 100}, {100, 300}, {0, 300}}, {{{20, 20}, {80, 20}, {80, 80}, {20, 80}}}}};
}

double way_m(const std::vector<PointM>& places) {
    double sum = 0.0;
    for (std::size_t i = 1; i < places.size(); ++i) sum += models::distance_m(places[i - 1], places[i]);
    return sum;
}

/// Root mean squared distance to the nearest stop over a rectangle from 0,0, by metres.
double mean_distance_over(double width_m, double height_m, const std::vector<PointM>& stops) {
    double sum = 0.0, count = 0.0;
    for (double x = 0.5; x < width_m; x += 1.0) {
        for (double y = 0.5; y < height_m; y += 1.0) {
            double best = 1e300;
            for (const PointM& stop : stops)
                best = std::min(best, (x - stop.x_m) * (x - stop.x_m) + (y - stop.y_m) * (y - stop.y_m));
            sum += best;
            count += 1.0;
        }
    }
    return std::sqrt(sum / count);
}

}  // namespace

TEST_CASE("four stops of a square field stand in the middle of its quarters") {
    WalkQuestion question;
    question.outline = rectangle_of(100, 100);
    question.stops = 4;
    question.headland_m = 0.0;
    const SamplingWalk walk = models::sampling_walk(question);
    REQUIRE(walk.stops.size() == 4);
    for (const PointM& stop : walk.stops) {
        CHECK(std::min(std::abs(stop.x_m - 25.0), std::abs(stop.x_m - 75.0)) < 1.5);
        CHECK(std::min(std::abs(stop.y_m - 25.0), std::abs(stop.y_m - 75.0)) < 1.5);
    }
    CHECK(walk.mean_distance_m == Approx(std::sqrt(2.0 * 50.0 * 50.0 / 12.0)).epsilon(0.01));  // of a square of 50 m
    CHECK(walk.farthest_m == Approx(25.0 * std::sqrt(2.0)).epsilon(0.05));
    CHECK(walk.length_m == Approx(150.0).epsilon(0.03));
}

TEST_CASE("stops cover a field as closely as the best k-means of two hundred starts") {
    // R 4.2.2, stats: min over 200 runs of kmeans(cells, k)$tot.withinss on the same 2501 cells, root of its mean
    const std::pair<int, double> of_r[] = {{5, 45.94542}, {10, 32.19872}, {20, 22.35551}};
    WalkQuestion question;
    question.outline = rectangle_of(300, 200);
    question.headland_m = 0.0;
    for (const auto& [stops, best] : of_r) {
        question.stops = stops;
        INFO(stops);
        CHECK(models::sampling_walk(question).mean_distance_m < 1.01 * best);
    }
}

TEST_CASE("no three places of a grid cover a strip better than three stops") {
    WalkQuestion question;
    question.outline = rectangle_of(60, 20);
    question.stops = 3;
    question.headland_m = 0.0;
    const double ours = mean_distance_over(60, 20, models::sampling_walk(question).stops);
    std::vector<PointM> places;
    for (double x = 2.5; x < 60.0; x += 5.0) {
        for (double y = 5.0; y < 20.0; y += 5.0) places.push_back({x, y});
    }
    double best = 1e300;
    for (std::size_t i = 0; i < places.size(); ++i) {
        for (std::size_t j = i + 1; j < places.size(); ++j) {
            for (std::size_t k = j + 1; k < places.size(); ++k)
                best = std::min(best, mean_distance_over(60, 20, {places[i], places[j], places[k]}));
        }
    }
    CHECK(ours < best + 0.05);
}

TEST_CASE("the way past the stops is the shortest of all orders of a few") {
    WalkQuestion question;
    question.outline = bent_field();
    question.headland_m = 5.0;
    question.stops = 7;
    for (const bool from_gate : {false, true}) {
        if (from_gate) question.enter_at = PointM{400, 50};
        const SamplingWalk walk = models::sampling_walk(question);
        std::vector<std::size_t> order(walk.stops.size());
        std::iota(order.begin(), order.end(), std::size_t{0});
        double shortest = 1e300;
        do {
            std::vector<PointM> places;
            if (from_gate) places.push_back(*question.enter_at);
            for (const std::size_t i : order) places.push_back(walk.stops[i]);
            shortest = std::min(shortest, way_m(places));
        } while (std::next_permutation(order.begin(), order.end()));
        CHECK(walk.length_m == Approx(shortest).epsilon(1e-9));
        std::vector<PointM> walked = walk.stops;
        if (from_gate) walked.insert(walked.begin(), *question.enter_at);
        CHECK(walk.length_m == Approx(way_m(walked)).epsilon(1e-12));
    }
}

TEST_CASE("a walk whose entrance nobody knows begins in the outermost row, with the stops of any other") {
    WalkQuestion question;
    question.outline = rectangle_of(500, 400);
    question.outline[0].holes = {{{200, 180}, {260, 180}, {260, 240}, {200, 240}}};
    question.stops = 30;
    const SamplingWalk walk = models::sampling_walk(question);
    const auto from_edge_m = [](const PointM& at) {
        return std::min({at.x_m, 500.0 - at.x_m, at.y_m, 400.0 - at.y_m});
    };
    double nearest_m = 1e300, deepest_m = 0.0;
    for (const PointM& stop : walk.stops) {
        nearest_m = std::min(nearest_m, from_edge_m(stop));
        deepest_m = std::max(deepest_m, from_edge_m(stop));
    }
    const double apart_m = std::sqrt(500.0 * 400.0 / 30.0);
    CHECK(deepest_m > nearest_m + apart_m);  // there is a middle to begin in
    CHECK(from_edge_m(walk.stops.front()) <= nearest_m + 0.25 * apart_m);
    question.enter_at = PointM{0, 0};
    const SamplingWalk from_corner = models::sampling_walk(question);
    CHECK(from_corner.mean_distance_m == walk.mean_distance_m);
    CHECK(from_corner.farthest_m == walk.farthest_m);
}

TEST_CASE("stops keep off the headland and the pond and ground that is kept out in either shape") {
    WalkQuestion question;
    question.outline = bent_field();
    question.keep_out = {rectangle_of(60, 60, 300, 20)};
    question.headland_m = 10.0;
    for (const models::WalkShape shape : {models::WalkShape::spread, models::WalkShape::w}) {
        question.shape = shape;
        const SamplingWalk walk = models::sampling_walk(question);
        REQUIRE(walk.stops.size() == 20);
        CHECK(walk.notes.empty());
        for (const PointM& stop : walk.stops) {
            CHECK(models::side_of(question.outline, stop) == models::Side::inside);
            CHECK(models::side_of(question.keep_out[0], stop) == models::Side::outside);
            CHECK(models::distance_to_edge_m(question.outline, stop) > 10.0 - 3.0);  // within half a cell
        }
    }
}

TEST_CASE("a W has its corners on the long sides and covers less evenly than spread stops") {
    WalkQuestion question;
    question.outline = rectangle_of(400, 120);
    question.stops = 40;
    question.headland_m = 10.0;
    question.shape = models::WalkShape::w;
    const SamplingWalk w = models::sampling_walk(question);
    REQUIRE(w.stops.size() == 40);
    for (std::size_t i = 1; i < w.stops.size(); ++i) CHECK(w.stops[i].x_m > w.stops[i - 1].x_m);
    std::vector<double> turns;  // where it changes from down to up and back
    for (std::size_t i = 2; i < w.stops.size(); ++i) {
        const double before = w.stops[i - 1].y_m - w.stops[i - 2].y_m, after = w.stops[i].y_m - w.stops[i - 1].y_m;
        if (before * after < 0.0) turns.push_back(w.stops[i - 1].x_m);
    }
    REQUIRE(turns.size() == 3);
    CHECK(turns[0] == Approx(105.0).margin(12.0).epsilon(0.0));
    CHECK(turns[1] == Approx(200.0).margin(12.0).epsilon(0.0));
    CHECK(turns[2] == Approx(295.0).margin(12.0).epsilon(0.0));
    question.shape = models::WalkShape::spread;
    CHECK(models::sampling_walk(question).mean_distance_m < w.mean_distance_m);
    question.shape = models::WalkShape::w;
    question.enter_at = PointM{400, 60};
    CHECK(models::sampling_walk(question).stops.front().x_m > 380.0);
}

TEST_CASE("a headland that would take most of a narrow field is made narrower and told") {
    WalkQuestion question;
    question.outline = rectangle_of(500, 30);
    question.stops = 5;
    question.headland_m = 14.0;
    const SamplingWalk walk = models::sampling_walk(question);
    CHECK(walk.headland_m < 9.0);
    REQUIRE(walk.notes.size() == 1);
    CHECK_THAT(walk.notes[0], Contains("a headland of 14 m would take more than half of the ground"));
}

TEST_CASE("the same field has the same walk and impossible walks are refused by their words") {
    WalkQuestion question;
    question.outline = bent_field();
    CHECK(models::sampling_walk(question).stops == models::sampling_walk(question).stops);
    question.stops = 0;
    CHECK_THROWS_WITH(models::sampling_walk(question), Contains("a walk of 0 stops cannot be laid"));
    question.stops = 5;
    question.headland_m = -1.0;
    CHECK_THROWS_WITH(models::sampling_walk(question), Contains("a headland of -1 m cannot be kept off"));
    question.headland_m = 5.0;
    question.keep_out = {rectangle_of(1000, 1000, -100, -100)};
    CHECK_THROWS_WITH(models::sampling_walk(question), Contains("no ground of the field is left"));
    question.outline.clear();
    CHECK_THROWS_WITH(models::sampling_walk(question), Contains("without an outline"));
}
