#pragma once

#include <optional>
#include <string>
#include <vector>

#include "models/calendar.h"
#include "models/records.h"

namespace geo {

class Store;

/// Puts the limits that ship with the program (geo/schema/starting_limits.csv) into a new store: dated, with source,
/// basis and what the rule says on mixing. Those marked `confirmed = no` are from memory and must be checked by the
/// user.
void load_starting_limits(Store& store);

/// The limits that a jurisdiction has for a commodity and purpose on one day, the first matching one in the order
/// given. An empty stage fits every stage; where nothing is said of the crop itself, what is said of cereals holds.
std::optional<models::Limit> limit_in_force(const std::vector<models::Limit>& limits, const std::string& jurisdiction,
                                            const std::string& commodity, models::Purpose purpose,
                                            const std::string& stage, models::LocalDay day);

}  // namespace geo
