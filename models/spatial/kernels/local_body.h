#pragma once

// Part of kernel_body.h, compiled once a processor level: small kriging systems, one in each lane of the processor's
// vectors.

#include "models/spatial/kernels/kernel_body.h"

namespace models::kernels {

namespace {

namespace side_by_side {

using Packet = Eigen::internal::packet_traits<double>::type;
constexpr int lanes = Eigen::internal::packet_traits<double>::size;
constexpr int rows_at_once = 4;

Packet load(const double* numbers, long place) {
    return Eigen::internal::ploadu<Packet>(numbers + place * lanes);
}

void store(double* numbers, long place, const Packet& value) {
    Eigen::internal::pstoreu(numbers + place * lanes, value);
}

Packet all_lanes(double value) {
    return Eigen::internal::pset1<Packet>(value);
}

/// Where row i of a packed lower triangle begins.
long row_begin(long i) {
    return i * (i + 1) / 2;
}

/// Solves x L' = row in place for rows that lie `stride` places apart, up to column `end`.
template <int rows>
void eliminate(const double* factor, const double* inverse, double* first, const long* begin, int end) {
    using namespace Eigen::internal;
    double* row[rows];
    for (int r = 0; r < rows; ++r) row[r] = first + begin[r] * lanes;
    int j = 0;
    for (; j + 1 < end; j += 2) {
        const double* upper = factor + row_begin(j) * lanes;
        const double* lower = factor + row_begin(j + 1) * lanes;
        Packet sum[rows], next[rows];
        for (int r = 0; r < rows; ++r) sum[r] = next[r] = all_lanes(0.0);
        for (int k = 0; k < j; ++k) {
            const Packet a = load(upper, k), b = load(lower, k);
            for (int r = 0; r < rows; ++r) {
                const Packet c = load(row[r], k);
                sum[r] = pmadd(a, c, sum[r]);
                next[r] = pmadd(b, c, next[r]);
            }
        }
        const Packet between = load(lower, j), scale = load(inverse, j), scale_next = load(inverse, j + 1);
        for (int r = 0; r < rows; ++r) {
            const Packet here = pmul(psub(load(row[r], j), sum[r]), scale);
            store(row[r], j, here);
            next[r] = pmadd(between, here, next[r]);
            store(row[r], j + 1, pmul(psub(load(row[r], j + 1), next[r]), scale_next));
        }
    }
    if (j < end) {
        const double* upper = factor + row_begin(j) * lanes;
        for (int r = 0; r < rows; ++r) {
            Packet sum = all_lanes(0.0);
            for (int k = 0; k < j; ++k) sum = pmadd(load(upper, k), load(row[r], k), sum);
            store(row[r], j, pmul(psub(load(row[r], j), sum), load(inverse, j)));
        }
    }
}

/// The rows of the factor whose earlier columns are done, against each other.
template <int rows>
void factor_corner(double* factor, double* inverse, int i) {
    using namespace Eigen::internal;
    double* row[rows];
    for (int r = 0; r < rows; ++r) row[r] = factor + row_begin(i + r) * lanes;
    Packet sum[rows][rows];
    for (int r = 0; r < rows; ++r) {
        for (int c = 0; c <= r; ++c) sum[r][c] = all_lanes(0.0);
    }
    for (int k = 0; k < i; ++k) {
        Packet value[rows];
        for (int r = 0; r < rows; ++r) value[r] = load(row[r], k);
        for (int r = 0; r < rows; ++r) {
            for (int c = 0; c <= r; ++c) sum[r][c] = pmadd(value[r], value[c], sum[r][c]);
        }
    }
    for (int c = 0; c < rows; ++c) {
        const Packet root = psqrt(psub(load(row[c], i + c), sum[c][c]));
        const Packet scale = pdiv(all_lanes(1.0), root);
        store(row[c], i + c, root);
        store(inverse, i + c, scale);
        Packet column[rows];
        for (int r = c + 1; r < rows; ++r) {
            column[r] = pmul(psub(load(row[r], i + c), sum[r][c]), scale);
            store(row[r], i + c, column[r]);
        }
        for (int r = c + 1; r < rows; ++r) {
            for (int other = c + 1; other <= r; ++other) {
                sum[r][other] = pmadd(column[r], column[other], sum[r][other]);
            }
        }
    }
}

template <int rows>
void factor_rows(double* factor, double* inverse, int i) {
    long begin[rows];
    for (int r = 0; r < rows; ++r) begin[r] = row_begin(i + r);
    eliminate<rows>(factor, inverse, factor, begin, i);
    factor_corner<rows>(factor, inverse, i);
}

/// @param pivot_ratio  smallest pivot over largest
void factor_all(double* factor, double* inverse, int n, double* pivot_ratio) {
    using namespace Eigen::internal;
    int i = 0;
    for (; i + rows_at_once <= n; i += rows_at_once) factor_rows<rows_at_once>(factor, inverse, i);
    for (; i < n; ++i) factor_rows<1>(factor, inverse, i);
    Packet low = load(factor, 0), high = low;
    for (int k = 1; k < n; ++k) {
        const Packet pivot = load(factor, row_begin(k) + k);
        // After a pivot that is no number there are no numbers, so the last of them tells.
        low = pselect(pcmp_le(low, pivot), low, pivot);
        high = pselect(pcmp_le(pivot, high), high, pivot);
    }
    store(pivot_ratio, 0, pdiv(low, high));
}

/// Rows of n places one after another.
void eliminate_all(const double* factor, const double* inverse, double* rows, int count, int n) {
    int done = 0;
    for (; done + rows_at_once <= count; done += rows_at_once) {
        const long begin[rows_at_once] = {0, n, 2L * n, 3L * n};
        eliminate<rows_at_once>(factor, inverse, rows + static_cast<long>(done) * n * lanes, begin, n);
    }
    const long begin[rows_at_once - 1] = {0, n, 2L * n};
    double* rest = rows + static_cast<long>(done) * n * lanes;
    if (count - done == 3) eliminate<3>(factor, inverse, rest, begin, n);
    if (count - done == 2) eliminate<2>(factor, inverse, rest, begin, n);
    if (count - done == 1) eliminate<1>(factor, inverse, rest, begin, n);
}

Packet dot(const double* a, const double* b, int n) {
    using namespace Eigen::internal;
    Packet even = all_lanes(0.0), odd = even;
    int k = 0;
    for (; k + 1 < n; k += 2) {
        even = pmadd(load(a, k), load(b, k), even);
        odd = pmadd(load(a, k + 1), load(b, k + 1), odd);
    }
    if (k < n) even = pmadd(load(a, k), load(b, k), even);
    return padd(even, odd);
}

/// x := R'^-1 x for the lower triangle R' of p rows, packed.
void solve_lower(const double* triangle, int p, double* x) {
    using namespace Eigen::internal;
    for (int a = 0; a < p; ++a) {
        Packet value = load(x, a);
        for (int b = 0; b < a; ++b) value = psub(value, pmul(load(triangle, row_begin(a) + b), load(x, b)));
        store(x, a, pdiv(value, load(triangle, row_begin(a) + a)));
    }
}

void solve_upper(const double* triangle, int p, double* x) {
    using namespace Eigen::internal;
    for (int a = p - 1; a >= 0; --a) {
        Packet value = load(x, a);
        for (int b = a + 1; b < p; ++b) value = psub(value, pmul(load(triangle, row_begin(b) + a), load(x, b)));
        store(x, a, pdiv(value, load(triangle, row_begin(a) + a)));
    }
}

/// Packed rows of the covariances among the places of each lane, error variances on the diagonal.
void fill_covariances(const LaneConditions& systems) {
    using namespace Eigen::internal;
    constexpr int places_at_once = chunk_size / lanes;
    const CovarianceArrays& covariance = systems.covariance;
    for (int i = 0; i < systems.n; ++i) {
        double* const row = systems.factor + row_begin(i) * lanes;
        const Packet x = load(systems.x, i), y = load(systems.y, i);
        for (int begin = 0; begin < i; begin += places_at_once) {
            const int places = i - begin < places_at_once ? i - begin : places_at_once;
            Chunk dx(places * lanes), dy(places * lanes);
            for (int k = 0; k < places; ++k) {
                store(dx.data(), k, psub(load(systems.x, begin + k), x));
                store(dy.data(), k, psub(load(systems.y, begin + k), y));
            }
            Chunk sum = Chunk::Constant(places * lanes, covariance.level);
            for (int term = 0; term < covariance.n_terms; ++term) add_term(covariance.terms[term], dx, dy, sum);
            if (covariance.nugget != 0.0) {
                const Packet nugget = all_lanes(covariance.nugget), zero = all_lanes(0.0);
                for (int k = 0; k < places; ++k) {
                    const Packet one_place = pand(pcmp_eq(load(dx.data(), k), zero), pcmp_eq(load(dy.data(), k), zero));
                    store(sum.data(), k, padd(load(sum.data(), k), pand(one_place, nugget)));
                }
            }
            Eigen::Map<Eigen::ArrayXd>(row + begin * lanes, places * lanes) = sum;
        }
        store(row, i, padd(all_lanes(systems.own_covariance), load(systems.error_variance, i)));
    }
}

}  // namespace side_by_side

void squared_distances(const double* x, const double* y, int n, double x0, double y0, double* out) {
    Eigen::Map<Eigen::ArrayXd>(out, n) =
        (Eigen::Map<const Eigen::ArrayXd>(x, n) - x0).square() + (Eigen::Map<const Eigen::ArrayXd>(y, n) - y0).square();
}

void factor_systems(const LaneSystems& systems) {
    namespace own = side_by_side;
    using namespace Eigen::internal;
    const int n = systems.n, p = systems.p;
    own::factor_all(systems.factor, systems.inverse_pivots, n, systems.pivot_ratio);
    own::eliminate_all(systems.factor, systems.inverse_pivots, systems.right, 1 + p, n);
    if (p == 0) return;
    double* const residual = systems.right;
    const auto drift = [&](int a) { return systems.right + (1L + a) * n * own::lanes; };
    own::Packet worst = own::all_lanes(1.0);
    for (int a = 0; a < p; ++a) {
        const own::Packet whole = own::dot(drift(a), drift(a), n);
        for (int b = 0; b <= a; ++b) {
            own::Packet value = b == a ? whole : own::dot(drift(a), drift(b), n);
            for (int k = 0; k < b; ++k) {
                value = psub(value, pmul(own::load(systems.triangle, own::row_begin(a) + k),
                                         own::load(systems.triangle, own::row_begin(b) + k)));
            }
            if (b < a) {
                value = pdiv(value, own::load(systems.triangle, own::row_begin(b) + b));
            } else {
                const own::Packet left = pdiv(value, whole);
                worst = pselect(pcmp_le(worst, left), worst, left);
                value = psqrt(value);
            }
            own::store(systems.triangle, own::row_begin(a) + b, value);
        }
        own::store(systems.coefficients, a, own::dot(drift(a), residual, n));
    }
    own::store(systems.drift_ratio, 0, worst);
    own::solve_lower(systems.triangle, p, systems.coefficients);
    own::solve_upper(systems.triangle, p, systems.coefficients);
    for (int a = 0; a < p; ++a) {
        const own::Packet coefficient = own::load(systems.coefficients, a);
        for (int k = 0; k < n; ++k) {
            own::store(residual, k, psub(own::load(residual, k), pmul(coefficient, own::load(drift(a), k))));
        }
    }
}

void krige_systems(const LaneSystems& systems, const LaneTargets& targets) {
    namespace own = side_by_side;
    using namespace Eigen::internal;
    const int n = systems.n, p = systems.p;
    own::eliminate_all(systems.factor, systems.inverse_pivots, targets.covariance, targets.m, n);
    for (int target = 0; target < targets.m; ++target) {
        const double* solved = targets.covariance + static_cast<long>(target) * n * own::lanes;
        own::Packet estimate = own::dot(solved, systems.right, n);
        own::Packet variance = psub(own::all_lanes(systems.own_covariance), own::dot(solved, solved, n));
        own::Packet lagrange = own::all_lanes(0.0);
        if (p == 0) {
            estimate = padd(estimate, own::all_lanes(systems.known_mean));
        } else {
            double* const drift = targets.drift + static_cast<long>(target) * p * own::lanes;
            double* const gap = targets.gap;
            for (int a = 0; a < p; ++a) {
                const own::Packet here = own::load(drift, a);
                estimate = padd(estimate, pmul(here, own::load(systems.coefficients, a)));
                own::store(gap, a, psub(here, own::dot(systems.right + (1L + a) * n * own::lanes, solved, n)));
            }
            own::solve_lower(systems.triangle, p, gap);
            own::solve_lower(systems.triangle, p, drift);
            variance = padd(variance, own::dot(gap, gap, p));
            lagrange = own::dot(drift, gap, p);
        }
        own::store(targets.estimate, target, estimate);
        own::store(targets.variance, target, pmax(variance, own::all_lanes(0.0)));
        own::store(targets.lagrange, target, lagrange);
    }
}

void condition_systems(const LaneConditions& systems) {
    namespace own = side_by_side;
    own::fill_covariances(systems);
    own::factor_all(systems.factor, systems.inverse_pivots, systems.n, systems.pivot_ratio);
    own::eliminate_all(systems.factor, systems.inverse_pivots, systems.right, systems.columns, systems.n);
}

}  // namespace

}  // namespace models::kernels
