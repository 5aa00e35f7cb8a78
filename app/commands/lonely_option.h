#pragma once

#include <initializer_list>
#include <string>
#include <utility>

#include "models/error.h"

namespace app::commands {

/// Refuses the first of these options that was given, for they say how something is done that nobody asked for.
/// @param of    what they speak of: "a move that is recorded"
/// @param mend  "give --record BIN, too"
/// @throws models::Error  "--reason speaks of a move that is recorded, and none is asked for", and how to mend it
inline void refuse_lonely(std::initializer_list<std::pair<bool, const char*>> options, const std::string& of,
                          const std::string& mend) {
    for (const auto& [given, flag] : options)
        if (given) throw models::Error(std::string(flag) + " speaks of " + of + ", and none is asked for", "", mend);
}

}  // namespace app::commands
