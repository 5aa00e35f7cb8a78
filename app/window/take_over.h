#pragma once

#include <memory>
#include <optional>
#include <string>

#include "app/job.h"
#include "app/window/session.h"
#include "app/words.h"

namespace app::window {

/// What work left that is done: its result, or why there is none.
template <typename Result>
struct LeftByWork {
    std::shared_ptr<const Result> result;
    std::string problem;   ///< what it threw; empty where it was stopped on request
    bool stopped = false;  ///< on request

    std::string why_none() const { return stopped ? std::string(spoken(words::stopped)) : problem; }
};

/// Takes that over and lets the work go; nothing where there is no work or it is not done yet.
template <typename Result>
std::optional<LeftByWork<Result>> take_over(Session& session, std::unique_ptr<Job<Result>>& job) {
    if (!job || !job->done()) return std::nullopt;
    LeftByWork<Result> left{job->result(), job->problem(), job->cancelled()};
    let_go(session, std::move(job));
    return left;
}

}  // namespace app::window
