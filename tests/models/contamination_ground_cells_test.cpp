// The ground of a field in cells, and what is cut from it.
#include <cmath>
#include <numbers>
#include <set>

#include <catch2/catch.hpp>

#include "models/contamination/ground_cells.h"
#include "models/error.h"

using namespace models;
using Catch::Matchers::Contains;

namespace {

/// A rectangle about the middle of the work system, its longer side along that heading from east.
OutlineM turned_rectangle(double length_m, double width_m, double heading_degrees) {
    const double c = std::cos(heading_degrees * std::numbers::pi / 180.0);
    const double s = std::sin(heading_degrees * std::numbers::pi / 180.0);
    RingM ring;
    for (const auto& [along, across] : {std::pair{-0.5, -0.5}, {0.5, -0.5}, {0.5, 0.5}, {-0.5, 0.5}}) {
        const double x = along * length_m, y = across * width_m;
        ring.push_back({c * x - s * y, s * x + c * y});
    }
    return {{ring, {}}};
}

}  // namespace

TEST_CASE("the cells of a field stand in rows along its longer side whichever way it lies") {
    for (const double heading : {0.0, 30.0, 90.0, 141.0}) {
        const GroundCells ground = ground_cells(turned_rectangle(400.0, 100.0, heading), 100);
        REQUIRE(ground.cells.size() == 100);
        CHECK(ground.area_ha == Approx(4.0));
        CHECK(ground.length_m == Approx(20.0));
        CHECK(ground.width_m == Approx(20.0));
        CHECK(ground.cells.back().row == 4);  // five rows of twenty
        double whole = 0.0;
        for (std::size_t i = 0; i < 100; ++i) {
            whole += ground.cells[i].share;
            // Back and forth: each cell touches the one before.
            if (i > 0)
                CHECK(distance_m(ground.cells[i].centre, ground.cells[i - 1].centre) == Approx(20.0).epsilon(1e-9));
        }
        CHECK(whole == Approx(1.0).epsilon(1e-14));
    }
}

TEST_CASE("cells fill a rectangle without a rest") {
    const GroundCells ground = ground_cells(10.0, 100);  // 447 x 224 m
    CHECK(ground.length_m * ground.width_m * static_cast<double>(ground.cells.size()) == Approx(1e5).epsilon(1e-9));
    CHECK(ground.length_m == Approx(ground.width_m).epsilon(0.1));
}

TEST_CASE("cells keep to the outline and leave out its ponds") {
    OutlineM outline = turned_rectangle(200.0, 200.0, 0.0);
    outline[0].holes.push_back({{-50.0, -50.0}, {50.0, -50.0}, {50.0, 50.0}, {-50.0, 50.0}});
    const GroundCells ground = ground_cells(outline, 300);
    CHECK(ground.area_ha == Approx(3.0));
    CHECK(ground.cells.size() > 250);
    CHECK(ground.cells.size() < 350);
    for (const GroundCells::Cell& cell : ground.cells) CHECK(side_of(outline, cell.centre) != Side::outside);
}

TEST_CASE("the trucks of a field together take all of it once") {
    const GroundCells ground = ground_cells(7.3, 90);
    const std::vector<CutCells> trucks = trucks_of_ground(ground, 0.23);
    REQUIRE(trucks.size() == 5);
    std::vector<double> taken(ground.cells.size(), 0.0);
    for (std::size_t t = 0; t < trucks.size(); ++t) {
        CHECK(share_of(ground, trucks[t]) == Approx(t < 4 ? 0.23 : 0.08));
        for (const auto& [cell, part] : trucks[t]) taken[static_cast<std::size_t>(cell)] += part;
    }
    for (const double part : taken) CHECK(part == Approx(1.0).epsilon(1e-9));
}

TEST_CASE("a strip lies along the field and a block about its middle") {
    const GroundCells ground = ground_cells(turned_rectangle(400.0, 200.0, 0.0), 200);
    std::set<int> rows, columns;
    for (const auto& [cell, part] : strip_of_ground(ground, 0.3, 0.2)) {
        rows.insert(ground.cells[static_cast<std::size_t>(cell)].row);
        columns.insert(ground.cells[static_cast<std::size_t>(cell)].column);
    }
    CHECK(rows.size() == 2);
    CHECK(columns.size() == 20);
    const int middle = 90;
    const CutCells block = block_of_ground(ground, middle, 0.125);
    CHECK(share_of(ground, block) == Approx(0.125));
    for (const auto& [cell, part] : block)  // a disc of a hectare has a radius of 56 m
        CHECK(distance_m(ground.cells[static_cast<std::size_t>(cell)].centre, ground.cells[middle].centre) < 75.0);
}

TEST_CASE("a drawn part of a field is the cells in it") {
    const GroundCells ground = ground_cells(turned_rectangle(200.0, 100.0, 0.0), 200);
    const OutlineM west{{{{-100.0, -50.0}, {-50.0, -50.0}, {-50.0, 50.0}, {-100.0, 50.0}}, {}}};
    CHECK(share_of(ground, part_of_ground(ground, west)) == Approx(0.25));
    const OutlineM elsewhere{{{{900.0, 0.0}, {950.0, 0.0}, {950.0, 50.0}}, {}}};
    CHECK_THROWS_WITH(part_of_ground(ground, elsewhere), Contains("outside the field or is smaller than its cells"));
}

TEST_CASE("ground that is none is refused") {
    CHECK_THROWS_WITH(ground_cells(0.0, 100), Contains("a field of 0 ha is none"));
    CHECK_THROWS_WITH(ground_cells(OutlineM{}, 100), Contains("the outline has no area"));
    CHECK_THROWS_WITH(ground_cells(3.0, 4), Contains("4 cells do not show a field"));
    const GroundCells ground = ground_cells(3.0, 50);
    CHECK_THROWS_WITH(strip_of_ground(ground, 0.9, 0.2), Contains("does not hold 0.2 of its grain behind 0.9"));
    CHECK_THROWS_WITH(trucks_of_ground(ground, 0.0), Contains("0 of a field's grain is no share"));
}
