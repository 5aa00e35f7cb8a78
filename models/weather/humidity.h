#pragma once

namespace models {

/// How moist the air is, said in four ways. Temperatures in degC, relative humidity in percent of saturation over
/// water (0 to 100; more is read as 100), pressures in kPa. NaN in, NaN out. This is the only place where the program
/// turns one into another.
///
/// Dew point and humidity, after Alduchov & Eskridge (1996), Journal of Applied Meteorology 35:601-609, with
/// g = ln(RH/100) + 17.625 T / (243.04 + T):
///     dew point = 243.04 g / (17.625 - g)
double dew_point_degc(double temperature_degc, double relative_humidity_pct);
/// The same formula turned round; above 100 where the dew point lies above the temperature.
double relative_humidity_pct(double temperature_degc, double dew_point_degc);

/// e0(T) = 0.6108 exp(17.27 T / (T + 237.3)): Allen, Pereira, Raes & Smith (1998), FAO Irrigation and Drainage Paper
/// 56, eq. 11. Only for the vapour pressure deficit; the dew point keeps to the formula above.
double saturation_pressure_kpa(double temperature_degc);
/// What the air could still take up: e0(T) (1 - RH/100).
double vapour_pressure_deficit_kpa(double temperature_degc, double relative_humidity_pct);

}  // namespace models
