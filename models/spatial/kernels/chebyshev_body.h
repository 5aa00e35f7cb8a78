#pragma once

// Part of kernel_body.h, compiled once a processor level: kriging of whole tiles of a grid.

#include <Eigen/QR>

#include "models/spatial/kernels/kernel_body.h"

namespace models::kernels {

namespace {

constexpr int most_nodes = 32;
constexpr int cells_a_chunk = 1024;

/// A rectangle about the origin, and a datum relative to its centre.
struct Place {
    double half_x, half_y, dx, dy;
};

double clamp_to(double value, double limit) {
    return value < -limit ? -limit : value > limit ? limit : value;
}

/// |M d| squared for d = (s, t) - datum, of which M'M = (a, b; b, c).
struct Metric {
    double a, b, c, determinant;
    explicit Metric(const CovarianceTerm& term)
        : a(term.xx * term.xx + term.yx * term.yx),
          b(term.xx * term.xy + term.yx * term.yy),
          c(term.xy * term.xy + term.yy * term.yy),
          determinant(__builtin_fabs(term.xx * term.yy - term.xy * term.yx)) {}
    double squared(double s, double t) const { return a * s * s + 2.0 * b * s * t + c * t * t; }
};

/// Whether the root of |M d|^2 in one complex coordinate comes closer to the tile than the Bernstein ellipse
/// |z - 1| + |z + 1| = ellipse, z = 1 being the tile's edge, while the other coordinate stays on the tile.
bool root_inside(double along, double half, double across, double half_across, double slope, double imaginary,
                 double ellipse) {
    const int samples = slope == 0.0 ? 1 : 9;
    for (int k = 0; k < samples; ++k) {
        // Distance across between the tile and the datum; without a slope the nearest is the worst.
        const double at = slope == 0.0 ? clamp_to(across, half_across) : half_across * (0.25 * k - 1.0);
        const double tau = at - across;
        const double re = (along - slope * tau) / half, im = imaginary * tau / half;
        const double sum =
            __builtin_sqrt((re - 1.0) * (re - 1.0) + im * im) + __builtin_sqrt((re + 1.0) * (re + 1.0) + im * im);
        if (sum < ellipse) return true;
    }
    return false;
}

/// Whether a circle of range crosses the tile, so that the covariance is not smooth there.
bool range_crosses(const Metric& metric, const Place& place) {
    double least = 1e300, most = 0.0;
    if (__builtin_fabs(place.dx) <= place.half_x && __builtin_fabs(place.dy) <= place.half_y) least = 0.0;
    for (int side = -1; side <= 1; side += 2) {
        const double s = side * place.half_x - place.dx, t = side * place.half_y - place.dy;
        const double t_best = clamp_to(place.dy - metric.b / metric.c * s, place.half_y) - place.dy;
        const double s_best = clamp_to(place.dx - metric.b / metric.a * t, place.half_x) - place.dx;
        for (const double value : {metric.squared(s, t_best), metric.squared(s_best, t)}) {
            if (value < least) least = value;
        }
        for (int other = -1; other <= 1; other += 2) {
            const double value = metric.squared(s, other * place.half_y - place.dy);
            if (value > most) most = value;
        }
    }
    return least < 1.0 + 1e-12 && most > 1.0 - 1e-12;
}

/// Whether the covariance with a datum is too rough over the tile to be interpolated.
bool is_near(const SystemArrays& system, const Place& place, double ellipse) {
    const bool inside = __builtin_fabs(place.dx) <= place.half_x && __builtin_fabs(place.dy) <= place.half_y;
    if (inside && system.covariance.nugget != 0.0) return true;
    for (int k = 0; k < system.covariance.n_terms; ++k) {
        const CovarianceTerm& term = system.covariance.terms[k];
        const bool smooth_at_zero =
            term.shape == VariogramShape::gaussian || (term.shape == VariogramShape::hole && term.parameter == 0.0);
        const Metric metric(term);
        if (!smooth_at_zero) {
            const double slope_x = metric.b / metric.a, slope_y = metric.b / metric.c;
            const bool beyond_range =
                (term.shape == VariogramShape::spherical || term.shape == VariogramShape::pentaspherical) && !inside &&
                !range_crosses(metric, place) && metric.squared(place.dx, place.dy) > 1.0;
            if (!beyond_range && (root_inside(place.dx, place.half_x, place.dy, place.half_y, slope_x,
                                              metric.determinant / metric.a, ellipse) ||
                                  root_inside(place.dy, place.half_y, place.dx, place.half_x, slope_y,
                                              metric.determinant / metric.c, ellipse))) {
                return true;
            }
        }
        if ((term.shape == VariogramShape::spherical || term.shape == VariogramShape::pentaspherical) &&
            range_crosses(metric, place)) {
            return true;
        }
    }
    return false;
}

int near_data(const SystemArrays& system, const GridTileArrays& tile, int* near) {
    const double x0 = 0.5 * (tile.x[0] + tile.x[tile.columns - 1]), y0 = 0.5 * (tile.y[0] + tile.y[tile.rows - 1]);
    int count = 0;
    for (int i = 0; i < system.n; ++i) {
        const Place place{tile.half_x + tile.block_half_x, tile.half_y + tile.block_half_y, system.x[i] - x0,
                          system.y[i] - y0};
        if (is_near(system, place, tile.ellipse)) {
            if (near != nullptr) near[count] = i;
            ++count;
        }
    }
    return count;
}

/// Row by row the values at places of the Lagrange polynomials on Chebyshev nodes (second barycentric form; Berrut &
/// Trefethen 2004, SIAM Review 46, 501-517).
void lagrange_rows(int nodes, const double* node, const double* weight, double centre, double half,
                   const double* places, int n, Eigen::MatrixXd& rows) {
    rows.resize(n, nodes);
    for (int i = 0; i < n; ++i) {
        const double z = (places[i] - centre) / half;
        double sum = 0.0;
        int exact = -1;
        for (int k = 0; k < nodes; ++k) {
            if (z == node[k]) exact = k;
            rows(i, k) = weight[k] / (z - node[k]);
            sum += rows(i, k);
        }
        if (exact >= 0) {
            rows.row(i).setZero();
            rows(i, exact) = 1.0;
        } else {
            rows.row(i) /= sum;
        }
    }
}

/// All fields at the cells of some rows of the tile: fields x (rows * columns), a row of cells after another.
void carry(const Eigen::MatrixXd& fields, int nodes, const Eigen::MatrixXd& by_x, const Eigen::MatrixXd& by_y,
           int first_row, int rows, Eigen::MatrixXd& work, Eigen::MatrixXd& out) {
    const Eigen::Index count = fields.rows(), columns = by_x.rows();
    out.resize(count, static_cast<Eigen::Index>(rows) * columns);
    for (int row = 0; row < rows; ++row) {
        // Along y first: for each field and x node one number.
        const ConstMatrix stacked(fields.data(), count * nodes, nodes);
        work.resize(count * nodes, 1);
        work.noalias() = stacked * by_y.row(first_row + row).transpose();
        out.middleCols(row * columns, columns).noalias() = Matrix(work.data(), count, nodes) * by_x.transpose();
    }
}

/// One tile: data whose covariance is smooth over it enter through Chebyshev nodes, the others exactly.
/// @returns false  a check against the dense formula failed, or the tile does not pay: use dense_tile
bool chebyshev_tile(const SystemArrays& system, const GridTileArrays& tile) {
    const int p = tile.nodes, n = system.n;
    if (p > most_nodes || p < 2) return false;
    double node[most_nodes], weight[most_nodes];
    for (int k = 0; k < p; ++k) {
        const double angle = 3.14159265358979323846 * (2 * k + 1) / (2.0 * p);
        node[k] = __builtin_cos(angle);
        weight[k] = (k % 2 == 0 ? 1.0 : -1.0) * __builtin_sin(angle);
    }
    const double x0 = 0.5 * (tile.x[0] + tile.x[tile.columns - 1]), y0 = 0.5 * (tile.y[0] + tile.y[tile.rows - 1]);
    Eigen::Matrix<int, Eigen::Dynamic, 1> near(n);
    const int k_near = near_data(system, tile, near.data());
    const int p2 = p * p;
    const bool with_variance = tile.variance != nullptr;
    const long cells = static_cast<long>(tile.rows) * tile.columns;
    if (with_variance && p2 + k_near >= cells) return false;

    Eigen::VectorXd near_x(k_near), near_y(k_near);
    for (int i = 0; i < k_near; ++i) {
        near_x[i] = system.x[near[i]];
        near_y[i] = system.y[near[i]];
    }
    SystemArrays near_system = system;
    near_system.x = near_x.data();
    near_system.y = near_y.data();
    near_system.n = k_near;

    // Columns: far covariances at the nodes, then whole columns of three cells, then unit vectors of the near data.
    const int checks = with_variance ? 3 : 0;
    const long checked[3] = {0, cells / 2 + tile.columns / 3,
                             cells - 1 - (cells * 7 / 31) % (cells > 1 ? cells - 1 : 1)};
    const int columns = with_variance ? p2 + k_near + checks : p2;
    Eigen::MatrixXd z = Eigen::MatrixXd::Zero(n, columns);
    for (int iy = 0; iy < p; ++iy) {
        for (int ix = 0; ix < p; ++ix) {
            double* column = z.col(iy * p + ix).data();
            target_covariances(system, x0 + tile.half_x * node[ix], y0 + tile.half_y * node[iy], column);
            for (int i = 0; i < k_near; ++i) column[near[i]] = 0.0;
        }
    }
    Eigen::MatrixXd by_x, by_y;
    lagrange_rows(p, node, weight, x0, tile.half_x, tile.x, tile.columns, by_x);
    lagrange_rows(p, node, weight, y0, tile.half_y, tile.y, tile.rows, by_y);
    const int rows_a_chunk = tile.columns >= cells_a_chunk ? 1 : cells_a_chunk / tile.columns;
    const int q = system.p;
    const ConstVector residual(system.residual, n), dual(system.weights, n), coefficients(system.coefficients, q);

    // Fields carried to the cells: u (k_near), what of |L^-1 c|^2 is not in u, of the estimate, of the drift gap (q).
    Eigen::MatrixXd fields, upper, near_drift;
    Eigen::VectorXd near_estimate;
    if (with_variance) {
        for (int i = 0; i < checks; ++i) {
            target_covariances(system, tile.x[checked[i] % tile.columns], tile.y[checked[i] / tile.columns],
                               z.col(p2 + i).data());
        }
        auto near_columns = z.rightCols(k_near);
        for (int i = 0; i < k_near; ++i) {
            if (system.inverse != nullptr) {
                near_columns.col(i) = ConstVector(system.inverse + static_cast<long>(near[i]) * n, n);
            } else {
                near_columns(near[i], i) = 1.0;
            }
        }
        forward_solve_with_pauses(system.factor, n, z.data(), system.inverse != nullptr ? p2 + checks : columns,
                                  tile.pause);
        const auto far = z.leftCols(p2);
        fields.resize(k_near + 2 + q, p2);
        if (k_near > 0) {
            const Eigen::HouseholderQR<Eigen::MatrixXd> qr(near_columns);
            const Eigen::MatrixXd basis = qr.householderQ() * Eigen::MatrixXd::Identity(n, k_near);
            upper = qr.matrixQR().topRows(k_near).template triangularView<Eigen::Upper>();
            fields.topRows(k_near).noalias() = basis.transpose() * far;
            near_estimate.noalias() = basis.transpose() * residual;
            if (q > 0) near_drift.noalias() = basis.transpose() * ConstMatrix(system.drift_factor, n, q);
        }
        const auto u = fields.topRows(k_near);
        fields.row(k_near) = far.colwise().squaredNorm() - u.colwise().squaredNorm();
        fields.row(k_near + 1).noalias() = residual.transpose() * far;
        if (k_near > 0) fields.row(k_near + 1).noalias() -= near_estimate.transpose() * u;
        if (q > 0) {
            fields.bottomRows(q).noalias() = ConstMatrix(system.drift_factor, n, q).transpose() * far;
            if (k_near > 0) fields.bottomRows(q).noalias() -= near_drift.transpose() * u;
        }
    } else {
        fields = dual.transpose() * z;
        near_estimate.resize(k_near);
        for (int i = 0; i < k_near; ++i) near_estimate[i] = dual[near[i]];
    }

    Eigen::MatrixXd work, carried, c(k_near, static_cast<long>(rows_a_chunk) * tile.columns), gap, own;
    for (int first = 0; first < tile.rows; first += rows_a_chunk) {
        const int rows = tile.rows - first < rows_a_chunk ? tile.rows - first : rows_a_chunk;
        const int m = rows * tile.columns;
        if (tile.pause.ask != nullptr) tile.pause.ask(tile.pause.who);
        carry(fields, p, by_x, by_y, first, rows, work, carried);
        for (int cell = 0; cell < m && k_near > 0; ++cell) {
            target_covariances(near_system, tile.x[cell % tile.columns], tile.y[first + cell / tile.columns],
                               c.col(cell).data());
        }
        Eigen::VectorXd estimate = carried.row(with_variance ? k_near + 1 : 0).transpose();
        Eigen::VectorXd variance;
        Eigen::MatrixXd drift(m, q);
        for (int row = 0; row < rows; ++row) {
            for (int column = 0; column < q; ++column) {
                drift.col(column).segment(row * tile.columns, tile.columns) = ConstVector(
                    tile.drift + column * tile.drift_stride + (first + row) * tile.row_stride, tile.columns);
            }
        }
        if (with_variance) {
            auto y = carried.topRows(k_near);
            if (k_near > 0) y.noalias() += upper.template triangularView<Eigen::Upper>() * c.leftCols(m);
            if (k_near > 0) estimate.noalias() += y.transpose() * near_estimate;
            variance = system.own_covariance - (y.colwise().squaredNorm() + carried.row(k_near)).transpose().array();
            if (q > 0) {
                const ConstMatrix r(system.triangle, q, q);
                gap = drift.transpose() - carried.bottomRows(q);
                if (k_near > 0) gap.noalias() -= near_drift.transpose() * y;
                r.transpose().template triangularView<Eigen::Lower>().solveInPlace(gap);
                variance += gap.colwise().squaredNorm().transpose();
                if (tile.lagrange != nullptr) {
                    own = drift.transpose();
                    r.transpose().template triangularView<Eigen::Lower>().solveInPlace(own);
                }
            }
        } else if (k_near > 0) {
            estimate.noalias() += c.leftCols(m).transpose() * near_estimate;
        }
        if (q > 0) {
            estimate.noalias() += drift * coefficients;
        } else {
            estimate.array() += system.known_mean;
        }
        for (int row = 0; row < rows; ++row) {
            const long to = (first + row) * tile.row_stride;
            Vector(tile.estimate + to, tile.columns) = estimate.segment(row * tile.columns, tile.columns);
            if (with_variance) {
                Vector(tile.variance + to, tile.columns) =
                    variance.segment(row * tile.columns, tile.columns).cwiseMax(0.0);
            }
            if (tile.lagrange != nullptr && with_variance && q > 0) {
                Vector(tile.lagrange + to, tile.columns) =
                    own.cwiseProduct(gap).colwise().sum().transpose().segment(row * tile.columns, tile.columns);
            }
        }
    }
    if (!with_variance) return true;

    // Three cells by the dense formula.
    double estimate[3], variance[3], x[3], y[3];
    Eigen::MatrixXd drift(3, q);
    for (int i = 0; i < 3; ++i) {
        x[i] = tile.x[checked[i] % tile.columns];
        y[i] = tile.y[checked[i] / tile.columns];
        for (int column = 0; column < q; ++column) {
            drift(i, column) = tile.drift[column * tile.drift_stride + checked[i] / tile.columns * tile.row_stride +
                                          checked[i] % tile.columns];
        }
    }
    const TileArrays dense{3, x, y, drift.data(), estimate, variance, nullptr, {}};
    finish_tile(system, dense, z.middleCols(p2, checks));
    for (int i = 0; i < 3; ++i) {
        const long at = checked[i] / tile.columns * tile.row_stride + checked[i] % tile.columns;
        const double estimate_gap = __builtin_fabs(tile.estimate[at] - estimate[i]);
        const double variance_gap = __builtin_fabs(tile.variance[at] - variance[i]);
        if (estimate_gap > tile.estimate_tolerance || variance_gap > tile.variance_tolerance) return false;
    }
    return true;
}

}  // namespace

}  // namespace models::kernels
