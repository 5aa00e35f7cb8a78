#pragma once

namespace app::words {

/// What is drawn at the pit (app/words.h has the rest): the queue, the truck on the scale, the question and other
/// numbers to plan by. {} stands for a number, a name or another sentence, in this order.

inline constexpr const char* queue = "Trucks that wait";
inline constexpr const char* no_queue =
    "No truck waits. One that comes is added with: lodicule add STORE loads load=CODE time=... net_t=...";
inline constexpr const char* no_bins =
    "The store has no bins. Import a bins table: lodicule import STORE bins FILE.csv";
inline constexpr const char* pit_planning = "the queue";
inline constexpr const char* pit_weighing = "the truck against each bin";
inline constexpr const char* pit_weigh_it = "nobody knows its mass: weigh it";
inline constexpr const char* pit_find = "Find: name, ticket or sample";
inline constexpr const char* pit_tip_find =
    "Key F, then Enter; a scanner needs no box. Finding chooses, and records nothing";
inline constexpr const char* pit_clock_unknown = "came: not written";
inline constexpr const char* pit_waits_for = "{}: {}";
inline constexpr const char* pit_goes_to = "to {}";
inline constexpr const char* pit_no_place = "no place";
inline constexpr const char* pit_turn_away_short = "turn away";
inline constexpr const char* pit_recorded_now = "recorded";
inline constexpr const char* pit_to_look_at = "{} to be looked at below";
inline constexpr const char* pit_look_at = "To be looked at";
inline constexpr const char* pit_late = "{} ({} t in {}): {}, read {} after it was dumped";
inline constexpr const char* pit_late_out = "{} ({} t, gone): {}";
inline constexpr const char* pit_frozen = "{} is frozen: {}";
inline constexpr const char* pit_other_bin = "{}: {} went to {}, advised {}{}";
inline constexpr const char* pit_other_away = "{}: {} was turned away, advised {}{}";
inline constexpr const char* pit_other_because = " ({})";
inline constexpr const char* pit_other_bin_means = "{}: {}";
inline constexpr const char* pit_put_right = "put right since";
inline constexpr const char* pit_gone = "Dumped or turned away, the latest first";
inline constexpr const char* pit_gone_row = "{}   {}   {} t";
inline constexpr const char* pit_gone_to = "into {}";
inline constexpr const char* pit_gone_away = "turned away";
inline constexpr const char* pit_gone_other = "not as advised: {}";
inline constexpr const char* pit_hours = "{} h {:02} min";
inline constexpr const char* pit_minutes = "{}:{:02} min";
inline constexpr const char* pit_days = "{} d {} h";

inline constexpr const char* pit_choose = "Scan a truck, or choose one on the left.";
inline constexpr const char* pit_of_truck = "{} t{}{}";
inline constexpr const char* pit_came = "   came {}";
inline constexpr const char* pit_from = "   from {}";
inline constexpr const char* pit_mass_unknown = "?";
inline constexpr const char* pit_state_cleared = "Cleared";
inline constexpr const char* pit_state_over = "Over";
inline constexpr const char* pit_state_undecided = "Undecided";
inline constexpr const char* pit_place_bin = "{}";
inline constexpr const char* pit_place_none = "no place";
inline constexpr const char* pit_place_away = "turn away";
inline constexpr const char* pit_second_best = "Second best: {}, for {}.";
inline constexpr const char* pit_second_none = "No other bin may take it.";
inline constexpr const char* pit_between_money = "{} more expected loss there, in money";
inline constexpr const char* pit_between_t = "{} t more expected loss there";
inline constexpr const char* pit_between_waits = "it would only wait there";
inline constexpr const char* pit_samples = "Samples: {}.";
inline constexpr const char* pit_no_sample = "No sample of it is recorded.";
inline constexpr const char* pit_sample_read = "{} read {}";
inline constexpr const char* pit_sample_void = "{} void";
inline constexpr const char* pit_sample_unread = "{} not read yet";
inline constexpr const char* pit_record_into = "It goes into {}";
inline constexpr const char* pit_record_away = "Turn it away";
inline constexpr const char* pit_record_other = "Another bin";
inline constexpr const char* pit_take_sample = "Another sample";
inline constexpr const char* pit_first_sample = "A sample is taken";
inline constexpr const char* pit_what_if = "What if";
inline constexpr const char* pit_tip_record = "Opens the question; nothing is written before its yes (key R)";
inline constexpr const char* pit_tip_away = "Opens the question; nothing is written before its yes (key X)";
inline constexpr const char* pit_tip_other = "Another bin than advised, also where it lies there already (key B)";
inline constexpr const char* pit_tip_sample = "A sample of this load, to be read at the bench (key T)";
inline constexpr const char* pit_tip_what_if = "Other limits, prices and caps: what the plan would be (key W)";

inline constexpr const char* pit_asks_into = "Load {}, {} t, goes into bin {}{}.";
inline constexpr const char* pit_asks_lies = "Load {}, {} t, lies in bin {} already, against a rule{}.";
inline constexpr const char* pit_asks_away = "Load {}, {} t, is turned away.";
inline constexpr const char* pit_asks_which = "Into which bin does load {} go?";
inline constexpr const char* pit_asks_sample = "A sample of load {} is taken; its code is {}.";
inline constexpr const char* pit_as_advised = ", as advised";
inline constexpr const char* pit_other_advised = "; advised is {}";
inline constexpr const char* pit_none_advised = "; no bin is advised";
inline constexpr const char* pit_rule = "Rule: {}. Record it only if it has happened, and say why.";
inline constexpr const char* pit_mass = "t";
inline constexpr const char* pit_decides = "Who decides";
inline constexpr const char* pit_reason = "Why";
inline constexpr const char* pit_sample_code = "Code (may be scanned)";
inline constexpr const char* pit_yes = "Yes, record it (hold F9)";
inline constexpr const char* pit_no = "No (Esc)";
inline constexpr const char* pit_tip_yes =
    "Pressed with the pointer, or F9 held for a second: a scanner can do neither";
inline constexpr const char* pit_bins_to_choose = "Bins (key B: the next)";
inline constexpr const char* pit_away_to_choose = "turned away";
inline constexpr const char* pit_against_mark = "{} (rule)";

inline constexpr const char* pit_recorded_into = "Recorded: load {}, {} t, into bin {}, with move {}.";
inline constexpr const char* pit_recorded_away = "Recorded: load {}, {} t, turned away, with move {}.";
inline constexpr const char* pit_recorded_sample = "Recorded: sample {} of load {}. Read it at the bench.";
inline constexpr const char* pit_done_into = "load {} into bin {}";
inline constexpr const char* pit_done_away = "load {} turned away";
inline constexpr const char* pit_done_sample = "sample {} of load {}";
inline constexpr const char* pit_caution = "Caution: {}.";
inline constexpr const char* pit_no_reason_written = "it went elsewhere than advised, and no reason is written";
inline constexpr const char* pit_found = "Found: load {}.";
inline constexpr const char* pit_found_by = "Found: load {}, by {}.";
inline constexpr const char* pit_refused = "Not done: {}.";
inline constexpr const char* pit_question_is_open =
    "“{}” was scanned while a question is open: answer it or drop it first, then scan again";
inline constexpr const char* pit_no_such_load =
    "no load, ticket or sample is called “{}”; a truck that is new is added with: lodicule add STORE loads load=CODE "
    "time=... net_t=...";
inline constexpr const char* pit_waits_not = "load {} does not wait any more";
inline constexpr const char* pit_waits_not_because = "load {} does not wait any more: {}";
inline constexpr const char* pit_store_moved_on =
    "something else was recorded in the meantime; it is being read, look at the advice once more";
inline constexpr const char* pit_end_what_if = "what is shown is a what-if: end it to record";
inline constexpr const char* pit_not_up_to_date = "the advice is being worked out anew: wait for it";
inline constexpr const char* pit_choose_a_bin = "choose a bin";
inline constexpr const char* pit_no_such_bin = "there is no bin {}";
inline constexpr const char* pit_no_mass = "write the tonnes that were dumped, as 24.5";
inline constexpr const char* pit_say_why = "it breaks a rule: say why it lies there";
inline constexpr const char* pit_sample_without_name = "scan or type the code on the sample";
inline constexpr const char* pit_sample_is_there = "there is a sample {} already";
inline constexpr const char* pit_no_kit_lot =
    "No strips: the store has no kit lot. An undecided load goes on hold, or to a laboratory; a lot is added with: "
    "lodicule add STORE kit-lots ...";
inline constexpr const char* pit_lots_expired =
    "No strips are left that may be used: kit lot {} expired on {}. An undecided load goes on hold, or to a "
    "laboratory.";

inline constexpr const char* pit_what_if_limit = "limit";
inline constexpr const char* pit_what_if_cap = "over from a chance of";
inline constexpr const char* pit_what_if_price = "price of";
inline constexpr const char* pit_per_tonne = "a tonne";
inline constexpr const char* pit_percent = "%";
inline constexpr const char* pit_what_if_show = "Show it";
inline constexpr const char* pit_what_if_end = "Back to what is";
inline constexpr const char* pit_what_if_band = "What if: {}. Nothing of it is recorded.";
inline constexpr const char* pit_what_if_working = "{} Still what was before: working it out.";
inline constexpr const char* pit_what_if_of_limit = "limit {} at {} mg/kg (is {})";
inline constexpr const char* pit_what_if_of_price = "contract {} at {} a tonne (is {})";
inline constexpr const char* pit_what_if_of_cap = "over from {:.0f} % chance";
inline constexpr const char* pit_what_if_same = "No load would go elsewhere.";
inline constexpr const char* pit_what_if_change = "{}: {} instead of {}";
inline constexpr const char* pit_what_if_number = "“{}” is no {}: {}";
inline constexpr const char* pit_what_if_number_limit = "limit";
inline constexpr const char* pit_what_if_number_price = "price";
inline constexpr const char* pit_what_if_number_cap = "cap";
inline constexpr const char* pit_what_if_mend_limit = "write mg/kg above 0, as 0.75";
inline constexpr const char* pit_what_if_mend_price = "write money for a tonne, 0 or more";
inline constexpr const char* pit_what_if_mend_cap = "write 5 to 100";
inline constexpr const char* pit_what_if_nothing = "Write another number for one of these.";
inline constexpr const char* pit_no_price = "none";

}  // namespace app::words
