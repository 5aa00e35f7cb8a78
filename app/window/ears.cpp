#include "app/window/ears.h"

#include <GLFW/glfw3.h>

#include "app/window/frame_clock.h"
#include "app/window/key_gate.h"

namespace app::window {

template <typename Ask>
void Ears::hear(bool waits, Ask ask) {
    clock_.asks(waits);
    const auto asked = Clock::now();
    ask();
    clock_.has_asked();
    const auto now = Clock::now();
    // Who waited has the keys as they came; else they came at some time since they were asked for last.
    const bool as_they_came = waits && now - asked >= std::chrono::milliseconds(1);
    gate_.heard(now, as_they_came ? Clock::duration::zero() : now - heard_, keys_);
    heard_ = now;
    if (gate_.reads_a_code()) clock_.keys_were_scanned();
}

void Ears::wait() {
    hear(true, [] { glfwWaitEvents(); });
}

void Ears::wait(Clock::duration most) {
    if (most <= Clock::duration::zero())
        look();
    else
        hear(true, [most] { glfwWaitEventsTimeout(std::chrono::duration<double>(most).count()); });
}

void Ears::look() {
    hear(false, [] { glfwPollEvents(); });
}

}  // namespace app::window
