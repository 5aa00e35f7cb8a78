#pragma once

#include <optional>
#include <string>
#include <vector>

#include "models/records.h"

namespace models {

/// A material of known content, and which readings of it are accepted. A bound that is not given refuses nothing.
struct ControlMaterial {
    std::string control;
    double assigned_mg_per_kg = 0.0;
    std::optional<double> low_mg_per_kg = std::nullopt, high_mg_per_kg = std::nullopt;
    std::optional<Basis> basis = std::nullopt;  ///< of the bounds; none: as the test was reported
};

/// A test of a control that reads outside what is accepted, and the results that share its run.
struct FailedControl {
    ControlMaterial control;
    Test test;
    std::vector<std::string> in_doubt;  ///< tests of grain, by name
};

/// Controls that read outside what they accept, by time. A test is one of a control where its sample is of the stage
/// `control` and bears the control's name. With low and high the readings that are accepted, both included:
///   outside   y < low or y > high;  "below x": x <= low;  "above x": x >= high
/// A reading on another basis than the bounds is converted at the sample's moisture; where that is not recorded it
/// stands as it was reported. Void tests are none.
/// The run of a control: results of grain read by the same method on the same local day with the same kit lot; where
/// one of the two does not say its kit lot, the day alone ties them. They are in doubt and stay what they are: no
/// number leaves them out.
/// @param tests  without those that a later one corrects
std::vector<FailedControl> failed_controls(const std::vector<Test>& tests, const std::vector<Sample>& samples,
                                           const std::vector<ControlMaterial>& controls);

/// "control C1 read 5.5 mg/kg where 0.75 to 1.3 is accepted (test LT9, 2026-08-06, kit lot K77); T01, T02 and 3 more of
/// that day and kit lot are in doubt and count as they are": one sentence without its full stop.
std::string in_words(const FailedControl& failed);
/// "0.75 to 1.3", "at least 0.75", "at most 1.3"
std::string accepted_in_words(const ControlMaterial& control);

}  // namespace models
