#pragma once

/// Every word that the window itself says, in one place. Sentences about fields, loads and limits come with the numbers
/// from the workflow.
namespace app::window::words {

inline constexpr const char* room_where_first = "Where first?";
inline constexpr const char* room_contamination = "How is it?";
inline constexpr const char* room_bins = "Which bin?";
inline constexpr const char* tip_where_first = "The fields in the order in which a test is worth most (key 1)";
inline constexpr const char* tip_contamination = "Contamination over the fields, and how sure that is (key 2)";
inline constexpr const char* tip_bins = "What lies where, and where the next load goes (key 3)";

inline constexpr const char* season = "Season";
inline constexpr const char* limit = "Limit";
inline constexpr const char* limit_not_in_force = "not in force at this harvest";
inline constexpr const char* limit_unconfirmed = "from memory: check it";
inline constexpr const char* stop = "Stop";
inline constexpr const char* idle = "Ready";

inline constexpr const char* show_content = "DON content";
inline constexpr const char* show_exceedance = "Chance over";
inline constexpr const char* whole_map = "Whole map";
inline constexpr const char* tip_whole_map = "All fields into view (key 0). Drag to move, turn the wheel to zoom";

inline constexpr const char* rank = "#";
inline constexpr const char* field = "Field";
inline constexpr const char* content = "DON, mg/kg (bar 50 %, line 90 %)";
inline constexpr const char* chance_over = "Chance over";
inline constexpr const char* gain = "Gain, t";
inline constexpr const char* gain_money = "Gain";
inline constexpr const char* tip_gain = "Fall of the expected loss, over all fields, that one more test here brings";
inline constexpr const char* tests = "Tests";
inline constexpr const char* not_worth_a_test = "not worth it";
inline constexpr const char* risk = "Risk";
inline constexpr const char* why = "Why";
inline constexpr const char* choose_a_field = "Choose a field on the left to see its hours around flowering.";
inline constexpr const char* rests_on = "What its number rests on";

inline constexpr const char* queue = "Loads that wait";
inline constexpr const char* no_queue = "No load waits. Add one with: lodicule add STORE loads load=... time=...";
inline constexpr const char* load = "Load";
inline constexpr const char* tonnes = "t";
inline constexpr const char* goes_to = "Goes to";
inline constexpr const char* turn_away = "turn away";
inline constexpr const char* stays = "no place";
inline constexpr const char* state = "State";

inline constexpr const char* working = "Working ...";
inline constexpr const char* nothing_yet = "The season is being worked out.";
inline constexpr const char* no_bins =
    "The store has no bins. Import a bins table: lodicule import STORE bins FILE.csv";
inline constexpr const char* no_fields =
    "The store has no outlines of fields. Import them: lodicule import STORE fields FILE";

}  // namespace app::window::words
