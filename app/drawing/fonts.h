#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "app/drawing/painter.h"

namespace app::drawing {

/// The bytes of a regular and a bold face of one family, checked by FreeType, so that the window, the pictures and the
/// reports set text alike. `number` is the face's place in a collection file.
struct FontFile {
    std::string path;
    std::vector<unsigned char> bytes;
    int number = 0;
};
struct FontFamily {
    std::string name;  ///< as the font names itself: "Inter", "DejaVu Sans"
    FontFile regular, bold;
};

/// Looks for Inter, then for DejaVu Sans, in this order: the folder LODICULE_FONT_DIR, the folders in which
/// distributions keep them, what fontconfig names as its sans-serif. A file that is no font, or lacks the letters that
/// the program writes (digits, mg/kg, ≥, ², °, –), is passed over.
/// @throws models::Error  nothing fits; says which package to install
FontFamily find_fonts();
/// The same, read once for the whole program.
const FontFamily& fonts();

/// A glyph of a line of text, by its place from the start of the line at size 1.
struct PlacedGlyph {
    unsigned long index = 0;  ///< in the face
    double offset = 0.0;
    int byte_count = 0;  ///< UTF-8 bytes of the text it stands for
};
/// Where each letter of a line stands, from the advances of the face without hinting: the same at every size, on
/// every device. What is not UTF-8 becomes the replacement character.
struct SetLine {
    std::vector<PlacedGlyph> glyphs;
    double width = 0.0;  ///< at size 1
};
SetLine set_line(std::string_view words, Weight weight);
double width_of(std::string_view words, double size, Weight weight = Weight::regular);

}  // namespace app::drawing
