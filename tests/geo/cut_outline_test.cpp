// Outlines cut along lines that a combine can drive.
#include "geo/cut_outline.h"

#include <cmath>
#include <limits>

#include <catch2/catch.hpp>

#include "models/decision/drive_lines.h"

using Catch::Matchers::Contains;
using Catch::Matchers::WithinAbs;

namespace {

double sum_of_areas(const std::vector<models::OutlineM>& parts) {
    double area = 0.0;
    for (const models::OutlineM& part : parts) area += models::area_m2(part);
    return area;
}

}  // namespace

TEST_CASE("what is cut from an outline adds up to it, pieces and ponds and all") {
    const models::OutlineM pieces = {
        {{{0.0, 0.0}, {90.0, 10.0}, {80.0, 310.0}, {5.0, 290.0}}, {{{20.0, 50.0}, {60.0, 60.0}, {40.0, 120.0}}}},
        {{{150.0, 0.0}, {200.0, 0.0}, {200.0, 300.0}}, {}}};
    for (const double heading : {0.0, 33.0, 90.0, 141.0}) {
        const models::DriveLines lines = models::drive_lines(pieces, heading, 12.0);
        const int third = lines.swaths() / 3;
        const std::vector<models::OutlineM> parts =
            geo::cut_along(pieces, lines.across, {lines.line_m(third), lines.line_m(2 * third)});
        REQUIRE(parts.size() == 3);
        CHECK_THAT(sum_of_areas(parts), WithinAbs(models::area_m2(pieces), 1e-6));
        double first = 0.0;
        for (int s = 0; s < third; ++s) first += lines.area_m2[static_cast<std::size_t>(s)];
        CHECK_THAT(models::area_m2(parts[0]), WithinAbs(first, 1e-6));  // our own areas of swaths, another way to them
    }
}

TEST_CASE("an L is cut into three pieces where a line crosses both its arms") {
    const models::OutlineM shape = {
        {{{0.0, 0.0}, {200.0, 0.0}, {200.0, 100.0}, {100.0, 100.0}, {100.0, 200.0}, {0.0, 200.0}}, {}}};
    // Across the diagonal: what lies beyond are the ends of both arms.
    const double root = std::sqrt(0.5);
    const auto parts = geo::cut_along(shape, {root, root}, {180.0});
    REQUIRE(parts.size() == 2);
    CHECK(parts[0].size() == 1);
    CHECK(parts[1].size() == 2);
    CHECK_THAT(sum_of_areas(parts), WithinAbs(30000.0, 1e-6));
}

TEST_CASE("a line outside the outline leaves nothing on its far side") {
    const models::OutlineM box = {{{{0.0, 0.0}, {10.0, 0.0}, {10.0, 10.0}, {0.0, 10.0}}, {}}};
    const auto parts = geo::cut_along(box, {1.0, 0.0}, {-5.0, 4.0, 1e9});
    REQUIRE(parts.size() == 4);
    CHECK(parts[0].empty());
    CHECK_THAT(models::area_m2(parts[1]), WithinAbs(40.0, 1e-9));
    CHECK_THAT(models::area_m2(parts[2]), WithinAbs(60.0, 1e-9));
    CHECK(parts[3].empty());
    REQUIRE(geo::cut_along(box, {1.0, 0.0}, {}).size() == 1);
}

TEST_CASE("lines that do not rise and ground without area are not cut") {
    const models::OutlineM box = {{{{0.0, 0.0}, {10.0, 0.0}, {10.0, 10.0}, {0.0, 10.0}}, {}}};
    CHECK_THROWS_WITH(geo::cut_along(box, {1.0, 0.0}, {5.0, 5.0}), Contains("line 2 of a cut lies at 5 m"));
    CHECK_THROWS_WITH(geo::cut_along(box, {1.0, 0.0}, {std::numeric_limits<double>::quiet_NaN()}),
                      Contains("line 1 of a cut lies at nan m") && Contains("lines that rise"));
    CHECK_THROWS_WITH(geo::cut_along({}, {1.0, 0.0}, {5.0}), Contains("no area"));
}
