#pragma once

#include <vector>

#include "models/records.h"

namespace geo {

class Store;

/// Tests that a later record corrects. They count nowhere, and stay for whoever wants to see what was corrected.
std::vector<models::Test> superseded_tests(const Store& store);

}  // namespace geo
