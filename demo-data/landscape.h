#pragma once

#include <string>
#include <utility>
#include <vector>

#include "models/geometry.h"

namespace demo {

struct FieldPart {
    std::string part;
    models::OutlineM outline_m;
    double area_ha = 0.0;
};

/// One field as the growers know it. Metres east and north of the middle of the district.
struct DemoField {
    std::string field, name, grower;
    models::OutlineM outline_m;
    std::vector<FieldPart> parts;  ///< empty but for two fields
    double area_ha = 0.0;
    models::PointM centroid_m;
};

struct DemoStation {
    std::string station;
    models::PointM place_m;
    double warmer_by_degc = 0.0;         ///< than the district
    double colder_nights_by_degc = 0.0;  ///< cold air pools in the hollow
    double moister_by_degc = 0.0;        ///< of the dew point
};

/// A plain with a stream, four roads and tracks, parted into parcels; 48 of them are the growers' fields. One is
/// crossed by a track (two pieces), one has a pond, two have parts, several have inward corners.
struct Landscape {
    std::vector<DemoField> fields;  ///< by name: C01, C02, ... P01, ...
    std::vector<DemoStation> stations;
    std::vector<std::vector<models::PointM>> roads;  ///< for pictures only
    std::vector<models::PointM> stream;
};
Landscape make_landscape();

/// Longitude and latitude in degrees of a place in the district.
std::pair<double, double> degrees_of(const models::PointM& place);

/// Places of a square grid, row by row from the north-west, that lie in the outline.
std::vector<models::PointM> grid_inside(const models::OutlineM& outline, double spacing_m);

}  // namespace demo
