#include "tests/support/app/what_is_seen.h"

#include <cstring>
#include <regex>

#include <imgui.h>
#include <imgui_internal.h>

namespace tests {

using app::drawing::Rect;

bool lie_apart(const Rect& a, const Rect& b) {
    return a.x + a.width <= b.x + 0.5 || b.x + b.width <= a.x + 0.5 || a.y + a.height <= b.y + 0.5 ||
           b.y + b.height <= a.y + 0.5;
}

bool lies_in(const Rect& inner, const Rect& outer) {
    return inner.x >= outer.x && inner.y >= outer.y && inner.x + inner.width <= outer.x + outer.width &&
           inner.y + inner.height <= outer.y + outer.height;
}

std::optional<Rect> tip_of_last_frame() {
    for (const ImGuiWindow* one : ImGui::GetCurrentContext()->Windows) {
        if (std::strncmp(one->Name, "##Tooltip", 9) != 0 || !one->Active || one->Hidden) continue;
        return Rect{static_cast<double>(one->Pos.x), static_cast<double>(one->Pos.y), static_cast<double>(one->Size.x),
                    static_cast<double>(one->Size.y)};
    }
    return std::nullopt;
}

void add_texts(const app::window::Places& places, std::vector<std::string>& said) {
    for (const auto& text : *places.texts()) said.push_back(text.words);
}

std::vector<std::string> english_of(const std::vector<std::string>& said) {
    static const std::regex command("`[^`]*`|lodicule [a-z]+ [^.;]*|\\b(yes|no)\\b");
    static const std::regex english(
        "(^|[^A-Za-z_-])(the|is|are|of|with|and|its|it|has|from|there|which)([^A-Za-z_=-]|$)", std::regex::icase);
    static const std::regex negation("(^|[^A-Za-z_-])not([^A-Za-z_=-]|$)");  // "Not" is a German word
    std::vector<std::string> left;
    for (const std::string& words : said) {
        const std::string spoken = std::regex_replace(words, command, " ");
        if (std::regex_search(spoken, english) || std::regex_search(spoken, negation)) left.push_back(words);
    }
    return left;
}

std::vector<std::string> points_of(const std::vector<std::string>& said) {
    static const std::regex point("[0-9]\\.[0-9]");
    std::vector<std::string> left;
    for (const std::string& words : said)
        if (std::regex_search(words, point) && words.find("lodicule ") == std::string::npos &&
            words.find(" --") == std::string::npos)
            left.push_back(words);
    return left;
}

}  // namespace tests
