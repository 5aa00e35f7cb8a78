#include "app/stages/drawn_zones.h"

#include <Eigen/Core>

#include "geo/map_shapes.h"
#include "geo/point_table.h"
#include "models/error.h"

namespace app {

std::vector<DrawnZone> read_zones(const SeasonData& data, const std::filesystem::path& file) {
    if (!data.work || data.fields.empty())
        throw models::Error("the store has no outlines that a drawn area could lie in", file.filename().string(),
                            "import outlines: lodicule import STORE fields FILE");
    // Degrees about the centre of the work system are projected to that very system.
    const Eigen::VectorXd longitude = Eigen::VectorXd::Constant(1, data.work->centre_longitude_deg());
    const Eigen::VectorXd latitude = Eigen::VectorXd::Constant(1, data.work->centre_latitude_deg());
    const geo::TablePlane plane("longitude_deg", "latitude_deg", longitude, latitude, "");
    if (plane.system() != data.work->proj_text())
        throw models::Error("the centre of the store's work system does not stand at a hundredth of a degree",
                            "--zones", "import the zones as parts of their fields instead");
    std::vector<models::PointM> corners;
    for (const models::Field& field : data.fields)
        for (const models::PolygonM& piece : field.outline_m)
            corners.insert(corners.end(), piece.outer.begin(), piece.outer.end());
    std::vector<DrawnZone> zones;
    for (geo::MapShape& shape :
         geo::read_map_shapes(file, geo::MapShapeKind::areas, plane, models::bounding_box(corners)).shapes)
        zones.push_back({std::move(shape.name), std::move(shape.area)});
    return zones;
}

}  // namespace app
