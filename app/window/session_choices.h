#pragma once

#include <functional>
#include <optional>
#include <string>

#include "app/window/session.h"

namespace app::window {

/// A choice that changes something, as the history of the sitting names it, with the action that takes it back.
struct Choice {
    std::function<std::string()> says;  ///< in the language that is spoken
    Action back;
};
/// Nothing of what is no choice, and of one that changes nothing.
std::optional<Choice> choice_of(const Session& session, const Action& action);

}  // namespace app::window
