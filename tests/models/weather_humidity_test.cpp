#include <cmath>
#include <limits>

#include <catch2/catch.hpp>

#include "models/weather/humidity.h"

using namespace models;

TEST_CASE("the dew point is that of Alduchov and Eskridge 1996") {
    // Computed apart from this program with the constants of their eq. 21 (17.625, 243.04).
    CHECK(dew_point_degc(25.0, 60.0) == Approx(16.697664).margin(5e-7).epsilon(0.0));
    CHECK(dew_point_degc(20.0, 90.0) == Approx(18.309116).margin(5e-7).epsilon(0.0));
    CHECK(dew_point_degc(15.0, 80.0) == Approx(11.577428).margin(5e-7).epsilon(0.0));
    CHECK(relative_humidity_pct(20.0, 15.0) == Approx(72.938767).margin(5e-7).epsilon(0.0));
}

TEST_CASE("dew point and humidity are each other's reverse") {
    for (double temperature = -30.0; temperature <= 45.0; temperature += 2.5) {
        for (double humidity = 1.0; humidity <= 100.0; humidity += 4.5) {
            const double dew_point = dew_point_degc(temperature, humidity);
            CHECK(dew_point <= temperature + 1e-12);
            CHECK(relative_humidity_pct(temperature, dew_point) == Approx(humidity).epsilon(1e-12));
        }
    }
}

TEST_CASE("saturated air has its dew point at its temperature even where the sensor says more") {
    CHECK(dew_point_degc(12.0, 100.0) == Approx(12.0).margin(1e-12).epsilon(0.0));
    CHECK(dew_point_degc(12.0, 100.4) == dew_point_degc(12.0, 100.0));
    CHECK(vapour_pressure_deficit_kpa(12.0, 100.4) == 0.0);
}

TEST_CASE("two degrees below the temperature is about 88 percent humidity in mild air") {
    CHECK(relative_humidity_pct(15.0, 13.0) == Approx(88.0).margin(0.5).epsilon(0.0));
    CHECK(relative_humidity_pct(20.0, 18.0) == Approx(88.0).margin(0.5).epsilon(0.0));
}

TEST_CASE("saturation pressure and deficit are those of FAO paper 56") {
    CHECK(saturation_pressure_kpa(24.5) == Approx(3.075).margin(5e-4).epsilon(0.0));  // example 3 there, p. 38
    CHECK(saturation_pressure_kpa(15.0) == Approx(1.705).margin(5e-4).epsilon(0.0));
    CHECK((saturation_pressure_kpa(24.5) + saturation_pressure_kpa(15.0)) / 2.0 ==
          Approx(2.39).margin(5e-3).epsilon(0.0));
    CHECK(vapour_pressure_deficit_kpa(20.0, 70.0) == Approx(0.701484).margin(5e-7).epsilon(0.0));
}

TEST_CASE("what was not measured stays not measured") {
    const double missing = std::numeric_limits<double>::quiet_NaN();
    CHECK(std::isnan(dew_point_degc(missing, 80.0)));
    CHECK(std::isnan(dew_point_degc(20.0, missing)));
    CHECK(std::isnan(relative_humidity_pct(20.0, missing)));
    CHECK(std::isnan(vapour_pressure_deficit_kpa(20.0, missing)));
}
