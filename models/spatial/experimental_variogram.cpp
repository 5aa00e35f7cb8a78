#include "models/spatial/experimental_variogram.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <limits>
#include <map>
#include <mutex>

#include <Eigen/QR>

#include "models/error.h"
#include "models/spatial/kernels/kernels.h"
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

/// The largest number whose root, as the processor rounds it, still is `belongs`; found from a guess nearby. Roots and
/// quotients never fall as their argument grows, so this tells distances apart exactly as the root would.
template <typename Belongs>
double largest_square(double guess, const Belongs& belongs) {
    constexpr double infinity = std::numeric_limits<double>::infinity();
    guess = std::min(guess, std::numeric_limits<double>::max());
    while (guess > 0.0 && !belongs(std::sqrt(guess))) guess = std::nextafter(guess, 0.0);
    for (double next = std::nextafter(guess, infinity); next < infinity && belongs(std::sqrt(next));
         next = std::nextafter(guess, infinity)) {
        guess = next;
    }
    return guess;
}

/// Of each class the largest squared distance that belongs to it: classes are closed on the right, and nothing beyond
/// the cutoff belongs to any.
std::vector<double> class_limits(const VariogramSettings& settings, double cutoff, double width, std::size_t classes) {
    const double last = largest_square(cutoff * cutoff, [&](double distance) { return distance <= cutoff; });
    std::vector<double> limits;
    for (std::size_t k = 0; k < classes; ++k) {
        double limit = 0.0;
        if (!settings.boundaries_m.empty()) {
            const double edge = settings.boundaries_m[k];
            limit = largest_square(edge * edge, [&](double distance) { return distance <= edge; });
        } else {
            const double quotient = static_cast<double>(k + 1), edge = quotient * width;
            limit = largest_square(edge * edge, [&](double distance) { return distance / width <= quotient; });
        }
        limits.push_back(std::min(limit, last));
    }
    return limits;
}

/// Points along a curve that keeps neighbours together (Morton 1966), with the boxes around each block of them.
struct SortedPoints {
    std::vector<double> x, y, value, error, boxes;
    int blocks = 0;

    SortedPoints(const Eigen::MatrixX2d& positions_m, const Eigen::VectorXd& values,
                 const Eigen::VectorXd& error_variances) {
        constexpr auto block = static_cast<std::size_t>(kernels::points_a_pair_block);
        const auto n = static_cast<std::size_t>(values.size());
        const double x_min = positions_m.col(0).minCoeff(), y_min = positions_m.col(1).minCoeff();
        const double side = std::max(positions_m.col(0).maxCoeff() - x_min, positions_m.col(1).maxCoeff() - y_min);
        const auto spread_bits = [](std::uint64_t bits) {
            bits = (bits | bits << 16) & 0x0000FFFF0000FFFFULL;
            bits = (bits | bits << 8) & 0x00FF00FF00FF00FFULL;
            bits = (bits | bits << 4) & 0x0F0F0F0F0F0F0F0FULL;
            bits = (bits | bits << 2) & 0x3333333333333333ULL;
            return (bits | bits << 1) & 0x5555555555555555ULL;
        };
        const auto step = [&](double from_edge) {
            const double share = side > 0.0 && std::isfinite(side) ? from_edge / side : 0.0;
            return spread_bits(static_cast<std::uint64_t>(65535.0 * share));
        };
        std::vector<std::pair<std::uint64_t, std::size_t>> order(n);
        for (std::size_t i = 0; i < n; ++i) {
            const auto row = static_cast<Eigen::Index>(i);
            order[i] = {step(positions_m(row, 0) - x_min) | step(positions_m(row, 1) - y_min) << 1, i};
        }
        std::sort(order.begin(), order.end());
        for (std::vector<double>* numbers : {&x, &y, &value}) numbers->assign(n + block, 0.0);
        if (error_variances.size() != 0) error.assign(n + block, 0.0);
        blocks = static_cast<int>((n + block - 1) / block);
        for (std::size_t k = 0; k < n; ++k) {
            const auto row = static_cast<Eigen::Index>(order[k].second);
            x[k] = positions_m(row, 0);
            y[k] = positions_m(row, 1);
            value[k] = values[row];
            if (!error.empty()) error[k] = error_variances[row];
        }
        for (std::size_t first = 0; first < n; first += block) {
            const auto from = static_cast<std::ptrdiff_t>(first),
                       to = static_cast<std::ptrdiff_t>(std::min(n, first + block));
            const auto [west, east] = std::minmax_element(x.begin() + from, x.begin() + to);
            const auto [south, north] = std::minmax_element(y.begin() + from, y.begin() + to);
            boxes.insert(boxes.end(), {*west, *east, *south, *north});
        }
    }
};

/// Adds up vectors in the order of their numbers, whatever order they come in, and keeps only those that wait for one
/// before them: the same sums for any number of threads.
class OrderedSum {
 public:
    explicit OrderedSum(std::size_t size) : total_(size, 0.0) {}
    void add(long long number, std::vector<double> part) {
        const std::lock_guard lock(guard_);
        waiting_.emplace(number, std::move(part));
        for (auto next = waiting_.find(next_); next != waiting_.end(); next = waiting_.find(next_)) {
            for (std::size_t k = 0; k < total_.size(); ++k) total_[k] += next->second[k];
            waiting_.erase(next);
            ++next_;
        }
    }
    const std::vector<double>& total() const { return total_; }

 private:
    std::mutex guard_;
    std::map<long long, std::vector<double>> waiting_;
    long long next_ = 0;
    std::vector<double> total_;
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
    std::vector<double> units;  // east and north part of each direction
    for (const double direction : settings.directions_deg) {
        const double azimuth = direction * pi_of_directions / 180.0;
        units.insert(units.end(), {std::sin(azimuth), std::cos(azimuth)});
    }
    const bool corrected = error_variances.size() != 0 && !settings.robust;
    const SortedPoints points(positions_m, values, corrected ? error_variances : Eigen::VectorXd());
    const std::vector<double> limits = class_limits(settings, cutoff, width, classes);
    kernels::PairArrays pairs;
    pairs.n = static_cast<int>(values.size());
    pairs.x = points.x.data();
    pairs.y = points.y.data();
    pairs.value = points.value.data();
    pairs.error = corrected ? points.error.data() : nullptr;
    pairs.boxes = points.boxes.data();
    pairs.limits = limits.data();
    pairs.classes = static_cast<int>(classes);
    pairs.classes_a_metre = by_boundaries ? 0.0 : 1.0 / width;
    pairs.directions = units.data();
    pairs.n_directions = all_directions ? 0 : static_cast<int>(directions);
    pairs.least_cosine = least_cosine;
    pairs.robust = settings.robust;
    // Every direction has the same pairs where the tolerance takes in all.
    const std::size_t apart = all_directions ? 1 : directions;
    OrderedSum sums(3 * classes * apart);
    parallel_blocks(
        points.blocks, settings.threads,
        [&](long long block) {
            std::vector<double> own(3 * classes * apart, 0.0);
            kernels::kernel_table().pair_sums(pairs, static_cast<int>(block), own.data());
            sums.add(block, std::move(own));
        },
        progress, "variogram");

    std::vector<VariogramClass> found;
    for (std::size_t direction = 0; direction < directions; ++direction) {
        for (std::size_t in_class = 0; in_class < classes; ++in_class) {
            const double* sum = sums.total().data() + 3 * ((all_directions ? 0 : direction) * classes + in_class);
            const double pairs_here = sum[2];
            if (pairs_here == 0.0) continue;
            const double mean = sum[1] / pairs_here;
            const double gamma =
                settings.robust ? 0.5 * mean * mean * mean * mean / (0.457 + 0.494 / pairs_here) : mean;
            found.push_back({sum[0] / pairs_here, gamma, static_cast<long long>(pairs_here),
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
