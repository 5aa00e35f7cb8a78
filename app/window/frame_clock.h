#pragma once

#include <chrono>
#include <vector>

namespace app::window {

/// For tests/bench/window.sh, where $LODICULE_TIMING is set; silent otherwise. Says on the error channel when the first
/// frame stood and when the map did, as they come, and at the end what frames took while the map was dragged and while
/// it was zoomed, how long the map was drawn anew and how long at a time, and the time from a key to the frame that
/// answers it, with and without work running beside.
class FrameClock {
 public:
    FrameClock();
    ~FrameClock();
    FrameClock(const FrameClock&) = delete;
    FrameClock& operator=(const FrameClock&) = delete;

    void key_came();
    /// The keys that came were no hand's: what is scanned is told by its frame's code, and waits for its last key.
    void keys_were_scanned() { keys_.clear(); }
    void begin();
    /// What the frame was.
    struct Frame {
        bool dragging = false, zooming = false;
        bool shows_answer = false;  ///< a season has been worked out
        bool work_runs = false;     ///< beside the window
        bool answers_keys = false;  ///< those that came until now
    };
    void end(const Frame& frame);
    /// The map was drawn anew, over several frames where it is large.
    void drew_map(double whole_s, double processor_s, double longest_s_at_a_time);

 private:
    using Clock = std::chrono::steady_clock;
    struct Times {
        std::vector<double> wall_s;
        double processor_s = 0.0;
        void add(double wall, double processor);
        void tell(const char* what);
    };
    bool wanted_, first_ = true, answered_ = false;
    Clock::time_point begun_{};
    double processor_begun_s_ = 0.0;
    std::vector<Clock::time_point> keys_;
    Times dragged_, zoomed_, drawn_anew_, drawn_at_a_time_, key_idle_, key_beside_work_;
};

}  // namespace app::window
