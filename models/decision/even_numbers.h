#pragma once

#include <cstdint>

namespace models {

/// A number in (0, 1), both excluded, that depends on its three arguments and on nothing else: the same on every
/// machine, for any number of threads and in any order of asking. Mixing function of Steele, Lea & Flood (2014), Fast
/// splittable pseudorandom number generators, OOPSLA, fig. 15 (SplitMix64).
double uniform_at(std::uint64_t seed, std::uint64_t stream, std::uint64_t index);

}  // namespace models
