#pragma once

#include <functional>
#include <string_view>

#include "models/progress.h"

namespace models {

/// The number of threads meant by a setting: 0 is as many as there are processors.
int threads_to_use(int wanted);

/// Runs work(0) ... work(blocks - 1), each once, on so many threads, the calling one among them. Blocks are handed
/// out in order; what a block computes must not depend on which thread it got, so that results are the same for any
/// number of threads. The calling thread reports progress; when it is told to stop, or a block throws, the others
/// finish the block they are at and the exception goes to the caller.
void parallel_blocks(long long blocks, int threads, const std::function<void(long long block)>& work,
                     const Progress& progress = {}, std::string_view what = "");

/// The same for blocks that take long: work calls pause() within a block, which throws Cancelled once the calling
/// thread was told to stop (or another block failed). Nothing a block has done until then is used.
using PauseInBlock = std::function<void()>;
void parallel_blocks(long long blocks, int threads,
                     const std::function<void(long long block, const PauseInBlock& pause)>& work,
                     const Progress& progress = {}, std::string_view what = "");

}  // namespace models
