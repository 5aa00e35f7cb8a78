#include "models/decision/even_numbers.h"

namespace models {

namespace even_numbers_parts {

std::uint64_t mixed(std::uint64_t z) {
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
    return z ^ (z >> 31);
}

constexpr std::uint64_t golden = 0x9e3779b97f4a7c15ULL;

}  // namespace even_numbers_parts

double uniform_at(std::uint64_t seed, std::uint64_t stream, std::uint64_t index) {
    using even_numbers_parts::golden;
    using even_numbers_parts::mixed;
    const std::uint64_t key = mixed(mixed(seed + golden) + golden * (stream + 1));
    const std::uint64_t bits = mixed(key + golden * (index + 1));
    return (static_cast<double>(bits >> 12) + 0.5) * 0x1p-52;
}

}  // namespace models
