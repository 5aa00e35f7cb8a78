#include "geo/grid_places.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include <fmt/format.h>

#include "geo/outlines.h"
#include "geo/reference_system.h"
#include "models/error.h"
#include "models/weather/nearest_station.h"

namespace geo::grids {

namespace {

constexpr double unknown_place = std::numeric_limits<double>::quiet_NaN();

/// On an axis: the nearest centre and the distance to it in degrees; round the earth for longitudes.
struct OnAxis {
    std::size_t at = 0;
    double away_deg = 0.0;
};
OnAxis on_axis(const std::vector<double>& centres, double value, bool round_the_earth) {
    OnAxis best{0, std::numeric_limits<double>::infinity()};
    for (std::size_t i = 0; i < centres.size(); ++i) {
        double away = centres[i] - value;
        if (round_the_earth) away = longitude_about_zero(away);
        if (std::abs(away) < best.away_deg) best = {i, std::abs(away)};
    }
    return best;
}

double width_deg(const std::vector<double>& centres, std::size_t at, double otherwise) {
    if (centres.size() < 2) return otherwise;
    return std::abs(at == 0 ? centres[1] - centres[0] : centres[at] - centres[at - 1]);
}

using Direction = std::array<double, 3>;
Direction direction_of(double longitude_deg, double latitude_deg) {
    constexpr double radians = std::numbers::pi / 180.0;
    const double flat = std::cos(latitude_deg * radians);
    return {flat * std::cos(longitude_deg * radians), flat * std::sin(longitude_deg * radians),
            std::sin(latitude_deg * radians)};
}

double metres_between(const Lattice& lattice, std::size_t row, std::size_t column, double longitude_deg,
                      double latitude_deg) {
    return models::distance_on_earth_m(lattice.longitude_deg(row, column), lattice.latitude_deg(row, column),
                                       longitude_deg, latitude_deg);
}

/// The longest way from a cell's centre to that of a neighbour.
double cell_width_m(const Lattice& lattice, std::size_t row, std::size_t column) {
    double widest = 0.0;
    const double longitude = lattice.longitude_deg(row, column), latitude = lattice.latitude_deg(row, column);
    const auto look = [&](std::size_t r, std::size_t c) {
        const double away = metres_between(lattice, r, c, longitude, latitude);
        if (away > widest) widest = away;
    };
    if (row > 0) look(row - 1, column);
    if (row + 1 < lattice.rows) look(row + 1, column);
    if (column > 0) look(row, column - 1);
    if (column + 1 < lattice.columns) look(row, column + 1);
    return widest;
}

}  // namespace

double longitude_about_zero(double longitude_deg) {
    double turned = std::fmod(longitude_deg + 180.0, 360.0);
    if (turned < 0.0) turned += 360.0;
    return turned - 180.0;
}

void put_cells_of_axes(Lattice& lattice, const std::vector<double>& x, const std::vector<double>& y,
                       const std::string& system) {
    const ToDegrees to_degrees(system);
    lattice.rows = y.size();
    lattice.columns = x.size();
    lattice.cell_longitudes_deg.assign(x.size() * y.size(), unknown_place);
    lattice.cell_latitudes_deg.assign(x.size() * y.size(), unknown_place);
    for (std::size_t row = 0; row < y.size(); ++row) {
        for (std::size_t column = 0; column < x.size(); ++column) {
            const auto place = to_degrees(x[column], y[row]);
            if (!place) continue;
            lattice.cell_longitudes_deg[row * x.size() + column] = place->longitude_deg;
            lattice.cell_latitudes_deg[row * x.size() + column] = place->latitude_deg;
        }
    }
}

void require_places(const Lattice& lattice, const std::string& file) {
    const auto check = [&](const std::vector<double>& values, double most, const char* what, bool all) {
        long known = 0;
        for (const double value : values) {
            if (std::isnan(value) && !all) continue;
            ++known;
            if (std::abs(value) <= most) continue;
            throw models::Error(fmt::format("{} is no {}", value, what), file,
                                "the coordinates of the grid are to be degrees, or come with a reference system");
        }
        if (known == 0) throw models::Error(fmt::format("the grid has no {}s", what), file);
    };
    if (lattice.has_axes()) {
        check(lattice.longitudes_deg, 360.0, "longitude", true);
        check(lattice.latitudes_deg, 90.0, "latitude", true);
    } else {
        check(lattice.cell_longitudes_deg, 360.0, "longitude", false);
        check(lattice.cell_latitudes_deg, 90.0, "latitude", false);
    }
}

bool same_places(const Lattice& a, const Lattice& b) {
    const auto alike = [](const std::vector<double>& one, const std::vector<double>& other) {
        return std::equal(one.begin(), one.end(), other.begin(), other.end(),
                          [](double x, double y) { return x == y || (std::isnan(x) && std::isnan(y)); });
    };
    return a.rows == b.rows && a.columns == b.columns && a.longitudes_deg == b.longitudes_deg &&
           a.latitudes_deg == b.latitudes_deg && alike(a.cell_longitudes_deg, b.cell_longitudes_deg) &&
           alike(a.cell_latitudes_deg, b.cell_latitudes_deg);
}

std::optional<CellAt> cell_of(const Lattice& lattice, double longitude_deg, double latitude_deg) {
    CellAt cell;
    if (lattice.has_axes()) {
        const OnAxis east = on_axis(lattice.longitudes_deg, longitude_deg, true);
        const OnAxis north = on_axis(lattice.latitudes_deg, latitude_deg, false);
        const double high = width_deg(lattice.latitudes_deg, north.at, 1.0);
        const double wide = width_deg(lattice.longitudes_deg, east.at, high);
        constexpr double rounding_deg = 1e-4;  // of coordinates in single precision
        if (east.away_deg > wide / 2.0 + rounding_deg || north.away_deg > high / 2.0 + rounding_deg) {
            return std::nullopt;
        }
        cell = {north.at, east.at};
    } else {
        const Direction wanted = direction_of(longitude_deg, latitude_deg);
        double best = -2.0;
        for (std::size_t row = 0; row < lattice.rows; ++row) {
            for (std::size_t column = 0; column < lattice.columns; ++column) {
                const Direction here =
                    direction_of(lattice.longitude_deg(row, column), lattice.latitude_deg(row, column));
                const double near = here[0] * wanted[0] + here[1] * wanted[1] + here[2] * wanted[2];
                if (near > best) {
                    best = near;
                    cell = {row, column};
                }
            }
        }
        if (best < -1.5) return std::nullopt;
        // Half the diagonal of a square cell, a little widened.
        const double away = metres_between(lattice, cell.row, cell.column, longitude_deg, latitude_deg);
        if (away > 0.75 * cell_width_m(lattice, cell.row, cell.column)) return std::nullopt;
    }
    cell.distance_m = metres_between(lattice, cell.row, cell.column, longitude_deg, latitude_deg);
    return cell;
}

std::vector<CellAt> cells_around(const Lattice& lattice, const CellAt& cell, std::size_t reach, double longitude_deg,
                                 double latitude_deg) {
    std::vector<CellAt> found;
    const std::size_t first_row = cell.row < reach ? 0 : cell.row - reach;
    const std::size_t first_column = cell.column < reach ? 0 : cell.column - reach;
    for (std::size_t row = first_row; row <= std::min(cell.row + reach, lattice.rows - 1); ++row) {
        for (std::size_t column = first_column; column <= std::min(cell.column + reach, lattice.columns - 1);
             ++column) {
            if (row == cell.row && column == cell.column) continue;
            const double away = metres_between(lattice, row, column, longitude_deg, latitude_deg);
            if (!std::isnan(away)) found.push_back({row, column, away});
        }
    }
    std::stable_sort(found.begin(), found.end(),
                     [](const CellAt& a, const CellAt& b) { return a.distance_m < b.distance_m; });
    return found;
}

std::string cell_name(const std::string& grid, double longitude_deg, double latitude_deg) {
    const double east = longitude_about_zero(longitude_deg);
    const auto in_hundredths = [](double value) { return std::abs(value * 100.0 - std::round(value * 100.0)) < 0.01; };
    const int decimals = in_hundredths(east) && in_hundredths(latitude_deg) ? 2 : 3;
    return fmt::format("{} {:.{}f} {} {:.{}f} {}", grid, std::abs(east), decimals, east < 0.0 ? "W" : "E",
                       std::abs(latitude_deg), decimals, latitude_deg < 0.0 ? "S" : "N");
}

}  // namespace geo::grids
