#pragma once

#include <map>
#include <set>
#include <string>
#include <vector>

#include "models/assay/strip_clock.h"

namespace geo {

class Store;

/// Strips that were started and have no test yet, by the time of their start. A test of their name ends them for good,
/// even one that is withdrawn later.
std::vector<models::StartedStrip> running_strips(const Store& store);

/// Every name that a strip or a test ever had: a new one has another.
std::set<std::string> names_of_strips(const Store& store);

/// Of kit lots that say it (control_every_tests): strips of grain until a control is due again. A lot for several
/// grains has the least number of them.
std::map<std::string, int> control_rules_of_lots(const Store& store);

}  // namespace geo
