#include "models/spatial/simplex_search.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

namespace models {

namespace {

struct Corner {
    double value;
    Eigen::VectorXd point;
};

}  // namespace

SimplexMinimum simplex_minimum(const std::function<double(const Eigen::VectorXd&)>& function,
                               const Eigen::VectorXd& start, double step, const Eigen::VectorXd& low,
                               const Eigen::VectorXd& high, int most_evaluations, double smallest) {
    const Eigen::Index n = start.size();
    int evaluations = 0;
    const auto corner_at = [&](const Eigen::VectorXd& point) {
        Corner corner{0.0, point.cwiseMax(low).cwiseMin(high)};
        corner.value = function(corner.point);
        if (std::isnan(corner.value)) corner.value = std::numeric_limits<double>::infinity();
        ++evaluations;
        return corner;
    };
    Corner best = corner_at(start);
    bool settled = false;
    for (double size = step; evaluations < most_evaluations && !settled; size *= 0.1) {
        const double before = best.value;
        std::vector<Corner> simplex{best};
        for (Eigen::Index k = 0; k < n; ++k) {
            Eigen::VectorXd point = best.point;
            point[k] += point[k] + size <= high[k] ? size : -size;
            simplex.push_back(corner_at(point));
        }
        const auto by_value = [](const Corner& a, const Corner& b) { return a.value < b.value; };
        while (evaluations < most_evaluations) {
            std::stable_sort(simplex.begin(), simplex.end(), by_value);
            double extent = 0.0;
            for (const Corner& corner : simplex) {
                extent = std::max(extent, (corner.point - simplex[0].point).cwiseAbs().maxCoeff());
            }
            if (extent < smallest * (1.0 + simplex[0].point.cwiseAbs().maxCoeff())) break;
            Eigen::VectorXd centre = Eigen::VectorXd::Zero(n);
            for (Eigen::Index k = 0; k < n; ++k) centre += simplex[static_cast<std::size_t>(k)].point;
            centre /= static_cast<double>(n);
            Corner& worst = simplex.back();
            const Eigen::VectorXd away = centre - worst.point;
            Corner reflected = corner_at(centre + away);
            if (reflected.value < simplex[0].value) {
                Corner expanded = corner_at(centre + 2.0 * away);
                worst = expanded.value < reflected.value ? expanded : reflected;
            } else if (reflected.value < simplex[static_cast<std::size_t>(n - 1)].value) {
                worst = reflected;
            } else {
                const bool outside = reflected.value < worst.value;
                Corner contracted = corner_at(centre + (outside ? 0.5 : -0.5) * away);
                if (contracted.value < std::min(reflected.value, worst.value)) {
                    worst = contracted;
                } else {
                    for (std::size_t k = 1; k < simplex.size(); ++k) {
                        simplex[k] = corner_at(0.5 * (simplex[0].point + simplex[k].point));
                    }
                }
            }
        }
        std::stable_sort(simplex.begin(), simplex.end(), by_value);
        if (simplex[0].value <= best.value) best = simplex[0];
        settled = size < step && !(best.value < before - 1e-13 * std::abs(before));
    }
    return {best.point, best.value, settled};
}

}  // namespace models
