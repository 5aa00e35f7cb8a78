#pragma once

namespace app::words {

/// What the room of past seasons says of the strips themselves (app/words.h has the rest). {} stands for a number, a
/// name or another sentence, in this order.

inline constexpr const char* strips_title = "What the strips cost and changed";
inline constexpr const char* strips_of_season = "{}: {}{} on {}{}; {}";
inline constexpr const char* strips_and_laboratory = " and {} of a laboratory";
inline constexpr const char* strips_cost = ", {} in money";
inline constexpr const char* strips_moved =
    "of {} foretold twice or more {} moved under a {} chance of being over the limit, {} over it.";
inline constexpr const char* strips_moved_none = "no field has two kept forecasts, so what they changed is not known.";
inline constexpr const char* strips_key =
    "Moved: from the first to the last forecast of a field; results, weather and other fields all had a part in it. "
    "Money: strips, those of controls too, and samples; neither laboratory nor hours.";
inline constexpr const char* one_strip = "strip";
inline constexpr const char* several_strips = "strips";
inline constexpr const char* one_sample = "sample";
inline constexpr const char* several_samples = "samples";
inline constexpr const char* one_test_of_laboratory = "test";
inline constexpr const char* several_tests_of_laboratory = "tests";

}  // namespace app::words
