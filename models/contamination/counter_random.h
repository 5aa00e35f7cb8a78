#pragma once

#include <cstdint>

#include "models/contamination/normal.h"

namespace models::contamination {

/// A random number that depends on the seed and on two counters alone, whoever asks for it and in whatever order.
/// Finaliser of SplitMix64: Steele, Lea & Flood (2014), OOPSLA, 453-472; applied after each counter is mixed in.
inline double counter_uniform(std::uint64_t seed, std::uint64_t draw, std::uint64_t stream) {
    const auto mix = [](std::uint64_t x) {
        x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9ull;
        x = (x ^ (x >> 27)) * 0x94d049bb133111ebull;
        return x ^ (x >> 31);
    };
    std::uint64_t x = mix(seed + 0x9e3779b97f4a7c15ull);
    x = mix(x ^ (draw * 0x9e3779b97f4a7c15ull + 0x3c6ef372fe94f82bull));
    x = mix(x ^ (stream * 0xd1b54a32d192ed03ull + 0xdaa66d2c7ddf743full));
    return (static_cast<double>(x >> 11) + 0.5) * 0x1p-53;
}

inline double counter_normal(std::uint64_t seed, std::uint64_t draw, std::uint64_t stream) {
    return normal::quantile(counter_uniform(seed, draw, stream));
}

}  // namespace models::contamination
