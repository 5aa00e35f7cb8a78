// Compiled for processors with AVX-512 (F, DQ, VL, BW, CD); CMakeLists.txt gives the flags and renames Eigen's
// namespace for this one object.

#ifdef __AVX512DQ__

#include "models/spatial/kernels/chebyshev_body.h"
#include "models/spatial/kernels/fourier_body.h"
#include "models/spatial/kernels/local_body.h"
#include "models/spatial/kernels/variogram_body.h"

namespace models::kernels {

const KernelTable* avx512_table() {
    static constexpr KernelTable table{"avx512",        covariances,         factor,
                                       factor_tile,     solve_below,         take_off,
                                       inverse_columns, forward_solve,       backward_solve,
                                       dense_tile,      chebyshev_tile,      near_data,
                                       pair_sums,       side_by_side::lanes, squared_distances,
                                       factor_systems,  krige_systems,       fourier,
                                       normals,         condition_systems};
    return &table;
}

}  // namespace models::kernels

#else

#include "models/spatial/kernels/kernels.h"

namespace models::kernels {

const KernelTable* avx512_table() {
    return nullptr;
}

}  // namespace models::kernels

#endif
