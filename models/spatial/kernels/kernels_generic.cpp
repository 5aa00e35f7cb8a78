#include "models/spatial/kernels/table_body.h"

namespace models::kernels {

const KernelTable& generic_table() {
    static constexpr KernelTable table = table_of("generic");
    return table;
}

}  // namespace models::kernels
