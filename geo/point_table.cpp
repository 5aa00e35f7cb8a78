#include "geo/point_table.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <fstream>
#include <limits>
#include <sstream>

#include <fmt/format.h>
#include <proj.h>

#include "geo/work_system.h"
#include "models/error.h"

namespace geo {

namespace {

std::string_view without_margins(std::string_view text) {
    while (!text.empty() && (text.front() == ' ' || text.front() == '\t' || text.front() == '\r'))
        text.remove_prefix(1);
    while (!text.empty() && (text.back() == ' ' || text.back() == '\t' || text.back() == '\r')) text.remove_suffix(1);
    if (text.size() >= 2 && text.front() == '"' && text.back() == '"') text = text.substr(1, text.size() - 2);
    return text;
}

/// Cuts a line at the separators outside quotation marks.
void split_line(std::string_view line, char separator, std::vector<std::string_view>& cells) {
    bool quoted = false;
    std::size_t begin = 0;
    for (std::size_t at = 0; at <= line.size(); ++at) {
        if (at < line.size() && line[at] == '"') quoted = !quoted;
        if (at == line.size() || (line[at] == separator && !quoted)) {
            cells.push_back(without_margins(line.substr(begin, at - begin)));
            begin = at + 1;
        }
    }
}

std::string table_word(std::string_view text) {
    std::string out(text);
    for (char& letter : out) {
        if (letter >= 'A' && letter <= 'Z') letter = static_cast<char>(letter - 'A' + 'a');
    }
    return out;
}

bool is_missing_cell(std::string_view cell) {
    const std::string word = table_word(cell);
    return word.empty() || word == "na" || word == "nan" || word == "-";
}

enum class Axis { plain, longitude, latitude };

Axis axis_named(std::string_view column) {
    std::string name = table_word(column);
    const bool degrees = name.size() > 4 && name.ends_with("_deg");
    if (degrees) name.resize(name.size() - 4);
    if (name == "lon" || name == "longitude") return Axis::longitude;
    if (name == "lat" || name == "latitude") return Axis::latitude;
    if (!degrees) return Axis::plain;
    return name == "y" || name.find("lat") != std::string::npos ? Axis::latitude : Axis::longitude;
}

}  // namespace

PointTable PointTable::read(const std::filesystem::path& file) {
    PointTable table;
    table.file_ = file.string();
    std::ifstream stream(file, std::ios::binary);
    if (!stream) throw models::Error("the file cannot be read", table.file_, "check the path");
    std::ostringstream content;
    content << stream.rdbuf();
    table.text_ = std::make_shared<const std::string>(std::move(content).str());
    std::string_view rest(*table.text_);
    if (rest.starts_with("\xEF\xBB\xBF")) rest.remove_prefix(3);
    char separator = ',';
    long line_number = 0;
    std::vector<std::string_view> cells;
    while (!rest.empty()) {
        const std::size_t end = std::min(rest.find('\n'), rest.size());
        const std::string_view line = rest.substr(0, end);
        rest.remove_prefix(std::min(end + 1, rest.size()));
        ++line_number;
        if (without_margins(line).empty()) continue;
        if (table.columns_.empty()) {
            for (const char other : {';', '\t'}) {
                if (line.find(',') == std::string_view::npos && line.find(other) != std::string_view::npos) {
                    separator = other;
                }
            }
        }
        cells.clear();
        split_line(line, separator, cells);
        if (table.columns_.empty()) {
            for (const std::string_view name : cells) table.columns_.emplace_back(name);
            continue;
        }
        if (cells.size() != table.columns_.size()) {
            throw models::Error(
                fmt::format("the row has {} cells and the header {}", cells.size(), table.columns_.size()),
                fmt::format("{}, row {}", table.file_, line_number),
                "write one cell a column, with a decimal point in numbers");
        }
        table.cells_.insert(table.cells_.end(), cells.begin(), cells.end());
        ++table.rows_;
    }
    if (table.columns_.empty()) {
        throw models::Error("the file is empty", table.file_, "give a CSV file with a header line");
    }
    return table;
}

bool PointTable::has(std::string_view column) const {
    return std::find(columns_.begin(), columns_.end(), column) != columns_.end();
}

std::size_t PointTable::place_of(std::string_view column) const {
    const auto found = std::find(columns_.begin(), columns_.end(), column);
    if (found == columns_.end()) {
        const std::string near = models::nearest_name(column, columns_);
        std::string all;
        for (const std::string& name : columns_) all += (all.empty() ? "" : ", ") + name;
        throw models::Error(
            fmt::format("there is no column \"{}\"{}", column, near.empty() ? "" : "; did you mean \"" + near + "\"?"),
            file_, "the columns are " + all);
    }
    return static_cast<std::size_t>(found - columns_.begin());
}

std::vector<std::string> PointTable::texts(std::string_view column) const {
    std::vector<std::string> out;
    for (std::size_t at = place_of(column); at < cells_.size(); at += columns_.size()) out.emplace_back(cells_[at]);
    return out;
}

Eigen::VectorXd PointTable::numbers(std::string_view column) const {
    const std::size_t at = place_of(column);
    Eigen::VectorXd values(rows_);
    for (long row = 0; row < rows_; ++row) {
        const std::string_view cell = cells_[static_cast<std::size_t>(row) * columns_.size() + at];
        if (is_missing_cell(cell)) {
            values[row] = std::numeric_limits<double>::quiet_NaN();
            continue;
        }
        const char* begin = cell.data() + (cell.front() == '+' ? 1 : 0);
        const char* end = cell.data() + cell.size();
        const auto [stop, problem] = std::from_chars(begin, end, values[row]);
        if (problem != std::errc() || stop != end || !std::isfinite(values[row])) {
            throw models::Error(fmt::format("\"{}\" is no finite number", cell),
                                fmt::format("{}, row {}, column {}", file_, row + 2, column),
                                "write it with a decimal point, or leave the cell empty");
        }
    }
    return values;
}

struct TablePlane::Transform {
    PJ_CONTEXT* context = nullptr;
    PJ* work_from_table = nullptr;
    Transform() = default;
    Transform(const Transform&) = delete;
    Transform& operator=(const Transform&) = delete;
    ~Transform() {
        if (work_from_table != nullptr) proj_destroy(work_from_table);
        if (context != nullptr) proj_context_destroy(context);
    }
};

namespace {

/// Refuses metres that are degrees, and easting and northing in each other's place: the middle of the points lies
/// outside the area that the system is made for, and inside it once they are exchanged.
void check_projected(const std::string& system, double x_low, double x_high, double y_low, double y_high) {
    if (x_low >= -180.0 && x_high <= 180.0 && y_low >= -180.0 && y_high <= 180.0) {
        throw models::Error(fmt::format("the coordinates run from {:.6g} to {:.6g} and {:.6g} to {:.6g}: these are "
                                        "degrees, and {} is in metres",
                                        x_low, x_high, y_low, y_high, system),
                            "", "say --crs EPSG:4326 for degrees, or give metres");
    }
    PJ_CONTEXT* context = proj_context_create();
    proj_log_level(context, PJ_LOG_NONE);
    PJ* own = proj_create(context, system.c_str());
    double west = 0.0, south = 0.0, east = 0.0, north = 0.0;
    bool swapped = false;
    const bool known = own != nullptr && proj_get_area_of_use(context, own, &west, &south, &east, &north, nullptr) == 1;
    PJ* raw = known ? proj_create_crs_to_crs(context, system.c_str(), "EPSG:4326", nullptr) : nullptr;
    PJ* degrees_from_system = raw != nullptr ? proj_normalize_for_visualization(context, raw) : nullptr;
    if (degrees_from_system != nullptr) {
        const auto inside = [&](double x, double y) {
            const PJ_COORD place = proj_trans(degrees_from_system, PJ_FWD, proj_coord(x, y, 0.0, 0.0));
            const bool in_longitude = west <= east ? place.lp.lam >= west - 3.0 && place.lp.lam <= east + 3.0
                                                   : place.lp.lam >= west - 3.0 || place.lp.lam <= east + 3.0;
            return std::isfinite(place.lp.lam) && std::isfinite(place.lp.phi) && in_longitude &&
                   place.lp.phi >= south - 3.0 && place.lp.phi <= north + 3.0;
        };
        const double x = 0.5 * (x_low + x_high), y = 0.5 * (y_low + y_high);
        swapped = !inside(x, y) && inside(y, x);
        proj_destroy(degrees_from_system);
    }
    if (raw != nullptr) proj_destroy(raw);
    if (own != nullptr) proj_destroy(own);
    proj_context_destroy(context);
    if (swapped) {
        throw models::Error(fmt::format("the points lie outside the area of {} and inside it with easting and northing "
                                        "exchanged: the axes look swapped",
                                        system),
                            "", "exchange --x and --y, or say --crs planar");
    }
}

}  // namespace

TablePlane::TablePlane(std::string_view x_column, std::string_view y_column, const Eigen::VectorXd& x,
                       const Eigen::VectorXd& y, std::string_view crs) {
    const Axis x_axis = axis_named(x_column), y_axis = axis_named(y_column);
    std::string source = "EPSG:4326";
    bool degrees = false;
    if (crs.empty()) {
        if (x_axis == Axis::latitude && y_axis == Axis::longitude) {
            throw models::Error(
                fmt::format("x is the column \"{}\" and y the column \"{}\": the axes are swapped", x_column, y_column),
                "", fmt::format("write --x {} --y {}", y_column, x_column));
        }
        if ((x_axis == Axis::longitude) != (y_axis == Axis::latitude)) {
            throw models::Error(fmt::format("of the columns \"{}\" and \"{}\" one is in degrees and the other is not",
                                            x_column, y_column),
                                "", "name longitude for x and latitude for y, or say --crs planar");
        }
        degrees = x_axis == Axis::longitude;
    } else if (crs != "planar") {
        source = std::string(crs);
        PJ_CONTEXT* context = proj_context_create();
        proj_log_level(context, PJ_LOG_NONE);
        PJ* system = proj_create(context, source.c_str());
        const PJ_TYPE type = system == nullptr ? PJ_TYPE_UNKNOWN : proj_get_type(system);
        if (system != nullptr) proj_destroy(system);
        proj_context_destroy(context);
        degrees = type == PJ_TYPE_GEOGRAPHIC_2D_CRS || type == PJ_TYPE_GEOGRAPHIC_3D_CRS;
        if (!degrees && type != PJ_TYPE_PROJECTED_CRS) {
            throw models::Error(fmt::format("the reference system \"{}\" is not known", crs), "",
                                "write planar, or EPSG: and its number, such as EPSG:4326 or EPSG:25832");
        }
        system_ = source;
    }
    if (degrees || !system_.empty()) table_system_ = source;
    double x_low = std::numeric_limits<double>::infinity(), x_high = -x_low, y_low = x_low, y_high = -x_low;
    for (Eigen::Index i = 0; i < x.size(); ++i) {
        if (!std::isfinite(x[i]) || !std::isfinite(y[i])) continue;
        x_low = std::min(x_low, x[i]);
        x_high = std::max(x_high, x[i]);
        y_low = std::min(y_low, y[i]);
        y_high = std::max(y_high, y[i]);
    }
    if (!degrees) {
        if (!system_.empty() && x_high >= x_low) check_projected(system_, x_low, x_high, y_low, y_high);
        const bool could_be_degrees = x_low >= -180.0 && x_high <= 180.0 && y_low >= -90.0 && y_high <= 90.0 &&
                                      std::max(x_high - x_low, y_high - y_low) < 20.0;
        if (crs.empty() && could_be_degrees) {
            notes_.push_back(
                "the coordinates are taken as planar; should they be degrees, say --crs EPSG:4326, for degrees are "
                "never treated as a plane");
        }
        return;
    }
    if (y_low < -90.0 || y_high > 90.0) {
        const bool swapped = y_low >= -180.0 && y_high <= 180.0 && x_low >= -90.0 && x_high <= 90.0;
        throw models::Error(fmt::format("latitudes run from {:.6g} to {:.6g} degrees, beyond the poles{}", y_low,
                                        y_high, swapped ? ": longitude and latitude look swapped" : ""),
                            "", swapped ? "exchange --x and --y" : "give degrees, or say --crs planar for metres");
    }
    if (x_low < -180.0 || x_high > 360.0) {
        throw models::Error(fmt::format("longitudes run from {:.6g} to {:.6g} degrees", x_low, x_high), "",
                            "give degrees, or say --crs planar for metres");
    }
    if (!(x_high >= x_low)) throw models::Error("no row has both coordinates", "", "check the coordinate columns");
    const WorkSystem work =
        WorkSystem::around(0.5 * (x_low + x_high) > 180.0 ? 0.5 * (x_low + x_high) - 360.0 : 0.5 * (x_low + x_high),
                           0.5 * (y_low + y_high));
    system_ = work.proj_text();
    auto transform = std::make_shared<Transform>();
    transform->context = proj_context_create();
    proj_log_level(transform->context, PJ_LOG_NONE);
    PJ* raw = proj_create_crs_to_crs(transform->context, source.c_str(), (system_ + " +type=crs").c_str(), nullptr);
    if (raw != nullptr) {
        transform->work_from_table = proj_normalize_for_visualization(transform->context, raw);
        proj_destroy(raw);
    }
    if (transform->work_from_table == nullptr) {
        throw models::Error(fmt::format("there is no way from {} to metres", source));
    }
    transform_ = std::move(transform);
    notes_.push_back(fmt::format(
        "longitude and latitude were projected to metres (Lambert azimuthal equal area around {:.2f}, {:.2f})",
        work.centre_longitude_deg(), work.centre_latitude_deg()));
}

bool TablePlane::from_degrees() const {
    return transform_ != nullptr;
}

Eigen::MatrixX2d TablePlane::positions_m(const Eigen::VectorXd& x, const Eigen::VectorXd& y) const {
    Eigen::MatrixX2d positions(x.size(), 2);
    positions.col(0) = x;
    positions.col(1) = y;
    if (!transform_) return positions;
    for (Eigen::Index i = 0; i < x.size(); ++i) {
        if (!std::isfinite(x[i]) || !std::isfinite(y[i])) continue;
        const PJ_COORD metres = proj_trans(transform_->work_from_table, PJ_FWD, proj_coord(x[i], y[i], 0.0, 0.0));
        if (!std::isfinite(metres.xy.x) || !std::isfinite(metres.xy.y)) {
            throw models::Error(fmt::format("longitude {}, latitude {} has no place in the work system", x[i], y[i]),
                                "", "check that longitude and latitude are degrees and in this order");
        }
        positions(i, 0) = metres.xy.x;
        positions(i, 1) = metres.xy.y;
    }
    return positions;
}

models::PointM TablePlane::table_coordinates(const models::PointM& place) const {
    if (!transform_) return place;
    const PJ_COORD degrees =
        proj_trans(transform_->work_from_table, PJ_INV, proj_coord(place.x_m, place.y_m, 0.0, 0.0));
    return {degrees.xy.x, degrees.xy.y};
}

}  // namespace geo
