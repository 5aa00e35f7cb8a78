#include "app/window/typed_number.h"

#include <charconv>
#include <cmath>

#include "models/spoken.h"

namespace app::window {

std::optional<double> number_typed(const std::string& text) {
    const std::string typed = models::number_as_typed(text);
    double value = 0.0;
    const auto [end, failed] = std::from_chars(typed.data(), typed.data() + typed.size(), value);
    if (failed != std::errc() || end != typed.data() + typed.size() || !std::isfinite(value)) return std::nullopt;
    return value;
}

std::optional<double> tonnes_typed(const std::string& text) {
    const auto tonnes = number_typed(text);
    return tonnes && *tonnes > 0.0 ? tonnes : std::nullopt;
}

}  // namespace app::window
