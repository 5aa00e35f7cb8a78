#pragma once

#include <string>
#include <vector>

namespace models {

/// "A", "A and B", "A, B and C", in the language that is spoken.
std::string listed(const std::vector<std::string>& names);

}  // namespace models
