#pragma once

#include <string>

#include "models/records.h"

namespace models {

/// The trade words as a person reads them, in one place: sentences, tables, figures and reports take them from here.
std::string in_words(Crop crop);         ///< "wheat", "durum", "barley"
std::string in_words(Purpose purpose);   ///< "food", "feed", "hold", "other"
std::string in_words(DrawOff draw_off);  ///< "first in, first out", "draw-off not known"
std::string in_words(Stage stage);       ///< "standing crop", "combine stream", "truck", "bin", "control"
std::string in_words(Basis basis);       ///< "as is, at the grain's own moisture", "on dry matter", "at 12 % moisture"

}  // namespace models
