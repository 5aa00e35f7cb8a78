#include "models/spatial/kernels/kernels.h"

#include <cstdlib>
#include <string>

#include "models/error.h"

namespace models::kernels {

const KernelTable& kernel_table() {
    static const KernelTable& chosen = []() -> const KernelTable& {
        const char* asked = std::getenv("LODICULE_KERNEL");
        const std::string level = asked == nullptr ? "" : asked;
        if (level.empty() || level == "generic") return generic_table();
        throw Error("LODICULE_KERNEL names the processor level \"" + level + "\", which there is not", "",
                    "set it to generic, or leave it unset");
    }();
    return chosen;
}

}  // namespace models::kernels
