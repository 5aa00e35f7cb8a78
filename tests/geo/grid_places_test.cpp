#include "geo/grid_places.h"

#include <catch2/catch.hpp>

#include "geo/grid_source.h"
#include "models/calendar.h"
#include "models/error.h"

using namespace geo::grids;

namespace {

std::string moment_of(const std::string& unit, double value) {
    const auto known = time_unit(unit);
    return known ? models::to_text(known->at(value)) : "none";
}

}  // namespace

TEST_CASE("times of a grid are read in the units that CF allows") {
    CHECK(moment_of("hours since 1900-01-01 00:00:00.0", 1107816.0) == "2026-05-19T00:00:00Z");
    CHECK(moment_of("seconds since 1970-01-01", 1780272000.0) == "2026-06-01T00:00:00Z");
    CHECK(moment_of("days since 2026-6-1 6:00", 0.125) == "2026-06-01T09:00:00Z");
    CHECK(moment_of("minutes since 2026-06-01T00:00:00Z", 90.0) == "2026-06-01T01:30:00Z");
    CHECK(moment_of("hours since 2026-06-01 00:00:00 +02:00", 0.0) == "2026-05-31T22:00:00Z");
    CHECK(moment_of("hours since 2026-06-01 00:00:00 -5:30", 0.0) == "2026-06-01T05:30:00Z");
    for (const char* text : {"hours", "months since 2026-01-01", "hours since 2026-13-01", "hours since June",
                             "hours since 2026-06-01 00:00 CET", "K"}) {
        CHECK(moment_of(text, 0.0) == "none");
    }
}

TEST_CASE("units of a grid are understood as files write them") {
    const auto in_our_unit = [](Quantity quantity, const char* unit, double value) {
        const auto known = grid_unit(quantity, unit);
        REQUIRE(known);
        return value * known->factor + known->shift;
    };
    CHECK(in_our_unit(Quantity::temperature, "K", 300.0) == Approx(26.85));
    CHECK(in_our_unit(Quantity::temperature, "[C]", 12.0) == 12.0);
    CHECK(in_our_unit(Quantity::dew_point,
                      "\xc2\xb0"
                      "C",
                      12.0) == 12.0);
    CHECK(in_our_unit(Quantity::temperature, "degrees_Celsius", 12.0) == 12.0);
    CHECK(in_our_unit(Quantity::temperature, "degF", 50.0) == Approx(10.0));
    CHECK(in_our_unit(Quantity::rain, "m of water equivalent", 0.002) == Approx(2.0));
    CHECK(in_our_unit(Quantity::rain, "kg m**-2", 2.0) == 2.0);
    CHECK(in_our_unit(Quantity::rain, "[kg/(m^2)]", 2.0) == 2.0);
    CHECK(in_our_unit(Quantity::relative_humidity, "1", 0.8) == Approx(80.0));
    const auto rate = grid_unit(Quantity::rain, "kg m-2 s-1");
    REQUIRE(rate);
    CHECK(rate->is_rate);
    CHECK(rate->factor == 3600.0);
    CHECK_FALSE(grid_unit(Quantity::temperature, "m"));
    CHECK_FALSE(grid_unit(Quantity::rain, ""));
}

TEST_CASE("a place lies in the cell around it and outside the grid in none") {
    Lattice lattice;
    lattice.rows = 3;
    lattice.columns = 4;
    lattice.longitudes_deg = {350.0, 355.0, 0.0, 5.0};
    lattice.latitudes_deg = {50.0, 52.0, 54.0};
    const auto cell = cell_of(lattice, -4.0, 52.9);
    REQUIRE(cell);
    CHECK(cell->row == 1);
    CHECK(cell->column == 1);
    CHECK(cell_of(lattice, 7.4, 50.0)->column == 3);
    CHECK_FALSE(cell_of(lattice, 7.6, 50.0));
    CHECK_FALSE(cell_of(lattice, 0.0, 48.9));
    CHECK_FALSE(cell_of(lattice, 180.0, 52.0));
}

TEST_CASE("cells drawn in a projection are found by their degrees") {
    Lattice lattice;
    std::vector<double> x, y;
    for (int i = 0; i < 40; ++i) x.push_back(500000.0 + 2500.0 * i);
    for (int i = 0; i < 30; ++i) y.push_back(6250000.0 - 2500.0 * i);
    put_cells_of_axes(lattice, x, y, "EPSG:25832");
    // 9 degrees east is the middle of the zone, at 500 km; the parallel of 56 N crosses it 6206.1 km from the equator.
    const auto cell = cell_of(lattice, 9.0, 56.0);
    REQUIRE(cell);
    CHECK(cell->column == 0);
    CHECK(y[cell->row] == Approx(6206100.0).margin(1300.0).epsilon(0.0));
    CHECK(cell->distance_m < 1800.0);
    CHECK_FALSE(cell_of(lattice, 8.9, 56.0));
}

TEST_CASE("a cell is named after its centre and always alike") {
    CHECK(cell_name("grid", 10.25, 56.5) == "grid 10.25 E 56.50 N");
    CHECK(cell_name("grid", 350.0, -34.1) == "grid 10.00 W 34.10 S");
    CHECK(cell_name("reanalysis", 10.125, 56.5) == "reanalysis 10.125 E 56.500 N");
    CHECK(cell_name("grid", 56.099998474121094, 0.0) == "grid 56.10 E 0.00 N");
    CHECK(longitude_about_zero(180.0) == -180.0);
}

TEST_CASE("coordinates that are no degrees are refused") {
    Lattice lattice;
    lattice.rows = lattice.columns = 1;
    lattice.longitudes_deg = {500000.0};
    lattice.latitudes_deg = {56.0};
    CHECK_THROWS_WITH(require_places(lattice, "grid.nc"), Catch::Contains("500000 is no longitude"));
}
