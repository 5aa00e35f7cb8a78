// How often structure within fields is found where it is, and said to be where it is not: simulated fields, contents
// by a Cholesky factor of their true covariance, readings lognormal about them. Figures are of one half of the seeds;
// the least evidence ratio was chosen on the other half (`calibrate`).
//   bench_structure_within_fields [cases = 200] [report | calibrate] [part of a world's name]
#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <random>
#include <string>
#include <vector>

#include <Eigen/Cholesky>
#include <Eigen/Core>
#include <fmt/format.h>

#include "models/contamination/within_field.h"

namespace {

struct World {
    std::string name;
    int fields = 1, points = 60;
    int fields_without = 0;  ///< of the fields, the last so many have no structure
    double side_m = 300.0;
    double sd = 0.6, nugget_share = 0.3, range_m = 80.0;  ///< nugget share 1: no structure
    bool spherical = false;                               ///< else exponential, 1/e at the range
    double cv = 0.15;
    double below_share = 0.0;      ///< of the contents, read as "below" their quantile
    bool along_tramlines = false;  ///< on lines 24 m apart with some metres of scatter
    double heavy = 0.0;            ///< share of places with five times the deviation: not what the model assumes
};

class Draws {
 public:
    explicit Draws(std::uint64_t seed) : generator_(seed) {}
    double uniform() { return (static_cast<double>(generator_() >> 11) + 0.5) * 0x1p-53; }
    double normal() { return std::sqrt(-2.0 * std::log(uniform())) * std::cos(2.0 * std::acos(-1.0) * uniform()); }

 private:
    std::mt19937_64 generator_;
};

std::vector<models::PlacedResult> simulate(const World& world, std::uint64_t seed) {
    Draws draw(seed);
    std::vector<models::PlacedResult> results;
    const double q = std::log(1.0 + world.cv * world.cv);
    for (int f = 0; f < world.fields; ++f) {
        const int n = world.points;
        std::vector<double> x, y;
        for (int i = 0; i < n; ++i) {
            x.push_back(world.side_m * draw.uniform());
            y.push_back(world.side_m * draw.uniform());
            if (world.along_tramlines) x.back() = 24.0 * std::round(x.back() / 24.0) + 2.0 * draw.normal();
        }
        Eigen::MatrixXd c(n, n);
        for (int i = 0; i < n; ++i)
            for (int j = 0; j < n; ++j) {
                const double h = std::hypot(x[i] - x[j], y[i] - y[j]) / world.range_m;
                const double shared = !world.spherical ? std::exp(-h) : h < 1.0 ? 1.0 - h * (1.5 - 0.5 * h * h) : 0.0;
                const double alone = f + world.fields_without < world.fields ? world.nugget_share : 1.0;
                c(i, j) = world.sd * world.sd * ((1.0 - alone) * shared + (i == j ? alone : 0.0));
            }
        const Eigen::MatrixXd factor = c.llt().matrixL();
        Eigen::VectorXd z(n);
        for (int i = 0; i < n; ++i) z[i] = draw.normal();
        z = (factor * z).eval();
        if (world.heavy > 0.0)
            for (int i = 0; i < n; ++i)
                if (draw.uniform() < world.heavy) z[i] *= 5.0;
        const double level = std::log(0.5) + 0.5 * draw.normal();
        std::vector<double> reading;
        for (int i = 0; i < n; ++i) reading.push_back(std::exp(level + z[i] - 0.5 * q + std::sqrt(q) * draw.normal()));
        double bound = 0.0;
        if (world.below_share > 0.0) {
            std::vector<double> sorted = reading;
            std::sort(sorted.begin(), sorted.end());
            bound = sorted[static_cast<std::size_t>(world.below_share * n)];
        }
        for (int i = 0; i < n; ++i) {
            const bool below = reading[i] < bound;
            results.push_back({static_cast<std::size_t>(f),
                               {x[i], y[i]},
                               below ? models::Reading::below : models::Reading::value,
                               below ? bound : reading[i],
                               q});
        }
    }
    return results;
}

constexpr std::array<double, 7> thresholds{1.0, 2.0, 2.5, 3.0, 4.0, 5.0, 10.0};

void study(const World& world, int cases, std::uint64_t first_seed) {
    int found = 0;
    std::array<int, thresholds.size()> over{}, with_skill{};
    double mapped = 0.0, mapped_without = 0.0, seconds = 0.0, foretold = 0.0, effective = 0.0, skill = 0.0;
    for (int k = 0; k < cases; ++k) {
        const auto results = simulate(world, first_seed + static_cast<std::uint64_t>(k));
        const auto start = std::chrono::steady_clock::now();
        const models::WithinFieldStructure told = models::within_field_structure(results);
        seconds += std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
        found += told.supported ? 1 : 0;
        for (std::size_t t = 0; t < thresholds.size(); ++t) {
            const bool is_over = told.evidence_ratio >= thresholds[t];
            over[t] += is_over ? 1 : 0;
            with_skill[t] += is_over && told.leave_one_out_skill > 0.0 ? 1 : 0;
        }
        for (const auto& field : told.by_field) {
            const bool has_none = static_cast<int>(field.field) + world.fields_without >= world.fields;
            (has_none ? mapped_without : mapped) += field.mapped ? 1.0 : 0.0;
        }
        foretold += told.power;
        effective += told.effective_points;
        skill += told.leave_one_out_skill;
    }
    const double percent = 100.0 / cases;
    fmt::print("{:44} {:5.1f}  {:5.1f} {:6.2f}  ", world.name, percent * found, percent * foretold, skill / cases);
    for (std::size_t t = 0; t < thresholds.size(); ++t) fmt::print(" {:5.1f}", percent * with_skill[t]);
    fmt::print("  {:5.1f} {:5.0f} {:6.3f}", percent * over[0], effective / cases, seconds / cases);
    if (world.fields > 1)
        fmt::print("  surfaces in {:.0f} % of fields with structure, {:.0f} % of those without",
                   percent * mapped / std::max(1, world.fields - world.fields_without),
                   percent * mapped_without / std::max(1, world.fields_without));
    fmt::print("\n");
    std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
    const int cases = argc > 1 ? std::stoi(argv[1]) : 200;
    const bool calibrate = argc > 2 && std::string(argv[2]) == "calibrate";
    const std::string only = argc > 3 ? argv[3] : "";
    const std::uint64_t first_seed = calibrate ? 500000 : 1000;
    fmt::print(
        "{} cases each, % found; 'foretold': what the verdict says of its power; then % found were the least "
        "ratio\n",
        cases);
    fmt::print("{:44} {:>5}  {:>5} {:>6}  ", "world", "found", "fore.", "skill");
    for (const double t : thresholds) fmt::print(" {:5.1f}", t);
    fmt::print("  {:>5} {:>5} {:>6}\n", "noskl", "eff.", "s");
    const World base;
    auto with = [&](const char* name, auto&& change) {
        World world = base;
        world.name = name;
        if (world.name.find(only) == std::string::npos) return;
        change(world);
        study(world, cases, first_seed);
    };
    fmt::print("no structure\n");
    const auto plain = [](World& w) { w.nugget_share = 1.0; };
    with("60 points, 300 m", plain);
    with("25 points, 300 m", [&](World& w) { plain(w), w.points = 25; });
    with("120 points, 300 m", [&](World& w) { plain(w), w.points = 120; });
    with("60 points, 500 m, sd 0.35", [&](World& w) { plain(w), w.side_m = 500.0, w.sd = 0.35; });
    with("60 points, 300 m, sd 0.1", [&](World& w) { plain(w), w.sd = 0.1; });
    with("60 points along tramlines", [&](World& w) { plain(w), w.along_tramlines = true; });
    with("4 fields of 15 points", [&](World& w) { plain(w), w.fields = 4, w.points = 15; });
    with("6 fields of 25 points", [&](World& w) { plain(w), w.fields = 6, w.points = 25; });
    with("60 points, 30 % below range", [&](World& w) { plain(w), w.below_share = 0.3; });
    with("60 points, heavy tails", [&](World& w) { plain(w), w.heavy = 0.05; });
    fmt::print("structure\n");
    with("60 points, 300 m, sd 0.6, nugget 30 %", [](World&) {});
    with("the same, nugget 10 %", [](World& w) { w.nugget_share = 0.1; });
    with("the same, CV 10 %, nugget 15 %", [](World& w) { w.nugget_share = 0.15, w.cv = 0.10; });
    with("the same, spherical of range 80 m", [](World& w) { w.spherical = true; });
    with("the same, 30 % below range", [](World& w) { w.below_share = 0.3; });
    with("the same, along tramlines", [](World& w) { w.along_tramlines = true; });
    with("25 points, 300 m", [](World& w) { w.points = 25; });
    with("120 points, 300 m", [](World& w) { w.points = 120; });
    with("4 fields of 15 points, 150 m", [](World& w) { w.fields = 4, w.points = 15, w.side_m = 150.0; });
    with("2 fields of 60 points, one without", [](World& w) { w.fields = 2, w.fields_without = 1; });
    with("6 fields of 25 points, three without", [](World& w) { w.fields = 6, w.points = 25, w.fields_without = 3; });
    with("6 fields of 25 points", [](World& w) { w.fields = 6, w.points = 25; });
    with("60 points, 300 m, range 60 m", [](World& w) { w.range_m = 60.0; });
    with("60 points, 300 m, 5 % left at 80 m", [](World& w) { w.range_m = 80.0 / 3.0; });
    const auto weaker = [](World& w) { w.side_m = 500.0, w.sd = 0.35; };
    with("60 points, 500 m, sd 0.35", weaker);
    with("the same, CV 25 %", [&](World& w) { weaker(w), w.cv = 0.25; });
    with("the same, CV 25 %, nugget 50 %", [&](World& w) { weaker(w), w.cv = 0.25, w.nugget_share = 0.5; });
    with("the same, CV 25 %, 5 % left at 80 m", [&](World& w) { weaker(w), w.cv = 0.25, w.range_m = 80.0 / 3.0; });
}
