#pragma once

#include <optional>
#include <string>
#include <vector>

#include "models/disease/disease_model.h"
#include "models/phenology/degree_days.h"
#include "models/phenology/winter_wheat.h"

namespace models {

/// A stretch of the crop's life with a base temperature of its own: it ends on the first day on which its degree days
/// reach what it needs. Degree days beyond the need of a phase do not pass on to the next.
struct ThermalPhase {
    std::string name;  ///< what it leads to: "emergence", "flowering"
    double base_degc = 0.0;
    std::optional<double> cap_degc;
    double least_degc_days = 0.0;  ///< the need is anything from this
    double most_degc_days = 0.0;   ///< to this; equal where one number is given
};

/// Spring wheat, and durum, from sowing to flowering by degree days, phase after phase; for users who have figures for
/// their own cultivars. (Rodrigues and others, 2001 and 2011, as used by Carvalho & Del Ponte, 2026, Plant Pathology
/// 75:e70173, take four phases in southern Brazil with bases of 2.1, 4.76, 0.86 and 8.44 degC; what each phase needs
/// is not clear from their text, so it has to be given.)
struct ThermalScheme {
    std::string name, source;
    DegreeDayMethod method = DegreeDayMethod::mean_limited;
    std::vector<ThermalPhase> phases;  ///< from sowing; the last one leads to flowering
    double error_sd_days = 0.0;        ///< of a date by it, beside the span of the needs
    bool confirmed = true;             ///< false: the numbers stand here from memory
    std::optional<Region> region;      ///< where its figures come from
};
/// @throws Error  no phase, a need that is not above 0 or runs downwards, an error that is negative, base or cap as in
///                degree_days.h
void check_scheme(const ThermalScheme& scheme);

/// Spring wheat in Saskatchewan, from planting: flowering begins at 807 to 901 degC d above 0 degC. UNCONFIRMED: the
/// numbers of Miller, Lanier & Brandt, Using growing degree days to predict plant stages, Montana State University
/// MT200103AG, are given from memory; the sheet names no method of summing and no error, so method 1 and an error of
/// 3 days are taken here.
ThermalScheme spring_wheat_saskatchewan();

struct ThermalCourse {
    std::vector<LocalDay> phase_ends;  ///< as many as were reached; all of them: the last is the flowering day
    double degc_days = 0.0;            ///< in the phase that was not finished
    std::optional<LocalDay> last_day;  ///< the last day followed
    std::optional<LocalDay> flowering;
};
/// Follows a crop from its day of sowing (that day counts) until it flowers, the weather ends, or 400 days are over.
/// @param need  0: each phase needs its least; 1: its most; between them in proportion
ThermalCourse follow_thermal_scheme(const ThermalScheme& scheme, const TemperatureDays& temperatures, LocalDay sowing,
                                    Pace pace = Pace::likely, double need = 0.5, double warmer_degc = 0.0);

}  // namespace models
