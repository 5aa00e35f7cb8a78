#include "models/spatial/tiled_factor.h"

#include <algorithm>
#include <cmath>

#include "models/spatial/kernels/kernels.h"
#include "models/spatial/parallel.h"

namespace models {

int factor_in_tiles(double* matrix, int n, int threads, const Progress& progress) {
    constexpr int tile = 192;
    const kernels::KernelTable& table = kernels::kernel_table();
    const auto at = [&](int row, int column) { return matrix + static_cast<long>(column) * n + row; };
    for (int first = 0; first < n; first += tile) {
        const int size = std::min(tile, n - first), after = first + size;
        const int bad = table.factor_tile(at(first, first), size, n);
        if (bad >= 0) return first + bad;
        const int tiles = (n - after + tile - 1) / tile;
        if (tiles == 0) break;
        const auto row_of = [&](long long number) { return after + static_cast<int>(number) * tile; };
        parallel_blocks(tiles, threads, [&](long long number) {
            const int row = row_of(number);
            table.solve_below(at(first, first), size, at(row, first), std::min(tile, n - row), n);
        });
        // What is left to do falls with the cube of the columns left.
        const double left = static_cast<double>(n - first) / n, then = static_cast<double>(n - after) / n;
        const double begin = 1.0 - std::pow(left, 3), share = 1.0 - std::pow(then, 3) - begin;
        const Progress part([&](std::string_view what, double within) {
            progress.step(what, begin + share * within);
            return true;
        });
        parallel_blocks(
            static_cast<long long>(tiles) * (tiles + 1) / 2, threads,
            [&](long long number) {
                // Tiles of the triangle below the diagonal, row after row.
                auto i = static_cast<long long>((std::sqrt(8.0 * static_cast<double>(number) + 1.0) - 1.0) / 2.0);
                while (i * (i + 1) / 2 > number) --i;
                while ((i + 1) * (i + 2) / 2 <= number) ++i;
                const int row = row_of(i), column = row_of(number - i * (i + 1) / 2);
                table.take_off(at(row, first), std::min(tile, n - row), at(column, first), std::min(tile, n - column),
                               size, at(row, column), n);
            },
            part, "factoring");
    }
    return -1;
}

}  // namespace models
