#include "app/window/keys.h"

#include <iterator>
#include <optional>

#include <GLFW/glfw3.h>
#include <imgui.h>

namespace app::window {

void Keys::begin_frame(bool one_by_one) {
    presses_.clear();
    ImGuiIO& io = ImGui::GetIO();
    const auto show = [&io](int key, bool down) {
        if (key >= 0 && key < static_cast<int>(std::size(io.KeysDown))) io.KeysDown[key] = down;
    };
    std::optional<int> taken;
    while (!waiting_.empty()) {
        const Change change = waiting_.front();
        if (change.down) {
            if (taken && (*taken != change.key || one_by_one)) break;
            taken = change.key;
            ++presses_[change.key];
            show(change.key, true);
        } else if (taken == change.key) {
            // Dear ImGui is to see the key down for a frame, unless it is pressed again at once.
            const bool again = waiting_.size() > 1 && waiting_[1].down && waiting_[1].key == change.key;
            if (!again || one_by_one) break;
        } else if (taken) {
            break;  // Ctrl that is let go before Z was held when Z was pressed
        } else {
            show(change.key, false);
            // A press of the same key has to be another one for Dear ImGui.
            if (one_by_one && waiting_.size() > 1 && waiting_[1].key == change.key) {
                waiting_.pop_front();
                break;
            }
        }
        waiting_.pop_front();
    }
    io.KeyCtrl = io.KeysDown[GLFW_KEY_LEFT_CONTROL] || io.KeysDown[GLFW_KEY_RIGHT_CONTROL];
    io.KeyShift = io.KeysDown[GLFW_KEY_LEFT_SHIFT] || io.KeysDown[GLFW_KEY_RIGHT_SHIFT];
    io.KeyAlt = io.KeysDown[GLFW_KEY_LEFT_ALT] || io.KeysDown[GLFW_KEY_RIGHT_ALT];
    io.KeySuper = io.KeysDown[GLFW_KEY_LEFT_SUPER] || io.KeysDown[GLFW_KEY_RIGHT_SUPER];
}

int Keys::presses(int key) const {
    const auto found = presses_.find(key);
    return found == presses_.end() ? 0 : found->second;
}

}  // namespace app::window
