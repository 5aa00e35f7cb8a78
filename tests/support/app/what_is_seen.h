#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/window/frame.h"

/// What a person sees of a frame that was drawn: places that lie over one another, the tip, the words.
namespace tests {

/// Touching edges are apart.
bool lie_apart(const app::drawing::Rect& a, const app::drawing::Rect& b);
bool lies_in(const app::drawing::Rect& inner, const app::drawing::Rect& outer);

/// The tip that the last frame drew; nothing where it drew none.
std::optional<app::drawing::Rect> tip_of_last_frame();

/// All that was drawn, to what was said before. The places must note texts.
void add_texts(const app::window::Places& places, std::vector<std::string>& said);

/// What of it is English still: whatever holds a word that no German sentence has. Commands stand as they are typed.
std::vector<std::string> english_of(const std::vector<std::string>& said);

/// What of it has a number with a decimal point; days, names of files and lines to type have points of their own.
std::vector<std::string> points_of(const std::vector<std::string>& said);

}  // namespace tests
