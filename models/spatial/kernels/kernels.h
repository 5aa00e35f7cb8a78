#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "models/spatial/variogram_model.h"

namespace models::kernels {

/// The arithmetic of kriging in the form the inner loops want: plain arrays, so that the same code can be compiled
/// for several levels of processor and chosen at run time without any of it leaking into the rest of the program.

/// One term of a covariance: sill * correlation(|M d|), M turning, stretching and dividing by the range.
struct CovarianceTerm {
    VariogramShape shape = VariogramShape::nugget;
    double sill = 0.0;
    double xx = 1.0, xy = 0.0, yx = 0.0, yy = 1.0;  ///< M; u = xx dx + xy dy, v = yx dx + yy dy
    double parameter = 0.0;                         ///< smoothness, exponent, or range/damping
    /// Correlation at r = |M d| for the shapes without a vector form, compiled once for the plainest processor;
    /// for a term without a sill minus its semivariance.
    double (*slow)(VariogramShape shape, double r, double parameter) = nullptr;
};

/// A covariance: level + sum of terms, and the nugget where the places coincide.
struct CovarianceArrays {
    const CovarianceTerm* terms = nullptr;
    int n_terms = 0;
    double nugget = 0.0;
    double level = 0.0;  ///< 0 with a sill; otherwise what lifts -gamma above zero
};

/// Nodes of a block about its centre; one node of weight 1 at the centre is a point.
struct BlockArrays {
    const double* dx = nullptr;
    const double* dy = nullptr;
    const double* weight = nullptr;
    int n = 1;
    bool is_point = true;
};

/// A factored kriging system: C = L L', W = L^-1 X = Q R, e = L^-1 (z - X b). Matrices by columns.
struct SystemArrays {
    CovarianceArrays covariance;
    BlockArrays block;
    int n = 0, p = 0;           ///< observations; columns of X (0 with a known mean)
    const double* x = nullptr;  ///< n
    const double* y = nullptr;
    const double* factor = nullptr;        ///< L, n x n
    const double* inverse = nullptr;       ///< L^-1, n x n with zeros above the diagonal; null: worked out as needed
    const double* drift_factor = nullptr;  ///< W, n x p
    const double* triangle = nullptr;      ///< R, p x p upper
    const double* residual = nullptr;      ///< e, n
    const double* weights = nullptr;       ///< L'^-1 e, n
    const double* coefficients = nullptr;  ///< b, p
    double known_mean = 0.0;
    double own_covariance = 0.0;  ///< of the target with itself
};

/// Long work asks now and then whether to go on: ask(who) returns, or throws and is not caught here.
struct Pause {
    void (*ask)(const void* who) = nullptr;
    const void* who = nullptr;
};

/// Targets of one tile and what is found there. Drift values of the targets: m x p by columns, the constant first.
struct TileArrays {
    int m = 0;
    const double* x = nullptr;
    const double* y = nullptr;
    const double* drift = nullptr;
    double* estimate = nullptr;
    double* variance = nullptr;  ///< null: not wanted
    double* lagrange = nullptr;  ///< null: not wanted
    Pause pause;
};

/// A rectangle of cells of a grid, and where its results go: cell (row, column) at row * row_stride + column.
struct GridTileArrays {
    int columns = 0, rows = 0;
    const double* x = nullptr;                      ///< of the columns
    const double* y = nullptr;                      ///< of the rows
    double half_x = 0.0, half_y = 0.0;              ///< half sides, over the cells' centres or a little more
    double block_half_x = 0.0, block_half_y = 0.0;  ///< half sides of a block
    const double* drift = nullptr;                  ///< as the results, one column drift_stride after another
    long drift_stride = 0, row_stride = 0;
    double* estimate = nullptr;
    double* variance = nullptr;
    double* lagrange = nullptr;
    int nodes = 14;        ///< Chebyshev nodes along a side
    double ellipse = 8.0;  ///< data are near while |z - 1| + |z + 1| is smaller: r + 1/r, error about r^-nodes
    double estimate_tolerance = 0.0, variance_tolerance = 0.0;  ///< of the checks against the dense formula
    Pause pause;
};

/// Points whose pairs are compared, sorted so that points_a_pair_block after one another lie together; the arrays go on
/// for points_a_pair_block more than n.
constexpr int points_a_pair_block = 64;
struct PairArrays {
    int n = 0;
    const double* x = nullptr;
    const double* y = nullptr;
    const double* value = nullptr;
    const double* error = nullptr;   ///< variances, or null
    const double* boxes = nullptr;   ///< x_min, x_max, y_min, y_max of each block of points
    const double* limits = nullptr;  ///< of each class the largest squared distance that belongs to it, not descending
    int classes = 0;
    double classes_a_metre = 0.0;        ///< 0 where they are not equally wide
    const double* directions = nullptr;  ///< east and north part of each
    int n_directions = 0;                ///< 0: all together
    double least_cosine = 0.0;
    bool robust = false;
};

/// Small kriging systems, as many as the processor's vectors have lanes, each number of all of them side by side. All
/// have n data; a system with fewer is filled up with rows of the unit matrix.
struct LaneSystems {
    int n = 0, p = 0;
    double* factor = nullptr;          ///< packed rows of the lower triangle: C, then L
    double* inverse_pivots = nullptr;  ///< n, out
    double* right = nullptr;         ///< values, then p columns of drift, n each: becomes L^-1 (z - X b) and W = L^-1 X
    double* triangle = nullptr;      ///< packed rows of the lower triangle of R', R'R = W'W, out
    double* coefficients = nullptr;  ///< b, p, out
    double* pivot_ratio = nullptr;   ///< smallest pivot over largest; not a number where C is not positive definite
    double* drift_ratio = nullptr;   ///< smallest share of a drift column that does not follow from those before it
    double known_mean = 0.0, own_covariance = 0.0;
};

/// m targets of each of the systems.
struct LaneTargets {
    int m = 0;
    double* covariance = nullptr;  ///< n each: c, becomes L^-1 c
    double* drift = nullptr;       ///< p each, overwritten
    double* gap = nullptr;         ///< room for p
    double* estimate = nullptr;    ///< m
    double* variance = nullptr;
    double* lagrange = nullptr;
};

/// Small systems again, each of the covariances among n places of which the last is conditioned on those before it.
struct LaneConditions {
    CovarianceArrays covariance;
    double own_covariance = 0.0;  ///< of a place with itself, the nugget in it
    int n = 0, columns = 0;
    const double* x = nullptr;  ///< n each
    const double* y = nullptr;
    const double* error_variance = nullptr;
    double* factor = nullptr;          ///< packed rows of the lower triangle, out: L
    double* inverse_pivots = nullptr;  ///< n, out; the last is one over the conditional standard deviation
    double* right = nullptr;           ///< columns of n each: become L^-1 of them
    double* pivot_ratio = nullptr;     ///< smallest pivot over largest; not a number where not positive definite
};

/// Fourier transforms side by side: value k of lane l is the complex number at 2 lanes k + l (real part) and
/// 2 lanes k + lanes + l (imaginary part).
constexpr int fourier_lanes = 8;
struct FourierArrays {
    int n = 0;
    const int* factors = nullptr;  ///< 2, 3, 4 or 5, their product n
    int n_factors = 0;
    const double* cosine = nullptr;  ///< of k/n turns
    const double* sine = nullptr;
};

/// A sequence of random numbers as models::NormalStream has them.
struct NormalArrays {
    std::uint32_t key0 = 0, key1 = 0, purpose = 0, number = 0;
};

struct KernelTable {
    const char* level;
    /// out[i] = covariance between place i and (x0, y0), the nugget where they coincide.
    void (*covariances)(const CovarianceArrays&, const double* x, const double* y, int n, double x0, double y0,
                        double* out);
    /// Cholesky in place of the lower triangle of an n x n matrix; -1, or the first column whose pivot is not positive.
    int (*factor)(double* matrix, int n);
    /// The same for a large matrix in steps, rows `stride` places apart: a diagonal tile of n; the rows below it,
    /// B := B L'^-1 for rows x n; and what is left, C := C - A B' for A rows x n and B columns x n.
    int (*factor_tile)(double* tile, int n, long stride);
    void (*solve_below)(const double* tile, int n, double* below, int rows, long stride);
    void (*take_off)(const double* a, int rows, const double* b, int columns, int n, double* c, long stride);
    /// Columns [first, first + columns) of L^-1, of which the rows above `first` are nil and left out.
    void (*inverse_columns)(const double* factor, int n, int first, int columns, double* out);
    /// B := L^-1 B for n x m.
    void (*forward_solve)(const double* factor, int n, double* b, int m);
    /// B := L'^-1 B for n x m.
    void (*backward_solve)(const double* factor, int n, double* b, int m);
    /// Every target against every observation.
    void (*dense_tile)(const SystemArrays&, const TileArrays&);
    /// A tile of a grid by Chebyshev nodes; false: a check failed or it does not pay.
    bool (*chebyshev_tile)(const SystemArrays&, const GridTileArrays&);
    /// How many data chebyshev_tile takes exactly (and which, unless null).
    int (*near_data)(const SystemArrays&, const GridTileArrays&, int* near);
    /// Adds all pairs of a block of points with itself and the blocks before it to the sums of each direction and
    /// class: distance, difference (half the square, or the root where robust), number.
    void (*pair_sums)(const PairArrays&, int block, double* sums);
    int lanes;  ///< doubles in one of the processor's vectors
    /// out[i] = squared distance between place i and (x0, y0), rounded as in plain arithmetic.
    void (*squared_distances)(const double* x, const double* y, int n, double x0, double y0, double* out);
    void (*factor_systems)(const LaneSystems&);
    void (*krige_systems)(const LaneSystems&, const LaneTargets&);
    /// Forward transforms, sum of z e^-2 pi i jk/n, of fourier_lanes sequences; `room` is as large as `values`.
    /// @returns where the result is, `values` or `room`
    double* (*fourier)(const FourierArrays&, double* values, double* room);
    /// The twos number first + step k + lane_step l of a sequence as value k of lane l, for k below count.
    void (*normals)(const NormalArrays&, std::uint64_t first, std::uint64_t step, std::uint64_t lane_step, int count,
                    double* out);
    void (*condition_systems)(const LaneConditions&);
};

/// The table for this processor, or the one that $LODICULE_KERNEL (generic, avx2, avx512) names.
/// @throws Error  the named level is unknown or this processor does not have it
const KernelTable& kernel_table();
/// The table of one level by name; the fastest where the name is empty.
const KernelTable& kernel_table(const std::string& level);
/// Levels that this processor can run, the plainest first.
std::vector<std::string> kernel_levels();

const KernelTable& generic_table();
const KernelTable* avx2_table();  ///< null where the compiler has none
const KernelTable* avx512_table();

}  // namespace models::kernels
