#include "models/decision/even_numbers.h"

#include <cmath>
#include <numbers>

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

double normal_quantile(double u) {
    // By symmetry in the lower tail, where erfc keeps its digits. A start from the tail's leading term, then Newton
    // steps on ln F, which is concave and nearly parabolic, so they settle from any side.
    const bool upper = u > 0.5;
    const double p = upper ? 1.0 - u : u;
    double z = p > 0.02 ? (p - 0.5) * std::sqrt(2.0 * std::numbers::pi)
                        : -std::sqrt(-2.0 * std::log(p) - std::log(-2.0 * std::log(p)) - 1.837877066409345);
    for (int step = 0; step < 50; ++step) {
        const double below = 0.5 * std::erfc(-z / std::numbers::sqrt2);
        const double density = std::exp(-0.5 * z * z) / std::sqrt(2.0 * std::numbers::pi);
        const double change = (std::log(below) - std::log(p)) * below / density;
        z -= change;
        if (std::abs(change) < 1e-15 * (1.0 + std::abs(z))) break;
    }
    return upper ? -z : z;
}

}  // namespace models
