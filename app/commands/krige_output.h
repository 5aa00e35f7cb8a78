#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "geo/point_table.h"
#include "models/spatial/kriging.h"
#include "models/spatial/normal_score.h"

namespace app::commands {

/// Which columns or bands follow estimate and variance.
struct EstimateColumns {
    bool log = false;                                   ///< median and mean of the value whose logarithm was kriged
    std::optional<double> limit;                        ///< chance that the value is over it
    bool unknown_mean = true;                           ///< the mean needs the Lagrange multiplier
    std::shared_ptr<const models::NormalScore> scores;  ///< median and mean of the value whose score was kriged
};

/// Their names, estimate and variance first.
std::vector<std::string> estimate_column_names(const EstimateColumns& wanted);
/// Each as one vector, in that order.
std::vector<Eigen::VectorXd> estimate_columns(const models::KrigingEstimates& found, const EstimateColumns& wanted);

/// Where estimates go: a CSV table or a GeoTIFF, written beside its name and renamed at the end.
class EstimateFile {
 public:
    virtual ~EstimateFile() = default;
    virtual void write_strip(int first_row, int rows, const models::KrigingEstimates& strip) = 0;
    virtual void write_places(const Eigen::VectorXd& x, const Eigen::VectorXd& y,
                              const models::KrigingEstimates& found) = 0;
    virtual void finish() = 0;
};

/// @param grid   none: places of a table follow
std::unique_ptr<EstimateFile> open_estimate_file(const std::filesystem::path& file,
                                                 const std::optional<models::GridM>& grid, const std::string& system,
                                                 const geo::TablePlane& plane, const EstimateColumns& columns);

/// One row or cell for each target, one column or band for each name, in the order of the targets.
/// @param grid  none: places of a table, with the coordinates that it has
void write_columns(const std::filesystem::path& file, const std::optional<models::GridM>& grid,
                   const std::string& system, const geo::TablePlane& plane, const Eigen::VectorXd& table_x,
                   const Eigen::VectorXd& table_y, const std::vector<std::string>& names,
                   const Eigen::MatrixXd& columns);

/// predicted, residual, variance, standardised_error of each point.
void write_residuals(const std::filesystem::path& file, const models::CrossValidation& validation);

}  // namespace app::commands
