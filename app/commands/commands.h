#pragma once

#include <vector>

#include "app/command_line.h"

namespace app::commands {

/// Everything the program does, one line each; main looks the first word up here.
std::vector<Command> all_commands();

}  // namespace app::commands
