#pragma once

#include "app/language.h"

namespace app::words {

/// What is drawn at the pit (app/words.h has the rest): the queue, the truck on the scale, the question and other
/// numbers to plan by. {} stands for a number, a name or another sentence, in this order.

inline constexpr Word queue = word("Trucks that wait");
inline constexpr Word no_queue =
    word("No truck waits. One that comes is written down with “A truck has come” (key A).");
inline constexpr Word no_bins = word("The store has no bins. Import a bins table: lodicule import STORE bins FILE.csv");
inline constexpr Word pit_planning = word("the queue");
inline constexpr Word pit_weighing = word("the truck against each bin");
inline constexpr Word pit_weigh_it = word("nobody knows its mass: weigh it");
inline constexpr Word pit_find = word("Find: name, ticket or sample");
inline constexpr Word pit_find_short = word("Find (F)");
inline constexpr Word pit_tip_find =
    word("Key F, then Enter; a scanner needs no box. Finding chooses, and records nothing");
inline constexpr Word pit_clock_unknown = word("came: not written");
inline constexpr Word pit_waits_for = word("{}: {}");
inline constexpr Word pit_to_read = word("{} to be read");
inline constexpr Word pit_tip_to_read = word("Its sample {} was taken and is not read yet.");
inline constexpr Word pit_goes_to = word("to {}");
inline constexpr Word pit_no_place = word("no bin");
inline constexpr Word pit_head_load = word("Truck");
inline constexpr Word pit_head_waited = word("has waited");
inline constexpr Word pit_head_waits_for = word("how far: it waits for");
inline constexpr Word pit_head_goes = word("mass   goes");
inline constexpr Word pit_turn_away_short = word("turn away");
inline constexpr Word pit_recorded_now = word("recorded");
inline constexpr Word pit_to_look_at = word("{} to be looked at below");
inline constexpr Word pit_look_at = word("To be looked at");
inline constexpr Word pit_late = word("{} ({} t in {}): {}, read {} after it was dumped");
inline constexpr Word pit_late_out = word("{} ({} t, gone): {}");
inline constexpr Word pit_frozen = word("{} is closed: {}");
inline constexpr Word pit_other_bin = word("{}: {} went to {}, advised {}{}");
inline constexpr Word pit_other_none = word("{}: {} went to {}, though no bin was advised{}");
inline constexpr Word pit_other_away = word("{}: {} was turned away, advised {}{}");
inline constexpr Word pit_other_because = word(" ({})");
inline constexpr Word pit_look_at_entry = word("{}; {}");
inline constexpr Word pit_put_right = word("put right since");
inline constexpr Word pit_gone = word("Dumped or turned away, the latest first");
inline constexpr Word pit_gone_row = word("{}   {}   {} t");
inline constexpr Word pit_gone_to = word("into {}");
inline constexpr Word pit_gone_away = word("turned away");
inline constexpr Word pit_gone_other = word("not as advised: {}");
inline constexpr Word pit_gone_none = word("no bin was advised");
inline constexpr Word pit_hours = word("{} h {:02} min");
inline constexpr Word pit_minutes = word("{}:{:02} min");
inline constexpr Word pit_days = word("{} d {} h");

inline constexpr Word pit_choose = word("Scan a truck, or choose one on the left.");
inline constexpr Word pit_of_truck = word("{} t{}{}");
inline constexpr Word pit_came = word("   came {}");
inline constexpr Word pit_from = word("   from {}");
inline constexpr Word pit_mass_unknown = word("?");
inline constexpr Word pit_state_cleared = word("Cleared");
inline constexpr Word pit_state_over = word("Over");
inline constexpr Word pit_state_undecided = word("Undecided");
inline constexpr Word pit_place_bin = word("{}");
inline constexpr Word pit_step_sample = word("sample it");
inline constexpr Word pit_step_sample_again = word("sample again");
inline constexpr Word pit_step_read = word("read its sample");
inline constexpr Word pit_step_laboratory = word("laboratory");
inline constexpr Word pit_step_room = word("no room yet");
inline constexpr Word pit_step_weigh = word("weigh it");
inline constexpr Word pit_step_nothing = word("no bin");
inline constexpr Word pit_moisture = word("   moisture {} %");
inline constexpr Word pit_place_away = word("turn away");
inline constexpr Word pit_second_best = word("Second best: {}, for {}.");
inline constexpr Word pit_second_none = word("No other bin may take it.");
inline constexpr Word pit_elsewhere = word("Not into {}.");
inline constexpr Word pit_between_money = word("{} more expected loss there, in the currency of the costs");
inline constexpr Word pit_between_t = word("{} t more expected loss there");
inline constexpr Word pit_between_waits = word("it would only wait there");
inline constexpr Word pit_samples = word("Samples: {}.");
inline constexpr Word pit_no_sample = word("No sample of it is recorded.");
inline constexpr Word pit_sample_void = word("{} void");
inline constexpr Word pit_sample_unread = word("{} not read yet");
inline constexpr Word pit_record_into = word("Record: it goes into {} ...");
inline constexpr Word pit_record_away = word("Record: turned away ...");
inline constexpr Word pit_record_other = word("Record: another bin ...");
inline constexpr Word pit_take_sample = word("Take another sample ...");
inline constexpr Word pit_first_sample = word("Take a sample ...");
inline constexpr Word pit_laboratory_sample = word("Take a sample for the laboratory ...");
inline constexpr Word pit_read_sample = word("Enter the reading of {}");
inline constexpr Word pit_what_if = word("What if");
inline constexpr Word pit_tip_record = word("Opens the question; nothing is written before its yes (key R)");
inline constexpr Word pit_tip_read =
    word("Opens the bench with this sample: what it read is typed there, or its strip is started");
inline constexpr Word pit_tip_away = word("Opens the question; nothing is written before its yes (key X)");
inline constexpr Word pit_tip_other =
    word("Another bin than advised, also where it was dumped there all the same (key B)");
inline constexpr Word pit_tip_sample = word("A sample of this load, to be read at the bench (key T)");
inline constexpr Word pit_tip_what_if = word("Other limits, prices and caps: what the plan would be (key W)");

inline constexpr Word pit_asks_into = word("Load {}, {} t, goes into bin {}{}.");
inline constexpr Word pit_asks_lies = word("A rule keeps load {}, {} t, out of bin {}{}.");
inline constexpr Word pit_asks_away = word("Load {}, {} t, is turned away.");
inline constexpr Word pit_asks_which = word("Into which bin does load {} go?");
inline constexpr Word pit_asks_sample = word("Record that a sample of load {} was taken, with the code {}?");
inline constexpr Word pit_as_advised = word(", as advised");
inline constexpr Word pit_other_advised = word("; advised is {}");
inline constexpr Word pit_none_advised = word("; no bin is advised");
inline constexpr Word pit_rule = word("Rule: {}. Only if it was dumped there all the same: record that, and say why.");
inline constexpr Word pit_mass = word("Tonnes");
inline constexpr Word pit_decides = word("Who decides (optional)");
inline constexpr Word pit_reason = word("Why (optional)");
inline constexpr Word pit_reason_needed = word("Why (needed: a rule is broken)");
inline constexpr Word pit_sample_code = word("Code (may be scanned)");
inline constexpr Word pit_yes = word("Record (or hold F9)");
inline constexpr Word pit_yes_into = word("Record: {} into {} (or hold F9)");
inline constexpr Word pit_yes_away = word("Record: {} turned away (or hold F9)");
inline constexpr Word pit_yes_sample = word("Record: sample of {} (or hold F9)");
inline constexpr Word pit_no = word("Back, record nothing (Esc)");
inline constexpr Word pit_tip_yes = word("Pressed with the pointer, or F9 held for a second: a scanner can do neither");
inline constexpr Word pit_bins_to_choose = word("Bins (key B: the next)");
inline constexpr Word pit_away_to_choose = word("turned away");
inline constexpr Word pit_against_mark = word("{} (not allowed)");

inline constexpr Word pit_recorded_into = word("Recorded: load {}, {} t, into bin {}, with move {}.");
inline constexpr Word pit_recorded_away = word("Recorded: load {}, {} t, turned away, with move {}.");
inline constexpr Word pit_recorded_sample = word("Recorded: sample {} of load {}. Read it at the bench.");
inline constexpr Word pit_done_into = word("load {} into bin {}");
inline constexpr Word pit_done_away = word("load {} turned away");
inline constexpr Word pit_done_sample = word("sample {} of load {}");
inline constexpr Word pit_caution = word("Caution: {}.");
inline constexpr Word pit_lies_in = word("It lies in {}");
inline constexpr Word pit_is_away = word("It is turned away");
inline constexpr Word pit_undo_hint = word("Ctrl+Z takes it back, and asks first.");
inline constexpr Word pit_next_hint = word("Key N: the next truck.");
inline constexpr Word pit_none_next = word("No other truck waits.");
inline constexpr Word pit_next_truck = word("Next truck: {}");
inline constexpr Word pit_takes_place = word("It takes the place in {} that the plan kept for {} before{}.");
inline constexpr Word pit_place_none_now = word(", which has no bin now");
inline constexpr Word pit_place_now = word(", which goes to {} now");
inline constexpr Word pit_lost_place = word("Its place in {} went to {}: the plan has changed since.");
inline constexpr Word pit_by_limit_of = word("{} ({}: {}, limit {})");
inline constexpr Word pit_no_reason_written = word("it went elsewhere than advised, and no reason is written");
inline constexpr Word pit_found = word("Found: load {}.");
inline constexpr Word pit_found_by = word("Found: load {}, by {}.");
inline constexpr Word pit_refused = word("Not done: {}.");
inline constexpr Word pit_question_is_open =
    word("“{}” was scanned while a question is open: answer it or drop it first, then scan again");
inline constexpr Word pit_no_such_load = word(
    "no load, ticket or sample is called “{}”; a truck that is new is written down with “A truck has come” (key A)");
inline constexpr Word pit_waits_not = word("load {} does not wait any more");
inline constexpr Word pit_waits_not_because = word("load {} does not wait any more: {}");
inline constexpr Word pit_store_moved_on =
    word("something else was recorded in the meantime; it is being read, look at the advice once more");
inline constexpr Word pit_end_what_if = word("what is shown is a what-if: end it to record");
inline constexpr Word pit_not_up_to_date = word("the advice is being worked out anew: wait for it");
inline constexpr Word pit_choose_a_bin = word("choose a bin");
inline constexpr Word pit_no_such_bin = word("there is no bin {}");
inline constexpr Word pit_no_mass = word("write the tonnes that were dumped, as 24.5");
inline constexpr Word pit_say_why = word("it breaks a rule: say why it lies there");
inline constexpr Word pit_sample_without_name = word("scan or type the code on the sample");
inline constexpr Word pit_sample_is_there = word("there is a sample {} already");
inline constexpr Word pit_no_kit_lot = word(
    "No strips: the store has no kit lot. An undecided load goes on hold, or to a laboratory; a lot is added with: "
    "lodicule add STORE kit-lots ...");
inline constexpr Word pit_lots_expired = word(
    "No strips are left that may be used: kit lot {} expired on {}. An undecided load goes on hold, or to a "
    "laboratory.");

inline constexpr Word pit_given_mark = word("{} (planned otherwise)");
inline constexpr Word pit_given = word("By the plan not: {}.");
inline constexpr Word pit_sample_read_in = word("{} read {} {}");
inline constexpr Word pit_other_unit = word("Numbers without a unit in these sentences are mg/kg.");
inline constexpr Word pit_tip_load_and_field = word(
    "A truck is one part of its field: its chance is that of its own grain, from its own samples and how trucks of "
    "a field differ, so it is not that of the field's mean on the map.");
inline constexpr Word pit_tip_cleared =
    word("Cleared: no valid result of its own is over the limit, and the chance that it is over is at most 5 %.");
inline constexpr Word pit_tip_over = word(
    "Over: a valid result of its own is over the limit, or its chance of being "
    "over is above the cap that was set.");
inline constexpr Word pit_tip_undecided = word(
    "Undecided: neither cleared nor over, for too little is known of it. It waits on hold, or for another sample.");

inline constexpr Word pit_arrival = word("A truck has come");
inline constexpr Word pit_tip_arrival = word("Write it down (key A)");
inline constexpr Word pit_arrival_title = word("A truck has come: what is known of it");
inline constexpr Word pit_arrival_load = word("Name or bar code");
inline constexpr Word pit_arrival_time = word("Came at");
inline constexpr Word pit_arrival_ticket = word("Ticket");
inline constexpr Word pit_arrival_supplier = word("Grower or supplier");
inline constexpr Word pit_arrival_parts = word("Fields, as “Fen 0.6; Mill Piece 0.4”; empty: bought grain");
inline constexpr Word pit_arrival_net = word("Net t");
inline constexpr Word pit_arrival_gross = word("or gross t");
inline constexpr Word pit_arrival_tare = word("and tare t");
inline constexpr Word pit_arrival_moisture = word("Moisture %");
inline constexpr Word pit_arrival_commodity = word("Grain");
inline constexpr Word pit_arrival_keep_apart = word("Kept apart as");
inline constexpr Word pit_arrival_yes = word("Record: it has come (or hold F9)");
inline constexpr Word pit_arrival_no_box = word(
    "“{}” was scanned while no box is chosen: click the one it is for, then "
    "scan again");
inline constexpr Word pit_arrival_is_there = word("load {} is there already, just so");
inline constexpr Word pit_arrival_other_season =
    word("it is a load of season {}, and the queue that is shown is of season {}");
inline constexpr Word pit_recorded_arrival = word("Recorded: load {} has come.");
inline constexpr Word pit_done_arrival = word("load {} came");

inline constexpr Word pit_selling = word("a lot for the buyer's test");
inline constexpr Word pit_tip_lot = word("Click: what a buyer's test would make of a lot from it");
inline constexpr Word pit_lot_of = word("A lot from {} of");
inline constexpr Word pit_lot_tonnes = word("t");
inline constexpr Word pit_lot_show = word("What would a buyer read?");
inline constexpr Word pit_lot_close = word("Close");
inline constexpr Word pit_lot_says = word(
    "{:.1f} t from {}, drawn off {}: mean {} ({}), {} chance over {}; the buyer's test would reject it with a "
    "chance of {}.");
inline constexpr Word pit_lot_made_of = word("It would hold {}.");
inline constexpr Word pit_lot_limit_of = word("{} (limit of {}, {})");
inline constexpr Word pit_lot_ways = word("The order is not known, so this is the worst of {} ways of drawing off.");
inline constexpr Word pit_lot_test = word(
    "The buyer's test: a usual strip test of 10 handfuls, read true. Now, without "
    "what is planned. Nothing is recorded.");
inline constexpr Word pit_lot_closed = word("{} is closed: confirm and decide before anything leaves it.");
inline constexpr Word pit_lot_refused = word("No lot: {}.");
inline constexpr Word pit_lot_number = word("“{}” is no mass of a lot: write tonnes above 0, as 25");
inline constexpr Word pit_lot_first_in = word("first in first");
inline constexpr Word pit_lot_last_in = word("last in first");
inline constexpr Word pit_lot_mixed = word("mixed");

inline constexpr Word pit_what_if_limit = word("If the limit");
inline constexpr Word pit_what_if_limit_were = word("before a number", "were");
inline constexpr Word pit_what_if_limit_unit = word("mg/kg");
inline constexpr Word pit_what_if_cap = word("If a load counted as over from a chance of");
inline constexpr Word pit_what_if_price = word("If the contract");
inline constexpr Word pit_what_if_paid = word("before a number", "paid");
inline constexpr Word pit_per_tonne = word("a tonne, in its currency");
inline constexpr Word pit_price_of = word("{}  {} a tonne");
inline constexpr Word pit_percent = word("%");
inline constexpr Word pit_what_if_show = word("Show it");
inline constexpr Word pit_what_if_end = word("Back to what is");
inline constexpr Word pit_what_if_others = word("Other numbers");
inline constexpr Word pit_what_if_heading = word("What if: for all trucks and bins. Nothing is recorded.");
inline constexpr Word pit_what_if_band = word("What if: {}. Nothing of it is recorded.");
inline constexpr Word pit_what_if_working = word("{} Still what was before: working it out.");
inline constexpr Word pit_what_if_of_limit = word("limit {} at {} mg/kg (is {})");
inline constexpr Word pit_what_if_of_price = word("contract {} paying {} a tonne (pays {})");
inline constexpr Word pit_what_if_of_cap = word("over from {:.0f} % chance");
inline constexpr Word pit_what_if_same = word("No load would go elsewhere.");
inline constexpr Word pit_what_if_change = word("{}: {} instead of {}");
inline constexpr Word pit_what_if_number = word("“{}” is no {}: {}");
inline constexpr Word pit_what_if_number_limit = word("limit");
inline constexpr Word pit_what_if_number_price = word("price");
inline constexpr Word pit_what_if_number_cap = word("cap");
inline constexpr Word pit_what_if_mend_limit = word("write mg/kg above 0, as 0.75");
inline constexpr Word pit_what_if_mend_price = word("write what is paid for a tonne, 0 or more");
inline constexpr Word pit_what_if_mend_cap = word("write 5 to 100");
inline constexpr Word pit_what_if_nothing = word("Write another number for one of these.");
inline constexpr Word pit_no_price = word("none");

}  // namespace app::words
