#pragma once

#include <string>

#include "app/drawing/painter.h"

namespace app::drawing {

enum class CodeKind {
    code_128,  ///< bars: ISO/IEC 15417, what a bench's scanner reads fastest
    qr         ///< squares: ISO/IEC 18004, what a telephone reads
};

/// A sample's name as a scanner reads it, with the quiet zone that the standard asks for inside the area; black on
/// white, and nothing else in it. By the Zint library.
/// @throws models::Error  the name is empty, or longer than such a code can hold
void draw_code(Painter& painter, const Rect& area, const std::string& words, CodeKind kind);

}  // namespace app::drawing
