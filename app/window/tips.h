#pragma once

#include <string>

#include "app/drawing/painter.h"

namespace app::window {

/// Tips are sentences that explain what the pointer is on. One lies beside what it explains and never on it, for who
/// reads the tip of a button wants to press the button; and whole inside the window.

/// The side that is tried first; the opposite one comes next, then the other two.
enum class TipSide { below, right, above };

/// Where a tip of that size lies: on the first side of the thing that has room for it, its edge in line with the
/// thing's as far as the window goes. Where no side has room it lies as near to the window's edge as it can, on the
/// side with most room. All in pixels of the screen.
drawing::Rect place_of_tip(const drawing::Rect& thing, double width, double height, const drawing::Rect& screen,
                           double gap, TipSide first = TipSide::below);

/// Beside the item of Dear ImGui that was drawn last and that the pointer is on. Where that is large, as a map is, or
/// the pointer is on no item, beside the pointer.
void show_tip(const std::string& words, TipSide first = TipSide::below);
/// @param as_wide  whether its lines may be as long as the thing, so that it is low
void show_tip_beside(const drawing::Rect& thing, const std::string& words, TipSide first = TipSide::below,
                     bool as_wide = false);

}  // namespace app::window
