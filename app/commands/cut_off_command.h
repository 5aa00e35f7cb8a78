#pragma once

#include "app/command_line.h"

namespace app::commands {

/// The content from which a strip is suspected, from a validation of the kit lot: computed, checked, kept with the lot.
Command make_cut_off_command();

}  // namespace app::commands
