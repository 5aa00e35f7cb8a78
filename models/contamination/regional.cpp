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
    const bool symmetric = &a == &b;  // half of it is then the other half
    Eigen::MatrixXd covariance = Eigen::MatrixXd::Zero(rows, columns);
    for (Eigen::Index j = 0; j < columns; ++j) {
        const RegionPlace& place = b[static_cast<std::size_t>(j)];
        if (place.group < 0) continue;
        const Eigen::Index left = symmetric ? rows - j : rows;
        const Eigen::ArrayXd distance =
            ((x.tail(left) - place.at_m.x_m).square() + (y.tail(left) - place.at_m.y_m).square()).sqrt();
        const Eigen::ArrayXd alike = sd * sd * (-distance / range_m).exp();
        covariance.col(j).tail(left) = (group.tail(left) == static_cast<double>(place.group)).select(alike, 0.0);
        if (symmetric) covariance.row(j).tail(left) = covariance.col(j).tail(left).transpose();
    }
    return covariance;
}

}  // namespace models::contamination
