#pragma once

#include "app/language.h"

/// The words of the user's own picture behind the map. Part of app/words.h, by the same rules.
namespace app::words {

inline constexpr Word behind_map = word("Picture behind");
inline constexpr Word tip_behind_map = word(
    "{} behind the map, on and off (key B). Fields keep their colours: only the ground between them is the picture's");
inline constexpr Word tip_behind_strength = word("How strong the picture is against the ground");
inline constexpr Word behind_percent = word("%.0f %%");
inline constexpr Word behind_reading = word("picture behind the map");
inline constexpr Word behind_read_share = word("{:.0f} % read");
inline constexpr Word behind_not_shown = word("not shown");
inline constexpr Word done_behind_shown = word("picture behind the map shown");
inline constexpr Word done_behind_hidden = word("picture behind the map hidden");
inline constexpr Word done_behind_chosen = word("picture behind the map chosen");

}  // namespace app::words
