#pragma once

#include <map>
#include <optional>
#include <string>

#include "models/assay/error_variance.h"
#include "models/assay/strip_reading.h"
#include "models/records.h"

namespace app {

/// What a test says on the basis that is asked for, and how it came about: the one place where a recorded test becomes
/// a content.
struct TestContent {
    models::Reading reading = models::Reading::value;
    double don_mg_per_kg = 0.0;  ///< value or bound on that basis; of a void test nothing
    /// A laboratory's, converted as the content is.
    std::optional<double> standard_uncertainty_mg_per_kg;
    models::AssayProcedure procedure;
    bool converted = true;      ///< false: the moisture that it takes is not recorded, and it stands as it was reported
    bool read_nothing = false;  ///< a reading of 0, taken as below its limit of quantification, or 0.05 mg/kg
};
/// The test as a decision about its grain takes it: where the strip's signals contradict the content that was reported,
/// the higher of the two. Grain is not cleared by a slip of the pen.
models::Test as_decided_on(const models::Test& test, const std::map<std::string, models::StripReading>& strips);

TestContent content_on(models::Basis basis, const models::Test& test, const models::Sample& sample);

}  // namespace app
