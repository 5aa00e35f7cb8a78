#pragma once

#include "app/command_line.h"

namespace app::commands {

/// `lodicule weather`: the stations of a season, what is odd about their hours, and how far each way of bringing
/// weather to a field is off where it can be tried.
Command make_weather_command();

}  // namespace app::commands
