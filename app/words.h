#pragma once

/// Every word that is drawn, in the window and in the figures of pictures, PDF and report, in one place: who translates
/// or mends a sentence finds it here; cautions stand in app/cautions.h, what only the map's tools and the order of
/// tests say in app/ground_words.h, what the pit says in app/pit_words.h. {} stands for a number, a name or another
/// sentence, in this order. Sentences that speak of one field, load or limit come with its numbers from the workflow;
/// refusals stand where they are thrown.
namespace app::words {

// The bar above every room.
inline constexpr const char* room_where_first = "Where first?";
inline constexpr const char* room_bench = "What does it read?";
inline constexpr const char* room_contamination = "How is it?";
inline constexpr const char* room_bins = "Which bin?";
inline constexpr const char* room_seasons = "What did we learn?";
inline constexpr const char* tip_where_first = "The fields in the order in which a test is worth most (key 1)";
inline constexpr const char* tip_bench = "Strips one after another: clocks, results, controls (key 2)";
inline constexpr const char* tip_contamination = "Contamination over the fields, and how sure that is (key 3)";
inline constexpr const char* tip_bins = "The trucks that wait, the bins, and where the next load goes (key 4)";
inline constexpr const char* tip_seasons =
    "What was foretold against what was found, and a field over the years (key 5)";
inline constexpr const char* season = "Season";
inline constexpr const char* limit = "Limit";
inline constexpr const char* limit_chosen_by_number = "{} mg/kg";
inline constexpr const char* limit_chosen_by_name = "{} ({} mg/kg)";
inline constexpr const char* limit_of_list = "{}   {} mg/kg   {}";
inline constexpr const char* limit_unconfirmed = "from memory: check it";
inline constexpr const char* own_limit = "Own limit, mg/kg";
inline constexpr const char* take_own_limit = "Take it";
inline constexpr const char* limits_in_force = "In force for this season's grain";
inline constexpr const char* all_limits = "All limits ({} more)";
inline constexpr const char* fewer_limits = "Fewer limits";
inline constexpr const char* other_limits = "Of other grain, other goods or other years";
inline constexpr const char* limits_of_bins = "Limits of the bins, mg/kg: {}";
inline constexpr const char* own_limits_of_bins = "Each bin by its own limit";
inline constexpr const char* no_limits_of_bins = "No bin names a limit";
inline constexpr const char* tip_limits_of_bins =
    "Each bin goes by the limit that it names; the limit chosen in the other rooms changes nothing here but colours";

// The line below every room.
inline constexpr const char* line_of_answer = "{}   season {}   {}";
inline constexpr const char* line_of_bins = "{}   season {}   each bin by its own limit";
inline constexpr const char* limit_by_number = "limit {} mg/kg";
inline constexpr const char* limit_by_name = "limit {} ({} mg/kg)";
inline constexpr const char* stop = "Stop";
inline constexpr const char* idle = "Ready   F1: keys";
inline constexpr const char* working_out_season = "working out season {}";
inline constexpr const char* reading_again = "reading season {} again";
inline constexpr const char* store_has_changed = "The store has changed: F5 reads it again";
inline constexpr const char* fetching_hours = "hours around flowering";
inline constexpr const char* seconds_left = ", {:.0f} s left";
inline constexpr const char* stopped = "Stopped. What is shown is the answer before.";
inline constexpr const char* still_season = "season {}";
inline constexpr const char* still = "Still season {}, {}: working out {}";

// What was done in this sitting.
inline constexpr const char* history_title = "Done in this sitting";
inline constexpr const char* history_none = "Nothing was done yet that could be taken back.";
inline constexpr const char* history_undo = "Undo: {}";
inline constexpr const char* history_redo = "Redo: {}";
inline constexpr const char* history_taken_back = "Taken back: {}";
inline constexpr const char* history_done_again = "Done again: {}";
inline constexpr const char* history_refused = "Not taken back, {}: {}";
inline constexpr const char* history_refused_again = "Not done again, {}: {}";
inline constexpr const char* history_is_undone = "{} (taken back)";
inline constexpr const char* history_passed = "something else was done since";
inline constexpr const char* history_record_back =
    "A record is taken back by another record, and both stay in the chain. Ctrl+Z once more, or the button, does it.";
inline constexpr const char* history_record_again =
    "It will stand again, by one more record. Ctrl+Y once more, or the button, does it.";
inline constexpr const char* history_do_undo = "Take it back";
inline constexpr const char* history_do_redo = "Do it again";
inline constexpr const char* history_reason_back = "taken back in the window";
inline constexpr const char* history_reason_again = "done again in the window";
inline constexpr const char* history_open = "F3: what was done in this sitting";
inline constexpr const char* history_result_waits = "the result that waits for its yes";
inline constexpr const char* done_room = "room “{}” entered";
inline constexpr const char* done_season = "season {} chosen";
inline constexpr const char* done_limit = "{} chosen";
inline constexpr const char* done_field = "field {} chosen";
inline constexpr const char* done_no_field = "no field chosen";
inline constexpr const char* done_layer = "map shows “{}”";
inline constexpr const char* done_theme = "theme {}";
inline constexpr const char* done_unit = "contents in {}";
inline constexpr const char* done_scale = "size of text changed";

// How it is shown.
inline constexpr const char* looks_open = "View (F2)";
inline constexpr const char* looks_title = "How it is shown";
inline constexpr const char* looks_theme = "Colours";
inline constexpr const char* looks_unit = "Contents in";
inline constexpr const char* looks_scale = "Size of text";
inline constexpr const char* looks_scale_by_screen = "by the screen";
inline constexpr const char* looks_percent = "{} %";
inline constexpr const char* looks_note =
    "Reasons, verdicts and the bench stay in mg/kg and say so: that is what is recorded.";
inline constexpr const char* theme_light = "light";
inline constexpr const char* theme_dark = "dark";
inline constexpr const char* theme_outdoor = "outdoor";
inline constexpr const char* bench_came_back =
    "This was typed before the window was closed and is not recorded: Enter takes it, Esc drops it";

// What the keys do.
inline constexpr const char* keys_title = "Keys";
inline constexpr const char* keys[][2] = {
    {"1  2  3  4  5", "enter a room; from the bench, where numbers are typed, with Alt"},
    {"S  L", "choose the season, the limit; arrows and Enter in the list, Esc closes it"},
    {"numbers", "in the list of limits: a limit of one's own, mg/kg, and Enter"},
    {"N  P", "next and previous field, of the order, the map or the past seasons; at the pit, truck"},
    {"R  B  X  T", "at the pit: it goes where advised, into another bin, away; a sample of it. Each only asks"},
    {"F9 held", "at the pit: yes to what is asked, after a second; Esc: no"},
    {"F  W  E", "at the pit: find a truck by its code; other limits and prices; type in what is asked, Tab: the next"},
    {"Page Up, Page Down", "scroll the left side, with Shift the right side; at the pit the other way round"},
    {"arrows", "move the map"},
    {"+  -  0", "zoom the map, show all of it"},
    {"G", "where fields lie far apart: the next group of them"},
    {"C  V", "colour the map by content, by the chance of being over"},
    {"B", "map: a picture of your own behind it, on and off"},
    {"T  E  Z", "map: a profile along a line, what the map rests on, zones of the chosen field; again: the map alone"},
    {"Shift, arrows", "map with a profile: turn the line, move it"},
    {",  .", "map: the season before, the next one"},
    {"+  -", "where first: one test more or less to be made"},
    {"W  X", "where first: the walk of the chosen field, and save it"},
    {"F5", "read the store again; done by itself soon after something was recorded"},
    {"Esc", "stop what is being worked out"},
    {"Ctrl+Z  Ctrl+Y", "take back what was done last, do it again; a record asks first (also Ctrl+Shift+Z)"},
    {"F2", "colours, unit of contents, size of text"},
    {"Ctrl  +  -  0", "larger and smaller text, by the screen"},
    {"F3", "what was done in this sitting"},
    {"F1", "show and hide this"},
    {"Ctrl+Q", "close the window"}};

// The contamination room.
inline constexpr const char* show_content = "DON content";
inline constexpr const char* show_exceedance = "Chance over";
inline constexpr const char* whole_map = "Whole map";
inline constexpr const char* tip_whole_map = "All fields into view (key 0). Drag to move, turn the wheel to zoom";
inline constexpr const char* next_group = "Next group";
inline constexpr const char* tip_next_group =
    "{} groups of fields lie far from one another: one after the other (key G)";
inline constexpr const char* groups_lie_apart = "{} groups far apart";
inline constexpr const char* no_fields =
    "The store has no outlines of fields. Import them: lodicule import STORE fields FILE";
inline constexpr const char* disease_risk = "Disease risk {}";
inline constexpr const char* risk_extrapolated = "{}, extrapolated: {}";

// The room of the order of tests.
inline constexpr const char* rank = "#";
inline constexpr const char* field = "Field";
inline constexpr const char* content = "DON, mg/kg (bar 50 %, line 90 %)";
inline constexpr const char* chance_over = "Chance over";
inline constexpr const char* over = "Over";
inline constexpr const char* gain = "Gain, t";
inline constexpr const char* gain_money = "Gain";
inline constexpr const char* tests = "Tests";
inline constexpr const char* not_worth_a_test = "not worth it";
inline constexpr const char* test_its_loads = "test its loads";
inline constexpr const char* risk = "Risk";
inline constexpr const char* why = "Why";
inline constexpr const char* choose_a_field = "Choose a field on the left to see its hours around flowering.";
inline constexpr const char* content_of_row = "{} mg/kg ({})";
inline constexpr const char* chosen_field = "{}. {}";
inline constexpr const char* content_of_field =
    "DON of the field's mean {} mg/kg, nine tenths of the chance lie within {} mg/kg.";
inline constexpr const char* risk_of_field = "Disease risk {}. {}";
inline constexpr const char* risk_with_spread =
    "Disease risk {} ({} to {} over the flowering date and what is missing). {}";
inline constexpr const char* risk_extrapolated_too = "{} Extrapolated: {}.";
inline constexpr const char* tested_and_not_listed = "{} has {} and is not in the list.";
inline constexpr const char* not_listed = "{} is not in the list.";
inline constexpr const char* not_listed_because = "{} is not in the list: {}";
inline constexpr const char* one_test = "test";
inline constexpr const char* several_tests = "tests";
inline constexpr const char* one_field = "field";
inline constexpr const char* several_fields = "fields";
inline constexpr const char* one_bin = "bin";
inline constexpr const char* several_bins = "bins";
inline constexpr const char* one_load_waits = "load waits";
inline constexpr const char* several_loads_wait = "loads wait";

// The room of the bench.
inline constexpr const char* bench_prompt = "Scan a sample, or type; help lists the words";
inline constexpr const char* bench_typed = "> {}";
inline constexpr const char* bench_scanned = "> {} (scanned)";
inline constexpr const char* bench_refused = "Not done: {}.";
inline constexpr const char* bench_yes = "Yes, record it";
inline constexpr const char* bench_no = "No, drop it";
inline constexpr const char* bench_stays = "the bench stays here; choose another room above";
inline constexpr const char* bench_clocks = "Strips that run";
inline constexpr const char* bench_no_clocks = "No strip is running. The code of a sample starts one.";
inline constexpr const char* bench_more_clocks = "{} more, started later";
inline constexpr const char* bench_strip = "{}   strip {}   kit lot {}";
inline constexpr const char* bench_no_lot = "not said";
inline constexpr const char* bench_in_hand = "in hand, {}";
inline constexpr const char* bench_last = "Last tests, mg/kg";
inline constexpr const char* bench_no_last = "No test is recorded yet.";
inline constexpr const char* bench_test = "test";
inline constexpr const char* bench_sample = "sample";
inline constexpr const char* bench_reads = "reads";
inline constexpr const char* bench_interval = "90 % interval";
inline constexpr const char* bench_parts = "What the uncertainty of {} comes from";
inline constexpr const char* bench_part = "{} {:.0f} %";
inline constexpr const char* part_sampling = "sampling";
inline constexpr const char* part_preparation = "preparation";
inline constexpr const char* part_assay = "strip and curve";
inline constexpr const char* part_shared = "shared by the lot";
inline constexpr const char* bench_best_step = "{} would narrow it most.";
inline constexpr const char* bench_failed_control = "this control failed";
inline constexpr const char* bench_in_doubt = "in doubt by a control of its run";

// The room of past seasons.
inline constexpr const char* looking_back = "looking back on the seasons";
inline constexpr const char* reading_years = "a field over the years";
inline constexpr const char* seasons_choose_a_field =
    "Choose a field in another room, or with N and P, to see its years.";
inline constexpr const char* seasons_of_field = "Field {} over the years";
inline constexpr const char* seasons_step = "N and P: the next and the previous field";
inline constexpr const char* seasons_no_content = "no DON known";
inline constexpr const char* seasons_tests = "tests {}";
inline constexpr const char* seasons_over = "chance over {}";
inline constexpr const char* seasons_severity = "severity {:.1f} %";
inline constexpr const char* seasons_key =
    "DON of what the field delivered, mg/kg (logarithmic): bar 50 %, line 90 % of the chance; dashed: the limit, {}. "
    "By "
    "all results up to the season shown above.";

// While something is worked out.
inline constexpr const char* working = "Working ...";
inline constexpr const char* nothing_yet = "The season is being worked out.";

// Numbers. Sentences that say mg/kg are drawn with the unit that is chosen (app/drawing/content_unit.h).
inline constexpr const char* unit_mg_per_kg = "mg/kg";
inline constexpr const char* unit_ug_per_kg = "µg/kg";
inline constexpr const char* unit_ppm = "ppm";
inline constexpr const char* unit_ppb = "ppb";
inline constexpr const char* mg_per_kg = "{} mg/kg";
inline constexpr const char* from_to = "{} to {}";
inline constexpr const char* under_one_percent = "under 1 %";
inline constexpr const char* over_99_percent = "over 99 %";
inline constexpr const char* under_one_percent_short = "< 1 %";
inline constexpr const char* over_99_percent_short = "> 99 %";
inline constexpr const char* kilometres = "{} km";
inline constexpr const char* metres = "{} m";
inline constexpr const char* north = "N";

// Titles and what stands below them.
inline constexpr const char* title_ranking = "Disease risk as an order, season {}";
inline constexpr const char* title_exceedance = "Chance of being over the limit, season {}";
inline constexpr const char* title_content = "Contamination with DON, season {}";
inline constexpr const char* title_order = "Which field first, season {}";
inline constexpr const char* title_bins = "What is where, season {}";
inline constexpr const char* title_hours = "Hours around flowering: {}, {}";
inline constexpr const char* subtitle_map = "Of {}: {}";
inline constexpr const char* title_zones = "Zones to cut apart, season {}";
inline constexpr const char* subtitle_zones = "{} of {}, along lines that a combine drives or by parts";
inline constexpr const char* zones_worth = "Worth of zones is {}.";
inline constexpr const char* one_zone = "zone";
inline constexpr const char* several_zones = "zones";
inline constexpr const char* subtitle_ranking = "{}, no result";
inline constexpr const char* subtitle_bins = "{} in {}, from the recorded moves; {}";
inline constexpr const char* subtitle_hours = "flowering {} ({})";
inline constexpr const char* observed = "observed";
inline constexpr const char* estimated = "estimated";
inline constexpr const char* estimated_from = "most likely day, estimated {}, ±{:.0f} days";
inline constexpr const char* and_unconfirmed = ", unconfirmed";
inline constexpr const char* hours_station = "; station {}, {:.1f} km away";
inline constexpr const char* hours_no_date =
    "The flowering date is neither recorded nor can it be estimated, so there is no window to look at.";
inline constexpr const char* hours_coverage = "{:.0f} % of the hours that the model asks for were measured.";
inline constexpr const char* limit_sentence = "Limit: {}";
inline constexpr const char* limit_from_memory = " (from memory: check the number before you rely on it)";
inline constexpr const char* verdict = "Structure within fields: {}.";
inline constexpr const char* one_result = "result of the season is";
inline constexpr const char* several_results = "results of the season are";
inline constexpr const char* in_doubt_by_control = "{} in doubt by a control of their run, and count as they are.";
inline constexpr const char* no_result_caution =
    "No DON result in the store: nothing here is a content or a chance of exceeding a limit.";
inline constexpr const char* no_mixing_caution = "Over-limit grain is never brought under a limit by mixing.";
inline constexpr const char* keep_apart = "keep apart: {}";

// Ramps.
inline constexpr const char* content_of_fields_ramp = "DON, mg/kg (median)";
inline constexpr const char* content_of_loads_ramp = "DON of a load, mg/kg (median)";
inline constexpr const char* ramp_low_end = "≤ {}";
inline constexpr const char* ramp_high_end = "≥ {}";
inline constexpr const char* ramp_limit = "limit {}";
inline constexpr const char* ramp_limit_off = "limit {}, off this scale";
inline constexpr const char* exceedance_ramp = "Chance that the mean is over {} mg/kg";
inline constexpr const char* exceedance_ramp_no_limit = "Chance that the mean is over the limit";
inline constexpr const char* ranking_ramp = "Order of disease risk only";
inline constexpr const char* ranking_last = "last";
inline constexpr const char* ranking_first = "first";

// The map.
inline constexpr const char* map_no_fields = "There are no fields to show. Import their outlines first.";
inline constexpr const char* map_frames = "The fields lie far apart: each frame has its own scale.";
inline constexpr const char* map_frame_lies = "{}: {} km {} of {}";
inline constexpr const char* directions[] = {"north", "north-east", "east", "south-east",
                                             "south", "south-west", "west", "north-west"};
inline constexpr const char* map_ranking_only =
    "There is no DON result in the store. This is an order by disease risk, not a content, and it says nothing about a "
    "limit.";
inline constexpr const char* map_flat =
    "pale rim: one colour for the field's mean; nothing is claimed about places inside it";
inline constexpr const char* map_mapped = "no pale rim: drawn from its samples, changes inside the field (kriging)";
inline constexpr const char* map_flat_on_dark =
    "dark rim: one colour for the field's mean; nothing is claimed about places inside it";
inline constexpr const char* map_mapped_on_dark =
    "no dark rim: drawn from its samples, changes inside the field (kriging)";
inline constexpr const char* map_other_crop_on_dark = "almost black: no wheat this season, so no number";
inline constexpr const char* map_hatched = "hatched: unsure; the 90 % interval spans more than a factor of {}";
inline constexpr const char* map_untested = "dashed outline: no test of its own";
inline constexpr const char* map_unknown = "grey: nothing known";
inline constexpr const char* map_other_crop = "almost white: no wheat this season, so no number";
inline constexpr const char* map_no_weather = "grey, wide lines: no flowering date or no weather, so no disease risk";
inline constexpr const char* map_one_name_left_out = "No room for the name of {}";
inline constexpr const char* map_names_left_out = "{} names left out: zoom in";
inline constexpr const char* map_key = "No room for the name in the map";
inline constexpr const char* map_key_line = "{}  {}  {}";
inline constexpr const char* map_key_more = "and {} more";
inline constexpr const char* map_contour = "line inside a field: equal content, in mg/kg";
inline constexpr const char* mark_value_coloured = "test: content read, in its colour";
inline constexpr const char* mark_value = "test: content read";
inline constexpr const char* mark_below = "test: below the working range";
inline constexpr const char* mark_above = "test: above the working range";
inline constexpr const char* mark_void = "test: void";
inline constexpr const char* named_sentence = "{}: {}";
inline constexpr const char* field_no_risk = "no disease risk could be computed";
inline constexpr const char* field_rank =
    "number {} in the order of disease risk; no DON result, so nothing about a limit";
inline constexpr const char* field_unknown = "nothing known";
inline constexpr const char* field_no_weather = "no disease risk, missing: {}";
inline constexpr const char* field_interval = " (90 % interval {})";
inline constexpr const char* field_exceedance = ", {} chance of lying over the limit";
inline constexpr const char* field_no_test = "no test of its own";

// The bins.
inline constexpr const char* bins_none =
    "There are no bins in the store. Add them with their capacity and purpose first.";
inline constexpr const char* bins_interval =
    "beside each layer: median and 90 % interval of its load, mg/kg (logarithmic)";
inline constexpr const char* bins_limit = "line: the bin's limit";
inline constexpr const char* bins_hold = "dashed bin: on hold, neither cleared nor over";
inline constexpr const char* bin_heading = "{}: {}";
inline constexpr const char* bin_empty = "empty, takes {}";
inline constexpr const char* bin_overfull = "{}, more than its {}";
inline constexpr const char* bin_filled = "{} of {}";
inline constexpr const char* bin_coming = "Next: {}";
inline constexpr const char* bin_on_hold_short = "On hold";
inline constexpr const char* bin_over_limit_short = "{} chance over {}";
inline constexpr const char* bin_unknown_short = "Over {}: not known";
inline constexpr const char* more_below = "More below: Page Down";
inline constexpr const char* bin_closed = "Closed: {}";
inline constexpr const char* bin_on_hold = "On hold: neither cleared nor over";
inline constexpr const char* bin_limit = "Limit {} mg/kg";
inline constexpr const char* bin_mean = "Mean {}";
inline constexpr const char* bin_mean_interval = "Mean {} ({})";
inline constexpr const char* bin_mean_unknown = "Mean not known";
inline constexpr const char* bin_exceedance = "{} chance of lying over it";
inline constexpr const char* bin_exceedance_unknown = "Chance of lying over it not known";
inline constexpr const char* bin_rejection = "A buyer's test would read over with a chance of {}, as planned";
inline constexpr const char* bin_rejection_short = "Buyer over: {}";
inline constexpr const char* bins_would_be = "dashed layer: the load on the scale, where it would lie";
inline constexpr const char* bin_mixed = "{} loads, mixed";
inline constexpr const char* bin_unnamed_layers = "and {} thin ones";
inline constexpr const char* layer_sentence = "{}: {}, {}";
inline constexpr const char* layer_content = "{} ({}) mg/kg";
inline constexpr const char* layer_unknown = "content not known";

// The ranking.
inline constexpr const char* ranks_none =
    "There is no field to rank: none has a crop record in this season, or all have been tested.";
inline constexpr const char* ranks_risk_subtitle = "Ranking by disease risk only. {}";
inline constexpr const char* ranks_risk_note =
    "There is no DON result in the store. The order is that of disease risk; it is not a content and says nothing "
    "about a limit.";
inline constexpr const char* ranks_risk = "risk";
inline constexpr const char* ranks_over = "over limit";
inline constexpr const char* ranks_tests = "tests";
inline constexpr const char* ranks_field = "field";
inline constexpr const char* ranks_why = "why";
inline constexpr const char* ranks_axis = "DON of the field's mean, mg/kg (logarithmic)";
inline constexpr const char* ranks_risk_axis = "disease risk: chance of field severity of 10 % or more";
inline constexpr const char* ranks_key = "dot: median; thick: 50 % interval; thin: 90 % interval";
inline constexpr const char* ranks_risk_key = "dot: risk; line: its spread over the flowering date";
inline constexpr const char* ranks_one_more = "; 1 more field is not shown";
inline constexpr const char* ranks_more = "; {} more fields are not shown";

// The hours around flowering.
inline constexpr const char* hours_none =
    "There are no hours to show. The field needs a flowering date and weather around it.";
inline constexpr const char* hours_unmeasured = "No hour around flowering has both a temperature and a humidity.";
inline constexpr const char* hours_information =
    "Information only: weather as it was, with no threshold, no class and no word about a limit.";
inline constexpr const char* hours_of_model = "The model “{}” looks at the hours from {} to {} flowering.";
inline constexpr const char* one_day_before = "{} day before";
inline constexpr const char* one_day_after = "{} day after";
inline constexpr const char* days_before = "{} days before";
inline constexpr const char* days_after = "{} days after";
inline constexpr const char* hours_in_window = "an hour that the model looks at; the nearer to flowering, the stronger";
inline constexpr const char* hours_wet = "wet: rain in that hour";
inline constexpr const char* hours_outside = "an hour outside the model's days";
inline constexpr const char* hours_temperature = "temperature, °C";
inline constexpr const char* hours_depression = "dew-point depression, °C (0: the air is saturated)";
inline constexpr const char* hours_bracket = "days that the model looks at";
inline constexpr const char* hours_days = "days from flowering";
inline constexpr const char* hours_days_and_rain = "days from flowering; bars: rain of each hour, the highest {} mm";

// How a sampling plan judges lots.
inline constexpr const char* title_acceptance = "How often a lot is accepted";
inline constexpr const char* subtitle_acceptance = "Limit: {}; {} results about the content";
inline constexpr const char* acceptance_none = "There is no plan to show.";
inline constexpr const char* acceptance_chance_axis = "chance that the lot is accepted";
inline constexpr const char* acceptance_content_axis = "DON of the lot, mg/kg";
inline constexpr const char* acceptance_limit = "limit {} mg/kg";
inline constexpr const char* acceptance_sellers_risk = "seller’s risk: lots within the limit that are turned away";
inline constexpr const char* acceptance_buyers_risk = "buyer’s risk: lots over the limit that are accepted";
inline constexpr const char* acceptance_allowed = "allowed at that content: the curve has to pass through the bar";
inline constexpr const char* acceptance_plan = "this plan: {}";
inline constexpr const char* acceptance_cheapest = "the cheapest plan within both risks: {}";
// The charts of controls and duplicates.
inline constexpr const char* title_control = "Controls of the bench";
inline constexpr const char* title_control_season = "Controls of the bench, season {}";
inline constexpr const char* subtitle_control = "each control by kit lot, never joined across lots";
inline constexpr const char* control_none = "There is no control that was read twice and no duplicate to show.";
inline constexpr const char* control_panel = "Control {}, {}";
inline constexpr const char* control_kit_lot = "kit lot {}";
inline constexpr const char* control_axis = "DON, mg/kg";
inline constexpr const char* control_readings_in_order = "readings in their order";
inline constexpr const char* control_runs_in_order = "runs in their order, each the mean of {} readings";
inline constexpr const char* control_line_sds = "{}3 sd  {}";
inline constexpr const char* control_line_centre = "centre  {}";
inline constexpr const char* control_line_assigned = "assigned {}";
inline constexpr const char* control_range = "change";
inline constexpr const char* control_range_of_run = "range";
inline constexpr const char* control_range_limit = "limit  {}";
inline constexpr const char* control_range_limit_factor = "limit  × {}";
inline constexpr const char* control_break = "{}, {}, {} mg/kg: {}{}";
inline constexpr const char* control_break_later = " (by limits set after it was read)";
inline constexpr const char* control_read_once = "Read once and not drawn: {}.";
inline constexpr const char* control_one_reading = "{}, {}: {} mg/kg on {} (assigned {}{})";
inline constexpr const char* control_rule_beyond_three = "one beyond 3 sd";
inline constexpr const char* control_rule_two_of_three = "two of three beyond 2 sd";
inline constexpr const char* control_rule_four_of_five = "four of five beyond 1 sd";
inline constexpr const char* control_rule_one_side = "{} in a row on one side";
inline constexpr const char* control_rule_change = "changed by more than the limit";
inline constexpr const char* control_rule_range = "range over its limit";
inline constexpr const char* control_more_breaks = "and {} more, in the table";
inline constexpr const char* control_outside = "outside the {} that is accepted";
inline constexpr const char* control_key =
    "Full dot: sets the limits; open dot: does not; triangle: only known to lie below or above; what lies beyond 6 "
    "standard deviations stands at the edge. Ring and number: what stands beside it, so the results of its run are in "
    "doubt. Bracket at the left: what the control accepts. Dashed: 1, 2 and 3 standard deviations (sd). Lower strip: "
    "change from the reading before, or range within a run.";
inline constexpr const char* control_duplicates = "Duplicates: {}";
inline constexpr const char* control_relative_difference = "difference, % of the mean";
inline constexpr const char* control_mean_of_both = "mean of both, mg/kg (logarithmic)";
inline constexpr const char* control_repeatability_limit = "limit  {} %";

// What past seasons teach.
inline constexpr const char* title_review = "What season {} teaches";
inline constexpr const char* title_review_seasons = "What seasons {} to {} teach";
inline constexpr const char* subtitle_review = "Disease model: {}";
inline constexpr const char* review_nothing = "Nothing was found yet that risks or forecasts can be held against.";
inline constexpr const char* review_reliability = "Risk against scouted severity";
inline constexpr const char* review_reliability_forecasts = "Forecasts before a first result";
inline constexpr const char* review_reliability_forecasts_knowing = "Forecasts with results at hand";
inline constexpr const char* review_reliability_afterwards = "Made afterwards, before a first result";
inline constexpr const char* review_reliability_afterwards_knowing = "Made afterwards, with results at hand";
inline constexpr const char* review_predicted = "chance that was named";
inline constexpr const char* review_observed = "share that happened";
inline constexpr const char* review_roc = "Order of the fields";
inline constexpr const char* review_roc_other = "share of the other fields at or over a risk";
inline constexpr const char* review_roc_diseased = "share of diseased fields";
inline constexpr const char* review_no_chance = "This model's number is no chance: it has an order only.";
inline constexpr const char* review_no_scouting = "No scouted severity to hold it against.";
inline constexpr const char* review_no_order = "It takes two diseased fields and two others.";
inline constexpr const char* review_no_forecasts = "No kept forecast was followed by a result.";
inline constexpr const char* review_league = "The models, by the order that they gave to the same fields";
inline constexpr const char* review_league_differing =
    "The models, by the order that they gave to the fields they know";
inline constexpr const char* review_league_area = "AUC: chance that a diseased field had the higher number";
inline constexpr const char* review_league_fields = "fields";
inline constexpr const char* review_league_auc = "AUC";
inline constexpr const char* review_league_brier = "Brier";
inline constexpr const char* review_league_skill = "skill";
inline constexpr const char* review_league_interval = "95 % over seasons";
inline constexpr const char* review_league_don = "DON AUC";
inline constexpr const char* review_key =
    "Dots: fields of like chance, how many beside them; bars: 95 % interval as if fields were independent, which "
    "fields of one season are not. Dashed: a chance that means what it says; an order by lot. Thick curve: this model; "
    "thin: the others.";
inline constexpr const char* review_key_league =
    "Dark lines in the table: 95 % interval of the AUC over seasons, for a year that nobody has seen; light lines "
    "below them: as if fields were independent (DeLong), too narrow. Brier: mean square error of the chance; skill: "
    "against the share of the other seasons.";
inline constexpr const char* review_key_few_seasons =
    "Of fewer than three seasons no interval over seasons can be told: the light lines alone stand there.";
inline constexpr const char* review_key_don =
    "DON AUC: the order of fields against their own results, those over being {}.";

}  // namespace app::words
