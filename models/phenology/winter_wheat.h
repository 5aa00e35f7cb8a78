#pragma once

#include <optional>

#include "models/disease/disease_model.h"
#include "models/phenology/temperature_days.h"

namespace models {

/// How winter wheat comes to flowering by temperature, day length and the cold of winter. Each day from sowing, with T
/// the day's mean temperature in degC and h its hours from sunrise to sunset (day_length.h):
///   V += v(T)                                   vernalization, in days of full effect
///   S += a(T) s(T) f(V) p(h), from S = 148      development
/// and the crop flowers on the first day with S >= 500. The parameters are those of cultivars of one region and are
/// kept together with it.
/// Source: V. Garnica (2024), code/3_anthesis.R of github.com/vcgarnica/SNB_window_pane, commit 08b24c85, MIT licence,
/// for soft winter wheat in North Carolina.
///
/// v: 0 below -4 degC and above 17; rising to 1 at 3, 1 to 10, falling to 0 at 17.
double vernalization_rate(double mean_degc);
/// f = (V - 30) / (80 - 30), not below 0 nor above 1.
double vernalization_factor(double vernal_days);
/// a = 26 exp(-((T - 26) / 15.2)^2) for 1.5 < T <= 26; 26 (1 - ((T - 26) / 11)^2) for 26 < T <= 37; else 0.
double thermal_response_degc(double mean_degc);
/// s = sin(pi/2 (T - 1.5) / (26 - 1.5)); negative below 1.5 degC, where a is 0.
double sine_response(double mean_degc);
/// p = (h - 5) / (20 - 5), not below 0 nor above 1.
double photoperiod_factor(double day_length_h);

inline constexpr double vernal_days_to_begin = 30.0, vernal_days_in_full = 80.0;
inline constexpr double development_at_sowing = 148.0, development_at_flowering = 500.0;

/// Missing temperatures as they are likely, or as they slow the crop down or hurry it most. The rates rise and fall
/// with temperature, so these are the least and the greatest rate anywhere in a day's range, not the coldest day's.
enum class Pace { slowest, likely, fastest };

/// A crop is followed for no longer: it should have flowered.
inline constexpr int most_days_followed = 400;

/// The way of one crop, as far as the weather goes.
struct WinterWheatCourse {
    std::optional<LocalDay> vernalization_begins;   ///< first day with V >= 30: from here the crop moves on
    std::optional<LocalDay> vernalization_in_full;  ///< first day with V >= 80
    std::optional<LocalDay> flowering;
    double vernal_days = 0.0;  ///< V on the last day followed
    double development = development_at_sowing;
    std::optional<LocalDay> last_day;  ///< the last day followed
};
/// Follows a crop from its day of sowing (that day counts) until it flowers, the weather ends, or 400 days are over.
/// @param warmer_degc  added to every temperature: what a station that reads too high or too low would do
/// @throws Error  the latitude is none
WinterWheatCourse follow_winter_wheat(const TemperatureDays& temperatures, LocalDay sowing, double latitude_deg,
                                      Pace pace = Pace::likely, double warmer_degc = 0.0);

/// Standard error of a flowering date by this scheme in its own region: root mean square of the differences between
/// predicted and observed dates of the author's 18 site-years (data/anthesis.csv of
/// github.com/vcgarnica/SNB_prediction, commit efa173f2). It holds for gridded temperatures and for sowing dates taken
/// as usual for the district, and for the data that the scheme was tried on: elsewhere it is too small.
inline constexpr double winter_wheat_error_sd_days = 4.3;
/// The rectangle around those sites, and the sowing dates taken there (10 to 30 October).
Region winter_wheat_region();
bool winter_wheat_sowing_is_usual(LocalDay sowing);

}  // namespace models
