#include "models/spatial/kriging_grid.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <limits>

#include "models/spatial/parallel.h"

namespace models {

namespace {

constexpr double flops_a_covariance = 60.0;
constexpr int cells_a_dense_tile = 256;
constexpr double most_data_to_invert = 4096.0;  ///< 128 MB

/// Centres of some columns and rows of a grid, as a tile of it.
struct TileFrame {
    Eigen::VectorXd x, y;
    kernels::GridTileArrays arrays;

    TileFrame(const GridPlan& plan, const GridM& grid, const BlockM& block, int first_row, int rows, int first_column,
              int columns)
        : x(columns), y(rows) {
        for (int k = 0; k < columns; ++k) x[k] = grid.centre(first_row, first_column + k).x_m;
        for (int k = 0; k < rows; ++k) y[k] = grid.centre(first_row + k, first_column).y_m;
        arrays.columns = columns;
        arrays.rows = rows;
        arrays.x = x.data();
        arrays.y = y.data();
        arrays.half_x = 0.5 * grid.cell_m * columns;
        arrays.half_y = 0.5 * grid.cell_m * rows;
        arrays.block_half_x = 0.5 * block.width_m;
        arrays.block_half_y = 0.5 * block.height_m;
        arrays.nodes = plan.nodes;
        arrays.ellipse = plan.ellipse;
        arrays.estimate_tolerance = plan.estimate_tolerance;
        arrays.variance_tolerance = plan.variance_tolerance;
    }
};

/// Without the solves for the near data, which cost n^2 each.
double tile_cost(const kernels::SystemArrays& system, const GridPlan& plan, double near, double cells, bool variance) {
    const double n = system.n, nodes = plan.nodes * plan.nodes, covariance = flops_a_covariance * system.block.n;
    if (!variance) return n * nodes * covariance + cells * (near * covariance + 2.0 * plan.nodes);
    const double once = n * n * (nodes + 3.0) + n * nodes * covariance + 6.0 * n * near * near + 2.0 * n * near * nodes;
    const double each = near * covariance + near * near + 2.0 * plan.nodes * (near + 2.0) + 40.0;
    return once + cells * each;
}

/// Sides of a tile over which a smooth covariance still is a polynomial of 13th degree to twelve digits.
bool smooth_enough(const kernels::SystemArrays& system, double half_m) {
    for (int k = 0; k < system.covariance.n_terms; ++k) {
        const auto& term = system.covariance.terms[k];
        const double stretch =
            std::sqrt(std::max(term.xx * term.xx + term.yx * term.yx, term.xy * term.xy + term.yy * term.yy));
        if (term.shape == VariogramShape::gaussian && half_m * stretch > 0.35) return false;
        if (term.shape == VariogramShape::hole && half_m * stretch > 1.5) return false;
        if (term.shape == VariogramShape::circular) return false;
    }
    return true;
}

void ask_whether_to_go_on(const void* who) {
    (*static_cast<const PauseInBlock*>(who))();
}

void dense_part(const kernels::SystemArrays& system, const TileFrame& tile, int first_cell, int cells) {
    const kernels::GridTileArrays& to = tile.arrays;
    Eigen::VectorXd x(cells), y(cells), estimate(cells), variance(cells), lagrange(cells);
    Eigen::MatrixXd drift(cells, system.p);
    const auto place_of = [&](int cell) {
        return (first_cell + cell) / to.columns * to.row_stride + (first_cell + cell) % to.columns;
    };
    for (int cell = 0; cell < cells; ++cell) {
        x[cell] = to.x[(first_cell + cell) % to.columns];
        y[cell] = to.y[(first_cell + cell) / to.columns];
        for (int k = 0; k < system.p; ++k) drift(cell, k) = to.drift[k * to.drift_stride + place_of(cell)];
    }
    kernels::kernel_table().dense_tile(system, {cells, x.data(), y.data(), drift.data(), estimate.data(),
                                                to.variance == nullptr ? nullptr : variance.data(),
                                                to.lagrange == nullptr ? nullptr : lagrange.data(), to.pause});
    for (int cell = 0; cell < cells; ++cell) {
        to.estimate[place_of(cell)] = estimate[cell];
        if (to.variance != nullptr) to.variance[place_of(cell)] = variance[cell];
        if (to.lagrange != nullptr) to.lagrange[place_of(cell)] = lagrange[cell];
    }
}

}  // namespace

GridPlan plan_grid(const kernels::SystemArrays& system, const GridM& grid, const BlockM& block, bool variance,
                   double value_scale) {
    GridPlan plan;
    const double cells = static_cast<double>(grid.cells()), n = system.n;
    const double covariance = flops_a_covariance * system.block.n;
    double best = cells * (variance ? n * n + n * covariance : n * (covariance + 2.0));
    if (best < 2e7) return plan;
    const int longest = std::max(grid.columns, grid.rows);
    int chosen = 0;
    for (double side = 12.0; chosen == 0 || side < 1.5 * longest; side *= 1.4) {
        const int cells_a_side = static_cast<int>(side);
        if (side >= 1.5 * longest) break;
        const int columns = std::min(cells_a_side, grid.columns), rows = std::min(cells_a_side, grid.rows);
        if (!smooth_enough(system, 0.5 * grid.cell_m * std::max(columns, rows))) break;
        const int across = (grid.columns + columns - 1) / columns, down = (grid.rows + rows - 1) / rows;
        double near = 0.0, squares = 0.0;
        int samples = 0;
        const int steps_x = std::min(across, 4), steps_y = std::min(down, 4);
        for (int i = 0; i < steps_y; ++i) {
            for (int j = 0; j < steps_x; ++j, ++samples) {
                const int row = (2 * i + 1) * down / (2 * steps_y) * rows;
                const int column = (2 * j + 1) * across / (2 * steps_x) * columns;
                const TileFrame tile(plan, grid, block, std::min(row, grid.rows - rows), rows,
                                     std::min(column, grid.columns - columns), columns);
                const double count = kernels::kernel_table().near_data(system, tile.arrays, nullptr);
                near += count;
                squares += count * count;
            }
        }
        near = std::sqrt(squares / samples);
        const double tiles = static_cast<double>(across) * down;
        const double solves = variance ? tiles * near * n * n : 0.0, inversion = n * n * n / 3.0;
        const bool inverse = n <= most_data_to_invert && inversion < solves;
        const double cost = tile_cost(system, plan, near, static_cast<double>(columns) * rows, variance) * tiles +
                            (inverse ? inversion : solves);
        const bool pays = !variance || plan.nodes * plan.nodes + near < 0.8 * columns * rows;
        if (pays && cost < best) {
            best = cost;
            chosen = cells_a_side;
            plan.inverse = inverse;
        }
    }
    plan.side_cells = chosen;
    // A factor of condition number 1/eps has no digits left: what the plain formula itself loses is let go here too.
    double low = std::numeric_limits<double>::infinity(), high = 0.0;
    for (int i = 0; i < system.n; ++i) {
        const double pivot = system.factor[static_cast<long>(i) * system.n + i];
        low = std::min(low, pivot);
        high = std::max(high, pivot);
    }
    const double lost = 4.0 * std::numeric_limits<double>::epsilon() * (high / low) * (high / low);
    plan.estimate_tolerance = std::max(5e-12, lost) * value_scale;
    plan.variance_tolerance = std::max(5e-12, lost) * std::abs(system.own_covariance);
    return plan;
}

long long krige_strip(const kernels::SystemArrays& system, const GridPlan& plan, const GridM& grid, const BlockM& block,
                      int first_row, int rows, const Eigen::MatrixXd& drift, int threads, KrigingEstimates& found,
                      const Progress& progress) {
    const int columns = std::min(plan.side_cells, grid.columns);
    const int tiles = (grid.columns + columns - 1) / columns;
    std::atomic<long long> fell_back{0};
    parallel_blocks(
        tiles, threads,
        [&](long long number, const PauseInBlock& pause) {
            const int first_column = static_cast<int>(number) * columns;
            TileFrame tile(plan, grid, block, first_row, rows, first_column,
                           std::min(columns, grid.columns - first_column));
            kernels::GridTileArrays& to = tile.arrays;
            to.pause = {ask_whether_to_go_on, &pause};
            to.row_stride = grid.columns;
            to.drift_stride = drift.rows();
            to.drift = drift.cols() > 0 ? drift.data() + first_column : nullptr;
            to.estimate = found.estimate.data() + first_column;
            to.variance = found.variance.size() > 0 ? found.variance.data() + first_column : nullptr;
            to.lagrange = found.lagrange.size() > 0 ? found.lagrange.data() + first_column : nullptr;
            if (kernels::kernel_table().chebyshev_tile(system, to)) return;
            to.nodes += 6;
            if (kernels::kernel_table().chebyshev_tile(system, to)) return;
            ++fell_back;
            const int cells = to.rows * to.columns;
            for (int cell = 0; cell < cells; cell += cells_a_dense_tile) {
                dense_part(system, tile, cell, std::min(cells_a_dense_tile, cells - cell));
            }
        },
        progress, "kriging");
    return fell_back;
}

}  // namespace models
