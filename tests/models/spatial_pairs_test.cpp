#include <cmath>
#include <vector>

#include <catch2/catch.hpp>

#include "models/spatial/experimental_variogram.h"
#include "models/spatial/kernels/kernels.h"
#include "models/spatial/kriging.h"

namespace {

/// Every pair looked at one after another, as the definition says it: the slow obvious way.
std::vector<models::VariogramClass> pair_by_pair(const models::SpatialData& data,
                                                 const models::VariogramSettings& settings) {
    const bool by_boundaries = !settings.boundaries_m.empty();
    const double cutoff = by_boundaries ? settings.boundaries_m.back() : *settings.cutoff_m;
    std::vector<double> directions = settings.directions_deg;
    if (directions.empty()) directions.push_back(0.0);
    const double degree = 3.14159265359 / 180.0;  // gstat's
    const std::size_t classes = by_boundaries ? settings.boundaries_m.size()
                                              : static_cast<std::size_t>(std::ceil(cutoff / *settings.width_m)) + 1;
    std::vector<models::VariogramClass> all(classes * directions.size()), found;
    for (Eigen::Index i = 0; i < data.values.size(); ++i) {
        for (Eigen::Index j = 0; j < i; ++j) {
            const double dx = data.positions_m(i, 0) - data.positions_m(j, 0);
            const double dy = data.positions_m(i, 1) - data.positions_m(j, 1);
            const double distance = std::sqrt(dx * dx + dy * dy);
            if (distance > cutoff) continue;
            std::size_t in_class = 0;
            while (by_boundaries ? distance > settings.boundaries_m[in_class]
                                 : distance / *settings.width_m > static_cast<double>(in_class + 1)) {
                ++in_class;
            }
            double difference = data.values[i] - data.values[j];
            difference = settings.robust ? std::sqrt(std::abs(difference)) : 0.5 * difference * difference;
            if (data.error_variances.size() > 0) {
                difference -= 0.5 * (data.error_variances[i] + data.error_variances[j]);
            }
            for (std::size_t k = 0; k < directions.size(); ++k) {
                if (settings.tolerance_deg && *settings.tolerance_deg < 90.0 && distance > 0.0) {
                    const double along = dx * std::sin(directions[k] * degree) + dy * std::cos(directions[k] * degree);
                    if (std::abs(along / distance) < std::cos(*settings.tolerance_deg * degree)) continue;
                }
                models::VariogramClass& to = all[k * classes + in_class];
                to.distance_m += distance;
                to.gamma += difference;
                to.direction_deg = directions[k];
                ++to.pairs;
            }
        }
    }
    for (models::VariogramClass one : all) {
        if (one.pairs == 0) continue;
        const double pairs = static_cast<double>(one.pairs);
        one.distance_m /= pairs;
        one.gamma /= pairs;
        if (settings.robust) one.gamma = 0.5 * std::pow(one.gamma, 4) / (0.457 + 0.494 / pairs);
        found.push_back(one);
    }
    return found;
}

}  // namespace

TEST_CASE("a variogram has the pairs of looking at them one by one also where distances meet class edges") {
    // Places on a lattice of tenths, so that many distances equal an edge up to the last rounding, and some far away.
    models::SpatialData lattice;
    lattice.positions_m.resize(700, 2);
    lattice.values.resize(700);
    for (Eigen::Index i = 0; i < 700; ++i) {
        const double column = static_cast<double>((i * 37) % 53), row = static_cast<double>((i * 11) % 29);
        lattice.positions_m.row(i) << 180000.0 + 0.1 * column, 0.1 * row;
        lattice.values[i] = std::sin(1.7 * column) + 0.01 * static_cast<double>(i % 13);
    }
    lattice.positions_m.row(5) = lattice.positions_m.row(4);
    lattice.values[6] = 1e6;  // an outlier must not blur the classes that it is not in
    models::SpatialData uncertain = lattice;
    uncertain.error_variances = 0.01 * (1.0 + lattice.values.head(700).array().abs().min(2.0));
    models::VariogramSettings tenths, fine, wide, robust, bounds, directed, short_sighted;
    tenths.cutoff_m = 3.0;
    tenths.width_m = 0.3;
    fine.cutoff_m = 5.0;
    fine.width_m = 0.001;
    wide.cutoff_m = 2.0;
    wide.width_m = 50.0;
    robust = tenths;
    robust.robust = true;
    bounds.boundaries_m = {0.1, 0.2, 0.3, 0.5, 0.7, 1.3, 1.4, 4.0};
    directed = tenths;
    directed.directions_deg = {0.0, 45.0, 100.0};
    directed.tolerance_deg = 22.5;
    short_sighted.cutoff_m = 0.2;
    short_sighted.width_m = 0.1;
    for (const auto& settings : {tenths, fine, wide, robust, bounds, directed, short_sighted}) {
        for (const models::SpatialData* data : {&lattice, &uncertain}) {
            if (settings.robust && data == &uncertain) continue;
            const auto expected = pair_by_pair(*data, settings);
            const auto found =
                models::experimental_variogram(data->positions_m, data->values, settings, data->error_variances);
            REQUIRE(found.size() == expected.size());
            for (std::size_t k = 0; k < found.size(); ++k) {
                CHECK(found[k].pairs == expected[k].pairs);
                CHECK(found[k].direction_deg == expected[k].direction_deg);
                CHECK(found[k].distance_m == Approx(expected[k].distance_m).epsilon(1e-12).margin(1e-15));
                CHECK(found[k].gamma == Approx(expected[k].gamma).epsilon(1e-12).margin(1e-12));
            }
        }
    }
}

TEST_CASE("processor levels agree on the pairs of a variogram and to twelve digits on their sums") {
    constexpr auto block = static_cast<std::size_t>(models::kernels::points_a_pair_block);
    const std::size_t n = 150;
    std::vector<double> x(n + block), y(n + block), value(n + block), boxes;
    for (std::size_t i = 0; i < n; ++i) {
        const auto t = static_cast<double>(i);
        x[i] = std::fmod(t * 37.0, 151.0);
        y[i] = std::fmod(t * 51.0, 97.0);
        value[i] = std::sin(t);
    }
    for (std::size_t first = 0; first < n; first += block) boxes.insert(boxes.end(), {0.0, 151.0, 0.0, 97.0});
    const std::vector<double> limits = {25.0, 100.0, 2500.0, 6400.0};
    models::kernels::PairArrays pairs;
    pairs.n = static_cast<int>(n);
    pairs.x = x.data();
    pairs.y = y.data();
    pairs.value = value.data();
    pairs.boxes = boxes.data();
    pairs.limits = limits.data();
    pairs.classes = 4;
    std::vector<double> plain(12);
    for (std::size_t i = 0; i < n; ++i) {
        for (std::size_t j = 0; j < i; ++j) {
            const double squared = (x[i] - x[j]) * (x[i] - x[j]) + (y[i] - y[j]) * (y[i] - y[j]);
            for (std::size_t k = 0; k < 4; ++k) {
                if (squared > limits[k] || (k > 0 && squared <= limits[k - 1])) continue;
                plain[3 * k] += std::sqrt(squared);
                plain[3 * k + 1] += 0.5 * (value[i] - value[j]) * (value[i] - value[j]);
                plain[3 * k + 2] += 1.0;
            }
        }
    }
    for (const std::string& level : models::kernels::kernel_levels()) {
        INFO(level);
        std::vector<double> sums(12);
        for (int first = 0; first < 3; ++first)
            models::kernels::kernel_table(level).pair_sums(pairs, first, sums.data());
        for (std::size_t k = 0; k < 12; ++k) CHECK(sums[k] == Approx(plain[k]).epsilon(1e-12));
        for (std::size_t k = 2; k < 12; k += 3) CHECK(sums[k] == plain[k]);
    }
}
