#pragma once

#include "app/command_line.h"

namespace app::commands {

/// `lodicule variogram`: the experimental variogram of a plain table of points and the model fitted to it.
Command make_variogram_command();

}  // namespace app::commands
