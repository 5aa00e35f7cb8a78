#include "models/spatial/parallel.h"

#include <algorithm>
#include <atomic>
#include <chrono>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

#include "models/spoken.h"

namespace models {

int threads_to_use(int wanted) {
    if (wanted > 0) return wanted;
    return std::max(1, static_cast<int>(std::thread::hardware_concurrency()));
}

void parallel_blocks(long long blocks, int threads, const std::function<void(long long block)>& work,
                     const Progress& progress, std::string_view what) {
    parallel_blocks(
        blocks, threads, [&](long long block, const PauseInBlock&) { work(block); }, progress, what);
}

void parallel_blocks(long long blocks, int threads,
                     const std::function<void(long long block, const PauseInBlock& pause)>& work,
                     const Progress& progress, std::string_view what) {
    std::atomic<long long> next{0};
    std::atomic<long long> done{0};
    std::atomic<bool> stop{false};
    std::mutex failure_guard;
    std::exception_ptr failure;
    const auto fail = [&] {
        const std::lock_guard lock(failure_guard);
        if (!failure) failure = std::current_exception();
        stop = true;
    };
    const auto take = [&](bool reports) {
        auto last_report = std::chrono::steady_clock::time_point{};
        const PauseInBlock pause = [&] {
            if (stop) throw Cancelled();
            const auto now = std::chrono::steady_clock::now();
            if (reports && now - last_report > std::chrono::milliseconds(50)) {
                last_report = now;
                progress.step(what, static_cast<double>(done) / static_cast<double>(blocks));
            }
        };
        while (!stop) {
            const long long block = next++;
            if (block >= blocks) return;
            try {
                pause();
                work(block, pause);
                ++done;
            } catch (...) {
                fail();
            }
        }
    };
    const long long helpers = std::min<long long>(threads_to_use(threads), blocks) - 1;
    {
        std::vector<std::jthread> pool;
        for (long long helper = 0; helper < helpers; ++helper)
            pool.emplace_back([&take, language = translation_here()] {
                const Translated translated(language);
                take(false);
            });
        take(true);
    }
    if (failure) std::rethrow_exception(failure);
    progress.step(what, 1.0);
}

}  // namespace models
