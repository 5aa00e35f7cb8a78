#include "app/commands/krige_simulation.h"

#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "app/commands/krige_output.h"
#include "geo/raster.h"
#include "models/counted.h"
#include "models/error.h"

namespace app::commands {

namespace {

constexpr double most_numbers_in_memory = 2.5e8;

/// On the scale of the value, and counted against the limit.
struct Exceedances {
    std::optional<double> limit;
    Eigen::VectorXd over;
    int counted = 0;
    void count(const Eigen::VectorXd& values) {
        ++counted;
        if (!limit) return;
        if (over.size() == 0) over.setZero(values.size());
        for (Eigen::Index i = 0; i < values.size(); ++i) {
            over[i] += std::isnan(values[i]) ? values[i] : values[i] > *limit ? 1.0 : 0.0;
        }
    }
    Eigen::VectorXd share() const { return over / static_cast<double>(counted); }
};

}  // namespace

models::SimulationReport write_simulation(const SimulationOutput& output, const models::SpatialData& data,
                                          const models::VariogramModel& model, const geo::TablePlane& plane,
                                          const models::SimulationSettings& settings,
                                          const models::Progress& progress) {
    const bool table = output.file.extension() == ".csv";
    const Eigen::Index m = output.grid ? output.grid->cells() : output.places.rows();
    const int count = settings.realisations;
    if (table && static_cast<double>(m) * count > most_numbers_in_memory) {
        throw models::Error(fmt::format("{} of {} places make a table of {:.3g} numbers",
                                        models::counted(count, "realisation"), m, static_cast<double>(m) * count),
                            "--simulate", "write a raster (--out FILE.tif), or ask for fewer");
    }
    Exceedances exceedances{output.limit, {}, 0};
    const auto simulate = [&](const models::TakeRealisation& take) {
        return output.grid ? models::simulate_on_grid(data, model, *output.grid, settings, take, output.drift, progress)
                           : models::simulate_at(data, model, output.places, settings, take, output.drift, progress);
    };
    if (!table) {
        std::vector<std::string> names;
        for (int k = 0; k < count; ++k) names.push_back(fmt::format("simulation {}", k + 1));
        if (output.limit) names.emplace_back("exceedance");
        geo::RasterWriter writer(output.file, {*output.grid, output.system}, names);
        const auto report = simulate([&](int number, const Eigen::Ref<const Eigen::VectorXd>& values) {
            const Eigen::VectorXd back = values.unaryExpr(output.back);
            exceedances.count(back);
            writer.write_rows(number, 0, output.grid->rows, back.data());
        });
        if (output.limit) writer.write_rows(count, 0, output.grid->rows, exceedances.share().data());
        writer.finish();
        return report;
    }
    std::vector<std::string> names;
    for (int k = 0; k < count; ++k) names.push_back(fmt::format("simulation_{}", k + 1));
    if (output.limit) names.emplace_back("exceedance");
    Eigen::MatrixXd all(m, static_cast<Eigen::Index>(names.size()));
    const auto report = simulate([&](int number, const Eigen::Ref<const Eigen::VectorXd>& values) {
        all.col(number) = values.unaryExpr(output.back);
        exceedances.count(all.col(number));
    });
    if (output.limit) all.col(count) = exceedances.share();
    write_columns(output.file, output.grid, output.system, plane, output.table_x, output.table_y, names, all);
    return report;
}

}  // namespace app::commands
