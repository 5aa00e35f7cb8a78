#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "app/command_line.h"
#include "geo/point_table.h"
#include "models/spatial/kriging.h"
#include "models/spatial/variogram_fit.h"

namespace app::commands {

/// Which columns of which table: what `variogram` and `krige` share.
struct PointColumns {
    std::string file, x = "x", y = "y", value, crs;
    std::optional<std::string> error_variance;
    bool log = false;
};
void declare_point_columns(Options& options, PointColumns& columns);

/// The table in the words of the models, and the plane its places lie in.
struct PointSet {
    models::SpatialData data;
    std::shared_ptr<const geo::TablePlane> plane;
    std::vector<std::string> notes;
};
/// Rows with a missing cell in a column that is used are left out and counted in the notes.
/// @throws models::Error  a column is missing, a cell is no number, a logarithm of a number that is not positive
PointSet read_points(const PointColumns& columns, const std::vector<std::string>& drift);

std::vector<std::string> names_in_list(const std::string& list);
std::vector<double> numbers_in_list(const std::string& list, const std::string& option);
/// Four significant digits, for a person; --json and files keep all.
std::string on_screen(double value);
/// The model as text that --variogram takes again, with four digits.
std::string on_screen(const models::VariogramModel& model);
/// What stands in place of the values while variograms and estimates are made: an indicator (1 where a value is at or
/// under a threshold, else 0) and a normal score have no unit.
enum class WorkedOn { values, indicator, normal_scores };
/// "Ranges and distances in metres; sills and gamma in the unit of don, squared."
std::string units_in_words(const PointColumns& columns, const PointSet& points, WorkedOn worked_on = WorkedOn::values);
void say_notes(const std::vector<std::string>& notes);

}  // namespace app::commands
