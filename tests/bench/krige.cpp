// Speed of the kriging engine on made data, one line a case: wall and processor seconds. krige_gstat.R does the same
// work with the R package gstat on the same points, so that the two can be set side by side.
//
//     bench_krige [FOLDER]    FOLDER gets the points as CSV for krige_gstat.R

#include <chrono>
#include <cmath>
#include <ctime>
#include <fstream>
#include <functional>
#include <random>
#include <string>

#include <fmt/format.h>

#include "models/spatial/experimental_variogram.h"
#include "models/spatial/kernels/kernels.h"
#include "models/spatial/kriging.h"

namespace {

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

void report(const std::string& name, const std::function<void()>& work) {
    const auto wall = std::chrono::steady_clock::now();
    const std::clock_t processor = std::clock();
    work();
    fmt::print("{:<58} {:>9.3f} {:>9.3f}\n", name,
               std::chrono::duration<double>(std::chrono::steady_clock::now() - wall).count(),
               static_cast<double>(std::clock() - processor) / CLOCKS_PER_SEC);
}

}  // namespace

int main(int argc, char** argv) {
    const auto model = models::VariogramModel::parse("nugget 0.05 + exponential 0.5 range 150");
    if (argc > 1) {
        for (const int n : {155, 1000, 3000, 10000}) {
            std::ofstream file(std::string(argv[1]) + "/points_" + std::to_string(n) + ".csv");
            const models::SpatialData data = scattered_points(n);
            file << "x,y,z\n";
            for (Eigen::Index i = 0; i < n; ++i) {
                file << fmt::format("{:.17g},{:.17g},{:.17g}\n", data.positions_m(i, 0), data.positions_m(i, 1),
                                    data.values[i]);
            }
        }
    }
    fmt::print("kernels: {}\n{:<58} {:>9} {:>9}\n", models::kernels::kernel_table().level, "case", "wall s", "cpu s");
    double sum = 0.0;
    const auto grid_case = [&](int n, int columns, int rows, int neighbours) {
        models::KrigingSettings settings;
        settings.neighbourhood.count = neighbours;
        const models::Kriging kriging(scattered_points(n), model, settings);
        kriging.over_grid({0.0, 800.0, 1000.0 / columns, columns, rows},
                          [&](int, int, const models::KrigingEstimates& strip) { sum += strip.variance.sum(); });
    };
    report("n=155, 1e6 cells with variance", [&] { grid_case(155, 1250, 800, 0); });
    report("n=1,000, 1e5 cells with variance", [&] { grid_case(1000, 353, 283, 0); });
    report("n=1,000, 1e7 cells with variance", [&] { grid_case(1000, 3535, 2828, 0); });
    report("n=3,000, 1e5 cells with variance", [&] { grid_case(3000, 353, 283, 0); });
    report("n=10,000, 32 nearest, 1e5 cells with variance", [&] { grid_case(10000, 353, 283, 32); });
    report("variogram of 10,000 points", [&] {
        const models::SpatialData data = scattered_points(10000);
        models::VariogramSettings settings;
        settings.cutoff_m = 2000.0;
        settings.width_m = 2000.0 / 15.0;
        sum += models::experimental_variogram(data.positions_m, data.values, settings).front().gamma;
    });
    report("leave-one-out of 1,000 points",
           [&] { sum += models::Kriging(scattered_points(1000), model).leave_one_out().rmse; });
    return std::isfinite(sum) ? 0 : 1;
}
