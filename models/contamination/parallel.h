#pragma once

#include <functional>

#include "models/progress.h"

namespace models::contamination {

/// Calls work(i) for i = 0 .. n-1 on several threads. Each i must write to its own place only, so that the outcome does
/// not depend on the threads. The first exception (and a stop asked for through `progress`) is thrown on.
/// @param threads  0: as many as the machine has
void for_each_index(int n, int threads, const std::function<void(int)>& work, const Progress& progress = {},
                    std::string_view what = "");

}  // namespace models::contamination
