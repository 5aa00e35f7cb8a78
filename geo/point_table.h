#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <Eigen/Core>

#include "models/geometry.h"

namespace geo {

/// Any plain table of points: CSV with a header line, separated by commas (or by semicolons or tabs where the header
/// has those), numbers with a decimal point. Cells that are empty, NA, NaN or "-" are missing.
class PointTable {
 public:
    /// @throws models::Error  unreadable, empty, a row with more or fewer cells than the header
    static PointTable read(const std::filesystem::path& file);

    long rows() const { return rows_; }
    const std::vector<std::string>& columns() const { return columns_; }
    const std::string& file() const { return file_; }
    bool has(std::string_view column) const;
    /// One column as it stands.
    /// @throws models::Error  no such column (the nearest name is offered)
    std::vector<std::string> texts(std::string_view column) const;
    /// One column as numbers, NaN where missing.
    /// @throws models::Error  no such column (the nearest name is offered); a cell that is no finite number
    Eigen::VectorXd numbers(std::string_view column) const;

 private:
    std::size_t place_of(std::string_view column) const;

    std::string file_;
    std::shared_ptr<const std::string> text_;
    std::vector<std::string> columns_;
    std::vector<std::string_view> cells_;
    long rows_ = 0;
};

/// The flat system in which distances between the points of a table are measured, and the way into it and back.
/// Columns named lon, lat, longitude, latitude (or ending in _deg) are degrees, and so are those of a geographic
/// EPSG code; degrees are projected to an equal-area system centred on the points. All others are planar as they are.
class TablePlane {
 public:
    /// @param crs  "", "planar" or "EPSG:n"
    /// @throws models::Error  axes swapped, one axis in degrees and the other not, degrees out of range, unknown system
    TablePlane(std::string_view x_column, std::string_view y_column, const Eigen::VectorXd& x, const Eigen::VectorXd& y,
               std::string_view crs);

    Eigen::MatrixX2d positions_m(const Eigen::VectorXd& x, const Eigen::VectorXd& y) const;
    /// Back to the coordinates of the table.
    models::PointM table_coordinates(const models::PointM& place) const;
    bool from_degrees() const;
    const std::string& system() const { return system_; }              ///< for a raster: PROJ text, "EPSG:n", or empty
    const std::string& table_system() const { return table_system_; }  ///< of the table's own coordinates: "EPSG:n"
    const std::vector<std::string>& notes() const { return notes_; }   ///< what was done, in sentences

 private:
    struct Transform;
    std::string system_, table_system_;
    std::vector<std::string> notes_;
    std::shared_ptr<const Transform> transform_;
};

}  // namespace geo
