#pragma once

// Compiled once a processor level. Everything here has internal linkage or lives in the level's own copy of Eigen's
// namespace, so that no code made for a newer processor can be picked by the linker for the rest of the program.

#include <cmath>

#include <Eigen/Cholesky>
#include <Eigen/Core>

#include "models/spatial/kernels/kernels.h"

namespace models::kernels {

namespace {

constexpr int chunk_size = 128;
using Chunk = Eigen::Array<double, Eigen::Dynamic, 1, 0, chunk_size, 1>;
using ConstVector = Eigen::Map<const Eigen::VectorXd>;
using ConstMatrix = Eigen::Map<const Eigen::MatrixXd>;
using Matrix = Eigen::Map<Eigen::MatrixXd>;
using Vector = Eigen::Map<Eigen::VectorXd>;

/// Adds sill * correlation for one chunk of separations.
void add_term(const CovarianceTerm& term, const Chunk& dx, const Chunk& dy, Chunk& out) {
    // Not worked out here but where it is used, so that most shapes take one pass.
    const auto squared = (term.xx * dx + term.xy * dy).square() + (term.yx * dx + term.yy * dy).square();
    Chunk r;
    switch (term.shape) {
        case VariogramShape::spherical:
            r = squared.sqrt().min(1.0);
            out += term.sill * (1.0 - r * (1.5 - 0.5 * r * r));
            return;
        case VariogramShape::pentaspherical:
            r = squared.sqrt().min(1.0);
            out += term.sill * (1.0 - r * (1.875 - r * r * (1.25 - 0.375 * r * r)));
            return;
        case VariogramShape::exponential:
            out += term.sill * (-squared.sqrt()).exp();
            return;
        case VariogramShape::gaussian:
            out += term.sill * (-squared).exp();
            return;
        case VariogramShape::linear:
            out -= term.sill * squared.sqrt();
            return;
        case VariogramShape::matern:
            if (term.parameter == 0.5) {
                out += term.sill * (-squared.sqrt()).exp();
                return;
            }
            if (term.parameter == 1.5) {
                r = squared.sqrt();
                out += term.sill * (1.0 + r) * (-r).exp();
                return;
            }
            if (term.parameter == 2.5) {
                r = squared.sqrt();
                out += term.sill * (1.0 + r * (1.0 + r / 3.0)) * (-r).exp();
                return;
            }
            break;
        default:
            break;
    }
    r = squared;
    for (Eigen::Index i = 0; i < r.size(); ++i) {
        out[i] += term.sill * term.slow(term.shape, __builtin_sqrt(r[i]), term.parameter);
    }
}

/// out (+)= scale * structured covariance, without the nugget.
void add_structured(const CovarianceArrays& covariance, const double* x, const double* y, int n, double x0, double y0,
                    double scale, bool first, double* out) {
    for (int begin = 0; begin < n; begin += chunk_size) {
        const int size = n - begin < chunk_size ? n - begin : chunk_size;
        const Chunk dx = Eigen::Map<const Eigen::ArrayXd>(x + begin, size) - x0;
        const Chunk dy = Eigen::Map<const Eigen::ArrayXd>(y + begin, size) - y0;
        Chunk sum = Chunk::Constant(size, covariance.level);
        for (int term = 0; term < covariance.n_terms; ++term) add_term(covariance.terms[term], dx, dy, sum);
        Eigen::Map<Eigen::ArrayXd> to(out + begin, size);
        if (first) {
            to = scale * sum;
        } else {
            to += scale * sum;
        }
    }
}

void covariances(const CovarianceArrays& covariance, const double* x, const double* y, int n, double x0, double y0,
                 double* out) {
    add_structured(covariance, x, y, n, x0, y0, 1.0, true, out);
    if (covariance.nugget == 0.0) return;
    for (int i = 0; i < n; ++i) {
        if (x[i] == x0 && y[i] == y0) out[i] += covariance.nugget;
    }
}

/// Covariances between the observations and one target, averaged over its block.
void target_covariances(const SystemArrays& system, double x0, double y0, double* out) {
    if (system.block.is_point) {
        covariances(system.covariance, system.x, system.y, system.n, x0, y0, out);
        return;
    }
    for (int node = 0; node < system.block.n; ++node) {
        add_structured(system.covariance, system.x, system.y, system.n, x0 + system.block.dx[node],
                       y0 + system.block.dy[node], system.block.weight[node], node == 0, out);
    }
}

int factor(double* matrix, int n) {
    Matrix c(matrix, n, n);
    const Eigen::LLT<Eigen::Ref<Eigen::MatrixXd>, Eigen::Lower> llt(c);
    if (llt.info() == Eigen::Success) {
        for (int i = 0; i < n; ++i) {
            if (!(c(i, i) > 0.0)) return i;
        }
        return -1;
    }
    for (int i = 0; i < n; ++i) {
        if (!(c(i, i) > 0.0)) return i;
    }
    return n - 1;
}

using Strided = Eigen::Map<Eigen::MatrixXd, 0, Eigen::OuterStride<>>;
using ConstStrided = Eigen::Map<const Eigen::MatrixXd, 0, Eigen::OuterStride<>>;

int factor_tile(double* tile, int n, long stride) {
    Strided c(tile, n, n, Eigen::OuterStride<>(stride));
    const Eigen::LLT<Eigen::Ref<Eigen::MatrixXd, 0, Eigen::OuterStride<>>, Eigen::Lower> llt(c);
    for (int i = 0; i < n; ++i) {
        if (!(c(i, i) > 0.0)) return i;
    }
    return llt.info() == Eigen::Success ? -1 : n - 1;
}

void solve_below(const double* tile, int n, double* below, int rows, long stride) {
    const ConstStrided lower(tile, n, n, Eigen::OuterStride<>(stride));
    Strided to(below, rows, n, Eigen::OuterStride<>(stride));
    lower.transpose().triangularView<Eigen::Upper>().solveInPlace<Eigen::OnTheRight>(to);
}

void take_off(const double* a, int rows, const double* b, int columns, int n, double* c, long stride) {
    const Eigen::OuterStride<> apart(stride);
    Strided(c, rows, columns, apart).noalias() -=
        ConstStrided(a, rows, n, apart) * ConstStrided(b, columns, n, apart).transpose();
}

void inverse_columns(const double* factor, int n, int first, int columns, double* out) {
    const int rows = n - first;
    const ConstStrided lower(factor + static_cast<long>(first) * n + first, rows, rows, Eigen::OuterStride<>(n));
    Matrix right(out, rows, columns);
    right.setIdentity();
    lower.triangularView<Eigen::Lower>().solveInPlace(right);
}

void forward_solve(const double* factor, int n, double* b, int m) {
    if (n == 0 || m == 0) return;  // b may be null then
    Matrix right(b, n, m);
    ConstMatrix(factor, n, n).triangularView<Eigen::Lower>().solveInPlace(right);
}

/// The same a part of the columns at a time, each about a twentieth of a second's work.
void forward_solve_with_pauses(const double* factor, int n, double* b, int m, const Pause& pause) {
    const double most = 1e9 / (static_cast<double>(n) * n);
    const int columns_at_once = most > 1e6 ? 1000000 : most < 16.0 ? 16 : static_cast<int>(most);
    for (int first = 0; first < m; first += columns_at_once) {
        if (pause.ask != nullptr) pause.ask(pause.who);
        const int columns = m - first < columns_at_once ? m - first : columns_at_once;
        forward_solve(factor, n, b + static_cast<long>(first) * n, columns);
    }
}

void backward_solve(const double* factor, int n, double* b, int m) {
    if (n == 0 || m == 0) return;
    Matrix right(b, n, m);
    ConstMatrix(factor, n, n).transpose().triangularView<Eigen::Upper>().solveInPlace(right);
}

/// Estimate and variance from z = L^-1 c of each target (columns of `solved`).
void finish_tile(const SystemArrays& system, const TileArrays& tile, const Eigen::MatrixXd& solved) {
    const ConstVector residual(system.residual, system.n);
    Vector estimate(tile.estimate, tile.m);
    estimate.noalias() = solved.transpose() * residual;
    Eigen::VectorXd variance = system.own_covariance - solved.colwise().squaredNorm().transpose().array();
    if (system.p == 0) {
        estimate.array() += system.known_mean;
    } else {
        const ConstMatrix drift(tile.drift, tile.m, system.p);
        const ConstMatrix w(system.drift_factor, system.n, system.p);
        const ConstMatrix r(system.triangle, system.p, system.p);
        estimate.noalias() += drift * ConstVector(system.coefficients, system.p);
        Eigen::MatrixXd gap = drift.transpose();
        gap.noalias() -= w.transpose() * solved;
        r.transpose().triangularView<Eigen::Lower>().solveInPlace(gap);
        variance += gap.colwise().squaredNorm().transpose();
        if (tile.lagrange != nullptr) {
            Eigen::MatrixXd own = drift.transpose();
            r.transpose().triangularView<Eigen::Lower>().solveInPlace(own);
            Vector(tile.lagrange, tile.m) = own.cwiseProduct(gap).colwise().sum().transpose();
        }
    }
    Vector(tile.variance, tile.m) = variance.cwiseMax(0.0);
}

void dense_tile(const SystemArrays& system, const TileArrays& tile) {
    Eigen::MatrixXd c(system.n, tile.m);
    for (int j = 0; j < tile.m; ++j) target_covariances(system, tile.x[j], tile.y[j], c.col(j).data());
    if (tile.variance != nullptr) {
        forward_solve_with_pauses(system.factor, system.n, c.data(), tile.m, tile.pause);
        finish_tile(system, tile, c);
        return;
    }
    Vector estimate(tile.estimate, tile.m);
    estimate.noalias() = c.transpose() * ConstVector(system.weights, system.n);
    if (system.p == 0) {
        estimate.array() += system.known_mean;
    } else {
        estimate.noalias() += ConstMatrix(tile.drift, tile.m, system.p) * ConstVector(system.coefficients, system.p);
    }
}

}  // namespace

}  // namespace models::kernels
