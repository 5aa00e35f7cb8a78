#include "models/memory.h"

#include <cstdlib>

#ifdef __GLIBC__
#include <malloc.h>
#endif

namespace models {

void keep_freed_memory() {
#ifdef __GLIBC__
    mallopt(M_TRIM_THRESHOLD, 512 * 1024 * 1024);
    mallopt(M_MMAP_THRESHOLD, 32 * 1024 * 1024);  // the most that glibc takes
#endif
}

void return_freed_memory() {
#ifdef __GLIBC__
    malloc_trim(0);
#endif
}

}  // namespace models
