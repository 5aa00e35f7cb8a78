#pragma once

#include <string>
#include <vector>

#include "models/assay/control_chart.h"
#include "models/assay/control_material.h"
#include "models/records.h"

namespace models {

/// A test of a control that reads outside what is accepted or breaks a rule of its chart, and the results that share
/// its run.
struct FailedControl {
    ControlMaterial control;
    Test test;
    std::vector<std::string> in_doubt;      ///< tests of grain, by name
    bool outside_bounds = true;             ///< of what the control accepts
    std::vector<std::string> broken_rules;  ///< of its chart, in words
};

/// Controls that read outside what they accept or break a rule of the chart of their kit lot (control_chart.h), by
/// time; a rule that is broken only by limits set after the reading says so. A test is one of a control where its
/// sample is of the stage `control` and bears the control's name. With low and high the readings that are accepted,
/// both included:
///   outside   y < low or y > high;  "below x": x <= low;  "above x": x >= high
/// A reading on another basis than the bounds is converted at the sample's moisture; where that is not recorded it
/// stands as it was reported. Void tests are none. Of a run of several readings the last bears the rules it breaks.
/// The run of a control: results of grain read by the same method on the same local day with the same kit lot; where
/// one of the two does not say its kit lot, the day alone ties them. They are in doubt and stay what they are: no
/// number leaves them out.
/// @param tests  without those that a later one corrects
std::vector<FailedControl> failed_controls(const std::vector<Test>& tests, const std::vector<Sample>& samples,
                                           const std::vector<ControlMaterial>& controls,
                                           const ChartSettings& charts = {});

/// "control C1 read 5.5 mg/kg where 0.75 to 1.3 is accepted (test LT9, 2026-08-06, kit lot K77); T01, T02 and 3 more of
/// that day and kit lot are in doubt and count as they are": one sentence without its full stop. Of a rule: "control C1
/// read 1.28 mg/kg and breaks a rule of its chart: eight in a row on one side of the centre line (test ...".
std::string in_words(const FailedControl& failed);
/// What is wrong, for a row of a table: "outside the 0.75 to 1.3 that is accepted; breaks a rule of its chart: ..."
std::string failure_in_words(const FailedControl& failed);

/// All of them in few sentences without their full stop: one a run with results of grain, "S26-013 and S26-014 of
/// 2026-07-01 and kit lot K7 are in doubt by control C1 (tests S26-012, S26-018) and count as they are", and one that
/// counts the others.
std::vector<std::string> in_short(const std::vector<FailedControl>& failed);

}  // namespace models
