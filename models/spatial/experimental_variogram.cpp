#include "models/spatial/experimental_variogram.h"

#include <algorithm>
#include <charconv>
#include <cmath>

#include <Eigen/QR>

#include "models/error.h"
#include "models/spatial/parallel.h"

namespace models {

namespace {

/// gstat's, to twelve digits: pairs exactly at the edge of a tolerance fall on the same side as there.
constexpr double pi_of_directions = 3.14159265359;

std::string variogram_number(double value) {
    char buffer[32];
    return {buffer, std::to_chars(buffer, buffer + sizeof buffer, value).ptr};
}

void check_variogram_input(const Eigen::MatrixX2d& positions_m, const Eigen::VectorXd& values,
                           const VariogramSettings& settings, const Eigen::VectorXd& error_variances) {
    if (positions_m.rows() != values.size()) {
        throw Error("there are " + std::to_string(positions_m.rows()) + " places but " + std::to_string(values.size()) +
                    " values");
    }
    if (error_variances.size() != 0 && error_variances.size() != values.size()) {
        throw Error("there are " + std::to_string(values.size()) + " values but " +
                    std::to_string(error_variances.size()) + " error variances");
    }
    if (values.size() < 2) {
        throw Error("a variogram compares pairs of points, and there " +
                        std::string(values.size() == 1 ? "is 1 point" : "are none"),
                    "", "give at least two points; about a hundred show a variogram well");
    }
    for (Eigen::Index i = 0; i < values.size(); ++i) {
        if (!std::isfinite(values[i]) || !std::isfinite(positions_m(i, 0)) || !std::isfinite(positions_m(i, 1))) {
            throw Error("value or place is no finite number", "point " + std::to_string(i + 1));
        }
    }
    const auto positive = [](const std::optional<double>& length, const char* name) {
        if (length && !(*length > 0.0 && std::isfinite(*length))) {
            throw Error("the " + std::string(name) + " is " + variogram_number(*length) +
                        "; it must be greater than 0");
        }
    };
    positive(settings.cutoff_m, "cutoff");
    positive(settings.width_m, "class width");
    if (settings.tolerance_deg && !(*settings.tolerance_deg > 0.0 && *settings.tolerance_deg <= 90.0)) {
        throw Error("the tolerance is " + variogram_number(*settings.tolerance_deg) +
                    " degrees; it lies over 0 and up to 90");
    }
    if (!std::is_sorted(settings.boundaries_m.begin(), settings.boundaries_m.end()) ||
        (!settings.boundaries_m.empty() && !(settings.boundaries_m.front() > 0.0))) {
        throw Error("class boundaries must be greater than 0 and ascend");
    }
}

constexpr Eigen::Index pairs_a_chunk = 256;
using PairArray = Eigen::Array<double, Eigen::Dynamic, 1, 0, pairs_a_chunk, 1>;

/// Sums of one class.
struct ClassSum {
    double distance = 0.0;
    double difference = 0.0;  ///< of dz^2 / 2, or of sqrt |dz|
    long long pairs = 0;
};

}  // namespace

double default_cutoff_m(const Eigen::MatrixX2d& positions_m) {
    if (positions_m.rows() == 0) return 0.0;
    const double dx = positions_m.col(0).maxCoeff() - positions_m.col(0).minCoeff();
    const double dy = positions_m.col(1).maxCoeff() - positions_m.col(1).minCoeff();
    return 0.33333 * std::sqrt(dx * dx + dy * dy);
}

std::vector<VariogramClass> experimental_variogram(const Eigen::MatrixX2d& positions_m, const Eigen::VectorXd& values,
                                                   const VariogramSettings& settings,
                                                   const Eigen::VectorXd& error_variances, const Progress& progress) {
    check_variogram_input(positions_m, values, settings, error_variances);
    const bool by_boundaries = !settings.boundaries_m.empty();
    double cutoff = settings.cutoff_m.value_or(default_cutoff_m(positions_m));
    if (by_boundaries) cutoff = settings.boundaries_m.back();
    if (cutoff == 0.0) {
        throw Error("all points lie at one place, so there are no distances to compare", "",
                    "check the coordinate columns");
    }
    const double width = settings.width_m.value_or(cutoff / 15.0);
    if (cutoff / width > 1e6) throw Error("more than a million classes are asked for", "", "give a larger class width");
    const std::size_t classes =
        by_boundaries ? settings.boundaries_m.size() : static_cast<std::size_t>(std::ceil(cutoff / width)) + 1;
    const std::size_t directions = std::max<std::size_t>(1, settings.directions_deg.size());
    const double tolerance = settings.tolerance_deg.value_or(90.0 / static_cast<double>(directions));
    const double least_cosine = std::cos(tolerance * pi_of_directions / 180.0);
    const bool all_directions = settings.directions_deg.empty() || tolerance >= 90.0;
    std::vector<std::pair<double, double>> units;  // east and north part of each direction
    for (const double direction : settings.directions_deg) {
        const double azimuth = direction * pi_of_directions / 180.0;
        units.emplace_back(std::sin(azimuth), std::cos(azimuth));
    }
    const auto class_of = [&](double distance, double quotient) {
        if (by_boundaries) {
            const auto edge = std::lower_bound(settings.boundaries_m.begin(), settings.boundaries_m.end(), distance);
            return static_cast<std::size_t>(edge - settings.boundaries_m.begin());
        }
        const auto whole = static_cast<long long>(quotient);
        return static_cast<std::size_t>(whole > 0 && quotient == static_cast<double>(whole) ? whole - 1 : whole);
    };

    // Blocks of rows, each summed by itself and added up in order: the same sums for any number of threads.
    const Eigen::Index n = values.size();
    const Eigen::Index rows_a_block = std::max<Eigen::Index>(1, std::min<Eigen::Index>(64, n / 8));
    const long long blocks = (n + rows_a_block - 1) / rows_a_block;
    std::vector<std::vector<ClassSum>> sums(static_cast<std::size_t>(blocks));
    const bool corrected = error_variances.size() != 0 && !settings.robust;
    parallel_blocks(
        blocks, settings.threads,
        [&](long long block) {
            std::vector<ClassSum> own(classes * directions);
            const Eigen::Index end = std::min<Eigen::Index>(n, (block + 1) * rows_a_block);
            PairArray dx, dy, distance, quotient, difference;
            for (Eigen::Index i = block * rows_a_block; i < end; ++i) {
                for (Eigen::Index first = 0; first < i; first += pairs_a_chunk) {
                    const Eigen::Index size = std::min(pairs_a_chunk, i - first);
                    dx = positions_m(i, 0) - positions_m.col(0).segment(first, size).array();
                    dy = positions_m(i, 1) - positions_m.col(1).segment(first, size).array();
                    distance = (dx.square() + dy.square()).sqrt();
                    quotient = distance / width;
                    difference = values[i] - values.segment(first, size).array();
                    difference =
                        settings.robust ? PairArray(difference.abs().sqrt()) : PairArray(0.5 * difference.square());
                    if (corrected) {
                        difference -= 0.5 * (error_variances[i] + error_variances.segment(first, size).array());
                    }
                    for (Eigen::Index k = 0; k < size; ++k) {
                        if (distance[k] > cutoff) continue;
                        const std::size_t in_class = class_of(distance[k], quotient[k]);
                        for (std::size_t direction = 0; direction < directions; ++direction) {
                            if (!all_directions && distance[k] > 0.0) {
                                const double cosine =
                                    (dx[k] * units[direction].first + dy[k] * units[direction].second) / distance[k];
                                if (std::abs(cosine) < least_cosine) continue;
                            }
                            ClassSum& sum = own[direction * classes + in_class];
                            sum.distance += distance[k];
                            sum.difference += difference[k];
                            ++sum.pairs;
                        }
                    }
                }
            }
            sums[static_cast<std::size_t>(block)] = std::move(own);
        },
        progress, "variogram");

    std::vector<VariogramClass> found;
    for (std::size_t direction = 0; direction < directions; ++direction) {
        for (std::size_t in_class = 0; in_class < classes; ++in_class) {
            ClassSum total;
            for (const auto& part : sums) {
                const ClassSum& sum = part[direction * classes + in_class];
                total.distance += sum.distance;
                total.difference += sum.difference;
                total.pairs += sum.pairs;
            }
            if (total.pairs == 0) continue;
            const double pairs = static_cast<double>(total.pairs);
            const double mean = total.difference / pairs;
            const double gamma = settings.robust ? 0.5 * mean * mean * mean * mean / (0.457 + 0.494 / pairs) : mean;
            found.push_back({total.distance / pairs, gamma, total.pairs,
                             settings.directions_deg.empty() ? 0.0 : settings.directions_deg[direction]});
        }
    }
    return found;
}

Eigen::VectorXd drift_residuals(const Eigen::VectorXd& values, const Eigen::MatrixXd& drift) {
    Eigen::MatrixXd design(values.size(), drift.cols() + 1);
    design.col(0).setOnes();
    for (Eigen::Index k = 0; k < drift.cols(); ++k) {
        const double mean = drift.col(k).mean();
        const double spread = (drift.col(k).array() - mean).matrix().norm();
        if (!(spread > 1e-12 * std::abs(mean) * std::sqrt(static_cast<double>(values.size())))) {
            throw Error("drift column " + std::to_string(k + 1) + " is the same everywhere", "",
                        "leave it out: a constant mean is estimated anyway");
        }
        design.col(k + 1) = (drift.col(k).array() - mean) / spread;
    }
    const Eigen::ColPivHouseholderQR<Eigen::MatrixXd> qr(design);
    if (qr.rank() < design.cols()) {
        throw Error("the drift columns follow from one another", "", "leave one of them out");
    }
    return values - design * qr.solve(values);
}

}  // namespace models
