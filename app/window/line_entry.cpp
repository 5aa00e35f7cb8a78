#include "app/window/line_entry.h"

#include <algorithm>
#include <utility>

namespace app::window {

std::string letter_in_bytes(unsigned code_point) {
    const auto byte = [](unsigned value) { return static_cast<char>(static_cast<unsigned char>(value)); };
    const auto tail = [&](unsigned shift) { return byte(0x80U | ((code_point >> shift) & 0x3FU)); };
    if (code_point < 0x20 || code_point == 0x7F || (code_point >= 0xD800 && code_point < 0xE000)) return {};
    if (code_point < 0x80) return {byte(code_point)};
    if (code_point < 0x800) return {byte(0xC0U | (code_point >> 6)), tail(0)};
    if (code_point < 0x10000) return {byte(0xE0U | (code_point >> 12)), tail(6), tail(0)};
    if (code_point < 0x110000) return {byte(0xF0U | (code_point >> 18)), tail(12), tail(6), tail(0)};
    return {};
}

void LineEntry::bring_back(const std::string& text) {
    if (text.empty() || text.size() > most_letters) return;
    text_ = text;
    began_ = {};  // long ago: it was typed
    came_back_ = true;
}

void LineEntry::begin_with(const std::string& text) {
    text_ = text;
    begun_ = text.size();
    began_ = {};
    came_back_ = false;
}

void LineEntry::letter(unsigned code_point, Clock::time_point when) {
    if (text_.size() == begun_) began_ = when;
    if (text_.size() < most_letters) text_ += letter_in_bytes(code_point);
}

void LineEntry::erase_last() {
    while (!text_.empty() && (static_cast<unsigned char>(text_.back()) & 0xC0U) == 0x80U) text_.pop_back();
    if (!text_.empty()) text_.pop_back();
    begun_ = std::min(begun_, text_.size());
}

void LineEntry::enter(Clock::time_point when) {
    came_back_ = false;
    const bool at_once = text_.size() > begun_ && when - began_ < faster_than_a_person;
    begun_ = 0;
    ended_.push_back({std::exchange(text_, {}), at_once ? LineFrom::scanner : LineFrom::keys});
}

std::optional<BenchLine> LineEntry::take() {
    if (ended_.empty()) return std::nullopt;
    BenchLine line = std::move(ended_.front());
    ended_.pop_front();
    return line;
}

}  // namespace app::window
