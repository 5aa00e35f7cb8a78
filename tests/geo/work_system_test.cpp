#include "geo/work_system.h"

#include <catch2/catch.hpp>

TEST_CASE("the work system measures metres around its centre and finds its way back") {
    const geo::WorkSystem work = geo::WorkSystem::around(19.3041, 47.1987);
    CHECK(work.centre_longitude_deg() == Approx(19.30));
    const models::PointM centre = work.from_degrees(19.30, 47.20);
    CHECK(centre.x_m == Approx(0).margin(1e-6).epsilon(0.0));
    const models::PointM place = work.from_degrees(19.35, 47.25);
    const auto [longitude, latitude] = work.to_degrees(place);
    CHECK(longitude == Approx(19.35).margin(1e-8).epsilon(0.0));
    CHECK(latitude == Approx(47.25).margin(1e-8).epsilon(0.0));
    // Length of a degree of latitude at 47.2 N on WGS 84: 111 177 m (Snyder 1987, table 2 interpolated, +-20 m).
    CHECK(work.from_degrees(19.30, 47.70).y_m - work.from_degrees(19.30, 46.70).y_m ==
          Approx(111177).margin(25).epsilon(0.0));
}
