#pragma once

// The last of the bodies: all kernels of one processor level together. Each level's source includes this one alone.

#include "models/spatial/kernels/chebyshev_body.h"
#include "models/spatial/kernels/fourier_body.h"
#include "models/spatial/kernels/local_body.h"
#include "models/spatial/kernels/variogram_body.h"

namespace models::kernels {

namespace {

constexpr KernelTable table_of(const char* level) {
    return {level,           covariances,         factor,
            factor_tile,     solve_below,         take_off,
            inverse_columns, forward_solve,       backward_solve,
            dense_tile,      chebyshev_tile,      near_data,
            pair_sums,       side_by_side::lanes, squared_distances,
            factor_systems,  krige_systems,       fourier,
            normals,         condition_systems};
}

}  // namespace

}  // namespace models::kernels
