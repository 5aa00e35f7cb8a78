#pragma once

/// The words of the user's own picture behind the map. Part of app/words.h, by the same rules.
namespace app::words {

inline constexpr const char* behind_map = "Picture behind";
inline constexpr const char* tip_behind_map =
    "{} behind the map, on and off (key B). Fields keep their colours: only the ground between them is the picture's";
inline constexpr const char* tip_behind_strength = "How strong the picture is against the ground";
inline constexpr const char* behind_percent = "%.0f %%";
inline constexpr const char* behind_reading = "picture behind the map";
inline constexpr const char* behind_read_share = "{:.0f} % read";
inline constexpr const char* behind_not_shown = "not shown";
inline constexpr const char* done_behind_shown = "picture behind the map shown";
inline constexpr const char* done_behind_hidden = "picture behind the map hidden";
inline constexpr const char* done_behind_chosen = "picture behind the map chosen";

}  // namespace app::words
