#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "geo/point_table.h"
#include "geo/vector_file.h"
#include "models/geometry.h"

namespace geo {

enum class MapShapeKind { areas, lines };

/// One area or one line, in parts where it has some, as a mean over it is wanted.
struct MapShape {
    double number = 0.0;  ///< which feature of the file it is, the first being 1; of a table of corners its `shape`
    std::string name;
    models::OutlineM area;        ///< in the plane of the points, holes and parts and all; empty for a line
    LinesM lines;                 ///< in that plane; empty for an area
    Shape drawn;                  ///< as the file has it, in its own system: OutlineM or LinesM
    std::vector<double> numbers;  ///< the attributes asked for, NaN where missing
};

struct MapShapeOptions {
    std::string layer;                 ///< empty: the only layer with shapes
    std::string name;                  ///< the attribute that names a shape; empty: see read_map_shapes
    std::vector<std::string> numbers;  ///< attributes wanted as numbers
};

struct MapShapesRead {
    std::vector<MapShape> shapes;    ///< in the file's order
    std::string system;              ///< of `drawn`: WKT, "EPSG:n", or empty
    std::vector<std::string> notes;  ///< shapes mended or far away, how well the reference systems fit together
};

/// Areas or lines from any vector file that GDAL reads (GeoPackage, shapefile, also zipped, GeoJSON, GML, KML and more)
/// brought into the plane in which the points of a table lie: each corner is projected, edges stay straight. Arcs are
/// taken as polylines, heights are dropped. A shape is named by the attribute asked for; else by the text attribute
/// called name, field, label or title, or the first with "name" or "field" in its name; else by its number.
/// @throws models::Error  the file cannot be read, holds no such shapes, has no such layer or attribute (the nearest
///                        name is offered); one of the two has a reference system and the other none; a shape of
///                        another kind, without corners, that crosses itself, or has no place in the plane; all shapes
///                        far away from the points
MapShapesRead read_map_shapes(const std::filesystem::path& file, MapShapeKind kind, const TablePlane& plane,
                              const models::BoxM& points, const MapShapeOptions& options = {});

/// The same from a table of corners in order, in the coordinates of the points' table, with a number `shape` for each:
/// one ring or one line a shape. A shape is named by the column asked for or the column `name` in its first row; else
/// by its number.
MapShapesRead read_corner_table(const std::filesystem::path& file, MapShapeKind kind, std::string_view x_column,
                                std::string_view y_column, const TablePlane& plane, const models::BoxM& points,
                                const MapShapeOptions& options = {});

}  // namespace geo
