#pragma once

#include "app/command_line.h"

namespace app::commands {

Command make_report_command();

}  // namespace app::commands
