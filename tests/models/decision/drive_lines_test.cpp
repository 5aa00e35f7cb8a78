// Swaths of a combine over an outline.
#include "models/decision/drive_lines.h"

#include <cmath>
#include <limits>
#include <string>

#include <catch2/catch.hpp>

#include "models/error.h"

using Catch::Matchers::Contains;
using Catch::Matchers::WithinAbs;

namespace {

models::OutlineM box_turned(double length_m, double width_m, double heading_deg) {
    const double a = heading_deg * std::acos(-1.0) / 180.0;
    const models::PointM along{std::sin(a), std::cos(a)}, across{std::cos(a), -std::sin(a)};
    const auto at = [&](double u, double v) {
        return models::PointM{1000.0 + u * along.x_m + v * across.x_m, -500.0 + u * along.y_m + v * across.y_m};
    };
    return {{{at(0.0, 0.0), at(length_m, 0.0), at(length_m, width_m), at(0.0, width_m)}, {}}};
}

/// 200 m wide in its southern half, 100 m in its northern one.
models::OutlineM l_shape() {
    return {{{{0.0, 0.0}, {200.0, 0.0}, {200.0, 100.0}, {100.0, 100.0}, {100.0, 200.0}, {0.0, 200.0}}, {}}};
}

}  // namespace

TEST_CASE("the driving goes along the longer side of a field, however it lies") {
    for (const double heading : {0.0, 17.3, 45.0, 90.0, 133.7, 179.0})
        CHECK_THAT(models::long_side_heading_deg(box_turned(500.0, 120.0, heading)), WithinAbs(heading, 1e-6));
    // Of a square both sides are the longer one: the smaller number.
    CHECK_THAT(models::long_side_heading_deg(box_turned(100.0, 100.0, 120.0)), WithinAbs(30.0, 1e-6));
}

TEST_CASE("swaths are a header wide from the left of the heading on, the last what is left") {
    const models::DriveLines lines = models::drive_lines(box_turned(500.0, 100.0, 30.0), 30.0, 9.0);
    REQUIRE(lines.swaths() == 12);
    CHECK(lines.headers == 1);
    CHECK_THAT(lines.width_m[0], WithinAbs(9.0, 1e-9));
    CHECK_THAT(lines.width_m[11], WithinAbs(1.0, 1e-6));
    CHECK_THAT(lines.area_m2[0], WithinAbs(4500.0, 1e-5));
    CHECK_THAT(lines.area_m2[11], WithinAbs(500.0, 1e-3));
    CHECK_THAT(lines.line_m(3) - lines.line_m(0), WithinAbs(27.0, 1e-9));
    CHECK_THAT(lines.line_m(12) - lines.line_m(0), WithinAbs(100.0, 1e-6));
    // There and back is one heading.
    CHECK_THAT(models::drive_lines(box_turned(500.0, 100.0, 30.0), 210.0, 9.0).heading_deg, WithinAbs(30.0, 1e-9));
    CHECK_THAT(models::drive_lines(box_turned(500.0, 100.0, 30.0), -150.0, 9.0).heading_deg, WithinAbs(30.0, 1e-9));
    CHECK(std::string(models::compass_word(30.0 + 90.0)) == "south-east");
}

TEST_CASE("areas of swaths are exact in L-shaped fields, in fields of two pieces and around a pond") {
    // Driven north: 100 m wide strips of 200 m length in the west, of 100 m in the east.
    const models::DriveLines lines = models::drive_lines(l_shape(), 0.0, 20.0);
    REQUIRE(lines.swaths() == 10);
    CHECK_THAT(lines.area_m2[0], WithinAbs(4000.0, 1e-6));
    CHECK_THAT(lines.area_m2[9], WithinAbs(2000.0, 1e-6));
    CHECK_THAT(lines.total_m2(), WithinAbs(30000.0, 1e-6));
    models::OutlineM pieces = {{{{0.0, 0.0}, {50.0, 0.0}, {50.0, 300.0}, {0.0, 300.0}}, {}},
                               {{{150.0, 0.0}, {200.0, 0.0}, {200.0, 300.0}, {150.0, 300.0}},
                                {{{160.0, 100.0}, {180.0, 100.0}, {180.0, 200.0}, {160.0, 200.0}}}}};
    const models::DriveLines two = models::drive_lines(pieces, 0.0, 25.0);
    REQUIRE(two.swaths() == 8);
    CHECK(two.area_m2[3] == 0.0);  // the road between them
    CHECK_THAT(two.area_m2[6], WithinAbs(7500.0 - 1500.0, 1e-6));
    CHECK_THAT(two.total_m2(), WithinAbs(models::area_m2(pieces), 1e-6));
    const models::GroundCells ground = models::ground_in_swaths(pieces, two, 200);
    const auto swaths = models::cells_of_swaths(ground, two);
    CHECK(swaths[3].empty());
    for (std::size_t s = 0; s < swaths.size(); ++s)
        CHECK_THAT(models::share_of(ground, swaths[s]), WithinAbs(two.area_m2[s] / two.total_m2(), 1e-12));
}

TEST_CASE("a sliver of a swath between the places tried has its grain all the same") {
    // A triangle whose tip is thinner than a fifth of a cell.
    const models::OutlineM triangle = {{{{0.0, 0.0}, {300.0, 0.0}, {0.0, 61.0}}, {}}};
    const models::DriveLines lines = models::drive_lines(triangle, 90.0, 12.0);
    const models::GroundCells ground = models::ground_in_swaths(triangle, lines, 60);
    const auto swaths = models::cells_of_swaths(ground, lines);
    double whole = 0.0;
    for (std::size_t s = 0; s < swaths.size(); ++s) {
        CHECK_FALSE(swaths[s].empty());
        whole += models::share_of(ground, swaths[s]);
    }
    CHECK_THAT(whole, WithinAbs(1.0, 1e-12));
}

TEST_CASE("a very wide field has its lines at several headers") {
    const models::DriveLines lines = models::drive_lines(box_turned(3000.0, 2000.0, 0.0), 0.0, 6.0);
    CHECK(lines.headers == 3);
    CHECK(lines.swaths() == 112);
    CHECK_THAT(lines.line_m(1) - lines.line_m(0), WithinAbs(18.0, 1e-9));
}

TEST_CASE("a header that is none and an outline without ground are refused") {
    const double nan = std::numeric_limits<double>::quiet_NaN();
    CHECK_THROWS_WITH(models::drive_lines(l_shape(), 0.0, -9.0),
                      Contains("a header of -9 m is none") && Contains("metres, as in 9"));
    CHECK_THROWS_WITH(models::drive_lines(l_shape(), 0.0, nan), Contains("a header of nan m is none"));
    CHECK_THROWS_WITH(models::drive_lines(l_shape(), nan, 9.0), Contains("heading") && Contains("degrees from north"));
    CHECK_THROWS_WITH(models::drive_lines({}, 0.0, 9.0), Contains("no area"));
    CHECK_THROWS_WITH(models::long_side_heading_deg({}), Contains("no area"));
    const models::DriveLines lines = models::drive_lines(l_shape(), 0.0, 9.0);
    CHECK_THROWS_WITH(models::ground_in_swaths(l_shape(), lines, 4), Contains("4 cells do not show a field"));
}
