#include "tests/support/season_simulator.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <random>

namespace season_simulator {

namespace {

/// Uniform and normal numbers that are the same on every machine: the engine is fixed by the standard, the rest is
/// here.
class Dice {
 public:
    explicit Dice(std::uint64_t seed) : engine_(seed) {}
    double uniform() { return (static_cast<double>(engine_() >> 11) + 0.5) * 0x1p-53; }
    double between(double low, double high) { return low + (high - low) * uniform(); }
    double normal() {
        const double radius = std::sqrt(-2.0 * std::log(uniform()));
        return radius * std::cos(6.283185307179586 * uniform());
    }
    /// Mean 1 on the plain scale.
    double lognormal_about_one(double coefficient_of_variation) {
        const double variance = std::log(1.0 + coefficient_of_variation * coefficient_of_variation);
        return std::exp(-0.5 * variance + std::sqrt(variance) * normal());
    }
    std::vector<int> order(int n) {
        std::vector<int> fields(static_cast<std::size_t>(n));
        std::iota(fields.begin(), fields.end(), 0);
        for (int i = n - 1; i > 0; --i)
            std::swap(fields[static_cast<std::size_t>(i)],
                      fields[static_cast<std::size_t>(std::min(static_cast<int>(uniform() * (i + 1)), i))]);
        return fields;
    }

 private:
    std::mt19937_64 engine_;
};

/// Published total error of a wheat sample of 454 g, a portion of 25 g and one analysis; flat below 0.05 mg/kg.
double coefficient_of_variation(double content) {
    const double c = std::max(content, 0.05);
    return std::sqrt(0.118 * std::pow(c, 0.833)) / c;
}

}  // namespace

SimulatedSeasons simulate(const World& world, std::uint64_t seed) {
    Dice dice(seed * 7919 + 17);
    SimulatedSeasons s;
    s.level = world.level_mean + world.level_sd * dice.normal();
    s.slope = dice.between(world.slope_low, world.slope_high);
    s.season_sd = dice.between(world.season_sd_low, world.season_sd_high);
    s.field_sd = dice.between(world.field_sd_low, world.field_sd_high);
    s.within_sd = dice.between(world.within_sd_low, world.within_sd_high);
    for (int season = 0; season <= world.past_seasons; ++season) {
        const bool current = season == world.past_seasons;
        const double season_effect = s.season_sd * dice.normal();
        std::vector<double>& logit = s.risk_logit.emplace_back();
        std::vector<double>& content = s.content_mg_per_kg.emplace_back();
        for (int f = 0; f < world.fields; ++f) {
            const double l = world.risk_mean + world.risk_sd * dice.normal();
            double effect = dice.normal();
            if (world.heavy_tails) {
                // Student, three degrees of freedom: variance 3, brought back to 1.
                const double a = dice.normal(), b = dice.normal(), c = dice.normal();
                effect /= std::sqrt((a * a + b * b + c * c) / 3.0) * std::sqrt(3.0);
            }
            logit.push_back(l);
            double m =
                s.level + (s.slope + world.bent_slope * (l + 1.0)) * (l + 1.0) + season_effect + s.field_sd * effect;
            if (current && dice.uniform() < world.free_share) m = std::log(0.01);
            content.push_back(std::exp(m));
        }
        std::vector<int> order = dice.order(world.fields);
        if (current && world.placement == Placement::worst_first)
            std::stable_sort(order.begin(), order.end(), [&](int a, int b) {
                return logit[static_cast<std::size_t>(a)] > logit[static_cast<std::size_t>(b)];
            });
        const int tests = current ? world.tests : world.past_tests;
        for (int t = 0; t < tests; ++t) {
            const int f = order[static_cast<std::size_t>(t % world.fields)];
            double sampled = 0.0;
            for (int k = 0; k < world.increments; ++k)
                sampled += std::exp(-0.5 * s.within_sd * s.within_sd + s.within_sd * dice.normal()) / world.increments;
            sampled *= content[static_cast<std::size_t>(f)];
            double read = sampled * dice.lognormal_about_one(coefficient_of_variation(sampled));
            if (current) read *= std::exp(world.lot_bias);
            Reading reading{season, f, 0, read};
            if (read < world.range_low_mg_per_kg) reading.side = -1, reading.mg_per_kg = world.range_low_mg_per_kg;
            if (read > world.range_high_mg_per_kg) reading.side = 1, reading.mg_per_kg = world.range_high_mg_per_kg;
            s.readings.push_back(reading);
        }
    }
    return s;
}

}  // namespace season_simulator
