#pragma once

#include <chrono>
#include <vector>

namespace app::window {

/// For tests/bench/window.sh, where $LODICULE_TIMING is set; silent otherwise. Says on the error channel when the first
/// frame stood and when the map did, as they come, and at the end what frames took: while the map was dragged, while it
/// was zoomed, those that drew the map anew, and the time from a key to the frame that answers it, with and without
/// work running beside.
class FrameClock {
 public:
    FrameClock();
    ~FrameClock();
    FrameClock(const FrameClock&) = delete;
    FrameClock& operator=(const FrameClock&) = delete;

    void key_came();
    void begin();
    /// What the frame was.
    struct Frame {
        bool dragging = false, zooming = false;
        bool drew_map = false;      ///< anew, not from what was kept
        bool shows_answer = false;  ///< a season has been worked out
        bool work_runs = false;     ///< beside the window
        bool answers_keys = false;  ///< those that came until now
    };
    void end(const Frame& frame);

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
    Times dragged_, zoomed_, drawn_anew_, key_idle_, key_beside_work_;
};

}  // namespace app::window
