#include "app/window/key_gate.h"

#include <algorithm>
#include <utility>

#include <GLFW/glfw3.h>
#include <imgui.h>

#include "app/window/line_entry.h"

namespace app::window {

namespace {

constexpr std::size_t most_letters = 1000;  // a scanner that is stuck

bool ends_a_code(int key) {
    return (key >= GLFW_KEY_F1 && key <= GLFW_KEY_F25) || key == GLFW_KEY_ENTER || key == GLFW_KEY_KP_ENTER ||
           key == GLFW_KEY_TAB || key == ImGui::GetKeyIndex(ImGuiKey_Enter) ||
           key == ImGui::GetKeyIndex(ImGuiKey_KeyPadEnter) || key == ImGui::GetKeyIndex(ImGuiKey_Tab);
}

bool writes(int key) {
    return (key >= GLFW_KEY_SPACE && key <= GLFW_KEY_GRAVE_ACCENT) || key == GLFW_KEY_WORLD_1 ||
           key == GLFW_KEY_WORLD_2 || (key >= GLFW_KEY_KP_0 && key <= GLFW_KEY_KP_ADD) ||
           key == ImGui::GetKeyIndex(ImGuiKey_Space) || ends_a_code(key);
}

bool goes_with_others(int key) {
    return key >= GLFW_KEY_LEFT_SHIFT && key <= GLFW_KEY_RIGHT_SUPER;
}
bool is_of_a_chord(int key) {
    return key == GLFW_KEY_LEFT_CONTROL || key == GLFW_KEY_RIGHT_CONTROL || key == GLFW_KEY_LEFT_ALT ||
           key == GLFW_KEY_RIGHT_ALT;
}

}  // namespace

void KeyGate::heard(Clock::time_point now, Clock::duration away, Keys& keys) {
    heard_ = now;
    const auto presses = std::count_if(fresh_.begin(), fresh_.end(), [](const Event& event) {
        return event.what == What::press && writes(static_cast<int>(event.code));
    });
    const Clock::duration apart = presses > 0 && !holds_a_code() ? away / presses : Clock::duration::zero();
    Clock::time_point when = now - away;
    for (const Event& event : std::exchange(fresh_, {})) {
        if (event.what == What::press && writes(static_cast<int>(event.code))) when += apart;
        take(event, when, keys);
    }
    if ((!held_back_.empty() || scanner_) && now - last_ > as_a_scanner) end_of_row(keys);
}

KeyGate::Clock::duration KeyGate::known_in(Clock::time_point now) const {
    constexpr std::chrono::microseconds just_after{100};
    return std::max(Clock::duration::zero(), last_ + as_a_scanner + just_after - now);
}

bool KeyGate::holds_a_code() const {
    bool written = false;
    for (const Event& event : fresh_) {
        const int key = static_cast<int>(event.code);
        if (event.what != What::press || goes_with_others(key)) continue;
        if (written && ends_a_code(key)) return true;
        written = writes(key) && !ends_a_code(key);
    }
    return false;
}

void KeyGate::take(const Event& event, Clock::time_point when, Keys& keys) {
    const int key = static_cast<int>(event.code);
    switch (event.what) {
        case What::letter:
            if ((!held_back_.empty() || scanner_) && text_.size() < most_letters) text_ += letter_in_bytes(event.code);
            return;
        case What::release:
            if (down_ && down_->key == event.code) down_.reset();
            if (is_of_a_chord(key)) chord_ = false;
            if (held_back_.empty())
                let_go(key, keys);
            else
                held_back_.push_back(event);
            return;
        case What::press:
            if (goes_with_others(key)) {
                if (is_of_a_chord(key)) chord_ = true;
                pass_on(key, keys);
                return;
            }
            // Of several keys none is held alone.
            if (down_)
                down_.reset();
            else
                down_ = Down{event.code, heard_};
            press(key, when, keys);
            return;
    }
}

void KeyGate::press(int key, Clock::time_point when, Keys& keys) {
    const bool row_ended = when - last_ > as_a_scanner;
    if (row_ended) end_of_row(keys);
    if (!writes(key) || (chord_ && held_back_.empty() && !scanner_)) {
        end_of_row(keys);
        pass_on(key, keys);
        return;
    }
    last_ = when;
    if (!scanner_) {
        held_back_.push_back({What::press, static_cast<unsigned>(key)});
        ++presses_;
        if (presses_ < 2) return;
        scanner_ = true;
        // Its keys press nothing; but Shift was passed on, and is let go.
        for (const Event& event : std::exchange(held_back_, {}))
            if (event.what == What::release) let_go(static_cast<int>(event.code), keys);
    }
    if (ends_a_code(key)) end_of_code(true);
}

void KeyGate::end_of_row(Keys& keys) {
    if (scanner_) end_of_code(false);
    for (const Event& event : std::exchange(held_back_, {})) {
        if (event.what == What::press)
            pass_on(static_cast<int>(event.code), keys);
        else
            let_go(static_cast<int>(event.code), keys);
    }
    text_.clear();
    presses_ = 0;
    scanner_ = false;
}

void KeyGate::pass_on(int key, Keys& keys) {
    passed_.insert(key);
    keys.pressed_now(key);
}

void KeyGate::let_go(int key, Keys& keys) {
    if (passed_.erase(key) > 0) keys.released_now(key);
}

void KeyGate::end_of_code(bool by_a_key) {
    if (!text_.empty()) scanned_.push_back({std::exchange(text_, {}), by_a_key});
}

std::optional<std::string> KeyGate::take_scanned(bool in_a_box) {
    while (!scanned_.empty()) {
        Code code = std::move(scanned_.front());
        scanned_.pop_front();
        if (!in_a_box || code.by_a_key) return code.text;
    }
    return std::nullopt;
}

KeyGate::Clock::duration KeyGate::held_for(int key) const {
    if (!down_ || down_->key != static_cast<unsigned>(key)) return Clock::duration::zero();
    return heard_ - down_->since;
}

}  // namespace app::window
