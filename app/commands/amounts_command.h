#pragma once

#include "app/command_line.h"

namespace app::commands {

/// `lodicule amounts`: extractant, dilutions and range for a portion of another mass, from the ratio of its kit lot.
Command make_amounts_command();

}  // namespace app::commands
