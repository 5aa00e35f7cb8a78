// Compiled for processors with AVX-512 (F, DQ, VL, BW, CD); CMakeLists.txt gives the flags and renames Eigen's
// namespace for this one object.

#ifdef __AVX512DQ__

#include "models/spatial/kernels/table_body.h"

namespace models::kernels {

const KernelTable* avx512_table() {
    static constexpr KernelTable table = table_of("avx512");
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
