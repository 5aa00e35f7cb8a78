#include "geo/contours.h"

#include <cmath>
#include <limits>

#include <catch2/catch.hpp>

#include "models/error.h"

namespace contours_test {

constexpr double none = std::numeric_limits<double>::quiet_NaN();

/// A slope that rises by one a metre towards the east, over 40 x 20 cells of 5 m.
std::vector<double> slope(const models::GridM& grid) {
    std::vector<double> values;
    for (int row = 0; row < grid.rows; ++row) {
        for (int column = 0; column < grid.columns; ++column) values.push_back(grid.centre(row, column).x_m);
    }
    return values;
}

}  // namespace contours_test

using namespace contours_test;

TEST_CASE("the bands of an even slope are strips between its levels") {
    const models::GridM grid{100.0, 900.0, 5.0, 40, 20};
    const auto bands = geo::contour_bands(grid, slope(grid), {150.0, 200.0});
    REQUIRE(bands.size() == 3);
    CHECK(std::isinf(bands[0].low));
    CHECK(bands[0].high == 150.0);
    CHECK(bands[1].low == 150.0);
    CHECK(bands[1].high == 200.0);
    CHECK(bands[2].low == 200.0);
    CHECK(std::isinf(bands[2].high));
    // The ground west of 150 m east, between 150 and 200, and beyond: 100 m of height each.
    CHECK(models::area_m2(bands[0].outline_m) == Approx(50.0 * 100.0));
    CHECK(models::area_m2(bands[1].outline_m) == Approx(50.0 * 100.0));
    CHECK(models::area_m2(bands[2].outline_m) == Approx(100.0 * 100.0));
    CHECK(models::side_of(bands[1].outline_m, {175.0, 850.0}) == models::Side::inside);
}

TEST_CASE("bands cover all cells that have a value and no other") {
    const models::GridM grid{0.0, 100.0, 10.0, 10, 10};
    std::vector<double> values = slope(grid);
    for (int row = 2; row < 5; ++row) {
        for (int column = 3; column < 7; ++column) values[static_cast<std::size_t>(row * 10 + column)] = none;
    }
    double total_m2 = 0.0;
    for (const auto& band : geo::contour_bands(grid, values, {20.0, 40.0, 80.0})) {
        total_m2 += models::area_m2(band.outline_m);
        CHECK(models::side_of(band.outline_m, {50.0, 65.0}) == models::Side::outside);  // in the middle of the gap
    }
    CHECK(total_m2 == Approx(100.0 * (100 - 12)));
}

TEST_CASE("a level of nought is a level like any other") {
    const models::GridM grid{-50.0, 50.0, 10.0, 10, 10};
    const auto bands = geo::contour_bands(grid, slope(grid), {0.0});
    REQUIRE(bands.size() == 2);
    CHECK(bands[0].high == 0.0);
    CHECK(bands[1].low == 0.0);
    CHECK(models::side_of(bands[0].outline_m, {-20.0, 0.0}) == models::Side::inside);
    CHECK(models::side_of(bands[1].outline_m, {20.0, 0.0}) == models::Side::inside);
}

TEST_CASE("a map that stays below every level is one open band") {
    const models::GridM grid{0.0, 100.0, 10.0, 10, 10};
    const auto bands = geo::contour_bands(grid, slope(grid), {500.0, 1000.0});
    REQUIRE(bands.size() == 1);
    CHECK(bands[0].high == 500.0);
    CHECK(models::area_m2(bands[0].outline_m) == Approx(1e4));
    const auto above = geo::contour_bands(grid, slope(grid), {-7.0, -2.0});
    REQUIRE(above.size() == 1);
    CHECK(above[0].low == -2.0);
    const auto between = geo::contour_bands(grid, slope(grid), {-5.0, 500.0});
    REQUIRE(between.size() == 1);
    CHECK(between[0].low == -5.0);
    CHECK(between[0].high == 500.0);
}

TEST_CASE("contour lines of a cone are circles at their level") {
    const models::GridM grid{-100.0, 100.0, 2.0, 100, 100};
    std::vector<double> values;
    for (int row = 0; row < grid.rows; ++row) {
        for (int column = 0; column < grid.columns; ++column) {
            const models::PointM place = grid.centre(row, column);
            values.push_back(80.0 - std::hypot(place.x_m, place.y_m));
        }
    }
    const auto lines = geo::contour_lines(grid, values, {20.0, 50.0});
    REQUIRE(lines.size() == 2);
    CHECK(lines[0].level == 20.0);
    CHECK(lines[1].level == 50.0);
    for (const auto& line : lines) {
        REQUIRE(line.line_m.size() > 50);
        CHECK(line.line_m.front() == line.line_m.back());
        for (const models::PointM& place : line.line_m) {
            // Chords of cells of 2 m on a circle of at least 30 m: 2^2 / (8 x 30) = 0.02 m.
            CHECK(std::hypot(place.x_m, place.y_m) == Approx(80.0 - line.level).margin(0.02).epsilon(0.0));
        }
    }
}

TEST_CASE("contours refuse levels that do not ascend and maps of another size") {
    const models::GridM grid{0.0, 100.0, 10.0, 10, 10};
    CHECK_THROWS_WITH(geo::contour_bands(grid, slope(grid), {2.0, 1.0}), Catch::Contains("must ascend"));
    CHECK_THROWS_WITH(geo::contour_bands(grid, slope(grid), {}), Catch::Contains("must ascend"));
    CHECK_THROWS_WITH(geo::contour_lines(grid, {1.0, 2.0}, {1.0}), Catch::Contains("10 x 10 cells has 2 values"));
}
