#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "models/phenology/day_distribution.h"
#include "models/phenology/temperature_days.h"
#include "models/phenology/thermal_scheme.h"
#include "models/records.h"

namespace models {

/// What a flowering date rests on, best first.
enum class FloweringBasis { observed, estimated_by_hand, heading, sowing, none };

struct FloweringOptions {
    std::optional<double> latitude_deg, longitude_deg;  ///< of the field; the latitude is needed from sowing
    std::optional<LocalDay> as_of;            ///< only what was known at the end of this day: weather and written dates
    bool temperatures_as_known = false;       ///< they hold what was known by then, forecasts too: none is cut off
    std::optional<DayWindow> sowing_between;  ///< where the sowing date was not written down: any day of these, alike
    std::optional<ThermalScheme> scheme;      ///< for spring wheat and durum, the user's own figures
    bool include_unconfirmed = false;         ///< allow figures that stand here from memory

    // Without a source; shown with each estimate that rests on them.
    double observed_sd_days = 1.0;          ///< of a date written down by whoever saw it
    double estimated_sd_days = 3.0;         ///< of a date that the user estimated, or did not call observed
    int heading_to_flowering_days = 5;      ///< heads out to the first anthers: 3 to 5 days at 20 degC, 7 to 10 if cool
    double heading_interval_sd_days = 3.0;  ///< of that interval
    double error_factor_away_from_home = 2.0;  ///< on the error of a scheme outside its region or usual sowing dates
};

/// A stage and the day the scheme has for it.
struct StageDay {
    std::string stage;
    LocalDay day{};
};

/// When a field flowered (its first anthers: day 0 of the disease models), and how sure that is.
struct FloweringEstimate {
    std::string field, part;
    int season = 0;
    FloweringBasis basis = FloweringBasis::none;
    std::optional<LocalDay> most_likely;  ///< the day with the greatest chance
    double sd_days = 0.0;                 ///< of `days`; about the root of the sum of the squares of the three below
    double model_sd_days = 0.0;           ///< of the scheme, of the interval from heading, or of the written date
    double weather_sd_days = 0.0;         ///< from temperatures that are missing
    double sowing_sd_days = 0.0;          ///< from a sowing date that is not known to the day
    std::string method;                   ///< in words, with the way degree days are summed where there are any
    DayDistribution days;                 ///< adds up to 1; the ends that hold under 0.05 % are left out
    std::vector<StageDay> stages;         ///< from sowing, in order of time, on the scheme's own days
    DayCoverage weather;                  ///< of the days from sowing to flowering
    std::optional<double> days_earlier_if_warmer;  ///< by how much temperatures 1 degC higher would bring it forward
    bool extrapolated = false;                     ///< crop, sowing date or region that the scheme was not made for
    bool unconfirmed = false;                      ///< rests on figures from memory
    std::vector<std::string> notes;                ///< what was assumed and where it is weak: sentences
    std::vector<std::string> missing;              ///< what would be needed, or would narrow the answer: sentences
};

/// The flowering date of a crop record: written down, else from heading, else from sowing by temperature.
///
/// Written: normal about the day with the sd of its source (a date not said to be observed counts as estimated; where
/// only the first day of flowering is written it is that). From heading: heading + interval, with the interval's sd.
/// From sowing: winter wheat by follow_winter_wheat; spring wheat and durum by the user's scheme or, if unconfirmed
/// figures are allowed, by spring_wheat_saskatchewan. The distribution is the scheme's normal error, spread evenly over
/// the span of its needs and over the days that missing temperatures leave open (all of them slowing the crop down to
/// all hurrying it), averaged over the sowing days that are possible.
///
/// There is no estimate, and `missing` says why and what would help: where nothing is written; for a crop other than
/// wheat and durum without a written date; where the weather does not reach from sowing to flowering, less than 90 % of
/// those days are seen, a gap is longer than 10 days, or the missing days leave more than 14 days open. An impossible
/// record is refused. Threads: any number at once.
/// @param temperatures  nullptr or empty: no weather near by
/// @throws Error  dates that contradict each other: sowing, heading, flowering not in that order; flowering within 25
/// or
///                after 400 days of sowing; a date more than a year from the season. Also a latitude, longitude, sd,
///                interval or scheme that is none
FloweringEstimate estimate_flowering(const CropRecord& crop, const TemperatureDays* temperatures,
                                     const FloweringOptions& options = {});

/// A risk averaged over the dates that an estimate leaves possible (day_distribution.h); nothing without an estimate.
AveragedRisk averaged_over(const FloweringEstimate& estimate,
                           const std::function<std::optional<double>(LocalDay)>& risk);

inline constexpr int longest_gap_days = 10;
inline constexpr int most_days_left_open = 14;
inline constexpr double negligible_tail = 0.0005;

}  // namespace models
