#pragma once

#include <string>
#include <string_view>

namespace models {

/// The form of a word that goes with a number: by_number(1, "is", "are") is "is"; of 0 and of all others "are".
inline std::string_view by_number(long long number, std::string_view one, std::string_view many) {
    return number == 1 ? one : many;
}

/// A number and what it counts: "1 row", "2 rows", "0 rows". Where an s does not make the plural it is given:
/// counted(2, "class", "classes").
inline std::string counted(long long number, std::string_view one, std::string_view many = {}) {
    std::string text = std::to_string(number) + " " + std::string(number == 1 || many.empty() ? one : many);
    if (number != 1 && many.empty()) text += "s";
    return text;
}

}  // namespace models
