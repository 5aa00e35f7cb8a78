#include "demo-data/counter_random.h"

#include <cmath>
#include <numbers>

namespace demo {

namespace {

constexpr std::uint64_t scenario_seed = 0x6C6F646963756C65;  // the scenario's one seed
constexpr std::uint64_t golden = 0x9E3779B97F4A7C15;

std::uint64_t draw_mixed(std::uint64_t z) {
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EB;
    return z ^ (z >> 31);
}

}  // namespace

Draws::Draws(std::string_view purpose, std::uint64_t a, std::uint64_t b, std::uint64_t c) : stream_(scenario_seed) {
    for (const char letter : purpose) stream_ = draw_mixed(stream_ + golden + static_cast<unsigned char>(letter));
    for (const std::uint64_t key : {a, b, c}) stream_ = draw_mixed(stream_ + golden + key);
}

double Draws::uniform() {
    const std::uint64_t bits = draw_mixed(stream_ + golden * ++next_) >> 12;  // 52 bits
    return (static_cast<double>(bits) + 0.5) * 0x1p-52;
}

double Draws::uniform(double low, double high) {
    return low + (high - low) * uniform();
}

int Draws::whole(int low, int high) {
    return low + static_cast<int>(uniform() * (high - low + 1));
}

bool Draws::chance(double probability) {
    return uniform() < probability;
}

double Draws::normal() {
    const double radius = std::sqrt(-2.0 * std::log(uniform()));
    return radius * std::cos(2.0 * std::numbers::pi * uniform());
}

std::size_t Draws::weighted(std::initializer_list<double> weights) {
    double total = 0.0;
    for (const double weight : weights) total += weight;
    double rest = uniform() * total;
    std::size_t index = 0;
    for (const double weight : weights) {
        if (rest < weight) return index;
        rest -= weight;
        ++index;
    }
    return weights.size() - 1;
}

}  // namespace demo
