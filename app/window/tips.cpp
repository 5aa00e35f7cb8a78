#include "app/window/tips.h"

#include <algorithm>
#include <array>

#include <imgui.h>

namespace app::window {

namespace {

using drawing::Rect;

/// Broken at blanks to that width: Dear ImGui itself would break a number after its point.
std::string lines_of_tip(const std::string& words, float width) {
    std::string lines, line;
    const auto flush = [&] {
        lines += (lines.empty() ? "" : "\n") + line;
        line.clear();
    };
    std::string word;
    for (const char c : words + "\n") {
        if (c != ' ' && c != '\n') {
            word += c;
            continue;
        }
        const std::string longer = line.empty() ? word : line + " " + word;
        if (!line.empty() && ImGui::CalcTextSize(longer.c_str()).x > width) {
            flush();
            line = word;
        } else {
            line = longer;
        }
        word.clear();
        if (c == '\n') flush();
    }
    return lines;
}

bool lie_apart(const Rect& a, const Rect& b) {
    return a.x + a.width <= b.x || b.x + b.width <= a.x || a.y + a.height <= b.y || b.y + b.height <= a.y;
}

/// As high as a few lines: a button, a row of a table, a sentence.
bool is_one_thing(const Rect& item) {
    return item.height <= 6.0 * static_cast<double>(ImGui::GetFontSize());
}

}  // namespace

Rect place_of_tip(const Rect& thing, double width, double height, const Rect& screen, double gap, TipSide first) {
    struct Side {
        double room, needed, x, y;
    };
    const Side below{screen.y + screen.height - (thing.y + thing.height + gap), height, thing.x,
                     thing.y + thing.height + gap};
    const Side above{thing.y - gap - screen.y, height, thing.x, thing.y - gap - height};
    const Side right{screen.x + screen.width - (thing.x + thing.width + gap), width, thing.x + thing.width + gap,
                     thing.y};
    const Side left{thing.x - gap - screen.x, width, thing.x - gap - width, thing.y};
    const std::array<Side, 4> sides = first == TipSide::below   ? std::array{below, above, right, left}
                                      : first == TipSide::above ? std::array{above, below, right, left}
                                                                : std::array{right, left, below, above};
    auto chosen = std::find_if(sides.begin(), sides.end(), [](const Side& side) { return side.room >= side.needed; });
    if (chosen == sides.end())
        chosen = std::max_element(sides.begin(), sides.end(),
                                  [](const Side& a, const Side& b) { return a.room - a.needed < b.room - b.needed; });
    const double most_x = std::max(screen.x, screen.x + screen.width - width);
    const double most_y = std::max(screen.y, screen.y + screen.height - height);
    return {std::clamp(chosen->x, screen.x, most_x), std::clamp(chosen->y, screen.y, most_y), width, height};
}

void show_tip(const std::string& words, TipSide first) {
    const ImVec2 low = ImGui::GetItemRectMin(), high = ImGui::GetItemRectMax(), pointer = ImGui::GetIO().MousePos;
    const Rect item{static_cast<double>(low.x), static_cast<double>(low.y), static_cast<double>(high.x - low.x),
                    static_cast<double>(high.y - low.y)};
    const bool on_it = pointer.x >= low.x && pointer.x <= high.x && pointer.y >= low.y && pointer.y <= high.y;
    // The size of the pointer's picture is not known; about a letter.
    const double size = static_cast<double>(ImGui::GetFontSize());
    const Rect at_pointer{static_cast<double>(pointer.x) - 0.2 * size, static_cast<double>(pointer.y) - 0.2 * size,
                          1.2 * size, 1.2 * size};
    show_tip_beside(on_it && is_one_thing(item) ? item : at_pointer, words, first);
}

void show_tip_beside(const Rect& thing, const std::string& words, TipSide first, bool as_wide) {
    const ImVec2 display = ImGui::GetIO().DisplaySize, padding = ImGui::GetStyle().WindowPadding;
    const Rect screen{0.0, 0.0, static_cast<double>(display.x), static_cast<double>(display.y)};
    const float letter = ImGui::GetFontSize(), widest = display.x - 2.0F * padding.x;
    const double gap = 0.3 * static_cast<double>(letter);
    // As it is read best; narrower and then as wide as the window where it has no room so.
    std::string lines;
    Rect place;
    float usual = first == TipSide::right ? 20.0F * letter : 32.0F * letter;
    if (as_wide) usual = std::max(usual, static_cast<float>(thing.width) - 2.0F * padding.x);
    for (const float width : {usual, 20.0F * letter, widest}) {
        lines = lines_of_tip(words, std::min(width, widest));
        const ImVec2 size = ImGui::CalcTextSize(lines.c_str());
        place = place_of_tip(thing, static_cast<double>(size.x + 2.0F * padding.x),
                             static_cast<double>(size.y + 2.0F * padding.y), screen, gap, first);
        if (lie_apart(place, thing)) break;
    }
    ImGui::SetNextWindowPos({static_cast<float>(place.x), static_cast<float>(place.y)});
    // Else it would have the size of the tip before it for a frame.
    ImGui::SetNextWindowSize({static_cast<float>(place.width), static_cast<float>(place.height)});
    ImGui::BeginTooltip();
    ImGui::TextUnformatted(lines.c_str());
    ImGui::EndTooltip();
}

}  // namespace app::window
