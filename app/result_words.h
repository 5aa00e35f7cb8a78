#pragma once

#include <string>

#include "models/assay/budget.h"
#include "models/records.h"

namespace app {

/// What a test reads, for a cell of a table: "0.42", "< 0.3", "> 4.6", "void".
std::string reads_cell(models::Reading reading, double don_mg_per_kg);
/// Its 90 % interval: "0.20 to 0.81", "at most 0.62", "at least 3.1".
std::string interval_cell(const models::TrueContent& truth);

}  // namespace app
