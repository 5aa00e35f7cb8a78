#include "models/weather/humidity.h"

#include <algorithm>
#include <cmath>

namespace models {

namespace {

/// ln of the saturation pressure over that at 0 degC, Alduchov & Eskridge (1996).
double log_saturation(double temperature_degc) {
    return 17.625 * temperature_degc / (243.04 + temperature_degc);
}

}  // namespace

double dew_point_degc(double temperature_degc, double relative_humidity_pct) {
    const double g = std::log(std::min(relative_humidity_pct, 100.0) / 100.0) + log_saturation(temperature_degc);
    return 243.04 * g / (17.625 - g);
}

double relative_humidity_pct(double temperature_degc, double dew_point_degc) {
    return 100.0 * std::exp(log_saturation(dew_point_degc) - log_saturation(temperature_degc));
}

double saturation_pressure_kpa(double temperature_degc) {
    return 0.6108 * std::exp(17.27 * temperature_degc / (temperature_degc + 237.3));
}

double vapour_pressure_deficit_kpa(double temperature_degc, double relative_humidity_pct) {
    return saturation_pressure_kpa(temperature_degc) * (1.0 - std::min(relative_humidity_pct, 100.0) / 100.0);
}

}  // namespace models
