#pragma once

#include <chrono>

namespace app::window {

class FrameClock;
class KeyGate;
class Keys;

/// Asks the display what was pressed and moved, and tells the gate of keys when that can have been: a key that came
/// while nobody asked came at some time since it was asked last. So it is asked for often, also where nothing can be
/// done about it yet: the time in which the gate tells a scanner from a hand runs from then on.
class Ears {
 public:
    using Clock = std::chrono::steady_clock;
    Ears(KeyGate& gate, Keys& keys, FrameClock& clock) : gate_(gate), keys_(keys), clock_(clock) {}

    void wait();                      ///< until something comes
    void wait(Clock::duration most);  ///< no longer than that
    void look();                      ///< takes what is there
    /// When it was asked for last.
    Clock::time_point heard() const { return heard_; }

 private:
    template <typename Ask>
    void hear(bool waits, Ask ask);

    KeyGate& gate_;
    Keys& keys_;
    FrameClock& clock_;
    Clock::time_point heard_ = Clock::now();
};

}  // namespace app::window
