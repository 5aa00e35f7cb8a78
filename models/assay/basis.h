#pragma once

#include "models/records.h"

namespace models {

/// The same DON spread over grain with more or less water in it. With M the moisture of the grain as it is (fraction of
/// its wet mass), dry matter is 1 - M of it:
///   dry = as_is / (1 - M),   at 12 % = as_is (1 - 0.12) / (1 - M)
/// @param moisture  fraction, 0 <= M < 1; not looked at between dry and 12 %
/// @throws Error    moisture outside 0 to 1
double convert_basis(double don_mg_per_kg, Basis from, Basis to, double moisture);

}  // namespace models
