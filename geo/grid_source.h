#pragma once

#include <chrono>
#include <cstddef>
#include <filesystem>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

/// What a file of gridded weather holds, whatever its format: how its cells lie on the earth, which quantities it has
/// at which times, and their values by blocks. Values come in the program's units: degC, percent, mm.
namespace geo::grids {

/// The cells of a grid. Either two axes in degrees (any order, longitudes also 0 to 360), or, where the grid is drawn
/// in another system, the degrees of each cell. Shapes: [row * columns + column].
struct Lattice {
    std::size_t rows = 0, columns = 0;
    std::vector<double> longitudes_deg, latitudes_deg;            ///< of the axes: columns, rows; or empty
    std::vector<double> cell_longitudes_deg, cell_latitudes_deg;  ///< of every cell; or empty
    bool has_axes() const { return !longitudes_deg.empty(); }
    double longitude_deg(std::size_t row, std::size_t column) const {
        return has_axes() ? longitudes_deg[column] : cell_longitudes_deg[row * columns + column];
    }
    double latitude_deg(std::size_t row, std::size_t column) const {
        return has_axes() ? latitudes_deg[row] : cell_latitudes_deg[row * columns + column];
    }
};

enum class Quantity { temperature, dew_point, relative_humidity, rain };
const char* column_of(Quantity quantity);  ///< "temperature_degc", ...
const char* in_words(Quantity quantity);   ///< "temperature", "dew point", ...

/// What one field of a quantity speaks of: a moment (from = to), or all the time between two.
struct Moment {
    std::chrono::sys_seconds from{}, to{};
    friend bool operator==(const Moment&, const Moment&) = default;
};

/// One quantity at all its times, in order of time.
struct GridQuantity {
    Quantity quantity = Quantity::temperature;
    std::string name;             ///< as the file calls it
    std::vector<Moment> moments;  ///< of rain without a known beginning: from = to = its end
    bool beginning_known = true;  ///< of rain
    bool is_rate = false;         ///< of rain: mm in the hour while it lasts, and no sum
};

/// Rows and columns from the first to the last, both included.
struct Box {
    std::size_t first_row = 0, last_row = 0, first_column = 0, last_column = 0;
    std::size_t rows() const { return last_row - first_row + 1; }
    std::size_t columns() const { return last_column - first_column + 1; }
};

/// What the user says of the file: our column -> the name or the unit that the file has.
struct Named {
    std::map<std::string, std::string> variables, units;
};

class GridSource {
 public:
    GridSource() = default;
    GridSource(const GridSource&) = delete;
    GridSource& operator=(const GridSource&) = delete;
    virtual ~GridSource() = default;

    /// Fields [first, first + count) of a quantity in a box: [field][row][column], NaN where missing.
    /// @param quantity  index into `quantities`
    virtual std::vector<double> read(std::size_t quantity, std::size_t first, std::size_t count, const Box& box) = 0;

    Lattice lattice;
    std::vector<GridQuantity> quantities;
    std::optional<std::chrono::sys_seconds> made_utc;  ///< where the whole file has one reference time
    std::vector<std::string> notes;
};

/// @throws models::Error  the file cannot be read, holds none of the quantities, or what it says of them (units, times,
///                        places) is not understood
std::unique_ptr<GridSource> open_netcdf(const std::filesystem::path& file, const Named& named);
std::unique_ptr<GridSource> open_grib(const std::filesystem::path& file);

/// value * factor + shift of a unit as files write it ("K", "kg m**-2", "m of water equivalent"); `per_second` is set
/// for rates. nullopt: not a unit of the quantity.
struct GridUnit {
    double factor = 1.0, shift = 0.0;
    bool is_rate = false;
};
std::optional<GridUnit> grid_unit(Quantity quantity, const std::string& text);

/// "hours since 1900-01-01 00:00:00.0": what a number on that axis means. nullopt where the text is no such unit.
struct TimeUnit {
    double seconds = 1.0;  ///< of one step
    std::chrono::sys_seconds since{};
    std::chrono::sys_seconds at(double value) const;
};
std::optional<TimeUnit> time_unit(const std::string& text);

}  // namespace geo::grids
