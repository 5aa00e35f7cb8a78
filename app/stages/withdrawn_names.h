#pragma once

#include <functional>
#include <set>
#include <string>
#include <vector>

#include "models/records.h"

namespace geo {
class Store;
}

namespace app {

/// Names of records of a kind that were withdrawn: what is new takes none of them, since a name comes back only by a
/// correction with a reason.
/// @param kind  "moves", "loads", "samples"
std::set<std::string> withdrawn_names(const geo::Store& store, const std::string& kind);

/// The move after the latest one: M26-28 is followed by M26-29; M1 where there is none.
std::string next_move_name(const std::vector<models::Move>& moves, const std::set<std::string>& withdrawn);

/// The name after one that ends in a number, with as many digits: "W26-41" after "W26-40", "first-2" after "first".
std::string name_after(const std::string& before, const std::function<bool(const std::string&)>& taken);

}  // namespace app
