#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "models/assay/control_material.h"
#include "models/assay/strip_clock.h"
#include "models/records.h"

namespace models {

/// When the next strip should be one of a control. A kit lot may have a rule of its own.
struct ControlSchedule {
    bool each_day = true;  ///< first with each kit lot on each day
    int every_tests = 20;  ///< and after so many strips of grain; 0: never by number. Common practice, no source.
    std::map<std::string, int> every_tests_of_lot = {};  ///< by kit lot
};

/// Whether a control is due before the next strip of grain of a kit lot.
struct ControlDue {
    bool due = false;
    std::string why;              ///< one sentence without its full stop; of one that is not due what was read last
    std::optional<int> tests_to;  ///< strips of grain until the next one by number; none where none is counted
    bool last_outside = false;    ///< it is due because the last one reads outside what it accepts
};

/// By the rule, of strips of this kit lot (of any, where none is said):
///   due   no control of the lot was ever read; none on this local day; as many strips of grain as the rule has were
///         started or read since the last one; the last one reads outside what it accepts
/// A control that is running is waited for and is not due. Void controls are none. A reminder: it refuses nothing.
/// @param tests    without those that a later one corrects
/// @param running  strips whose result is not entered
ControlDue control_due(const std::vector<Test>& tests, const std::vector<Sample>& samples,
                       const std::vector<ControlMaterial>& controls, const std::vector<StartedStrip>& running,
                       const std::string& kit_lot, const Stamp& now, const ControlSchedule& rule = {});

}  // namespace models
