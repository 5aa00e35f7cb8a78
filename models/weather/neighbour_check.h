#pragma once

#include <vector>

#include "models/progress.h"
#include "models/weather/aligned_hours.h"
#include "models/weather/quality.h"

namespace models {

/// What a station's neighbours have to be to say something about it. Numbers are common practice and ours.
struct NeighbourSettings {
    int most = 7;              ///< the nearest so many are asked
    double within_m = 150000;  ///< and none farther away
    int threads = 0;           ///< 0: as many as there are processors; the flags do not depend on it
};

/// Flags of one station that its neighbours raise, and whether they could say anything.
struct NeighbourFlags {
    std::vector<WeatherFlag> flags;  ///< in the order of their first hours; hours count in the station's own series
    int neighbours = 0;              ///< with at least ten days of hours in common
    std::string not_judged;          ///< why the neighbours say nothing: a sentence; empty where they do
};

/// Every station held against its neighbours. Two neighbours must agree against it; of three or more the median speaks,
/// so that one bad station does not put its good neighbours in doubt. With fewer than two nothing is judged: of two
/// stations that differ nobody can tell which one is wrong.
///
/// Temperature and dew point, d = station less neighbour:
///   r    d less the median of d at that hour of the clock over the season, the middle one over the neighbours:
///        distance, elevation and site are in the median and drop out
///   s    1.4826 times the median of |r| (the median absolute deviation as a standard deviation): far neighbours
///        agree less, and more is allowed
///   hour   |r| over 8 degC and over 8 s, hour by hour; a dew point by 20 points of humidity, too
///          and three quarters of the neighbours by half of that at least: where they differ among themselves, a
///          shower or a front passes between them
///   day    the mean of r over a day of at least 18 hours over 4 degC and over 6 s (s that of days), and agreed in the
///   same way level  the median of d, carried to one elevation where both are known (6.5 degC a kilometre; 2 for the
///   dew point),
///          over 3 degC and 1 degC more for 100 km of distance; twice that where an elevation is missing
/// gauge: five days or more without rain of which on at least three every neighbour (two or more) had 1 mm or more: a
///        blocked gauge, or none
/// clock: over each 14 days (at least 10 in common) the lag at which the hourly changes of temperature go together best
///        with the neighbour's, between whole hours by a parabola; the middle one over the neighbours at least 0.75 h:
///        a wrong time zone, a clock change that was missed, stamps at the end of the hour
///
/// The bounds are the project's own. The idea of holding a station's anomalies against those around it: Durre, Menne,
/// Gleason, Houston & Vose (2010), J. Appl. Meteor. Climatol. 49, 1615-1633 (from memory; bounds are not theirs).
///
/// @returns  one entry a station
/// @throws Error  as align does
std::vector<NeighbourFlags> check_against_neighbours(const std::vector<StationWeather>& stations,
                                                     const NeighbourSettings& settings = {},
                                                     const Progress& progress = {});

}  // namespace models
