#include "models/spatial/kernels/kernels.h"

#include <cstdlib>
#include <string>
#include <vector>

#include "models/error.h"

namespace models::kernels {

namespace {

/// The levels that were compiled in and that this processor has, the plainest first.
std::vector<const KernelTable*> usable_levels() {
    std::vector<const KernelTable*> levels{&generic_table()};
#if defined(__x86_64__)
    __builtin_cpu_init();
    const bool avx2 = __builtin_cpu_supports("avx2") != 0 && __builtin_cpu_supports("fma") != 0;
    const bool avx512 = avx2 && __builtin_cpu_supports("avx512f") != 0 && __builtin_cpu_supports("avx512dq") != 0 &&
                        __builtin_cpu_supports("avx512vl") != 0 && __builtin_cpu_supports("avx512bw") != 0 &&
                        __builtin_cpu_supports("avx512cd") != 0;
    if (avx2 && avx2_table() != nullptr) levels.push_back(avx2_table());
    if (avx512 && avx512_table() != nullptr) levels.push_back(avx512_table());
#endif
    return levels;
}

}  // namespace

std::vector<std::string> kernel_levels() {
    std::vector<std::string> names;
    for (const KernelTable* level : usable_levels()) names.emplace_back(level->level);
    return names;
}

const KernelTable& kernel_table(const std::string& wanted) {
    const auto levels = usable_levels();
    if (wanted.empty()) return *levels.back();
    std::string names;
    for (const KernelTable* level : levels) {
        if (wanted == level->level) return *level;
        names += (names.empty() ? "" : ", ") + std::string(level->level);
    }
    throw Error("this processor has no kernel level \"" + wanted + "\"", "LODICULE_KERNEL",
                "set it to one of " + names + ", or leave it unset");
}

const KernelTable& kernel_table() {
    static const KernelTable& chosen = [&]() -> const KernelTable& {
        const char* asked = std::getenv("LODICULE_KERNEL");
        return kernel_table(asked == nullptr ? std::string() : std::string(asked));
    }();
    return chosen;
}

}  // namespace models::kernels
