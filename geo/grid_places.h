#pragma once

#include <optional>
#include <string>
#include <vector>

#include "geo/grid_source.h"

/// Which cell of a grid a place lies in.
namespace geo::grids {

/// The degrees of every cell from two axes in a reference system.
/// @throws models::Error  PROJ does not know the system
void put_cells_of_axes(Lattice& lattice, const std::vector<double>& x, const std::vector<double>& y,
                       const std::string& system);

/// @throws models::Error  a coordinate is missing or no place on the earth
void require_places(const Lattice& lattice, const std::string& file);
bool same_places(const Lattice& a, const Lattice& b);

struct CellAt {
    std::size_t row = 0, column = 0;
    double distance_m = 0.0;
};
/// The cell whose centre is nearest; longitudes may run from -180 or from 0. nullopt for a place outside the grid: more
/// than half a cell beyond its outermost centres.
std::optional<CellAt> cell_of(const Lattice& lattice, double longitude_deg, double latitude_deg);

/// Cells around one, no more than `reach` rows and columns away and without itself, the nearest to the place first.
std::vector<CellAt> cells_around(const Lattice& lattice, const CellAt& cell, std::size_t reach, double longitude_deg,
                                 double latitude_deg);

/// "grid 10.25 E 56.50 N": two decimals where the centre is written so, else three.
std::string cell_name(const std::string& grid, double longitude_deg, double latitude_deg);
/// -180 to 180.
double longitude_about_zero(double longitude_deg);

}  // namespace geo::grids
