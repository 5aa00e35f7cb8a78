#pragma once

#include "app/command_line.h"

namespace app::commands {

/// `lodicule plan-sampling`: how a sampling plan judges lots, what either side risks by it, and the cheapest plan that
/// keeps both risks. Needs no store.
Command make_plan_sampling_command();

}  // namespace app::commands
