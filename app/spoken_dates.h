#pragma once

#include <string>

namespace app {

/// A sentence with its dates as they are written elsewhere in the window: "2025-10-13" becomes "13 Oct 2025". Sentences
/// that the command line prints as well carry dates that a program can read.
std::string with_spoken_dates(const std::string& sentence);

}  // namespace app
