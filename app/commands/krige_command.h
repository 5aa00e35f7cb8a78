#pragma once

#include "app/command_line.h"

namespace app::commands {

/// `lodicule krige`: the kriging engine on a plain table of points, no store needed.
Command make_krige_command();

}  // namespace app::commands
