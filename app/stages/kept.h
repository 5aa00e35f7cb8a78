#pragma once

#include <algorithm>
#include <functional>
#include <memory>
#include <mutex>
#include <utility>
#include <vector>

namespace app {

/// The last few answers of one stage, each with what it was made from. Asked with the same inputs the answer is handed
/// out again, with others it is made. Several threads may ask at once; what throws is not kept.
template <typename Inputs, typename Answer>
class Kept {
 public:
    template <typename Make>
    std::shared_ptr<const Answer> get(const Inputs& inputs, Make make) {
        {
            const std::lock_guard lock(mutex_);
            const auto found = std::find_if(answers_.begin(), answers_.end(),
                                            [&inputs](const auto& known) { return known.first == inputs; });
            if (found != answers_.end()) {
                std::rotate(answers_.begin(), found, found + 1);  // the oldest are those not asked for lately
                return answers_.front().second;
            }
        }
        auto answer = std::make_shared<const Answer>(make());
        const std::lock_guard lock(mutex_);
        answers_.insert(answers_.begin(), {inputs, answer});
        if (answers_.size() > most_) answers_.pop_back();
        ++made_;
        return answer;
    }
    /// The latest answer whose inputs are like that; null where there is none.
    template <typename Like>
    std::shared_ptr<const Answer> latest(Like is_like) const {
        const std::lock_guard lock(mutex_);
        for (const auto& [inputs, answer] : answers_)
            if (is_like(inputs)) return answer;
        return nullptr;
    }
    /// How many answers were made and not handed out again.
    int made() const {
        const std::lock_guard lock(mutex_);
        return made_;
    }

 private:
    static constexpr std::size_t most_ = 4;  // two seasons on two bases
    mutable std::mutex mutex_;
    std::vector<std::pair<Inputs, std::shared_ptr<const Answer>>> answers_;
    int made_ = 0;
};

}  // namespace app
