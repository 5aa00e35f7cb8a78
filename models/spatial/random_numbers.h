#pragma once

#include <array>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <utility>

#include "models/spatial/kernels/circle.h"
#include "models/spatial/kernels/kernels.h"

namespace models {

/// Random numbers that are a function of where they are wanted, not of what was drawn before: the same seed gives the
/// same numbers whatever the order, the number of threads or the library. Philox 4x32 with ten rounds: Salmon, Moraes,
/// Dror & Shaw (2011), Parallel random numbers: as easy as 1, 2, 3, SC'11.
inline std::array<std::uint32_t, 4> philox(std::array<std::uint32_t, 4> counter, std::array<std::uint32_t, 2> key) {
    for (int round = 0; round < 10; ++round) {
        const std::uint64_t a = std::uint64_t{0xD2511F53u} * counter[0], b = std::uint64_t{0xCD9E8D57u} * counter[2];
        counter = {static_cast<std::uint32_t>(b >> 32) ^ counter[1] ^ key[0], static_cast<std::uint32_t>(b),
                   static_cast<std::uint32_t>(a >> 32) ^ counter[3] ^ key[1], static_cast<std::uint32_t>(a)};
        key[0] += 0x9E3779B9u;
        key[1] += 0xBB67AE85u;
    }
    return counter;
}

/// One sequence of standard normal values of a seed: of a purpose (what the numbers are for) and a number (which
/// realisation). Values come in twos: Box & Muller (1958), Annals of Mathematical Statistics 29, 610-611.
class NormalStream {
 public:
    NormalStream(std::uint64_t seed, std::uint32_t purpose, std::uint32_t number)
        : key_{static_cast<std::uint32_t>(seed), static_cast<std::uint32_t>(seed >> 32)},
          purpose_(purpose),
          number_(number) {}

    /// The two values number 2 * index and 2 * index + 1.
    std::pair<double, double> two(std::uint64_t index) const {
        const auto bits = philox(
            {static_cast<std::uint32_t>(index), static_cast<std::uint32_t>(index >> 32), number_, purpose_}, key_);
        const double radius = std::sqrt(-2.0 * std::log(unit(bits[0], bits[1])));
        const auto [cosine, sine] = on_circle(unit(bits[2], bits[3]));
        return {radius * cosine, radius * sine};
    }
    double one(std::uint64_t index) const {
        const auto both = two(index / 2);
        return index % 2 == 0 ? both.first : both.second;
    }
    /// For the kernel that draws many at once, equal to these but for rounding.
    kernels::NormalArrays arrays() const { return {key_[0], key_[1], purpose_, number_}; }

 private:
    /// 52 bits, never 0 and never 1.
    static double unit(std::uint32_t high, std::uint32_t low) {
        return (static_cast<double>((std::uint64_t{high >> 6} << 26) | (low >> 6)) + 0.5) * 0x1p-52;
    }
    /// Cosine and sine of a share of a full turn: the nearest quarter turn, and the series for the rest.
    static std::pair<double, double> on_circle(double turn) {
        const int quarter = static_cast<int>(4.0 * turn + 0.5);
        double cosine = 0.0, sine = 0.0;
        kernels::cosine_and_sine(0.5 * std::numbers::pi * (4.0 * turn - quarter), cosine, sine);
        switch (quarter & 3) {
            case 0:
                return {cosine, sine};
            case 1:
                return {-sine, cosine};
            case 2:
                return {-cosine, -sine};
            default:
                return {sine, -cosine};
        }
    }
    std::array<std::uint32_t, 2> key_;
    std::uint32_t purpose_, number_;
};

}  // namespace models
