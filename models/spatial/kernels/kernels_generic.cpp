#include "models/spatial/kernels/chebyshev_body.h"
#include "models/spatial/kernels/fourier_body.h"
#include "models/spatial/kernels/local_body.h"
#include "models/spatial/kernels/variogram_body.h"

namespace models::kernels {

const KernelTable& generic_table() {
    static constexpr KernelTable table{"generic",       covariances,         factor,
                                       factor_tile,     solve_below,         take_off,
                                       inverse_columns, forward_solve,       backward_solve,
                                       dense_tile,      chebyshev_tile,      near_data,
                                       pair_sums,       side_by_side::lanes, squared_distances,
                                       factor_systems,  krige_systems,       fourier,
                                       normals,         condition_systems};
    return table;
}

}  // namespace models::kernels
