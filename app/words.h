#pragma once

#include "app/language.h"

/// Every word that is drawn, in the window and in the figures of pictures, PDF and report, in one place: who translates
/// or mends a sentence finds it here; cautions stand in app/cautions.h, what only the map's tools and the order of
/// tests say in app/ground_words.h, what the pit says in app/pit_words.h. {} stands for a number, a name or another
/// sentence, in this order. Sentences that speak of one field, load or limit come with its numbers from the workflow;
/// refusals stand where they are thrown.
namespace app::words {

// The bar above every room.
inline constexpr Word room_where_first = word("Where first?");
inline constexpr Word room_bench = word("What does it read?");
inline constexpr Word room_contamination = word("How is it?");
inline constexpr Word room_bins = word("Which bin?");
inline constexpr Word room_seasons = word("What did we learn?");
inline constexpr Word tip_where_first = word("The fields in the order in which a test is worth most (key 1)");
inline constexpr Word tip_bench = word("Strips one after another: clocks, results, controls (key 2)");
inline constexpr Word tip_contamination = word("Contamination over the fields, and how sure that is (key 3)");
inline constexpr Word tip_bins = word("The trucks that wait, the bins, and where the next load goes (key 4)");
inline constexpr Word tip_seasons =
    word("What was foretold against what was found, and a field over the years (key 5)");
inline constexpr Word season = word("Season");
inline constexpr Word limit = word("Limit");
inline constexpr Word limit_chosen_by_number = word("{} mg/kg");
inline constexpr Word limit_chosen_by_name = word("{} ({} mg/kg)");
inline constexpr Word limit_of_list = word("{}   {} mg/kg   {}");
inline constexpr Word limit_from_memory_mark = word("{} *");
inline constexpr Word limits_from_memory = word("* from memory");
inline constexpr Word tip_limit_from_memory = word("This number is from memory: check it before you rely on it.");
inline constexpr Word tip_limits_from_memory =
    word("The numbers with a star are from memory: check each before you rely on it.");
inline constexpr Word own_limit = word("Own limit, mg/kg");
inline constexpr Word take_own_limit = word("Take it");
inline constexpr Word limits_in_force = word("In force for this season's grain");
inline constexpr Word all_limits = word("All limits ({} more)");
inline constexpr Word fewer_limits = word("Fewer limits");
inline constexpr Word other_limits = word("Of other grain, other goods or other years");
inline constexpr Word limits_of_bins = word("Limits of the bins, mg/kg: {}");
inline constexpr Word own_limits_of_bins = word("Each bin by its own limit");
inline constexpr Word no_limits_of_bins = word("No bin names a limit");
inline constexpr Word tip_limits_of_bins = word(
    "Each bin goes by the limit that it names; the limit chosen in the other rooms changes nothing here but colours");

// The line below every room.
inline constexpr Word line_of_answer = word("{}   season {}   {}");
inline constexpr Word line_of_bins = word("{}   season {}   each bin by its own limit");
inline constexpr Word limit_by_number = word("limit {} mg/kg");
inline constexpr Word limit_by_name = word("limit {} ({} mg/kg)");
inline constexpr Word stop = word("Stop");
inline constexpr Word idle = word("Ready   F1: keys");
inline constexpr Word working_out_season = word("working out season {}");
inline constexpr Word reading_again = word("reading season {} again");
inline constexpr Word store_has_changed = word("The store has changed: F5 reads it again");
inline constexpr Word fetching_hours = word("hours around flowering");
inline constexpr Word seconds_left = word(", {:.0f} s left");
inline constexpr Word stopped = word("Stopped. What is shown is the answer before.");
inline constexpr Word still_season = word("season {}");
inline constexpr Word still = word("Still season {}, {}: working out {}");

// What was done in this sitting.
inline constexpr Word history_title = word("Done in this sitting");
inline constexpr Word history_none = word("Nothing was done yet that could be taken back.");
inline constexpr Word history_undo = word("Ctrl+Z takes back: {}");
inline constexpr Word history_redo = word("Redo: {}");
inline constexpr Word history_taken_back = word("Taken back: {}");
inline constexpr Word history_done_again = word("Done again: {}");
inline constexpr Word history_refused = word("Not taken back, {}: {}");
inline constexpr Word history_refused_again = word("Not done again, {}: {}");
inline constexpr Word history_is_undone = word("{} (taken back)");
inline constexpr Word history_passed = word("something else was done since");
inline constexpr Word history_record_back = word(
    "A record is taken back by another record, and both stay in the chain. Ctrl+Z once more, or the button, does it.");
inline constexpr Word history_record_again =
    word("It will stand again, by one more record. Ctrl+Y once more, or the button, does it.");
inline constexpr Word history_do_undo = word("Take it back");
inline constexpr Word history_do_redo = word("Do it again");
inline constexpr Word history_open = word("F3: what was done in this sitting");
inline constexpr Word history_of_records =
    word("Here Ctrl+Z takes back records alone. Season, field and looks are taken back in the other rooms.");
inline constexpr Word history_of_choices =
    word("Here Ctrl+Z takes back choices alone. Records are taken back at the bench and the pit.");
inline constexpr Word history_result_waits = word("the result that waits for its yes");
inline constexpr Word done_season = word("season {} chosen");
inline constexpr Word done_limit = word("{} chosen");
inline constexpr Word done_field = word("field {} chosen");
inline constexpr Word done_no_field = word("no field chosen");
inline constexpr Word done_layer = word("map shows “{}”");
inline constexpr Word done_theme = word("theme {}");
inline constexpr Word done_unit = word("contents in {}");
inline constexpr Word done_scale = word("size of text changed");

// How it is shown. Each translation writes the name of its own language for the first, as that language says it.
inline constexpr Word language_name = word("name of the language", "English");
inline constexpr Word looks_language = word("Language");
inline constexpr Word looks_language_note =
    word("What is written to the store, and why the store refuses it, is in English whatever the language.");
inline constexpr Word done_language = word("language {}");
inline constexpr Word looks_open = word("View (F2)");
inline constexpr Word looks_title = word("How it is shown");
inline constexpr Word looks_theme = word("Colours");
inline constexpr Word looks_unit = word("Contents in");
inline constexpr Word looks_scale = word("Size of text");
inline constexpr Word looks_scale_by_screen = word("by the screen");
inline constexpr Word looks_percent = word("{} %");
inline constexpr Word looks_note =
    word("Reasons, verdicts and the bench stay in mg/kg and say so: that is what is recorded.");
inline constexpr Word theme_light = word("light");
inline constexpr Word theme_dark = word("dark");
inline constexpr Word theme_outdoor = word("outdoor");
inline constexpr Word bench_came_back =
    word("This was typed before the window was closed and is not recorded: Enter takes it, Esc drops it");

// What the keys do.
inline constexpr Word keys_title = word("Keys");
inline constexpr Word keys[][2] = {
    {word("1  2  3  4  5"), word("the questions above, from left to right; with Alt where numbers are typed")},
    {word("S  L"), word("choose the season, the limit; arrows and Enter in the list, Esc closes it")},
    {word("numbers"), word("in the list of limits: a limit of one's own, mg/kg, and Enter")},
    {word("N  P"), word("the next and the previous field; under “Which bin?” the next and the previous truck")},
    {word("R  B  X  T"),
     word("Which bin? – it goes where advised, into another bin, away; a sample of it. Each only asks")},
    {word("F9 held"), word("Which bin? – yes to what is asked, after a second; Esc: no")},
    {word("A"), word("Which bin? – a truck has come, write it down")},
    {word("F  W  E"),
     word("Which bin? – find a truck by its code; other limits and prices; type in what is asked, Tab: the next")},
    {word("Page Up, Page Down"),
     word("scroll the left side, with Shift the right side; under “Which bin?” the other way round")},
    {word("arrows"), word("How is it? – move the map")},
    {word("+  -  0"), word("How is it? – zoom the map, show all of it")},
    {word("G"), word("How is it? – where fields lie far apart, the next group of them")},
    {word("C  V"), word("How is it? – colour the map by content, by the chance of being over")},
    {word("B"), word("How is it? – a picture of your own behind the map, on and off")},
    {word("T  E  Z"), word("How is it? – a profile along a line, what the map rests on, zones of the chosen field; "
                           "again: the map alone")},
    {word("Shift, arrows"), word("How is it? – with a profile: turn its line, move it")},
    {word(",  ."), word("How is it? – the season before, the next one")},
    {word("+  -"), word("Where first? – one test more or less to be made")},
    {word("W  X"),
     word("Where first? – the walk of the chosen field or its weather; save the walk, with Shift those of all "
          "fields worth a test")},
    {word("F5"), word("read the store again; done by itself soon after something was recorded")},
    {word("Esc"), word("stop what is being worked out")},
    {word("Ctrl+Z  Ctrl+Y"),
     word("take back what was done last, do it again; a record asks first (also Ctrl+Shift+Z)")},
    {word("F2"), word("colours, unit of contents, language, size of text")},
    {word("Ctrl  +  -  0"), word("larger and smaller text, by the screen")},
    {word("F3"), word("what was done in this sitting")},
    {word("F1"), word("show and hide this")},
    {word("Ctrl+Q"), word("close the window")}};

// The contamination room.
inline constexpr Word show_content = word("DON content");
inline constexpr Word show_exceedance = word("Chance over");
inline constexpr Word whole_map = word("Whole map");
inline constexpr Word tip_whole_map = word("All fields into view (key 0). Drag to move, turn the wheel to zoom");
inline constexpr Word next_group = word("Next group");
inline constexpr Word tip_next_group =
    word("{} groups of fields lie far from one another: one after the other (key G)");
inline constexpr Word groups_lie_apart = word("{} groups far apart");
inline constexpr Word no_fields =
    word("The store has no outlines of fields. Import them: lodicule import STORE fields FILE");
inline constexpr Word disease_risk = word("Disease risk {}");
inline constexpr Word risk_extrapolated = word("{}, extrapolated: {}");

// The room of the order of tests.
inline constexpr Word rank = word("#");
inline constexpr Word field = word("Field");
inline constexpr Word content = word("DON, mg/kg (bar 50 %, line 90 %)");
inline constexpr Word chance_over = word("Chance over");
inline constexpr Word over = word("Over");
inline constexpr Word gain = word("Gain, t");
inline constexpr Word gain_money = word("Gain");
inline constexpr Word tests = word("Tests");
inline constexpr Word not_worth_a_test = word("not worth it");
inline constexpr Word tip_rank = word(
    "The place in the order. In a disc: one of the tests that can be made goes here. A dash: a test here is not worth "
    "making.");
inline constexpr Word tip_chance_over = word("The chance that the mean of the field's grain is over the limit");
inline constexpr Word tip_gain = word(
    "Tonnes that a test here is expected to keep from a wrong decision, those above it made. An expectation: no single "
    "test saves it.");
inline constexpr Word tip_gain_money = word(
    "What a test here is expected to save, those above it made, less what it costs; in the currency of the costs. An "
    "expectation: no single test saves it.");
inline constexpr Word tip_tests = word("Results of this season that the field has already, void ones aside");
inline constexpr Word row_with_gain = word("{}. Gain {}; tests so far {}.");
inline constexpr Word row_with_tests = word("{}. Tests so far {}.");
inline constexpr Word test_its_loads = word("test its loads");
inline constexpr Word risk = word("Risk");
inline constexpr Word why = word("Why");
inline constexpr Word choose_a_field = word("Choose a field on the left to see its hours around flowering.");
inline constexpr Word content_of_row = word("{} mg/kg ({})");
inline constexpr Word chosen_field = word("{}. {}");
inline constexpr Word content_of_field =
    word("DON of the field's mean {} mg/kg, nine tenths of the chance lie within {} mg/kg.");
inline constexpr Word risk_of_field = word("Disease risk {}. {}");
inline constexpr Word risk_with_spread =
    word("Disease risk {}; from {} to {} over the flowering dates that are possible and what is missing. {}");
inline constexpr Word risk_extrapolated_too = word("{} Extrapolated: {}.");
inline constexpr Word tested_and_not_listed = word("{} has {} and is not in the list.");
inline constexpr Word not_listed = word("{} is not in the list.");
inline constexpr Word not_listed_because = word("{} is not in the list: {}");
inline constexpr Word one_test = word("test");
inline constexpr Word several_tests = word("tests");
inline constexpr Word one_field = word("field");
inline constexpr Word several_fields = word("fields");
inline constexpr Word one_bin = word("bin");
inline constexpr Word several_bins = word("bins");
inline constexpr Word one_load_waits = word("load waits");
inline constexpr Word several_loads_wait = word("loads wait");

// The room of the bench.
inline constexpr Word bench_prompt = word("Scan a sample, or type; help lists the words");
inline constexpr Word bench_prompt_was_read = word("Type what {} reads after its name, and Enter");
inline constexpr Word bench_prompt_in_hand =
    word("Type what strip {} of {} reads; or scan another sample, and its clock starts");
inline constexpr Word bench_start_operators = word("Who tests?");
inline constexpr Word bench_start_lots = word("Which kit lot? Those in the store");
inline constexpr Word bench_start_samples = word("Samples of grain that wait for a result, the newest first");
inline constexpr Word bench_start_tip = word("Starts a strip: its clock runs from now");
inline constexpr Word bench_start_was_read = word("already read");
inline constexpr Word bench_tip_start_was_read =
    word("For a strip that was read before its clock was started here: only the value is typed");
inline constexpr Word bench_to_read = word("Sample {} of load {}, which is not read yet");
inline constexpr Word bench_to_read_runs = word("Sample {} of load {}: its strip runs");
inline constexpr Word bench_to_read_is_read = word("Sample {} of load {} reads {} mg/kg");
inline constexpr Word bench_to_read_typed = word("It is read: type the value");
inline constexpr Word bench_tip_typed =
    word("Where its strip was run elsewhere or before: what it read goes behind the name in the line");
inline constexpr Word bench_to_read_start = word("Its strip starts now");
inline constexpr Word bench_tip_start = word("Starts its clock; what it reads is typed when the time is over");
inline constexpr Word bench_to_read_hint = word("Type what {} reads after its name, as 0.42 or <0.3, and Enter");
inline constexpr Word bench_to_pit = word("Back to load {}");
inline constexpr Word bench_start_more = word("{} more wait; each is started by its code");
inline constexpr Word bench_of_load = word("of load {}");
inline constexpr Word bench_of_bin = word("of bin {}");
inline constexpr Word bench_of_field = word("of field {}");
inline constexpr Word bench_of_sample = word("of sample {}");
inline constexpr Word bench_typed = word("> {}");
inline constexpr Word bench_scanned = word("> {} (scanned)");
inline constexpr Word bench_refused = word("Not done: {}.");
inline constexpr Word bench_yes = word("Yes, record it");
inline constexpr Word bench_no = word("No, drop it");
inline constexpr Word bench_stays = word("the bench stays here; choose another room above");
inline constexpr Word bench_clocks = word("Strips that run");
inline constexpr Word bench_no_clocks = word("No strip is running. The code of a sample starts one.");
inline constexpr Word bench_more_clocks = word("{} more, started later");
inline constexpr Word bench_strip = word("{}   strip {}   kit lot {}");
inline constexpr Word bench_no_lot = word("not said");
inline constexpr Word bench_in_hand = word("in hand, {}");
inline constexpr Word bench_last = word("Last tests of any season, mg/kg");
inline constexpr Word bench_no_last = word("No test is recorded yet.");
inline constexpr Word bench_test = word("test");
inline constexpr Word bench_sample = word("sample");
inline constexpr Word bench_reads = word("reads");
inline constexpr Word bench_interval = word("90 % interval");
inline constexpr Word bench_parts = word("What the uncertainty of {} comes from");
inline constexpr Word bench_part = word("{} {:.0f} %");
inline constexpr Word part_sampling = word("sampling");
inline constexpr Word part_preparation = word("preparation");
inline constexpr Word part_assay = word("strip and curve");
inline constexpr Word part_shared = word("shared by the lot");
inline constexpr Word bench_best_step = word("What would narrow it most: {}.");
inline constexpr Word bench_failed_control = word("this control failed");
inline constexpr Word bench_in_doubt = word("in doubt by a control of its run");
inline constexpr Word bench_undoes = word(
    "A result that was recorded wrong: Ctrl+Z takes it back, then it is typed anew; what was done in this sitting "
    "stands "
    "under F3.");

// The room of past seasons.
inline constexpr Word looking_back = word("looking back on the seasons");
inline constexpr Word reading_years = word("a field over the years");
inline constexpr Word seasons_choose_a_field =
    word("Choose a field in another room, or with N and P, to see its years.");
inline constexpr Word seasons_of_field = word("Field {} over the years");
inline constexpr Word seasons_step = word("N and P: the next and the previous field");
inline constexpr Word seasons_no_content = word("no DON known");
inline constexpr Word seasons_over = word("over the limit with a chance of {}");
inline constexpr Word seasons_severity = word("severity {:.1f} %");
inline constexpr Word seasons_key = word(
    "DON of the field's grain as it was or will be delivered, mg/kg (logarithmic): bar 50 %, line 90 % of the chance; "
    "dashed: the limit, {}. By all results up to season {}, so a number may differ from what the map of an earlier "
    "season says: that knows the results up to its own end.");
inline constexpr Word seasons_at_its_end = word("As known at the end of season {}: {} mg/kg ({})");
inline constexpr Word seasons_same_at_its_end = word("At the end of season {} the same was known.");
inline constexpr Word seasons_by_all = word("By all results up to season {}: {} mg/kg ({})");
inline constexpr Word seasons_by_all_same = word("Results up to season {} say the same.");
inline constexpr Word map_at_its_end = word("As known at the end of season {}.");
inline constexpr Word tip_map_at_its_end = word(
    "The map of a past season knows the results up to its end and none of later ones. By all results a field may read "
    "a "
    "little otherwise: the years of a field, under “What did we learn?”, show that.");

// While something is worked out.
inline constexpr Word working = word("Working ...");
inline constexpr Word nothing_yet = word("The season is being worked out.");

// Numbers. Sentences that say mg/kg are drawn with the unit that is chosen (app/drawing/content_unit.h).
inline constexpr Word unit_mg_per_kg = word("mg/kg");
inline constexpr Word unit_ug_per_kg = word("µg/kg");
inline constexpr Word unit_ppm = word("ppm");
inline constexpr Word unit_ppb = word("ppb");
inline constexpr Word mg_per_kg = word("{} mg/kg");
inline constexpr Word from_to = word("{} to {}");
inline constexpr Word under_one_percent = word("under 1 %");
inline constexpr Word over_99_percent = word("over 99 %");
inline constexpr Word under_one_percent_short = word("< 1 %");
inline constexpr Word over_99_percent_short = word("> 99 %");
inline constexpr Word kilometres = word("{} km");
inline constexpr Word metres = word("{} m");
inline constexpr Word north = word("N");

// Titles and what stands below them.
inline constexpr Word title_ranking = word("Disease risk as an order, season {}");
inline constexpr Word title_exceedance = word("Chance of being over the limit, season {}");
inline constexpr Word title_content = word("Contamination with DON, season {}");
inline constexpr Word title_order = word("Which field first, season {}");
inline constexpr Word title_bins = word("What is where, season {}");
inline constexpr Word title_hours = word("Hours around flowering: {}, {}");
inline constexpr Word subtitle_map = word("Of {}: {}");
inline constexpr Word title_zones = word("Zones to cut apart, season {}");
inline constexpr Word subtitle_zones = word("{} of {}, along lines that a combine drives or by parts");
inline constexpr Word zones_worth = word("Worth of zones is {}.");
inline constexpr Word one_zone = word("zone");
inline constexpr Word several_zones = word("zones");
inline constexpr Word subtitle_ranking = word("{}, no result");
inline constexpr Word subtitle_bins = word("{} in {}, from the recorded moves; {}");
inline constexpr Word subtitle_hours = word("flowering {} ({})");
inline constexpr Word observed = word("observed");
inline constexpr Word estimated = word("estimated");
inline constexpr Word estimated_from = word("most likely day, estimated {}, ±{:.0f} days");
inline constexpr Word and_unconfirmed = word(", unconfirmed");
inline constexpr Word hours_station = word("; station {}, {:.1f} km away");
inline constexpr Word hours_no_date =
    word("The flowering date is neither recorded nor can it be estimated, so there is no window to look at.");
inline constexpr Word hours_coverage = word("{:.0f} % of the hours that the model asks for were measured.");
inline constexpr Word limit_sentence = word("Limit: {}");
inline constexpr Word limit_from_memory = word(" (from memory: check the number before you rely on it)");
inline constexpr Word limit_of_other_grain = word(
    "It is {}: the chances here go by the limit that is chosen, {} mg/kg. The store's limit of {} is {} ({} mg/kg); "
    "over that with a chance of {}.");
inline constexpr Word verdict = word("Structure within fields: {}.");
inline constexpr Word one_result = word("result of the season is");
inline constexpr Word several_results = word("results of the season are");
inline constexpr Word in_doubt_by_control = word("{} in doubt by a control of their run, and count as they are.");
inline constexpr Word no_result_caution =
    word("No DON result in the store: nothing here is a content or a chance of exceeding a limit.");
inline constexpr Word no_mixing_caution = word("Over-limit grain is never brought under a limit by mixing.");
inline constexpr Word keep_apart = word("keep apart: {}");

// Ramps.
inline constexpr Word content_of_fields_ramp = word("DON, mg/kg (median)");
inline constexpr Word content_of_loads_ramp = word("DON of a load, mg/kg (median)");
inline constexpr Word ramp_low_end = word("≤ {}");
inline constexpr Word ramp_high_end = word("≥ {}");
inline constexpr Word ramp_limit = word("limit {}");
inline constexpr Word ramp_limit_off = word("limit {}, off this scale");
inline constexpr Word exceedance_ramp = word("Chance that the mean is over {} mg/kg");
inline constexpr Word exceedance_ramp_no_limit = word("Chance that the mean is over the limit");
inline constexpr Word ranking_ramp = word("Order of disease risk only");
inline constexpr Word ranking_last = word("last");
inline constexpr Word ranking_first = word("first");

// The map.
inline constexpr Word map_no_fields = word("There are no fields to show. Import their outlines first.");
inline constexpr Word map_frames = word("The fields lie far apart: each frame has its own scale.");
inline constexpr Word map_frame_lies = word("{}: {} km {} of {}");
inline constexpr Word directions[] = {word("north"), word("north-east"), word("east"), word("south-east"),
                                      word("south"), word("south-west"), word("west"), word("north-west")};
inline constexpr Word map_ranking_only = word(
    "There is no DON result in the store. This is an order by disease risk, not a content, and it says nothing about a "
    "limit.");
inline constexpr Word map_flat =
    word("pale rim: one colour for the field's mean; nothing is claimed about places inside it");
inline constexpr Word map_mapped = word("no pale rim: drawn from its samples, changes inside the field (kriging)");
inline constexpr Word map_flat_on_dark =
    word("dark rim: one colour for the field's mean; nothing is claimed about places inside it");
inline constexpr Word map_mapped_on_dark =
    word("no dark rim: drawn from its samples, changes inside the field (kriging)");
inline constexpr Word map_other_crop_on_dark = word("almost black: no wheat this season, so no number");
inline constexpr Word map_hatched = word("hatched: unsure; the 90 % interval spans more than a factor of {}");
inline constexpr Word map_untested = word("dashed outline: no test of its own");
inline constexpr Word map_unknown = word("grey: nothing known");
inline constexpr Word map_other_crop = word("almost white: no wheat this season, so no number");
inline constexpr Word map_no_weather = word("grey, wide lines: no flowering date or no weather, so no disease risk");
inline constexpr Word map_one_name_left_out = word("No room for {}");
inline constexpr Word map_names_left_out = word("{} names left out: zoom in");
inline constexpr Word map_key = word("No room for the name in the map");
inline constexpr Word map_key_line = word("{}  {}  {}");
inline constexpr Word map_key_more = word("and {} more");
inline constexpr Word map_contour = word("line inside a field: equal content, in mg/kg");
inline constexpr Word mark_value_coloured = word("test: content read, in its colour");
inline constexpr Word mark_value = word("test: content read");
inline constexpr Word mark_below = word("test: below the working range");
inline constexpr Word mark_above = word("test: above the working range");
inline constexpr Word mark_void = word("test: void");
inline constexpr Word named_sentence = word("{}: {}");
inline constexpr Word field_no_risk = word("no disease risk could be computed");
inline constexpr Word field_rank =
    word("number {} in the order of disease risk; no DON result, so nothing about a limit");
inline constexpr Word field_unknown = word("nothing known");
inline constexpr Word field_no_weather = word("no disease risk, missing: {}");
inline constexpr Word field_interval = word(" (90 % interval {})");
inline constexpr Word field_exceedance = word(", {} chance of lying over the limit");
inline constexpr Word field_no_test = word("no test of its own");

// The bins.
inline constexpr Word bins_none =
    word("There are no bins in the store. Add them with their capacity and purpose first.");
inline constexpr Word bins_interval =
    word("beside each layer: median and 90 % interval of its load, mg/kg (logarithmic)");
inline constexpr Word bins_limit = word("line: the bin's limit");
inline constexpr Word bins_hold = word("dashed bin: on hold, neither cleared nor over");
inline constexpr Word bins_lid = word("lid: closed, nothing more goes in (point at the bin: why)");
inline constexpr Word bin_heading = word("{}: {}");
inline constexpr Word bin_empty = word("empty, takes {}");
inline constexpr Word bin_overfull = word("{}, more than its {}");
inline constexpr Word bin_filled = word("{} of {}");
inline constexpr Word bin_planned = word("{} t of its room are planned for {}");
inline constexpr Word bin_planned_short = word("{} t planned: {}");
inline constexpr Word bin_now_interval = word("Now: mean {} ({})");
inline constexpr Word bin_then_interval = word("With what is planned: mean {} ({})");
inline constexpr Word bin_then_exceedance = word("{} chance of lying over it then");
inline constexpr Word bin_then_short = word("Planned: {} chance over, mean {}");
inline constexpr Word bin_on_hold_short = word("On hold");
inline constexpr Word bin_over_limit_short = word("{} chance over {}");
inline constexpr Word bin_unknown_short = word("Over {}: not known");
inline constexpr Word more_below = word("More below: Page Down");
inline constexpr Word bin_closed = word("Closed: {}");
inline constexpr Word bin_on_hold = word("On hold: neither cleared nor over");
inline constexpr Word bin_limit = word("Limit {} mg/kg");
inline constexpr Word bin_mean = word("Mean {}");
inline constexpr Word bin_mean_interval = word("Mean {} ({})");
inline constexpr Word bin_mean_unknown = word("Mean not known");
inline constexpr Word bin_exceedance = word("{} chance of lying over it");
inline constexpr Word bin_exceedance_unknown = word("Chance of lying over it not known");
inline constexpr Word bin_rejection = word("A buyer's test would read over with a chance of {}");
inline constexpr Word bin_rejection_planned = word("A buyer's test would then read over with a chance of {}");
inline constexpr Word bin_rejection_planned_short = word("Buyer over then: {}");
inline constexpr Word bin_draw_off_unknown =
    word("Nobody wrote in which order grain leaves it: first in first, last in first or mixed (draw_off of the bins)");
inline constexpr Word layer_opening = word("opening");
inline constexpr Word bin_rejection_short = word("Buyer over: {}");
inline constexpr Word bins_would_be = word("dashed layer: the load on the scale, where it would lie");
inline constexpr Word bin_mixed = word("{} loads, mixed");
inline constexpr Word bin_unnamed_layers = word("and {} more");
inline constexpr Word layer_sentence = word("{}: {}, {}");
inline constexpr Word layer_content = word("{} ({}) mg/kg");
inline constexpr Word layer_uncleared = word("Not cleared for this bin: {}");
inline constexpr Word layer_unknown = word("content not known");

// The ranking.
inline constexpr Word ranks_none =
    word("There is no field to rank: none has a crop record in this season, or all have been tested.");
inline constexpr Word ranks_risk_subtitle = word("Ranking by disease risk only. {}");
inline constexpr Word ranks_risk_note = word(
    "There is no DON result in the store. The order is that of disease risk; it is not a content and says nothing "
    "about a limit.");
inline constexpr Word ranks_risk = word("risk");
inline constexpr Word ranks_over = word("over limit");
inline constexpr Word ranks_tests = word("tests");
inline constexpr Word ranks_field = word("field");
inline constexpr Word ranks_why = word("why");
inline constexpr Word ranks_axis = word("DON of the field's mean, mg/kg (logarithmic)");
inline constexpr Word ranks_risk_axis = word("disease risk: chance of field severity of 10 % or more");
inline constexpr Word ranks_key = word("dot: median; thick: 50 % interval; thin: 90 % interval");
inline constexpr Word ranks_risk_key = word("dot: risk; line: its spread over the flowering date");
inline constexpr Word ranks_one_more = word("; 1 more field is not shown");
inline constexpr Word ranks_more = word("; {} more fields are not shown");

// The hours around flowering.
inline constexpr Word hours_none =
    word("There are no hours to show. The field needs a flowering date and weather around it.");
inline constexpr Word hours_what_is_missing = word(
    "Its weather around flowering cannot be shown. Missing: {} A flowering date in its crop record, and weather of "
    "these "
    "days, would show it.");
inline constexpr Word hours_unmeasured = word("No hour around flowering has both a temperature and a humidity.");
inline constexpr Word hours_information =
    word("Information only: weather as it was, with no threshold, no class and no word about a limit.");
inline constexpr Word hours_of_model = word("The model “{}” looks at the hours from {} to {} flowering.");
inline constexpr Word one_day_before = word("{} day before");
inline constexpr Word one_day_after = word("{} day after");
inline constexpr Word days_before = word("{} days before");
inline constexpr Word days_after = word("{} days after");
inline constexpr Word hours_in_window = word("an hour that the model looks at; the nearer to flowering, the stronger");
inline constexpr Word hours_wet = word("wet: rain in that hour");
inline constexpr Word hours_outside = word("an hour outside the model's days");
inline constexpr Word hours_temperature = word("temperature, °C");
inline constexpr Word hours_depression = word("dew-point depression, °C (0: the air is saturated)");
inline constexpr Word hours_bracket = word("days that the model looks at");
inline constexpr Word hours_days = word("days from flowering");
inline constexpr Word hours_days_and_rain = word("days from flowering; bars: rain of each hour, the highest {} mm");

// How a sampling plan judges lots.
inline constexpr Word title_acceptance = word("How often a lot is accepted");
inline constexpr Word subtitle_acceptance = word("Limit: {}; {} results about the content");
inline constexpr Word acceptance_none = word("There is no plan to show.");
inline constexpr Word acceptance_chance_axis = word("chance that the lot is accepted");
inline constexpr Word acceptance_content_axis = word("DON of the lot, mg/kg");
inline constexpr Word acceptance_limit = word("limit {} mg/kg");
inline constexpr Word acceptance_sellers_risk = word("seller’s risk: lots within the limit that are turned away");
inline constexpr Word acceptance_buyers_risk = word("buyer’s risk: lots over the limit that are accepted");
inline constexpr Word acceptance_allowed = word("allowed at that content: the curve has to pass through the bar");
inline constexpr Word acceptance_plan = word("this plan: {}");
inline constexpr Word acceptance_cheapest = word("the cheapest plan within both risks: {}");
// The charts of controls and duplicates.
inline constexpr Word title_control = word("Controls of the bench");
inline constexpr Word title_control_season = word("Controls of the bench, season {}");
inline constexpr Word subtitle_control = word("each control by kit lot, never joined across lots");
inline constexpr Word control_none = word("There is no control that was read twice and no duplicate to show.");
inline constexpr Word control_panel = word("Control {}, {}");
inline constexpr Word control_kit_lot = word("kit lot {}");
inline constexpr Word control_axis = word("DON, mg/kg");
inline constexpr Word control_readings_in_order = word("readings in their order");
inline constexpr Word control_runs_in_order = word("runs in their order, each the mean of {} readings");
inline constexpr Word control_line_sds = word("{}3 sd  {}");
inline constexpr Word control_line_centre = word("centre  {}");
inline constexpr Word control_line_assigned = word("assigned {}");
inline constexpr Word control_range = word("change");
inline constexpr Word control_range_of_run = word("range");
inline constexpr Word control_range_limit = word("limit  {}");
inline constexpr Word control_range_limit_factor = word("limit  × {}");
inline constexpr Word control_break = word("{}, {}, {} mg/kg: {}{}");
inline constexpr Word control_break_later = word(" (by limits set after it was read)");
inline constexpr Word control_read_once = word("Read once and not drawn: {}.");
inline constexpr Word control_one_reading = word("{}, {}: {} mg/kg on {} (assigned {}{})");
inline constexpr Word control_rule_beyond_three = word("one beyond 3 sd");
inline constexpr Word control_rule_two_of_three = word("two of three beyond 2 sd");
inline constexpr Word control_rule_four_of_five = word("four of five beyond 1 sd");
inline constexpr Word control_rule_one_side = word("{} in a row on one side");
inline constexpr Word control_rule_change = word("changed by more than the limit");
inline constexpr Word control_rule_range = word("range over its limit");
inline constexpr Word control_more_breaks = word("and {} more, in the table");
inline constexpr Word control_outside = word("outside the {} that is accepted");
inline constexpr Word control_key = word(
    "Full dot: sets the limits; open dot: does not; triangle: only known to lie below or above; what lies beyond 6 "
    "standard deviations stands at the edge. Ring and number: what stands beside it, so the results of its run are in "
    "doubt. Bracket at the left: what the control accepts. Dashed: 1, 2 and 3 standard deviations (sd). Lower strip: "
    "change from the reading before, or range within a run.");
inline constexpr Word control_duplicates = word("Duplicates: {}");
inline constexpr Word control_relative_difference = word("difference, % of the mean");
inline constexpr Word control_mean_of_both = word("mean of both, mg/kg (logarithmic)");
inline constexpr Word control_repeatability_limit = word("limit  {} %");

// What past seasons teach.
inline constexpr Word title_review = word("What season {} teaches");
inline constexpr Word title_review_seasons = word("What seasons {} to {} teach");
inline constexpr Word subtitle_review = word("Disease model: {}");
inline constexpr Word review_nothing = word("Nothing was found yet that risks or forecasts can be held against.");
inline constexpr Word review_reliability = word("Risk against scouted severity");
inline constexpr Word review_reliability_forecasts = word("Forecasts before a first result");
inline constexpr Word review_reliability_forecasts_knowing = word("Forecasts with results at hand");
inline constexpr Word review_reliability_afterwards = word("Made afterwards, before a first result");
inline constexpr Word review_reliability_afterwards_knowing = word("Made afterwards, with results at hand");
inline constexpr Word review_predicted = word("chance that was named");
inline constexpr Word review_observed = word("share that happened");
inline constexpr Word review_roc = word("Order of the fields");
inline constexpr Word review_roc_other = word("share of others at or over a risk");
inline constexpr Word review_roc_diseased = word("share of diseased fields");
inline constexpr Word review_no_chance = word("This model's number is no chance: it has an order only.");
inline constexpr Word review_no_scouting = word("No scouted severity to hold it against.");
inline constexpr Word review_no_order = word("It takes two diseased fields and two others.");
inline constexpr Word review_no_forecasts = word("No kept forecast was followed by a result.");
inline constexpr Word review_league = word("The models, by the order that they gave to the same fields");
inline constexpr Word review_league_differing = word("The models, by the order that they gave to the fields they know");
inline constexpr Word review_league_area = word("AUC: chance that a diseased field had the higher number");
inline constexpr Word review_league_fields = word("fields");
inline constexpr Word review_league_auc = word("AUC");
inline constexpr Word review_league_brier = word("Brier");
inline constexpr Word review_league_skill = word("skill");
inline constexpr Word review_league_interval = word("95 % over seasons");
inline constexpr Word review_league_don = word("DON AUC");
inline constexpr Word review_key = word(
    "Dots: fields of like chance, how many beside them; bars: 95 % interval as if fields were independent, which "
    "fields of one season are not. Dashed: a chance that means what it says; an order by lot. Thick curve: this model; "
    "thin: the others.");
inline constexpr Word review_key_league = word(
    "Dark lines in the table: 95 % interval of the AUC over seasons, for a year that nobody has seen; light lines "
    "below them: as if fields were independent (DeLong), too narrow.");
inline constexpr Word review_key_brier = word("Brier: mean square error of the chance, the lower the better.");
inline constexpr Word review_key_skill =
    word("Skill: how much of that error is less than by naming the share of the other seasons; 0: no better.");
inline constexpr Word review_key_bold = word(
    "Bold: the model that the risks go by. One with a higher AUC does not take its place by itself: the intervals say "
    "how "
    "little a few seasons tell, and whoever picks the best of many afterwards picks luck, too.");
inline constexpr Word review_key_few_seasons =
    word("Of fewer than three seasons no interval over seasons can be told: the light lines alone stand there.");
inline constexpr Word review_key_don =
    word("DON AUC: the order of fields against their own results, those over being {}.");

}  // namespace app::words
