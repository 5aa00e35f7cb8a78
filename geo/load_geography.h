#pragma once

#include <future>

namespace geo {

/// Loads what reads outlines and transforms places (GEOS, PROJ and the forty libraries that they bring) beside whatever
/// is done until the first place is asked for. Who asks before that is done waits for it. Where they cannot be loaded,
/// nothing is said here: the first outline that needs them says so.
/// @returns  hold it until then; it waits for the loading when it goes
std::future<void> load_geography();

}  // namespace geo
