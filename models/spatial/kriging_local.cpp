#include "models/spatial/kriging_local.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include <Eigen/Cholesky>
#include <fmt/format.h>

#include "models/counted.h"
#include "models/error.h"
#include "models/spatial/nearest_few.h"
#include "models/spatial/parallel.h"

namespace models {

Eigen::Index LocalKriging::least_count() const {
    return std::max<Eigen::Index>({Eigen::Index{1}, settings_.neighbourhood.at_least, data_.drift.cols()});
}

std::string LocalKriging::reason_of(Failure failure) const {
    switch (failure) {
        case no_place:
            return "the place has no coordinates";
        case no_drift:
            return "a drift column has no value there";
        case too_few:
            return fmt::format("fewer than {} within reach", counted(least_count(), "point"));
        case singular:
            return "the points within reach cannot be told apart";
        default:
            return "";
    }
}

LocalKriging::LocalKriging(const PreparedData& data, const PreparedCovariance& covariance, const PreparedBlock& block,
                           const KrigingSettings& settings, double own_covariance)
    : data_(data), covariance_(covariance), block_(block), settings_(settings), own_(own_covariance) {
    const Neighbourhood& neighbourhood = settings.neighbourhood;
    if (neighbourhood.count < 0 || !(neighbourhood.radius_m >= 0.0)) {
        throw Error(fmt::format("{} within {} {} asked for", counted(neighbourhood.count, "neighbour"),
                                neighbourhood.radius_m, by_number(neighbourhood.count, "is", "are")),
                    "", "give numbers greater than 0");
    }
    if (neighbourhood.sectors != 0 && neighbourhood.sectors != 4 && neighbourhood.sectors != 8) {
        throw Error(counted(neighbourhood.sectors, "sector is", "sectors are") + " asked for", "", "give 4 or 8");
    }
    if (neighbourhood.sectors != 0 && (neighbourhood.count == 0 || neighbourhood.count % neighbourhood.sectors != 0)) {
        throw Error(fmt::format("{} cannot be shared out evenly to {} sectors",
                                counted(neighbourhood.count, "neighbour"), neighbourhood.sectors),
                    "", fmt::format("give a multiple of {} neighbours", neighbourhood.sectors));
    }
    const Eigen::Index n = data.x.size();
    x_min_ = data.x.minCoeff();
    y_min_ = data.y.minCoeff();
    const double width = data.x.maxCoeff() - x_min_, height = data.y.maxCoeff() - y_min_;
    // About two points a bin.
    bin_m_ =
        std::max({std::sqrt(width * height * 2.0 / static_cast<double>(n)), std::max(width, height) / 4096.0, 1e-9});
    columns_ = static_cast<Eigen::Index>(width / bin_m_) + 1;
    rows_ = static_cast<Eigen::Index>(height / bin_m_) + 1;
    std::vector<Eigen::Index> bin(static_cast<std::size_t>(n));
    begin_.assign(static_cast<std::size_t>(columns_ * rows_ + 1), 0);
    for (Eigen::Index i = 0; i < n; ++i) {
        const auto column = std::min(columns_ - 1, static_cast<Eigen::Index>((data.x[i] - x_min_) / bin_m_));
        const auto row = std::min(rows_ - 1, static_cast<Eigen::Index>((data.y[i] - y_min_) / bin_m_));
        bin[static_cast<std::size_t>(i)] = row * columns_ + column;
        ++begin_[static_cast<std::size_t>(row * columns_ + column + 1)];
    }
    for (std::size_t b = 1; b < begin_.size(); ++b) begin_[b] += begin_[b - 1];
    std::vector<Eigen::Index> next(begin_.begin(), begin_.end() - 1);
    sorted_.resize(static_cast<std::size_t>(n));
    for (Eigen::Index i = 0; i < n; ++i) {
        sorted_[static_cast<std::size_t>(next[static_cast<std::size_t>(bin[static_cast<std::size_t>(i)])]++)] = i;
    }
}

namespace {

/// Sector of a separation, clockwise from north; a sector holds its first edge.
std::size_t sector_of(double east, double north, int sectors) {
    if (sectors == 0) return 0;
    std::size_t quadrant = 0;
    double since_edge = east, to_edge = north;  // components across the quadrant's first edge and along it
    if (east > 0.0 && north <= 0.0) {
        quadrant = 1;
        since_edge = -north;
        to_edge = east;
    } else if (east <= 0.0 && north < 0.0) {
        quadrant = 2;
        since_edge = -east;
        to_edge = -north;
    } else if (east < 0.0 && north >= 0.0) {
        quadrant = 3;
        since_edge = north;
        to_edge = -east;
    }
    if (sectors == 4) return quadrant;
    return 2 * quadrant + (since_edge >= to_edge && since_edge > 0.0 ? 1 : 0);
}

}  // namespace

void LocalKriging::nearest(double x, double y, Eigen::Index but_not,
                           std::vector<std::pair<double, Eigen::Index>>& out) const {
    const Neighbourhood& neighbourhood = settings_.neighbourhood;
    const double farthest = neighbourhood.radius_m > 0.0 ? neighbourhood.radius_m * neighbourhood.radius_m
                                                         : std::numeric_limits<double>::infinity();
    const auto sectors = static_cast<std::size_t>(std::max(1, neighbourhood.sectors));
    const auto wanted =
        neighbourhood.count > 0 ? static_cast<std::size_t>(neighbourhood.count) / sectors : sorted_.size();
    thread_local std::array<NearestFew, 8> few;
    for (std::size_t sector = 0; sector < sectors; ++sector) few[sector].start(wanted);
    const auto home_column = std::clamp<double>(std::floor((x - x_min_) / bin_m_), -1e6, 1e6);
    const auto home_row = std::clamp<double>(std::floor((y - y_min_) / bin_m_), -1e6, 1e6);
    const auto column0 = static_cast<Eigen::Index>(home_column), row0 = static_cast<Eigen::Index>(home_row);
    // Rings of bins outwards from the target's own, until nothing nearer can follow.
    const Eigen::Index last_ring =
        std::max({std::abs(column0), std::abs(row0), std::abs(columns_ - 1 - column0), std::abs(rows_ - 1 - row0)});
    const Eigen::Index first_ring =
        std::max({Eigen::Index{0}, -column0, -row0, column0 - columns_ + 1, row0 - rows_ + 1});
    const auto look_into = [&](Eigen::Index column, Eigen::Index row) {
        if (column < 0 || row < 0 || column >= columns_ || row >= rows_) return;
        const auto b = static_cast<std::size_t>(row * columns_ + column);
        for (Eigen::Index k = begin_[b]; k < begin_[b + 1]; ++k) {
            const Eigen::Index i = sorted_[static_cast<std::size_t>(k)];
            if (i == but_not) continue;
            const double dx = data_.x[i] - x, dy = data_.y[i] - y;
            const double squared = dx * dx + dy * dy;
            if (squared <= farthest) few[sector_of(dx, dy, neighbourhood.sectors)].offer({squared, i});
        }
    };
    for (Eigen::Index ring = first_ring; ring <= last_ring; ++ring) {
        // Whatever lies in this ring is at least this far away.
        const double nearest_edge = ring == 0
                                        ? 0.0
                                        : std::min({x - (x_min_ + static_cast<double>(column0 - ring + 1) * bin_m_),
                                                    x_min_ + static_cast<double>(column0 + ring) * bin_m_ - x,
                                                    y - (y_min_ + static_cast<double>(row0 - ring + 1) * bin_m_),
                                                    y_min_ + static_cast<double>(row0 + ring) * bin_m_ - y});
        const double least = std::max(0.0, nearest_edge - 1e-9 * bin_m_);
        const auto closed = [&](const NearestFew& sector) { return sector.closed_at(least * least); };
        if (least * least > farthest || std::all_of(few.begin(), few.begin() + sectors, closed)) break;
        for (Eigen::Index column = column0 - ring; column <= column0 + ring; ++column) {
            look_into(column, row0 - ring);
            if (ring > 0) look_into(column, row0 + ring);
        }
        for (Eigen::Index row = row0 - ring + 1; row <= row0 + ring - 1; ++row) {
            look_into(column0 - ring, row);
            look_into(column0 + ring, row);
        }
    }
    out.clear();
    for (std::size_t sector = 0; sector < sectors; ++sector) {
        out.insert(out.end(), few[sector].entries().begin(), few[sector].entries().end());
    }
    std::sort(out.begin(), out.end());
}

LocalKriging::Found LocalKriging::one(double x, double y, const Eigen::RowVectorXd& drift, Eigen::Index but_not) const {
    constexpr double nan = std::numeric_limits<double>::quiet_NaN();
    thread_local std::vector<std::pair<double, Eigen::Index>> chosen;
    if (!std::isfinite(x) || !std::isfinite(y)) return {nan, nan, nan, no_place};
    if (!drift.allFinite()) return {nan, nan, nan, no_drift};
    nearest(x, y, but_not, chosen);
    const auto n = static_cast<Eigen::Index>(chosen.size()), p = data_.drift.cols();
    if (n < least_count()) return {nan, nan, nan, too_few};
    const auto& table = kernels::kernel_table();
    Eigen::VectorXd px(n), py(n), z(n);
    Eigen::MatrixXd w(n, p), c(n, n);
    for (Eigen::Index k = 0; k < n; ++k) {
        const Eigen::Index i = chosen[static_cast<std::size_t>(k)].second;
        px[k] = data_.x[i];
        py[k] = data_.y[i];
        z[k] = data_.values[i] - settings_.known_mean.value_or(0.0);
        w.row(k) = data_.drift.row(i);
    }
    for (Eigen::Index k = 0; k < n; ++k) {
        table.covariances(covariance_.arrays(), px.data() + k, py.data() + k, static_cast<int>(n - k), px[k], py[k],
                          c.col(k).data() + k);
        c(k, k) += data_.error_variances[chosen[static_cast<std::size_t>(k)].second];
    }
    if (table.factor(c.data(), static_cast<int>(n)) >= 0 ||
        !(c.diagonal().minCoeff() > 1e-8 * c.diagonal().maxCoeff())) {
        return {nan, nan, nan, singular};
    }
    Eigen::VectorXd c0(n), node(n);
    if (block_.is_point) {
        table.covariances(covariance_.arrays(), px.data(), py.data(), static_cast<int>(n), x, y, c0.data());
    } else {
        kernels::CovarianceArrays structured = covariance_.arrays();
        structured.nugget = 0.0;
        c0.setZero();
        for (std::size_t k = 0; k < block_.dx.size(); ++k) {
            table.covariances(structured, px.data(), py.data(), static_cast<int>(n), x + block_.dx[k], y + block_.dy[k],
                              node.data());
            c0 += block_.weight[k] * node;
        }
    }
    const auto lower = c.triangularView<Eigen::Lower>();
    lower.solveInPlace(z);
    lower.solveInPlace(c0);
    Found found{settings_.known_mean.value_or(0.0) + c0.dot(z), own_ - c0.squaredNorm(), 0.0, estimated};
    if (p > 0) {
        lower.solveInPlace(w);
        const Eigen::LLT<Eigen::MatrixXd> information(w.transpose() * w);
        if (information.info() != Eigen::Success) return {nan, nan, nan, singular};
        const Eigen::VectorXd coefficients = information.solve(w.transpose() * z);
        const Eigen::VectorXd gap = drift.transpose() - w.transpose() * c0;
        const Eigen::VectorXd multiplier = information.solve(gap);
        if (!coefficients.allFinite() || !multiplier.allFinite()) return {nan, nan, nan, singular};
        found.estimate += gap.dot(coefficients);
        found.variance += gap.dot(multiplier);
        found.lagrange = drift.dot(multiplier);
    }
    found.variance = std::max(0.0, found.variance);
    return found;
}

CrossValidation LocalKriging::leave_one_out(const Progress& progress) const {
    const Eigen::Index n = data_.x.size();
    CrossValidation found;
    found.predicted.resize(n);
    found.variance.resize(n);
    // With a nugget, predicting the left-out value meets no datum at its place, so C(0) holds the whole nugget.
    parallel_blocks((n + 127) / 128, settings_.threads,
                    [&](long long block) {
                        const Eigen::Index end = std::min<Eigen::Index>(n, (block + 1) * 128);
                        for (Eigen::Index i = block * 128; i < end; ++i) {
                            const Found here = one(data_.x[i], data_.y[i], data_.drift.row(i), i);
                            found.predicted[i] = here.estimate;
                            found.variance[i] = here.variance;
                        }
                    },
                    progress, "leave-one-out");
    found.residual = data_.values - found.predicted;
    found.standardised_error = found.residual.cwiseQuotient((found.variance + data_.error_variances).cwiseSqrt());
    return found;
}

}  // namespace models
