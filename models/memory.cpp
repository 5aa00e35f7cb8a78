#include "models/memory.h"

#include <atomic>
#include <cstdint>
#include <cstdlib>

#ifdef __GLIBC__
#include <malloc.h>
#include <sys/mman.h>
#include <unistd.h>
#endif

namespace models {

namespace {

#ifdef __GLIBC__
std::atomic<int> kept_bytes{512 * 1024 * 1024};
constexpr int first_heap_bytes = 64 * 1024 * 1024;  // of a command's own work; what is not touched costs nothing
constexpr std::uintptr_t large_page_bytes = 2 * 1024 * 1024;

/// The first part of the heap in large pages: a system that has none, or does not give them, goes on in small ones.
void heap_in_large_pages() {
    mallopt(M_TOP_PAD, first_heap_bytes);
    const auto begin = reinterpret_cast<std::uintptr_t>(sbrk(0));
    void* volatile grown = std::malloc(first_heap_bytes / 4);  // more than lies free: the heap grows by it and the pad
    std::free(grown);
    const auto end = reinterpret_cast<std::uintptr_t>(sbrk(0));
    mallopt(M_TOP_PAD, 128 * 1024);  // as it was: glibc's own
    const std::uintptr_t first = (begin + large_page_bytes - 1) / large_page_bytes * large_page_bytes;
    if (begin < end && first < end) (void)madvise(reinterpret_cast<void*>(first), end - first, MADV_HUGEPAGE);
}
#endif

}  // namespace

void keep_freed_memory() {
#ifdef __GLIBC__
    mallopt(M_TRIM_THRESHOLD, kept_bytes);
    mallopt(M_MMAP_THRESHOLD, 32 * 1024 * 1024);  // the most that glibc takes
    heap_in_large_pages();
#endif
}

void keep_less_freed_memory() {
#ifdef __GLIBC__
    constexpr int enough = 12 * 1024 * 1024;
    kept_bytes = enough;
    mallopt(M_TRIM_THRESHOLD, enough);
    mallopt(M_TOP_PAD, enough / 3);  // kept where the rest is handed back
#endif
}

void return_freed_memory() {
#ifdef __GLIBC__
    malloc_trim(0);
    return_freed_memory_of_thread();
#endif
}

void return_freed_memory_of_thread() {
#ifdef __GLIBC__
    // What lies free at the end of a thread's own heap malloc_trim leaves there; a free looks at it.
    constexpr int little = 1024 * 1024;
    mallopt(M_TRIM_THRESHOLD, little);
    void* volatile looked_at = std::malloc(little / 4);
    std::free(looked_at);
    mallopt(M_TRIM_THRESHOLD, kept_bytes);
#endif
}

}  // namespace models
