#pragma once

#include <chrono>
#include <deque>
#include <optional>
#include <string>

#include "app/bench/bench.h"

namespace app::window {

/// UTF-8; what is no letter of Unicode is left out.
std::string letter_in_bytes(unsigned code_point);

/// The line that is being typed or scanned in the bench: letters and Enter as they come, each with its time, between
/// frames or in them, so that nothing of a burst is lost or falls into the next line. A scanner acts as a keyboard and
/// is told by its speed: a line whose Enter comes within `faster_than_a_person` of its first letter is one of the
/// scanner, and so can never confirm anything.
class LineEntry {
 public:
    using Clock = std::chrono::steady_clock;

    void letter(unsigned code_point, Clock::time_point when);
    void erase_last();  ///< a whole letter, whatever its bytes
    void enter(Clock::time_point when);
    void clear() {
        text_.clear();
        came_back_ = false;
        begun_ = 0;
    }
    /// A line that was being typed when the window was last closed. It waits as any half line does: nothing ends it but
    /// Enter.
    void bring_back(const std::string& text);
    /// A line of which the rest is to be typed. Who scans behind it is told by the speed of what comes after.
    void begin_with(const std::string& text);
    bool is_only_begun() const { return begun_ > 0 && text_.size() == begun_; }
    bool came_back() const { return came_back_; }

    const std::string& text() const { return text_; }
    std::optional<BenchLine> take();  ///< the line that was ended first

 private:
    static constexpr std::size_t most_letters = 1000;  ///< a scanner that is stuck

    std::string text_;
    bool came_back_ = false;
    std::size_t begun_ = 0;  ///< letters that it began with, in bytes
    Clock::time_point began_{};
    std::deque<BenchLine> ended_;
};

}  // namespace app::window
