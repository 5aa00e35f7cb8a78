#include "models/geometry.h"

#include <catch2/catch.hpp>

using namespace models;

namespace {
const OutlineM yard = {{{{0, 0}, {100, 0}, {100, 60}, {0, 60}}, {{{40, 20}, {60, 20}, {60, 40}, {40, 40}}}}};
}

TEST_CASE("the area of an outline leaves its ponds out, whichever way the rings run") {
    CHECK(area_m2(yard) == Approx(100 * 60 - 20 * 20));
    OutlineM turned = yard;
    std::reverse(turned[0].outer.begin(), turned[0].outer.end());
    CHECK(area_m2(turned) == area_m2(yard));
    CHECK(centroid(turned).x_m == Approx(50));
    CHECK(centroid(yard).y_m == Approx(30));
}

TEST_CASE("a place in a pond is outside, a place on the edge is neither in nor out") {
    CHECK(side_of(yard, {10, 10}) == Side::inside);
    CHECK(side_of(yard, {50, 30}) == Side::outside);
    CHECK(side_of(yard, {100, 30}) == Side::boundary);
    CHECK(side_of(yard, {100.4, 30}, 0.5) == Side::boundary);
    CHECK(side_of(yard, {101, 30}, 0.5) == Side::outside);
}

TEST_CASE("a grid covers its box and begins at whole cells") {
    const GridM grid = grid_over({3, 3, 97, 41}, 10);
    CHECK(grid.x_min_m == 0);
    CHECK(grid.y_max_m == 50);
    CHECK(grid.columns == 10);
    CHECK(grid.rows == 5);
    CHECK(grid.centre(0, 0).x_m == 5);
    CHECK(grid.centre(0, 0).y_m == 45);
}
