#pragma once

#include <filesystem>
#include <functional>
#include <optional>
#include <string>

#include "geo/point_table.h"
#include "models/spatial/simulation.h"

namespace app::commands {

/// What `krige --simulate` writes, and where.
struct SimulationOutput {
    std::filesystem::path file;
    std::optional<models::GridM> grid;  ///< none: the places of a table
    std::string system;                 ///< of the grid
    Eigen::MatrixX2d places;            ///< of the table, in metres
    Eigen::VectorXd table_x, table_y;   ///< of the table, as it has them
    Eigen::MatrixXd drift;              ///< of all targets
    std::optional<double> limit;        ///< also the share of realisations over it, on the scale of `back`
    std::function<double(double)> back = [](double value) { return value; };  ///< from what was simulated to the value
};

/// x, y, then simulation_1 ... simulation_N (bands "simulation 1" ... in a raster), with a limit `exceedance` last.
models::SimulationReport write_simulation(const SimulationOutput& output, const models::SpatialData& data,
                                          const models::VariogramModel& model, const geo::TablePlane& plane,
                                          const models::SimulationSettings& settings, const models::Progress& progress);

}  // namespace app::commands
