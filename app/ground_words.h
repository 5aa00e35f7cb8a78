#pragma once

/// The words of what stands beside the map and the order of tests: evidence, profile, zones, cards, seasons, number of
/// tests, walk. Part of app/words.h, by the same rules.
namespace app::words {

// What the map rests on.
inline constexpr const char* title_evidence = "What the map of season {} rests on";
inline constexpr const char* subtitle_evidence =
    "Are fields alike where they are near, are places alike within a field, and do results foretell one another?";
inline constexpr const char* pairs_between = "Between fields: how unlike, by distance";
inline constexpr const char* pairs_within = "Within fields: how unlike, by distance";
inline constexpr const char* pairs_distance_km = "distance between the two, km";
inline constexpr const char* pairs_distance_m = "distance between the two, m";
inline constexpr const char* pairs_unlike = "how unlike";
inline constexpr const char* pairs_counts = "{} with a number, {} pairs";
inline constexpr const char* pairs_bounds = "; {} that only read below or above the range are not in it";
inline constexpr const char* pairs_missing_between =
    "It takes {} pairs of tested fields of one season; so far there are {}, and {} more tested fields would give them.";
inline constexpr const char* pairs_missing_within =
    "It takes {} pairs of tests from places of their own in one field; so far there are {}, and {} more such tests in "
    "one field would give them.";
inline constexpr const char* one_place = "place";
inline constexpr const char* several_places = "places";
inline constexpr const char* verdict_between = "Near fields alike? {}";
inline constexpr const char* verdict_within = "Structure within fields? {}";
inline constexpr const char* title_foretold = "Each result against what all others foretell";
inline constexpr const char* foretold_axis = "foretold by all others, mg/kg";
inline constexpr const char* read_axis = "read, mg/kg";
inline constexpr const char* foretold_missing =
    "It takes {} results of the season that are a number; there are {}: {} more tests.";
inline constexpr const char* foretold_says =
    "{} of {} results ({}) lie within what the others foretell with a chance of 90 %. A typical miss is a factor of "
    "{}.";
inline constexpr const char* foretold_bounds = "{} more read only below or above the range: triangles.";
inline constexpr const char* how_to_read = "How to read it";
inline constexpr const char* read_pairs =
    "First two: each dot is a class of pairs, its number how many; hollow: under 30, hardly anything. Height: half the "
    "mean "
    "squared difference of the logarithms; between fields after disease risk and how the field was kept are taken off. "
    "Where near pairs are alike, the dots rise with distance.";
inline constexpr const char* read_error = "Dashed: what testing and sampling alone would show at every distance.";
inline constexpr const char* read_line =
    "Line: what the program takes for true. It weighs all results and every possible line, so a verdict may differ "
    "from "
    "what a few dots seem to say.";
inline constexpr const char* read_foretold =
    "Third: every result with itself left out. Line through a dot: 90 % interval; dashed: read as foretold; full "
    "lines: "
    "the limit; ringed: outside what was foretold.";
inline constexpr const char* tip_pairs =
    "A variogram: how unlike two results are, by how far apart their places lie. Flat: nearness tells nothing.";
inline constexpr const char* tip_foretold =
    "Leave-one-out: the program forgets one result after the other and foretells it from all others.";

// A line over the map.
inline constexpr const char* title_transect = "Along the line from A to B: {}, over {}";
inline constexpr const char* one_stretch = "field";
inline constexpr const char* several_stretches = "fields";
inline constexpr const char* transect_along_km = "km from the first end (A)";
inline constexpr const char* transect_along_m = "m from the first end (A)";
inline constexpr const char* transect_content = "DON, mg/kg";
inline constexpr const char* transect_key =
    "Line: median; dark band: 50 %, pale band: 90 % of the chance. Between fields nothing is known.";
inline constexpr const char* transect_by_surface = "Where it bends, from the field's own samples.";
inline constexpr const char* transect_by_mean = "Where it is flat, the field's mean: nothing is claimed of places.";
inline constexpr const char* transect_empty = "The line crosses no field. Press two places on the map.";

// Beside what is pointed at.
inline constexpr const char* card_content = "DON of its mean: {} mg/kg, within {} with a chance of 90 %";
inline constexpr const char* card_over = "{} chance of lying over {} mg/kg";
inline constexpr const char* one_own_test = "test of its own";
inline constexpr const char* several_own_tests = "tests of its own";
inline constexpr const char* card_working = "What it rests on is being worked out ...";
inline constexpr const char* card_rests_on = "It rests on:";
inline constexpr const char* card_first_step = "{}: {} mg/kg";
inline constexpr const char* card_step = "{}: times {:.2f}, so {} mg/kg";
inline constexpr const char* card_more_steps = "{} more tests of its own";
inline constexpr const char* card_place =
    "At this place: {} mg/kg, within {} with a chance of 90 %; drawn from {} places";
inline constexpr const char* card_test = "Test {} of sample {}";
inline constexpr const char* card_strip = "Strip";
inline constexpr const char* card_laboratory = "Laboratory";
inline constexpr const char* card_below = "below {}";
inline constexpr const char* card_above = "above {}";
inline constexpr const char* card_void = "Void: {}";
inline constexpr const char* card_read = "{}: read {}";
inline constexpr const char* card_stage = ", {}";
inline constexpr const char* card_by_itself = "By itself: {} mg/kg, within {} with a chance of 90 %";
inline constexpr const char* card_by_itself_below = "By itself: under {} mg/kg with a chance of 95 %";
inline constexpr const char* card_by_itself_above = "By itself: over {} mg/kg with a chance of 95 %";
inline constexpr const char* card_foretold = "All other results foretold {} mg/kg ({})";
inline constexpr const char* rests_on = "What it rests on";
inline constexpr const char* tip_rests_on =
    "What the number would be step by step: by the disease risk alone, with the results of others, with its own. The "
    "same as: lodicule map STORE --explain FIELD";

// Tools of the map.
inline constexpr const char* tool_profile = "Profile";
inline constexpr const char* tool_evidence = "Evidence";
inline constexpr const char* tool_zones = "Zones";
inline constexpr const char* tip_profile =
    "Press two places on the map: the content along the line between them (key T; with Shift the arrows turn and move "
    "the line)";
inline constexpr const char* tip_evidence =
    "How unlike results are by distance, and how well they foretell one another (key E)";
inline constexpr const char* tip_zones = "Whether the chosen field is worth cutting in zones, and where (key Z)";
inline constexpr const char* press_first_end = "Press where the line begins";
inline constexpr const char* press_second_end = "Press where it ends";
inline constexpr const char* evidence_working = "What the map rests on is being gathered ...";
inline constexpr const char* evidence_job = "what the map rests on";
inline constexpr const char* explaining_job = "what {} rests on";
inline constexpr const char* zones_job = "zones of {}";
inline constexpr const char* zones_working = "The zones of {} are being weighed ...";
inline constexpr const char* zones_choose = "Choose a field on the map, or with N and P, to see its zones.";
inline constexpr const char* zones_worth_of =
    "{}: to cut it in {} is worth {} ({} to {} with a chance of 90 %) against one cut; it pays with a chance of {}.";
inline constexpr const char* zones_unit_tonnes = "{} t";
inline constexpr const char* zones_as_one = "{} is cut as one: {}.";
inline constexpr const char* zone_line = "{}: {} mg/kg ({}), {} chance of lying over; {}";
inline constexpr const char* zone_label = "{} mg/kg";
inline constexpr const char* zone_unknown = "{}: no number";
inline constexpr const char* zones_stopped = "Stopped. Key Z begins again.";
inline constexpr const char* time_job = "season {} ahead";
inline constexpr const char* tip_time =
    "Another season (keys , and . step). A colour means the same content in every season. Full dot: worked out already";

// Of the order of tests.
inline constexpr const char* budget = "Tests you can make";
inline constexpr const char* tip_budget =
    "Drag it, or press + and -: which fields these tests go to and how far the expected loss falls";
inline constexpr const char* budget_job = "the order of {} tests";
inline constexpr const char* budget_says = "Expected loss {} without a test, {} with {}; {} worth making.";
inline constexpr const char* budget_none = "No test is worth it here.";
inline constexpr const char* budget_working = "working out the order of {} ...";
inline constexpr const char* show_walk = "Walk";
inline constexpr const char* show_hours = "Hours";
inline constexpr const char* tip_walk = "Where to take the sample of the chosen field, in order (key W)";
inline constexpr const char* save_walk = "Save for the phone";
inline constexpr const char* tip_save_walk =
    "Writes the walk as GPX, GeoJSON and PDF with labels into the folder {} (key X)";
inline constexpr const char* walk_job = "the walk of {}";
inline constexpr const char* walk_working = "The walk is being laid ...";
inline constexpr const char* walk_saved = "Written to {}: {}";

}  // namespace app::words
