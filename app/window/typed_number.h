#pragma once

#include <optional>
#include <string>

namespace app::window {

/// A number that somebody typed into a box, with the decimal mark of the language that is spoken or a point.
/// @returns none: it is no number, or there is more than one
std::optional<double> number_typed(const std::string& text);
std::optional<double> tonnes_typed(const std::string& text);  ///< none also where it is not more than 0

}  // namespace app::window
