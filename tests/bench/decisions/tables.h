#pragma once

#include <vector>

#include "tests/bench/honesty/record.h"

namespace decisions {

/// The loss of each way of placing tests, beside tests at random and worst first in the same seasons; the ways as they
/// first come.
void print_tables(const std::vector<honesty::Record>& records);

}  // namespace decisions
