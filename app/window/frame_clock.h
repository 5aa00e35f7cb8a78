#pragma once

#include <chrono>
#include <cstddef>
#include <utility>
#include <vector>

namespace app::window {

/// For tests/bench/window.sh, where $LODICULE_TIMING is set; silent otherwise. Says on the error channel when the first
/// frame stood and when the map did, as they come, and at the end what frames took while the map was dragged and while
/// it was zoomed, how long the map was drawn anew and how long at a time, and the time from a key to the frame that
/// answers it, with and without work running beside; of the slowest what they waited for.
/// A key's time begins when it can have come at the earliest: where the window was busy, when keys were asked for
/// before; where it waited for them, when it could have run again (the time that the system let it stand for want of a
/// processor counts, where it says so).
class FrameClock {
 public:
    FrameClock();
    ~FrameClock();
    FrameClock(const FrameClock&) = delete;
    FrameClock& operator=(const FrameClock&) = delete;

    /// The window asks for keys, and waits for them or not.
    void asks(bool waits);
    /// @param key  by GLFW's numbers; called while they are asked for
    void key_came(int key);
    /// It has all that came.
    void has_asked();
    /// What the window is at from here on, in a word that lives on: of the slowest keys it is told what kept them.
    void is_at(const char* what);
    /// The keys that came were no hand's: what is scanned is told by its frame's code, and waits for its last key.
    void keys_were_scanned() { keys_.clear(); }
    void begin();
    /// All of the frame is laid out; from here on it is painted, unless it looks like the one before it.
    void laid_out();
    /// What the frame was.
    struct Frame {
        bool dragging = false, zooming = false;
        bool shows_answer = false;  ///< a season has been worked out
        bool work_runs = false;     ///< beside the window
        bool answers_keys = false;  ///< those that came until it was laid out
        bool is_painted = true;     ///< it looks different from the one before it
        const char* room = "";
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
    struct Key {
        int key;
        Clock::time_point came;
        double stood_s;                                       ///< for want of a processor, until it came, all in all
        std::vector<std::pair<const char*, double>> kept_by;  ///< what the window was at, s
    };
    /// From a key to its frame.
    struct Answered {
        int key;
        const char* room;
        double whole_s, until_frame_s, laid_out_s, painted_s;
        double stood_s;  ///< of the whole, this thread for want of a processor
        std::vector<std::pair<const char*, double>> kept_by;
    };
    struct KeyTimes {
        Times all;
        std::vector<Answered> each;
        void tell(const char* what);
    };
    bool wanted_, first_ = true, answered_ = false;
    Clock::time_point asked_{}, has_asked_{}, begun_{}, laid_out_{};
    bool waits_ = false;
    const char* at_ = nullptr;
    Clock::time_point at_since_{};
    std::vector<std::pair<const char*, double>> at_for_s_;  ///< since it was asked for last
    double stood_asked_s_ = 0.0;
    double processor_begun_s_ = 0.0;
    int frames_ = 0, frames_beside_work_ = 0;
    std::vector<Key> keys_;
    std::size_t answered_keys_ = 0;  ///< of those, by the frame that is being drawn
    Times dragged_, zoomed_, drawn_anew_, drawn_at_a_time_;
    KeyTimes key_idle_, key_beside_work_;
};

}  // namespace app::window
