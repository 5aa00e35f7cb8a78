#pragma once

#include <string>

#include "models/contamination/within_field.h"

namespace models::contamination {

/// The verdict as a person reads it, with the evidence ratio and the leave-one-out skill; where it is no, how likely
/// these places would have led to yes. One sentence without its full stop.
std::string words_of_structure(const WithinFieldStructure& structure, double least_ratio);

}  // namespace models::contamination
