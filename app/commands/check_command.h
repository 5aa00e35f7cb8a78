#pragma once

#include "app/command_line.h"

namespace app::commands {

Command make_check_command();

}  // namespace app::commands
