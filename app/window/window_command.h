#pragma once

#include "app/command_line.h"

namespace app::window {

Command make_window_command();

}  // namespace app::window
