#pragma once

#include "app/command_line.h"

namespace app::commands {

Command make_review_command();

}  // namespace app::commands
