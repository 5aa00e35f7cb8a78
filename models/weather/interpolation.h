#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "models/spatial/variogram_fit.h"
#include "models/weather/aligned_hours.h"
#include "models/weather/nearest_station.h"
#include "models/weather/window.h"

namespace models {

/// How weather measured at stations becomes weather of a field.
enum class WeatherWay {
    nearest,   ///< the nearest station's hours as they are, gaps and all
    distance,  ///< the mean of the stations around, the nearer the heavier: weight 1 / distance^power
    kriging,   ///< ordinary kriging with one variogram a season and quantity
};
std::string_view name_of(WeatherWay way);  ///< "nearest", "distance", "kriging"
/// @throws Error  no such way; names the nearest one
WeatherWay weather_way_named(std::string_view name);

/// The numbers are common practice and ours, no source; leave_stations_out shows what they do on the stations at hand.
struct InterpolationSettings {
    WeatherWay way = WeatherWay::nearest;
    double power = 2.0;          ///< of `distance`
    int most_stations = 8;       ///< the nearest so many speak for a field, 1 to 16
    double within_m = 100000.0;  ///< and none from farther away
    bool by_elevation = true;    ///< temperatures are carried to the field's elevation, where all of those are known
    bool operator==(const InterpolationSettings&) const = default;
};

/// @throws Error  the power is none, the number of stations is not 1 to 16, the reach is none
void check(const InterpolationSettings& settings);

/// How temperature and dew point change with elevation over the stations of one season, by the clock of UTC: at night
/// the air lies otherwise than at noon. For each hour of the clock the least-squares slope of all its days together,
/// each hour's values and elevations less their means:
///     slope = sum (z - mean z)(x - mean x) / sum (z - mean z)^2
/// Known from 4 stations with an elevation that lie at least 100 m apart in height (ours); fewer tell no slope.
struct ElevationCourse {
    bool known = false;
    std::array<double, 24> temperature_per_m{};  ///< degC a metre
    std::array<double, 24> dew_point_per_m{};
    std::string why_not;  ///< where it is not known: a sentence without its full stop
};

enum class Interpolated { temperature, dew_point, rain };

/// The weather of one field, hour by hour.
struct FieldSeries {
    HourlySeries hours;                            ///< `station` is that of `nearest`, else empty
    std::vector<std::uint8_t> temperature_behind;  ///< so many stations are behind each hour's temperature; 0: missing
    std::vector<std::uint8_t> rain_behind;         ///< and behind its rain
    std::vector<StationAt> stations;               ///< that were asked, the nearest first
    bool by_elevation = false;                     ///< temperatures were carried to the field's elevation
    std::vector<std::string> notes;                ///< sentences without their full stop
};

/// The stations of one season, made ready to say the weather of any field; one object serves any number of fields and
/// threads.
///
/// Of the nearest `most_stations` within `within_m` that have hours in the days asked for, every hour takes those that
/// measured it: where one has a gap, the others speak, with the weights that they have among themselves. Temperature
/// and dew point come from the same stations, those that have both (temperature alone where none has); the humidity is
/// that of the two (models/weather/humidity.h), for a mean of humidities is the humidity of no air. With w the weights
/// of that hour, adding up to 1, and slope the elevation course (0 where it is not used),
///     x = sum w_k x_k + slope (z - sum w_k z_k)
/// distance: w_k ~ d_k^-power; a station at the field speaks alone.
/// kriging:  w from the ordinary kriging system of the stations that have the hour (models/spatial/kriging.h: nothing
///           else but its weights); they depend on where those stand and not on the hour, so they are worked out once
///           for every set of stations. The variogram is the best of nugget + spherical and nugget + exponential,
///           fitted to half the mean squared difference of each pair over the season's hours, the elevation course
///           taken off; fewer than 4 stations tell no variogram, and a straight line takes its place (said in notes()).
///
/// Rain comes and goes with single clouds. Its mean over stations has more hours with a little rain and fewer with much
/// than any gauge shows: sums over days hold, counts of rainy hours do not. Kriging of it below 0 counts as 0.
///
/// Source: Shepard (1968), Proc. 23rd ACM National Conference, 517-524 (inverse distance); Chiles & Delfiner (2012),
/// Geostatistics, 2nd ed., ch. 3; the regression on elevation apart from the kriging of what is left: Hengl, Heuvelink
/// & Rossiter (2007), Computers & Geosciences 33, 1301-1315.
class StationNetwork {
 public:
    /// @param stations  of one season; a station without hours is passed over
    /// @throws Error  as align does; power, number of stations or radius is none; kriging of fewer than two stations
    explicit StationNetwork(const std::vector<StationWeather>& stations, const InterpolationSettings& settings = {});

    /// @param elevation_m  of the field
    /// @param days         only these local days; all hours where there are none given
    /// @returns  without hours where no station within reach has any then (`notes` says so)
    /// @throws Error  the place is none
    FieldSeries at(const PointM& place, std::optional<double> elevation_m = {},
                   const std::optional<DayWindow>& days = {}) const;
    /// The weather at a station from all the others, in any way that the network was made for: `kriging` can do all.
    FieldSeries without_station(std::size_t station, WeatherWay way) const;

    const std::vector<Station>& stations() const { return stations_; }
    const AlignedHours& hours() const { return hours_; }
    const InterpolationSettings& settings() const { return settings_; }
    const ElevationCourse& elevation() const { return elevation_; }
    /// What kriging uses; an empty model for another way.
    const VariogramModel& variogram(Interpolated quantity) const {
        return variograms_[static_cast<std::size_t>(quantity)];
    }
    const std::vector<std::string>& notes() const { return notes_; }  ///< sentences without their full stop

 private:
    struct Asked {
        WeatherWay way = WeatherWay::nearest;
        PointM place;
        std::optional<double> elevation_m;
        std::optional<DayWindow> days;
        std::optional<std::size_t> but_not;
    };
    class Weights;
    FieldSeries answer(const Asked& asked) const;
    std::vector<StationAt> speakers(const Asked& asked, std::size_t first, std::size_t end) const;
    void copy_nearest(FieldSeries& out, std::size_t first, std::size_t end) const;
    void average(const Asked& asked, FieldSeries& out, std::size_t first, std::size_t end) const;
    void find_elevation_course();
    void find_variograms();

    std::vector<Station> stations_;
    InterpolationSettings settings_;
    AlignedHours hours_;
    std::vector<std::chrono::seconds> phase_;               ///< of each station's hours after the full hour of UTC
    std::vector<std::vector<std::uint32_t>> known_before_;  ///< hours before each with a temperature or rain
    ElevationCourse elevation_;
    std::array<VariogramModel, 3> variograms_;
    std::vector<std::string> notes_;
};

/// One field's weather in one call; for many fields keep a StationNetwork.
FieldSeries weather_at(const PointM& place, std::optional<double> elevation_m,
                       const std::vector<StationWeather>& stations, WeatherWay way);

/// The weights of ordinary kriging of the value at `place` from values at `places`, adding up to 1; where several
/// stand at one place they share its weight. At most 16 places.
std::vector<double> ordinary_kriging_weights(const VariogramModel& model, const std::vector<PointM>& places,
                                             const PointM& place);
/// d^-power over the sum of all; the first place at no distance speaks alone.
std::vector<double> inverse_distance_weights(double power, const std::vector<PointM>& places, const PointM& place);

}  // namespace models
