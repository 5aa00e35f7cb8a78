#pragma once

#include <optional>
#include <string>
#include <vector>

#include <Eigen/Core>

#include "app/commands/fit_choice.h"
#include "app/commands/point_columns.h"
#include "models/geometry.h"
#include "models/spatial/kriging.h"

namespace app::commands {

/// What was asked of `krige`.
struct KrigeRequest {
    PointColumns columns;
    FitChoice fit;
    std::optional<std::string> variogram, at, extent, like, drift, block, out, residuals, indicator, over, along, layer,
        name;
    std::optional<double> cell_m, within_m, mean, limit;
    std::optional<int> neighbours, sectors, at_least, simulate, seed, folds;
    bool normal_score = false, great_circle = false, cross_validate = false, json = false, yes = false, timing = false;
};

/// Where estimates are wanted: places of a table, or the cells of a grid.
struct Targets {
    std::optional<models::GridM> grid;
    std::string system;  ///< of the grid
    Eigen::MatrixX2d places;
    Eigen::VectorXd table_x, table_y;
    Eigen::MatrixXd drift;                     ///< of places
    std::vector<Eigen::MatrixXd> drift_bands;  ///< of the grid, rows x columns each
};

/// "40x40"
models::BlockM block_of(const std::string& text);
/// @throws models::Error  a raster in another system, too many cells without --yes, drift that is not known there
Targets targets_of(const KrigeRequest& request, const PointSet& points, const std::vector<std::string>& drift);
/// Drift columns that are the coordinates themselves are known everywhere.
Eigen::MatrixXd coordinate_drift(const KrigeRequest& request, const std::vector<std::string>& drift,
                                 const Eigen::VectorXd& table_x, const Eigen::VectorXd& table_y);
/// Drift of some rows of the targets' grid: bands of the raster, or the coordinates themselves.
Eigen::MatrixXd grid_drift(const KrigeRequest& request, const PointSet& points, const Targets& targets,
                           const std::vector<std::string>& drift, int first_row, int rows);

}  // namespace app::commands
