#include "models/spatial/kernels/chebyshev_body.h"

namespace models::kernels {

const KernelTable& generic_table() {
    static constexpr KernelTable table{"generic",      covariances, factor,         forward_solve,
                                       backward_solve, dense_tile,  chebyshev_tile, near_data};
    return table;
}

}  // namespace models::kernels
