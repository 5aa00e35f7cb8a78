#pragma once

#include <optional>
#include <string>
#include <vector>

#include "models/assay/control_material.h"

namespace models {

/// How much of what a control is known to hold a reading finds.
///   recovery = reading / assigned;  its standard uncertainty from that of the assigned content alone is
///   recovery u_assigned / assigned, and is the same way off for all readings of the control
struct ReadingRecovery {
    std::string test;
    Stamp time;
    double fraction = 0.0;  ///< 1: all of it
    std::optional<double> standard_uncertainty_from_assigned;
};

/// The recoveries of one control and kit lot and their mean with its interval. With s the standard deviation of m
/// recoveries and R their mean:
///   u^2 = s^2 / m + (R u_assigned / assigned)^2,  90 % interval R +- t_0.95(nu) u,  nu = (m - 1) u^4 / (s^2 / m)^2
/// Readings below or above the range are counted and not in the mean, which they would draw away from their end.
/// Source: JCGM 100:2008 (GUM), 5.1 and annex G.4 (Welch-Satterthwaite); (EU) 2023/2782, Annex II, for recovery as what
/// a method is judged by.
struct LotRecovery {
    ControlMaterial control;
    Method method = Method::strip;
    std::string kit_lot;
    std::vector<ReadingRecovery> readings;
    int only_bounds = 0;  ///< readings that are no number
    double mean_fraction = 0.0;
    std::optional<double> low90, high90;  ///< none with fewer than two readings
    double degrees_of_freedom = 0.0;
    std::optional<bool> holds_all;  ///< 100 % lies inside the interval
    std::string says;               ///< one sentence without its full stop
};
/// @throws Error  the control has no assigned content above zero; its uncertainty is below zero
LotRecovery recovery_of(const ControlSeries& series);

}  // namespace models
