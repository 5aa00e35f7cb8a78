#pragma once

#include <string>
#include <vector>

namespace geo {

class Store;

/// What `lodicule check` found: the file itself, its rules, the chain of records, the outlines, the weather blocks.
struct CheckFinding {
    std::string what;  ///< "chain of records", "database file", "rules", "geometry", "weather blocks"
    bool good = false;
    std::string detail;  ///< "1,204 records, unbroken, last 3f9a..." or what is wrong and where
};
std::vector<CheckFinding> check_store(Store& store);

}  // namespace geo
