#pragma once

#include "app/language.h"

/// The words of what stands beside the map and the order of tests: evidence, profile, zones, cards, seasons, number of
/// tests, walk. Part of app/words.h, by the same rules.
namespace app::words {

// What the map rests on.
inline constexpr Word title_evidence = word("What the map of season {} rests on");
inline constexpr Word subtitle_evidence =
    word("Are fields alike where they are near, are places alike within a field, and do results foretell one another?");
inline constexpr Word pairs_between = word("Between fields: how unlike, by distance");
inline constexpr Word pairs_within = word("Within fields: how unlike, by distance");
inline constexpr Word pairs_distance_km = word("distance between the two, km");
inline constexpr Word pairs_distance_m = word("distance between the two, m");
inline constexpr Word pairs_unlike = word("how unlike");
inline constexpr Word pairs_counts = word("{} whose results are a number, of all seasons up to this one; {} pairs");
inline constexpr Word pairs_bounds = word("; {} that only read below or above the range are not in it");
inline constexpr Word pairs_missing_between = word(
    "It takes {} pairs of tested fields of one season; so far there are {}, and {} more tested fields would give "
    "them.");
inline constexpr Word pairs_missing_within = word(
    "It takes {} pairs of tests from places of their own in one field; so far there are {}, and {} more such tests in "
    "one field would give them.");
inline constexpr Word one_place = word("place");
inline constexpr Word several_places = word("places");
inline constexpr Word verdict_between = word("Near fields alike? {}");
inline constexpr Word verdict_within = word("Structure within fields? {}");
inline constexpr Word title_foretold = word("Each result against what all others foretell");
inline constexpr Word foretold_axis = word("foretold by all others, mg/kg");
inline constexpr Word read_axis = word("read, mg/kg");
inline constexpr Word foretold_missing =
    word("It takes {} results of the season that are a number; there are {}: {} more tests.");
inline constexpr Word foretold_says = word(
    "{} of {} results ({}) lie within what the others foretell with a chance of 90 %. A typical miss is a factor of "
    "{}.");
inline constexpr Word foretold_bounds = word("{} more read only below or above the range: triangles.");
inline constexpr Word how_to_read = word("How to read it");
inline constexpr Word read_pairs = word(
    "First two: each dot is a class of pairs, its number how many; hollow: under 30, hardly anything. Height: half the "
    "mean "
    "squared difference of the logarithms; between fields after disease risk and how the field was kept are taken off. "
    "Where near pairs are alike, the dots rise with distance.");
inline constexpr Word read_error = word("Dashed: what testing and sampling alone would show at every distance.");
inline constexpr Word read_line = word(
    "Line: what the program takes for true. It weighs all results and every possible line, so a verdict may differ "
    "from "
    "what a few dots seem to say.");
inline constexpr Word read_foretold = word(
    "Third: every result with itself left out. Line through a dot: 90 % interval; dashed: read as foretold; full "
    "lines: "
    "the limit; ringed: outside what was foretold.");
inline constexpr Word tip_pairs =
    word("A variogram: how unlike two results are, by how far apart their places lie. Flat: nearness tells nothing.");
inline constexpr Word tip_foretold =
    word("Leave-one-out: the program forgets one result after the other and foretells it from all others.");

// A line over the map.
inline constexpr Word title_transect = word("Along the line from A to B: {}, over {}");
inline constexpr Word one_stretch = word("field");
inline constexpr Word several_stretches = word("fields");
inline constexpr Word transect_along_km = word("km from the first end (A)");
inline constexpr Word transect_along_m = word("m from the first end (A)");
inline constexpr Word transect_content = word("DON, mg/kg");
inline constexpr Word transect_key =
    word("Line: median; dark band: 50 %, pale band: 90 % of the chance. Between fields nothing is known.");
inline constexpr Word transect_by_surface = word("Where it bends, from the field's own samples.");
inline constexpr Word transect_by_mean = word("Where it is flat, the field's mean: nothing is claimed of places.");
inline constexpr Word transect_empty = word("The line crosses no field. Press two places on the map.");

// Beside what is pointed at.
inline constexpr Word card_content = word("DON of its mean: {} mg/kg, within {} with a chance of 90 %");
inline constexpr Word card_over = word("{} chance of lying over {} mg/kg");
inline constexpr Word one_own_test = word("test of its own");
inline constexpr Word several_own_tests = word("tests of its own");
inline constexpr Word card_working = word("What it rests on is being worked out ...");
inline constexpr Word card_rests_on = word("It rests on:");
inline constexpr Word card_first_step = word("{}: {} mg/kg");
inline constexpr Word card_step = word("{}: times {:.2f}, so {} mg/kg");
inline constexpr Word card_more_steps = word("{} more tests of its own");
inline constexpr Word card_place =
    word("At this place: {} mg/kg, within {} with a chance of 90 %; drawn from {} places");
inline constexpr Word card_test = word("Test {} of sample {}");
inline constexpr Word card_strip = word("Strip");
inline constexpr Word card_laboratory = word("Laboratory");
inline constexpr Word card_below = word("below {}");
inline constexpr Word card_above = word("above {}");
inline constexpr Word card_void = word("Void: {}");
inline constexpr Word card_read = word("{}: read {}");
inline constexpr Word card_stage = word(", {}");
inline constexpr Word card_by_itself = word("By itself: {} mg/kg, within {} with a chance of 90 %");
inline constexpr Word card_by_itself_below = word("By itself: under {} mg/kg with a chance of 95 %");
inline constexpr Word card_by_itself_above = word("By itself: over {} mg/kg with a chance of 95 %");
inline constexpr Word card_foretold = word("All other results foretold {} mg/kg ({})");
inline constexpr Word rests_on = word("What it rests on");
inline constexpr Word tip_rests_on =
    word("What the number would be step by step: by the disease risk alone, with the results of others, with its own.");

// Tools of the map.
inline constexpr Word tool_profile = word("Profile");
inline constexpr Word tool_evidence = word("Evidence");
inline constexpr Word tool_zones = word("Zones");
inline constexpr Word tip_profile = word(
    "Press two places on the map: the content along the line between them (key T; with Shift the arrows turn and move "
    "the line)");
inline constexpr Word tip_evidence =
    word("How unlike results are by distance, and how well they foretell one another (key E)");
inline constexpr Word tip_zones = word("Whether the chosen field is worth cutting in zones, and where (key Z)");
inline constexpr Word press_first_end = word("Press where the line begins");
inline constexpr Word press_second_end = word("Press where it ends");
inline constexpr Word evidence_working = word("What the map rests on is being gathered ...");
inline constexpr Word evidence_job = word("what the map rests on");
inline constexpr Word explaining_job = word("what {} rests on");
inline constexpr Word zones_job = word("zones of {}");
inline constexpr Word zones_working = word("The zones of {} are being weighed ...");
inline constexpr Word zones_choose = word("Choose a field on the map, or with N and P, to see its zones.");
inline constexpr Word zones_worth_of = word(
    "{}: to cut it in {} is worth {} ({} to {} with a chance of 90 %) against one cut; it pays with a chance of {}.");
inline constexpr Word zones_unit_tonnes = word("{} t");
inline constexpr Word zones_as_one = word("{} is cut as one: {}.");
inline constexpr Word zone_line = word("{}: {} mg/kg ({}), {} chance of lying over; {}");
inline constexpr Word zone_label = word("{} mg/kg");
inline constexpr Word zone_unknown = word("{}: no number");
inline constexpr Word zone_named = word("{} zone {}");
inline constexpr Word zones_stopped = word("Stopped. Key Z begins again.");
inline constexpr Word time_job = word("season {} ahead");
inline constexpr Word tip_time = word(
    "Another season (keys , and . step). A colour means the same content in every season. Full dot: worked out "
    "already");

// Of the order of tests.
inline constexpr Word budget = word("Tests you can make");
inline constexpr Word tip_budget = word(
    "Drag it, or press + and - (Left and Right, too, once it is chosen): which fields these tests go to and how "
    "far the expected loss falls");
inline constexpr Word budget_job = word("the order of {} tests");
inline constexpr Word budget_says = word("Expected loss {} without a test, {} with {}.");
inline constexpr Word budget_says_fewer =
    word("Expected loss {} without a test, {} with {}; the other {} of {} are not worth making.");
inline constexpr Word budget_says_one_fewer =
    word("Expected loss {} without a test, {} with {}; the last of {} is not worth making.");
inline constexpr Word budget_none = word("No test is worth it here.");
inline constexpr Word budget_working = word("working out the order of {} ...");
inline constexpr Word show_walk = word("Walk");
inline constexpr Word show_hours = word("Weather");
inline constexpr Word tip_hours =
    word("The hours around flowering of the chosen field (key W goes from one to the other)");
inline constexpr Word tip_walk = word("Where to take the sample of the chosen field, in order (key W)");
inline constexpr Word save_walk = word("Save: print, phone");
inline constexpr Word tip_save_walk = word(
    "Writes the walk of this field into the folder {}: a PDF page to print, with the way and labels for the bag, and "
    "GPX and GeoJSON for a phone (key X)");
inline constexpr Word save_walks = word("Save all {}: print, phone");
inline constexpr Word tip_save_walks = word(
    "Writes one PDF to print into the folder {}: the order of the fields with the reason of each, then a page with the "
    "walk of each field that is worth a test; and a map of all and a GPX file each for a phone (Shift and key X)");
inline constexpr Word list_content = word("DON, mg/kg (90 %)");
inline constexpr Word walk_job = word("the walk of {}");
inline constexpr Word walk_working = word("The walk is being laid ...");
// Two readings of one sample that cannot both be right, and a reading that lies far from the estimate.
inline constexpr Word readings_apart_low = word(
    "Tests {} ({}) and {} ({} mg/kg) of one sample do not agree; the estimate lies nearer the lower one. Look for a "
    "mix-up and test again.");
inline constexpr Word readings_apart_high = word(
    "Tests {} ({}) and {} ({} mg/kg) of one sample do not agree; the estimate lies nearer the higher one. Look for a "
    "mix-up and test again.");
inline constexpr Word readings_weighed = word(
    "Its own readings: {} mg/kg. The estimate weighs them all, and the results of other fields and the weather with "
    "them.");
// What counts for a field: "2 tests of the field, 2 of its loads".
inline constexpr Word no_test = word("no test");
inline constexpr Word tests_of_field_and_loads = word("{} of the field, {} of its loads");
inline constexpr Word ground_and_name = word("{}, {}");
inline constexpr Word part_and_name = word("{} ({})");
inline constexpr Word walk_saved = word("Written to {}: {}");

}  // namespace app::words
