#include "models/spatial/kernels/kernel_body.h"

namespace models::kernels {

const KernelTable& generic_table() {
    static constexpr KernelTable table{"generic", covariances, factor, forward_solve, backward_solve, dense_tile};
    return table;
}

}  // namespace models::kernels
