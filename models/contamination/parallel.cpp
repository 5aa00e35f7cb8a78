#include "models/contamination/parallel.h"

#include <algorithm>
#include <atomic>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

#include "models/spoken.h"

namespace models::contamination {

void for_each_index(int n, int threads, const std::function<void(int)>& work, const Progress& progress,
                    std::string_view what) {
    if (threads <= 0) threads = static_cast<int>(std::max(1u, std::thread::hardware_concurrency()));
    threads = std::min(threads, n);
    std::atomic<int> next{0};
    std::exception_ptr failure;
    std::mutex failure_mutex;
    const auto run = [&](bool speaks) {
        try {
            for (int i = next++; i < n; i = next++) {
                if (speaks) progress.step(what, static_cast<double>(i) / n);
                work(i);
            }
        } catch (...) {
            const std::lock_guard lock(failure_mutex);
            if (!failure) failure = std::current_exception();
            next = n;
        }
    };
    const auto help = [&run, language = translation_here()] {
        const Translated translated(language);
        run(false);
    };
    std::vector<std::jthread> others;
    for (int t = 1; t < threads; ++t) others.emplace_back(help);
    run(true);
    others.clear();
    if (failure) std::rethrow_exception(failure);
}

}  // namespace models::contamination
