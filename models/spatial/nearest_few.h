#pragma once

#include <algorithm>
#include <cstddef>
#include <utility>
#include <vector>

#include <Eigen/Core>

namespace models {

/// The nearest few of the places that are offered, in whatever order they come; of equally near ones those with the
/// lower number.
class NearestFew {
 public:
    using Entry = std::pair<double, Eigen::Index>;  ///< squared distance and number

    void start(std::size_t wanted) {
        wanted_ = wanted;
        heap_.clear();
    }
    void offer(const Entry& entry) {
        if (heap_.size() < wanted_) {
            heap_.push_back(entry);
            std::push_heap(heap_.begin(), heap_.end());
        } else if (entry < heap_.front()) {
            std::pop_heap(heap_.begin(), heap_.end());
            heap_.back() = entry;
            std::push_heap(heap_.begin(), heap_.end());
        }
    }
    bool full() const { return heap_.size() >= wanted_; }
    /// Of those that are in; there is one.
    double farthest_squared() const { return heap_.front().first; }
    /// Whether nothing at this squared distance or beyond can come in.
    bool closed_at(double squared) const { return full() && squared > farthest_squared(); }
    const std::vector<Entry>& entries() const { return heap_; }
    /// The nearest first; nothing more may be offered before the next start.
    const std::vector<Entry>& sorted() {
        std::sort_heap(heap_.begin(), heap_.end());
        return heap_;
    }

 private:
    std::size_t wanted_ = 0;
    std::vector<Entry> heap_;  ///< farthest first
};

}  // namespace models
