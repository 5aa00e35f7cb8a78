#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include <Eigen/Core>

#include "models/geometry.h"

namespace geo {

/// Where the cells of a raster lie. Without a system the coordinates are plain planar numbers.
struct RasterFrame {
    models::GridM grid;
    std::string system;  ///< PROJ text, EPSG:n or WKT; empty: planar without a system
};

/// A GeoTIFF written row by row: Float64, NaN where there is no value, one description a band. It is written beside
/// its final name and renamed by finish(), so a file of that name is never half a file; without finish() nothing
/// remains.
class RasterWriter {
 public:
    /// @param bands  descriptions, one a band: "median DON, mg/kg"
    /// @throws models::Error  the folder cannot be written to, the system is not understood
    RasterWriter(std::filesystem::path file, const RasterFrame& frame, const std::vector<std::string>& bands);
    ~RasterWriter();
    RasterWriter(RasterWriter&&) noexcept;
    RasterWriter& operator=(RasterWriter&&) noexcept;

    /// @param values  rows * columns numbers, row by row, of the band's rows [first_row, first_row + rows)
    void write_rows(int band, int first_row, int rows, const double* values);
    /// A whole band: rows x columns.
    void write_band(int band, const Eigen::MatrixXd& values);
    void finish();

 private:
    struct File;
    std::unique_ptr<File> file_;
};

struct Raster {
    RasterFrame frame;
    std::vector<std::string> descriptions;
    std::vector<Eigen::MatrixXd> bands;  ///< rows x columns each, NaN where there is no value
};

/// Reads where the cells lie without reading them; cells must be square and lie north up.
/// @throws models::Error  no raster, cells turned or not square
RasterFrame read_raster_frame(const std::filesystem::path& file);
Raster read_raster(const std::filesystem::path& file);

/// Whether two reference systems, written in whatever form, are the same.
bool same_system(const std::string& a, const std::string& b);

}  // namespace geo
