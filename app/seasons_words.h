#pragma once

#include "app/language.h"

namespace app::words {

/// What the room of past seasons says of the strips themselves (app/words.h has the rest). {} stands for a number, a
/// name or another sentence, in this order.

inline constexpr Word strips_title = word("What the strips cost and changed");
inline constexpr Word strips_of_season = word("{}: {}{}{} on {}{}; {}");
inline constexpr Word strips_and_controls = word(" of grain, {} of controls");
inline constexpr Word strips_and_laboratory = word(" and {} of a laboratory");
inline constexpr Word strips_cost = word(", which cost {}");
inline constexpr Word strips_moved = word(
    "{} foretold twice or more: the chance of being over the limit fell to {} or less in {} and rose above that in "
    "{}.");
inline constexpr Word strips_moved_none = word("no field has two kept forecasts, so what they changed is not known.");
inline constexpr Word strips_key = word(
    "Fell, rose: from the first to the last forecast of a field; results, weather and other fields all had a part in "
    "it. "
    "Cost, in the currency of the costs table: strips, those of controls too, and samples; neither laboratory nor "
    "hours.");
/// Which fields: "3 (P06, R03 and U06; 209 t)".
inline constexpr Word strips_moved_fields = word("{} ({}; {})");
inline constexpr Word strips_more_fields = word("{} more");
// Of the chosen field.
inline constexpr Word strips_of_field = word(
    "{} in {}: over the limit with a chance of {} as foretold on {}, before a result of its own or of its loads; {} "
    "with {}.");
inline constexpr Word strips_of_field_afterwards = word(
    "{} in {}: over the limit with a chance of {} as foretold afterwards as of {}, before a result of its own or of "
    "its loads; {} with {}.");
inline constexpr Word strips_of_field_untested =
    word("{} in {}: no result of its own or of its loads; {} chance of lying over the limit by those of others.");
inline constexpr Word strips_of_field_unknown = word(
    "{} in {}: over the limit with a chance of {} with {}; what it was before them is not known, for no forecast of it "
    "is kept from before the first of them.");

// Whether the forecasts were any good.
inline constexpr Word forecasts_title = word("Were the forecasts any good?");
inline constexpr Word forecasts_none =
    word("No forecast of this limit is kept, so none can be held against what came.");
inline constexpr Word forecasts_of_others =
    word("No forecast of this limit is kept, so none can be held against what came; {} of other limits are.");
inline constexpr Word forecasts_not_followed =
    word("Forecasts are kept, but no result of their fields came after them: nothing can be told yet.");
// What needs no forecast at all, to call every field one thing, is the measure of one.
inline constexpr Word forecasts_no_better_within = word(
    "No better than calling every field within the limit: of {} foretold {}, {} came out on the side that was "
    "foretold, and {} are within it.");
inline constexpr Word forecasts_no_better_over = word(
    "No better than calling every field over the limit: of {} foretold {}, {} came out on the side that was "
    "foretold, and {} are over it.");
inline constexpr Word forecasts_better_within = word(
    "Better than calling every field within the limit: of {} foretold {}, {} came out on the side that was "
    "foretold, and {} are within it.");
inline constexpr Word forecasts_better_over = word(
    "Better than calling every field over the limit: of {} foretold {}, {} came out on the side that was "
    "foretold, and {} are over it.");
inline constexpr Word forecasts_before_own = word("before a first result of theirs");
inline constexpr Word forecasts_with_own = word("with results of theirs at hand");
inline constexpr Word forecasts_afterwards_before_own = word("afterwards, as of a day before a first result of theirs");
inline constexpr Word forecasts_afterwards_with_own = word("afterwards, as of a day with results of theirs at hand");
inline constexpr Word forecasts_sum = word("The chances add up to {:.1f} over the limit; {} were.");
inline constexpr Word forecasts_group = word("A chance of about {} came true in {} of {} ({}).");
inline constexpr Word forecasts_inside =
    word("{} of {} results lay where a reading was foretold with a chance of 90 %.");
inline constexpr Word forecasts_few = word("So few tell little.");
inline constexpr Word forecasts_key = word(
    "Of a field the last forecast that a result followed, and the first result after it, which has an error of its "
    "own. "
    "Made afterwards: what would have been said on a past day, not what anybody had in hand.");
inline constexpr Word forecast_of_field =
    word("Foretold on {}: {} mg/kg ({}), over the limit with a chance of {}; then read {} on {}: {}");
inline constexpr Word forecast_of_field_afterwards =
    word("Foretold afterwards as of {}: {} mg/kg ({}), over the limit with a chance of {}; then read {} on {}: {}");
inline constexpr Word forecast_came_over = word("over the limit");
inline constexpr Word forecast_came_within = word("within the limit");
inline constexpr Word forecast_came_open = word("which side cannot be told");
inline constexpr Word forecast_not_followed = word("no forecast that a result followed");
inline constexpr Word one_strip = word("strip");
inline constexpr Word several_strips = word("strips");
inline constexpr Word one_sample = word("sample");
inline constexpr Word several_samples = word("samples");
inline constexpr Word one_test_of_laboratory = word("test");
inline constexpr Word several_tests_of_laboratory = word("tests");

}  // namespace app::words
