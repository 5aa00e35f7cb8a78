#include "models/contamination/regional.h"

namespace models::contamination {

Eigen::MatrixXd regional_covariance(const std::vector<RegionPlace>& a, const std::vector<RegionPlace>& b, double sd,
                                    double range_m) {
    const auto rows = static_cast<Eigen::Index>(a.size()), columns = static_cast<Eigen::Index>(b.size());
    Eigen::ArrayXd x(rows), y(rows), group(rows);
    for (Eigen::Index i = 0; i < rows; ++i) {
        const RegionPlace& place = a[static_cast<std::size_t>(i)];
        x[i] = place.at_m.x_m;
        y[i] = place.at_m.y_m;
        group[i] = place.group;
    }
    Eigen::MatrixXd covariance(rows, columns);
    for (Eigen::Index j = 0; j < columns; ++j) {
        const RegionPlace& place = b[static_cast<std::size_t>(j)];
        if (place.group < 0) {
            covariance.col(j).setZero();
            continue;
        }
        const Eigen::ArrayXd distance = ((x - place.at_m.x_m).square() + (y - place.at_m.y_m).square()).sqrt();
        const Eigen::ArrayXd alike = sd * sd * (-distance / range_m).exp();
        covariance.col(j) = (group == static_cast<double>(place.group)).select(alike, 0.0);
    }
    return covariance;
}

}  // namespace models::contamination
