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
    std::optional<double> standard_uncertainty_mg_per_kg = std::nullopt;  ///< of the assigned content
};

/// A test of a control, its reading on the basis of the control's own numbers. Where the moisture that a conversion
/// takes is not recorded it stands as it was reported.
struct ControlReading {
    Test test;
    double don_mg_per_kg = 0.0;  ///< the value, or the bound it lies below or above
};

/// All valid tests of one control by one method and one kit lot, by time.
struct ControlSeries {
    ControlMaterial control;
    Method method = Method::strip;
    std::string kit_lot;
    std::vector<ControlReading> readings;
};

/// A test of a control of which nothing says what it should read, or that should read nothing.
struct RefusedControlTest {
    std::string test, control;
    std::string why;     ///< one sentence without its full stop
    bool blank = false;  ///< its assigned content is 0
};

/// The tests of controls, in series that never go from one kit lot into the next, by control, method and first
/// reading. A test is one of a control where its sample is of the stage `control` and bears the control's name; void
/// tests are left out; a reading of 0 is one below the method's limit of quantification (0.05 mg/kg where none is
/// given). Tests of controls that are not among `controls`, or whose assigned content is not above zero, are in no
/// series: control_tests_refused names them.
/// @param tests  without those that a later one corrects
std::vector<ControlSeries> control_series(const std::vector<Test>& tests, const std::vector<Sample>& samples,
                                          const std::vector<ControlMaterial>& controls);
std::vector<RefusedControlTest> control_tests_refused(const std::vector<Test>& tests,
                                                      const std::vector<Sample>& samples,
                                                      const std::vector<ControlMaterial>& controls);
/// One sentence a control, without its full stop: "9 tests are of control B0, a blank (assigned content 0): they are on
/// no chart and in no recovery".
std::vector<std::string> in_words(const std::vector<RefusedControlTest>& refused);

/// The reading of a control on the basis of its numbers, as above.
double on_basis_of_control(const ControlMaterial& control, const Test& test, const Sample& sample);

/// Whether a reading is outside what the control accepts, both bounds included:
///   outside   y < low or y > high;  "below x": x <= low;  "above x": x >= high
bool reads_outside(const ControlMaterial& control, Reading reading, double don_mg_per_kg);

/// "0.75 to 1.3", "at least 0.75", "at most 1.3"
std::string accepted_in_words(const ControlMaterial& control);

/// "K77", or "no kit lot recorded"; of a laboratory "the laboratory" where no lot is recorded.
std::string lot_in_words(Method method, const std::string& kit_lot);

}  // namespace models
