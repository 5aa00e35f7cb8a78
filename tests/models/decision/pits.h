#pragma once

#include <cmath>
#include <optional>
#include <random>
#include <string>
#include <vector>

#include "models/decision/bin_plan.h"

/// Bins and loads for the tests of bin plans.
namespace tests::pits {

using models::Purpose;
using models::Reading;

inline models::Limit plan_limit_at(double mg_per_kg) {
    models::Limit limit;
    limit.limit_id = "limit";
    limit.limit_mg_per_kg = mg_per_kg;
    limit.mixing = models::Mixing::forbidden;
    return limit;
}

inline models::BinForPlan bin_of(const std::string& name, Purpose purpose, double capacity_t,
                                 std::optional<double> limit_mg_per_kg) {
    models::BinForPlan bin;
    bin.bin.bin = name;
    bin.bin.purpose = purpose;
    bin.bin.capacity_t = capacity_t;
    if (limit_mg_per_kg) bin.limit = plan_limit_at(*limit_mg_per_kg);
    return bin;
}

inline models::WaitingGrain load_of(const std::string& name, double mass_t, std::optional<double> own_strip = {}) {
    models::WaitingGrain grain;
    grain.name = name;
    grain.mass_t = mass_t;
    if (own_strip) grain.results.push_back({"T-" + name, Reading::value, *own_strip, models::Method::strip});
    return grain;
}

constexpr int n_draws = 400;

/// Even quantiles of a lognormal in a scrambled order, another for each column: independent contents without noise.
inline Eigen::VectorXd contents(double median, double log_sd, int column) {
    std::vector<double> draws;
    for (int i = 0; i < n_draws; ++i) {
        const double u = (i + 0.5) / n_draws;
        double low = -9.0, high = 9.0;
        for (int step = 0; step < 60; ++step) {
            const double z = 0.5 * (low + high);
            (0.5 * std::erfc(-z / std::sqrt(2.0)) < u ? low : high) = z;
        }
        draws.push_back(median * std::exp(log_sd * low));
    }
    std::mt19937 random(static_cast<unsigned>(100 + column));
    for (std::size_t i = draws.size() - 1; i > 0; --i) std::swap(draws[i], draws[random() % (i + 1)]);
    return Eigen::Map<Eigen::VectorXd>(draws.data(), n_draws);
}

/// Numbers that come again.
struct Dice {
    std::mt19937_64 engine;
    int below(int n) { return static_cast<int>(engine() % static_cast<std::uint64_t>(n)); }
    double uniform() { return static_cast<double>(engine() >> 11) * 0x1p-53; }
};

constexpr int pit_draws = 40;

/// Bins of all kinds and states, loads L0, L1 and on with results and tags; now and then a store without any result.
inline models::BinPlanProblem random_pit(Dice& dice, int bins, int loads) {
    static constexpr const char* tags[] = {"", "", "organic"};
    models::BinPlanProblem problem;
    problem.bin_cap = dice.uniform() < 0.5 ? 0.05 : 0.2;
    if (dice.below(4) == 0) problem.caps.upper_cap = 0.8;
    const auto random_contents = [&](double median) {
        Eigen::VectorXd out(pit_draws);
        const double sd = 0.1 + 0.5 * dice.uniform();
        for (double& value : out) {
            value = median * std::exp(sd * (dice.uniform() + dice.uniform() + dice.uniform() - 1.5) * 2.0);
        }
        return out;
    };
    for (int b = 0; b < bins; ++b) {
        const auto purpose = static_cast<Purpose>(dice.below(4));
        const bool limited = dice.below(8) > 0 && purpose != Purpose::hold;
        const double food = 0.75 + 0.5 * dice.below(3), feed = 2.0 + dice.below(4);
        auto bin = bin_of("B" + std::to_string(b), purpose, 20.0 + dice.below(100),
                          limited ? std::optional(purpose == Purpose::food ? food : feed) : std::nullopt);
        bin.bin.keep_apart = tags[dice.below(3)];
        if (limited && dice.below(3) == 0) bin.limit->rounding_mg_per_kg = 0.1;
        if (dice.below(2)) {
            bin.content_t = dice.below(60);
            bin.content_keep_apart = tags[dice.below(3)];
            if (dice.below(5)) bin.content_draws_mg_per_kg = random_contents(0.2 + 1.2 * dice.uniform());
        }
        bin.closed = dice.below(12) == 0;
        problem.bins.push_back(bin);
    }
    problem.draws_mg_per_kg.resize(pit_draws, loads);
    for (int l = 0; l < loads; ++l) {
        auto grain = load_of("L" + std::to_string(l), 5.0 + dice.below(40));
        const double median = 0.1 * std::exp(3.5 * dice.uniform());
        problem.draws_mg_per_kg.col(l) = random_contents(median);
        for (int t = dice.below(3); t > 0; --t) {
            const auto reading = static_cast<Reading>(dice.below(4));
            const double don = median * (0.5 + dice.uniform());
            grain.results.push_back(
                {"T", reading, don, dice.below(2) ? models::Method::strip : models::Method::laboratory});
        }
        grain.keep_apart = tags[dice.below(3)];
        grain.known_over = dice.below(20) == 0;
        problem.grain.push_back(grain);
    }
    if (dice.below(20) == 0) problem.draws_mg_per_kg.resize(0, 0);
    return problem;
}

}  // namespace tests::pits
