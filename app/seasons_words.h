#pragma once

#include "app/language.h"

namespace app::words {

/// What the room of past seasons says of the strips themselves (app/words.h has the rest). {} stands for a number, a
/// name or another sentence, in this order.

inline constexpr Word strips_title = word("What the strips cost and changed");
inline constexpr Word strips_of_season = word("{}: {}{} on {}{}; {}");
inline constexpr Word strips_and_laboratory = word(" and {} of a laboratory");
inline constexpr Word strips_cost = word(", {} in money");
inline constexpr Word strips_moved =
    word("of {} foretold twice or more {} moved under a {} chance of being over the limit, {} over it.");
inline constexpr Word strips_moved_none = word("no field has two kept forecasts, so what they changed is not known.");
inline constexpr Word strips_key = word(
    "Moved: from the first to the last forecast of a field; results, weather and other fields all had a part in it. "
    "Money: strips, those of controls too, and samples; neither laboratory nor hours.");
inline constexpr Word one_strip = word("strip");
inline constexpr Word several_strips = word("strips");
inline constexpr Word one_sample = word("sample");
inline constexpr Word several_samples = word("samples");
inline constexpr Word one_test_of_laboratory = word("test");
inline constexpr Word several_tests_of_laboratory = word("tests");

}  // namespace app::words
