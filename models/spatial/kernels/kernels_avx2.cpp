// Compiled for processors with AVX2 and FMA; CMakeLists.txt gives the flags and renames Eigen's namespace for this one
// object.

#ifdef __AVX2__

#include "models/spatial/kernels/table_body.h"

namespace models::kernels {

const KernelTable* avx2_table() {
    static constexpr KernelTable table = table_of("avx2");
    return &table;
}

}  // namespace models::kernels

#else

#include "models/spatial/kernels/kernels.h"

namespace models::kernels {

const KernelTable* avx2_table() {
    return nullptr;
}

}  // namespace models::kernels

#endif
