#include <cmath>
#include <thread>
#include <vector>

#include <catch2/catch.hpp>

#include "models/spatial/matern_table.h"
#include "models/spatial/variogram_model.h"

using models::matern_correlation_by_table;

namespace {

double by_formula(double r, double smoothness) {
    models::VariogramTerm term{.shape = models::VariogramShape::matern, .partial_sill = 1.0, .range_m = 1.0};
    term.smoothness = smoothness;
    return 1.0 - term.unit_semivariance(r);
}

}  // namespace

TEST_CASE("a Matern correlation from the table is as exact as its formula") {
    // The formula multiplies r^v by K_v, whose logarithms grow with v: so do its own last digits.
    for (const double smoothness : {0.05, 0.3, 0.8, 1.0, 1.7, 4.2, 20.0}) {
        double worst = 0.0;
        for (int i = 0; i < 4000; ++i) {
            const double r = 1e-12 * std::pow(1e15, i / 3999.0);
            worst = std::max(worst, std::abs(matern_correlation_by_table(r, smoothness) - by_formula(r, smoothness)));
        }
        // Where panels and octaves meet.
        for (double r = 0x1p-35; r < 100.0; r *= 2.0) {
            for (const double part : {1.0, 1.25, 1.5, 1.75}) {
                for (const double at : {r * part, std::nextafter(r * part, 0.0)}) {
                    worst = std::max(
                        worst, std::abs(matern_correlation_by_table(at, smoothness) - by_formula(at, smoothness)));
                }
            }
        }
        INFO("smoothness " << smoothness);
        CHECK(worst < 1e-14 * std::max(1.0, smoothness));
        CHECK(matern_correlation_by_table(0.0, smoothness) == 1.0);
        CHECK(matern_correlation_by_table(1e4, smoothness) == 0.0);
    }
}

TEST_CASE("a Matern correlation of smoothness seven halves is its closed form") {
    // (1 + r + 2/5 r^2 + 1/15 r^3) exp(-r): Rasmussen & Williams (2006), Gaussian Processes for Machine Learning, eq.
    // 4.16 with r for sqrt(2 v) r / l.
    for (int i = 0; i < 500; ++i) {
        const double r = 1e-6 * std::pow(5e7, i / 499.0);
        const double expected = (1.0 + r + 0.4 * r * r + r * r * r / 15.0) * std::exp(-r);
        CHECK(std::abs(matern_correlation_by_table(r, 3.5) - expected) < 3.5e-14);
    }
}

TEST_CASE("many threads may ask for a new smoothness at once") {
    std::vector<double> found(8, 0.0);
    {
        std::vector<std::jthread> threads;
        for (std::size_t k = 0; k < found.size(); ++k) {
            threads.emplace_back([&found, k] { found[k] = matern_correlation_by_table(0.7, 1.23); });
        }
    }
    for (const double value : found) CHECK(value == found[0]);
    CHECK(found[0] == Approx(by_formula(0.7, 1.23)).epsilon(1e-14));
}
