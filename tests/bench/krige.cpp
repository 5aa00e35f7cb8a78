// Speed of the kriging engine on made data. krige.sh sets it beside the R package gstat on the same points.
//
//     bench_krige points FOLDER     the points as CSV, for krige_gstat.R
//     bench_krige case NAME         wall and processor seconds of one case
//     bench_krige growth            how the time grows with cells, data and threads
//     bench_krige limits            what this processor can do at most, and how near the cases come

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <ctime>
#include <fstream>
#include <functional>
#include <map>
#include <random>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "models/spatial/experimental_variogram.h"
#include "models/spatial/kernels/kernels.h"
#include "models/spatial/kriging.h"
#include "models/spatial/simulation.h"
#include "models/spatial/variogram_likelihood.h"
#include "models/spatial/whitening.h"

namespace {

struct Seconds {
    double wall = 0.0, processor = 0.0;
};

models::SpatialData scattered_points(int n) {
    std::mt19937 generator(static_cast<unsigned>(n));
    const auto uniform = [&] { return static_cast<double>(generator()) / 4294967296.0; };
    models::SpatialData data;
    data.positions_m.resize(n, 2);
    data.values.resize(n);
    for (Eigen::Index i = 0; i < n; ++i) {
        data.positions_m.row(i) << 1000.0 * uniform(), 800.0 * uniform();
        data.values[i] = std::sin(data.positions_m(i, 0) / 90.0) + 0.5 * uniform();
    }
    return data;
}

Seconds timed(const std::function<void()>& work) {
    const auto wall = std::chrono::steady_clock::now();
    const std::clock_t processor = std::clock();
    work();
    return {std::chrono::duration<double>(std::chrono::steady_clock::now() - wall).count(),
            static_cast<double>(std::clock() - processor) / CLOCKS_PER_SEC};
}

double sum_of_all = 0.0;  // what is worked out is used, so that it cannot be left out

Seconds grid(int n, double cells, int neighbours = 0, int threads = 0) {
    const models::SpatialData data = scattered_points(n);
    const int columns = static_cast<int>(std::lround(std::sqrt(cells * 1.25)));
    const int rows = static_cast<int>(std::lround(cells / columns));
    return timed([&] {
        models::KrigingSettings settings;
        settings.neighbourhood.count = neighbours;
        settings.threads = threads;
        const models::Kriging kriging(data, models::VariogramModel::parse("nugget 0.05 + exponential 0.5 range 150"),
                                      settings);
        kriging.over_grid({0.0, 800.0, 1000.0 / columns, columns, rows}, [&](int, int, const auto& strip) {
            sum_of_all += strip.variance.sum() + strip.estimate.sum();
        });
    });
}

Seconds variogram(int n, int threads = 0) {
    const models::SpatialData data = scattered_points(n);
    models::VariogramSettings settings;
    settings.cutoff_m = 2000.0;
    settings.width_m = 2000.0 / 15.0;
    settings.threads = threads;
    return timed(
        [&] { sum_of_all += models::experimental_variogram(data.positions_m, data.values, settings).front().gamma; });
}

Seconds leave_one_out(int n) {
    const models::SpatialData data = scattered_points(n);
    return timed([&] {
        const models::Kriging kriging(data, models::VariogramModel::parse("nugget 0.05 + exponential 0.5 range 150"));
        sum_of_all += kriging.leave_one_out().rmse;
    });
}

Seconds simulations(int n, int realisations, int threads = 0) {
    const models::SpatialData data = scattered_points(n);
    models::SimulationSettings settings;
    settings.realisations = realisations;
    settings.threads = threads;
    return timed([&] {
        models::simulate_on_grid(data, models::VariogramModel::parse("nugget 0.05 + exponential 0.5 range 150"),
                                 {0.0, 800.0, 2.8284271247461903, 354, 283}, settings,
                                 [&](int, const auto& values) { sum_of_all += values.sum(); });
    });
}

/// One likelihood of many places, each value given its 30 nearest; their order and neighbours are found beforehand.
Seconds likelihood(int n, int threads = 0) {
    const auto model = models::VariogramModel::parse("nugget 0.05 + exponential 0.5 range 150");
    const models::PreparedData data(scattered_points(n), model, {});
    const models::NearestWhitening whitening(data, model, 30, threads);
    return timed([&] { sum_of_all += whitening.whiten(models::PreparedCovariance(model), 30).log_determinant; });
}

Seconds likelihood_fit(int n) {
    const models::SpatialData data = scattered_points(n);
    return timed([&] {
        const auto shapes = models::VariogramModel::parse("nugget 0 + exponential 0 range 1");
        sum_of_all += models::fit_variogram_by_likelihood(data, shapes).objective;
    });
}

const std::map<std::string, std::function<Seconds()>> cases = {
    {"n155", [] { return grid(155, 1e6); }},
    {"n1000", [] { return grid(1000, 1e5); }},
    {"n1000-1e8", [] { return grid(1000, 1e8); }},
    {"n3000", [] { return grid(3000, 1e5); }},
    {"local", [] { return grid(10000, 1e6, 32); }},
    {"variogram", [] { return variogram(10000); }},
    {"leave-one-out", [] { return leave_one_out(1000); }},
    {"likelihood", [] { return likelihood(25000); }},
    {"simulation", [] { return simulations(1000, 100); }},
};

void write_points(const std::string& folder) {
    for (const int n : {155, 1000, 3000, 10000}) {
        std::ofstream file(folder + "/points_" + std::to_string(n) + ".csv");
        const models::SpatialData data = scattered_points(n);
        file << "x,y,z\n";
        for (Eigen::Index i = 0; i < n; ++i) {
            file << fmt::format("{:.17g},{:.17g},{:.17g}\n", data.positions_m(i, 0), data.positions_m(i, 1),
                                data.values[i]);
        }
    }
}

void print_row(const std::string& name, const Seconds& seconds) {
    fmt::print("{:<52} {:>9.3f} {:>9.3f}\n", name, seconds.wall, seconds.processor);
}

void growth() {
    fmt::print("kernels: {}\n{:<52} {:>9} {:>9}\n", models::kernels::kernel_table().level, "with variance", "wall s",
               "cpu s");
    for (const double cells : {1e4, 1e5, 1e6, 1e7}) {
        print_row(fmt::format("1,000 points, {:.0e} cells", cells), grid(1000, cells));
    }
    for (const int n : {100, 300, 1000, 3000}) print_row(fmt::format("{} points, 1e6 cells", n), grid(n, 1e6));
    for (const double cells : {1e4, 1e5, 1e6}) {
        print_row(fmt::format("10,000 points, 32 nearest, {:.0e} cells", cells), grid(10000, cells, 32));
    }
    for (const int n : {2500, 5000, 10000, 20000}) print_row(fmt::format("variogram of {} points", n), variogram(n));
    for (const int n : {6250, 25000, 100000}) {
        print_row(fmt::format("one likelihood of {} places, 30 nearest", n), likelihood(n));
    }
    for (const int n : {1000, 25000}) print_row(fmt::format("REML fit of {} places", n), likelihood_fit(n));
    for (const int threads : {1, 2}) {
        print_row(fmt::format("{} threads: 1,000 points, 1e6 cells", threads), grid(1000, 1e6, 0, threads));
        print_row(fmt::format("{} threads: 10,000 points, 32 nearest, 1e5 cells", threads),
                  grid(10000, 1e5, 32, threads));
        print_row(fmt::format("{} threads: variogram of 10,000 points", threads), variogram(10000, threads));
        print_row(fmt::format("{} threads: one likelihood of 25,000 places", threads), likelihood(25000, threads));
        print_row(fmt::format("{} threads: 100 simulations of 1e5 cells", threads), simulations(1000, 100, threads));
    }
}

void limits() {
    // C - A B' of 1,000 x 1,000, the product that all large solves come down to, and a sum of three long vectors.
    constexpr int n = 1000;
    const Eigen::MatrixXd a = Eigen::MatrixXd::Random(n, n), b = Eigen::MatrixXd::Random(n, n);
    Eigen::MatrixXd c = Eigen::MatrixXd::Zero(n, n);
    double best = 1e300;
    for (int run = 0; run < 5; ++run) {
        best = std::min(best, timed([&] {
                                  models::kernels::kernel_table().take_off(a.data(), n, b.data(), n, n, c.data(), n);
                              }).processor);
    }
    sum_of_all += c(0, 0);
    const double product = 2e-9 * n * n * n / best;
    constexpr Eigen::Index length = 20000000;
    Eigen::VectorXd x = Eigen::VectorXd::Ones(length), y = x, z = x;
    best = 1e300;
    for (int run = 0; run < 5; ++run) {
        best = std::min(best, timed([&] { z = x + 3.0 * y; }).processor);
    }
    sum_of_all += z[7];
    fmt::print("one core: matrix product {:.1f} GFLOP/s, memory {:.1f} GB/s\n", product,
               24e-9 * static_cast<double>(length) / best);
    const auto near = [&](const std::string& name, double flops, const Seconds& seconds) {
        fmt::print("{:<52} {:>6.2f} GFLOP/s a core, {:>5.1f} % of the product\n", name,
                   1e-9 * flops / seconds.processor, 100e-9 * flops / seconds.processor / product);
    };
    // The plain formulas' operations, whether done or saved: over 100 % is what tiles and shared factors save.
    for (const auto& [points, cells] : {std::pair{155, 1e6}, std::pair{1000, 1e5}, std::pair{3000, 1e5}}) {
        near(fmt::format("{} points, {:.0e} cells, n^2 a cell", points, cells),
             static_cast<double>(points) * points * cells, grid(points, cells));
    }
    near("10,000 points, 32 nearest, 1e6 cells, n^3/3 + 2 n^2", 1e6 * (32.0 * 32 * 32 / 3 + 2 * 32.0 * 32),
         grid(10000, 1e6, 32));
    near("leave-one-out of 1,000, 2/3 n^3", 2e9 / 3.0, leave_one_out(1000));
    const Seconds pairs = variogram(10000);
    fmt::print("{:<52} {:>6.2f} ns a pair and core\n", "variogram of 10,000 points", pairs.processor / 0.049995);
}

}  // namespace

int main(int argc, char** argv) {
    const std::string what = argc > 1 ? argv[1] : "", name = argc > 2 ? argv[2] : "";
    const auto found = cases.find(name);
    if (what == "points" && argc > 2) {
        write_points(name);
    } else if (what == "case" && found != cases.end()) {
        const Seconds seconds = found->second();
        fmt::print("{:.4f} {:.4f}\n", seconds.wall, seconds.processor);
    } else if (what == "growth") {
        growth();
    } else if (what == "limits") {
        limits();
    } else {
        fmt::print(stderr, "bench_krige points FOLDER | case NAME | growth | limits\n");
        return 2;
    }
    return std::isfinite(sum_of_all) ? 0 : 1;
}
