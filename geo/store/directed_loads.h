#pragma once

#include <map>
#include <string>

namespace geo {

class Store;

/// The loads of the store that somebody directed, each with the bin that it was sent to; empty where only the state was
/// written.
std::map<std::string, std::string> directed_loads(const Store& store);

}  // namespace geo
