#include "models/spatial/whitening.h"

#include <algorithm>
#include <array>
#include <atomic>
#include <numeric>

#include "models/spatial/parallel.h"
#include "models/spatial/place_order.h"
#include "models/spatial/tiled_factor.h"

namespace models {

namespace {

/// Standard deviations smaller than this share of the largest are rounding.
constexpr double least_pivot_ratio = 1e-8;

/// Coordinates in which the first term with a range is the same in every direction.
void into_metric(const VariogramModel& model, Eigen::VectorXd& x, Eigen::VectorXd& y) {
    for (VariogramTerm term : model.terms) {
        if (term.shape == VariogramShape::nugget || term.shape == VariogramShape::error) continue;
        if (term.ratio == 1.0) return;
        term.range_m = 1.0;
        term.partial_sill = 1.0;
        const kernels::CovarianceTerm ready = PreparedCovariance(VariogramModel({term})).terms.front();
        const Eigen::VectorXd across = ready.xx * x + ready.xy * y;
        y = ready.yx * x + ready.yy * y;
        x = across;
        return;
    }
}

}  // namespace

PreparedData places_in_order(const PreparedData& data, const std::vector<int>& numbers) {
    PreparedData out;
    const auto n = static_cast<Eigen::Index>(numbers.size());
    out.drift_centre = data.drift_centre;
    out.drift_scale = data.drift_scale;
    out.x.resize(n);
    out.y.resize(n);
    out.values.resize(n);
    out.error_variances.resize(n);
    out.drift.resize(n, data.drift.cols());
    for (Eigen::Index i = 0; i < n; ++i) {
        const int from = numbers[static_cast<std::size_t>(i)];
        out.x[i] = data.x[from];
        out.y[i] = data.y[from];
        out.values[i] = data.values[from];
        out.error_variances[i] = data.error_variances[from];
        out.drift.row(i) = data.drift.row(from);
    }
    return out;
}

Whitened whiten_together(const PreparedData& data, const PreparedCovariance& covariance, Eigen::MatrixXd& factor,
                         int threads, const Progress& progress) {
    const auto& table = kernels::kernel_table();
    const auto n = data.x.size();
    Whitened out{data.values, data.drift};
    factor.resize(n, n);
    parallel_blocks((n + 31) / 32, threads,
                    [&](long long block) {
                        for (Eigen::Index j = block * 32; j < std::min<Eigen::Index>(n, (block + 1) * 32); ++j) {
                            table.covariances(covariance.arrays(), data.x.data() + j, data.y.data() + j,
                                              static_cast<int>(n - j), data.x[j], data.y[j], factor.col(j).data() + j);
                            factor(j, j) += data.error_variances[j];
                        }
                    },
                    progress, "covariances");
    if (factor_in_tiles(factor.data(), static_cast<int>(n), threads, progress) >= 0) return out;
    if (!(factor.diagonal().minCoeff() > least_pivot_ratio * factor.diagonal().maxCoeff())) return out;
    table.forward_solve(factor.data(), static_cast<int>(n), out.values.data(), 1);
    table.forward_solve(factor.data(), static_cast<int>(n), out.drift.data(), static_cast<int>(out.drift.cols()));
    out.log_determinant = 2.0 * factor.diagonal().array().log().sum();
    out.told_apart = true;
    return out;
}

NearestWhitening::NearestWhitening(const PreparedData& data, const VariogramModel& metric, int neighbours, int threads,
                                   const Progress& progress)
    : data_(data), neighbours_(std::min(neighbours, static_cast<int>(data.x.size()) - 1)), threads_(threads) {
    Eigen::VectorXd x = data.x, y = data.y;
    into_metric(metric, x, y);
    const std::vector<int> order = max_min_order(x, y, progress);
    data_ = places_in_order(data, order);
    x = data_.x;
    y = data_.y;
    into_metric(metric, x, y);
    nearest_ = nearest_before(x, y, neighbours_, threads, progress);
}

/// Room for as many systems as the processor's vectors have lanes.
struct NearestWhitening::Workspace {
    std::vector<double> x, y, error_variance, factor, inverse_pivots, right;
    std::array<double, 16> pivot_ratio{};
    bool told_apart = true;

    Workspace(std::size_t places, std::size_t columns, std::size_t lanes)
        : x(places * lanes),
          y(places * lanes),
          error_variance(places * lanes),
          factor(places * (places + 1) / 2 * lanes),
          inverse_pivots(places * lanes),
          right(columns * places * lanes) {}
};

void NearestWhitening::whiten_lanes(const PreparedCovariance& covariance, int neighbours, Eigen::Index first,
                                    Workspace& work, Whitened& out, Eigen::VectorXd& deviation) const {
    const auto& table = kernels::kernel_table();
    const auto lanes = static_cast<std::size_t>(table.lanes), places = static_cast<std::size_t>(neighbours) + 1;
    const Eigen::Index n = data_.x.size(), p = data_.drift.cols();
    for (std::size_t lane = 0; lane < lanes; ++lane) {
        const Eigen::Index target = std::min(n - 1, first + static_cast<Eigen::Index>(lane));
        const int* nearest = nearest_.data() + target * neighbours_;
        for (std::size_t k = 0; k < places; ++k) {
            const Eigen::Index i = k + 1 < places ? nearest[k] : target;
            const std::size_t at = k * lanes + lane;
            work.x[at] = data_.x[i];
            work.y[at] = data_.y[i];
            work.error_variance[at] = data_.error_variances[i];
            work.right[at] = data_.values[i];
            for (Eigen::Index a = 0; a < p; ++a) {
                work.right[static_cast<std::size_t>(1 + a) * places * lanes + at] = data_.drift(i, a);
            }
        }
    }
    kernels::LaneConditions systems;
    systems.covariance = covariance.arrays();
    systems.own_covariance = covariance.structured_at_zero + covariance.nugget;
    systems.n = static_cast<int>(places);
    systems.columns = static_cast<int>(1 + p);
    systems.x = work.x.data();
    systems.y = work.y.data();
    systems.error_variance = work.error_variance.data();
    systems.factor = work.factor.data();
    systems.inverse_pivots = work.inverse_pivots.data();
    systems.right = work.right.data();
    systems.pivot_ratio = work.pivot_ratio.data();
    table.condition_systems(systems);
    const std::size_t last_pivot = (places * (places + 1) / 2 - 1) * lanes, last = (places - 1) * lanes;
    for (std::size_t lane = 0; lane < lanes && first + static_cast<Eigen::Index>(lane) < n; ++lane) {
        const Eigen::Index target = first + static_cast<Eigen::Index>(lane);
        work.told_apart = work.told_apart && work.pivot_ratio[lane] > least_pivot_ratio;
        deviation[target] = work.factor[last_pivot + lane];
        out.values[target] = work.right[last + lane];
        for (Eigen::Index a = 0; a < p; ++a) {
            out.drift(target, a) = work.right[static_cast<std::size_t>(1 + a) * places * lanes + last + lane];
        }
    }
}

Whitened NearestWhitening::whiten(const PreparedCovariance& covariance, int neighbours,
                                  const Progress& progress) const {
    neighbours = std::min(neighbours, neighbours_);
    const Eigen::Index n = data_.x.size(), p = data_.drift.cols(), head = neighbours + 1;
    std::vector<int> first_places(static_cast<std::size_t>(head));
    std::iota(first_places.begin(), first_places.end(), 0);
    Eigen::MatrixXd factor;
    Whitened out = whiten_together(places_in_order(data_, first_places), covariance, factor, threads_, progress);
    if (!out.told_apart || head == n) return out;
    out.values.conservativeResize(n);
    out.drift.conservativeResize(n, p);
    Eigen::VectorXd deviation(n);
    constexpr Eigen::Index places_a_block = 64;
    const Eigen::Index lanes = kernels::kernel_table().lanes;
    std::atomic<bool> told_apart{true};
    parallel_blocks((n - head + places_a_block - 1) / places_a_block, threads_,
                    [&](long long block) {
                        if (!told_apart) return;
                        Workspace work(static_cast<std::size_t>(head), static_cast<std::size_t>(1 + p),
                                       static_cast<std::size_t>(lanes));
                        const Eigen::Index begin = head + block * places_a_block,
                                           end = std::min(n, begin + places_a_block);
                        for (Eigen::Index first = begin; first < end; first += lanes) {
                            whiten_lanes(covariance, neighbours, first, work, out, deviation);
                        }
                        if (!work.told_apart) told_apart = false;
                    },
                    progress, "fitting the variogram");
    out.told_apart = told_apart;
    out.log_determinant += 2.0 * deviation.tail(n - head).array().log().sum();
    return out;
}

}  // namespace models
