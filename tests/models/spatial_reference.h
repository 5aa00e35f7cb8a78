#pragma once

#include <filesystem>
#include <string>

#include <Eigen/Core>

#include "geo/point_table.h"
#include "models/spatial/kriging.h"

namespace tests {

/// The Meuse data (155 soil samples, Rijkswaterstaat; R package sp) with log(zinc) as the value, its prediction grid,
/// and the published model that gstat fits to it.
inline Eigen::MatrixX2d places_of(const geo::PointTable& table, const std::string& x = "x",
                                  const std::string& y = "y") {
    Eigen::MatrixX2d places(table.rows(), 2);
    places.col(0) = table.numbers(x);
    places.col(1) = table.numbers(y);
    return places;
}

inline geo::PointTable reference_table(const std::filesystem::path& shared, const std::string& name) {
    return geo::PointTable::read(shared / "reference" / name);
}

inline models::SpatialData meuse_log_zinc(const std::filesystem::path& shared) {
    const auto table = reference_table(shared, "data/meuse.csv");
    return {places_of(table), table.numbers("zinc").array().log().matrix(), {}, {}};
}

inline models::VariogramModel meuse_model() {
    return models::VariogramModel::parse("nugget 0.05066243 + spherical 0.59060780 range 897.0209");
}

inline double largest_difference(const Eigen::VectorXd& a, const Eigen::VectorXd& b) {
    if (a.size() != b.size()) return 1e300;
    double largest = 0.0;
    for (Eigen::Index i = 0; i < a.size(); ++i) {
        const bool both_missing = std::isnan(a[i]) && std::isnan(b[i]);
        if (!both_missing) largest = std::isnan(a[i] - b[i]) ? 1e300 : std::max(largest, std::abs(a[i] - b[i]));
    }
    return largest;
}

}  // namespace tests
