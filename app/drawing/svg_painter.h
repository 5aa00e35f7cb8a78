#pragma once

#include <string>

#include "app/drawing/cairo_painter.h"

namespace app::drawing {

/// A drawing as an <svg> element for a page: real <text>, which can be searched, copied and read aloud; `title` is
/// what a screen reader says and `description` the sentence behind it. Numbers with two decimals; the same drawing
/// gives the same text. `unique` starts the names of its clips, so that several stand on one page.
std::string svg_text(double width, double height, Colour ground, const std::string& title,
                     const std::string& description, const Drawing& draw, const std::string& unique = "figure");

}  // namespace app::drawing
