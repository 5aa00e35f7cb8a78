#include "tests/bench/honesty/worlds.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <set>
#include <stdexcept>

#include <fmt/format.h>

#include "models/assay/error_variance.h"
#include "models/assay/kit_lot_effect.h"
#include "models/decision/test_order.h"

namespace honesty {

using models::Assumption;
using season_simulator::Placement;
using season_simulator::SimulatedSeasons;
using season_simulator::World;

namespace {

/// Figures as #, so that what is told of many seasons can be counted.
std::string without_figures(const std::string& sentence) {
    std::string kind;
    for (std::size_t i = 0; i < sentence.size(); ++i) {
        const auto digit = [&](std::size_t at) { return at < sentence.size() && std::isdigit(sentence[at]) != 0; };
        if (!digit(i)) {
            kind += sentence[i];
            continue;
        }
        while (digit(i + 1) || (i + 2 < sentence.size() && sentence[i + 1] == '.' && digit(i + 2))) ++i;
        kind += '#';
    }
    return kind;
}

/// What the table of results says of the season's kit lot, where controls tell that it does not read true.
std::optional<std::string> lot_that_is_off(const SimulatedSeasons& s, const season_simulator::WrittenDown& written) {
    std::vector<models::KitLotComparison> comparisons;
    for (const season_simulator::Reading& r : s.controls) {
        if (r.side != 0) continue;
        models::KitLotComparison one;
        one.against = "control C1";
        one.strip_mg_per_kg = r.mg_per_kg;
        one.reference_log_variance = std::log1p(0.03 * 0.03);
        one.reference_mg_per_kg = written.control_mg_per_kg * std::exp(-0.5 * one.reference_log_variance);
        const models::RelativeVariance v = models::relative_variance(written.control_mg_per_kg, {454.0, 25.0, 1});
        one.strip_log_variance = std::log1p(v.preparation + v.analysis);
        comparisons.push_back(one);
    }
    if (comparisons.empty()) return std::nullopt;
    const models::KitLotEffect effect =
        models::kit_lot_effect("K1", comparisons, models::ContaminationPriors{}.lot_sd_scale);
    if (std::abs(effect.log_mean) < 1.6448536269514722 * std::sqrt(effect.log_variance)) return std::nullopt;
    return effect.says;
}

std::vector<std::string> what_is_told(const models::ContaminationModel& model, const SimulatedSeasons& s,
                                      const season_simulator::WrittenDown& written) {
    std::set<std::string> kinds;
    for (const std::string& note : model.learnt().notes) kinds.insert(without_figures(note));
    if (const auto lot = lot_that_is_off(s, written)) kinds.insert("results: " + without_figures(*lot));
    return {kinds.begin(), kinds.end()};
}

/// Which assumptions are doubted, and which a line under the table (or a note that is there anyway) speaks of.
void tell_doubts(const std::vector<models::Doubt>& doubts, Record& record) {
    std::string lines;
    for (const std::string& line : models::warnings_of(doubts)) lines += line + "\n";
    for (const models::Doubt& doubt : doubts) {
        const bool is_doubted = doubt.state == models::DoubtState::doubted;
        const std::string& says = is_doubted ? doubt.sentence : doubt.in_short;
        if (is_doubted) record.doubted.push_back(models::name_of(doubt.what));
        if ((is_doubted && doubt.said_elsewhere) || (!says.empty() && lines.find(says) != std::string::npos))
            record.warned.push_back(models::name_of(doubt.what));
    }
}

/// The fields that `first` would have tested, before any of the season's tests.
std::vector<int> programs_order(World world, int tests, std::uint64_t seed, const OffWorld& off,
                                const models::ContaminationSettings& settings) {
    world.tests = 0;
    const SimulatedSeasons s = season_simulator::simulate(world, seed);
    const models::ContaminationModel model =
        models::fit_contamination(season_simulator::input_of(s, off.written), {}, settings);
    models::TestOrderProblem problem;
    const auto first = static_cast<Eigen::Index>(world.past_seasons * world.fields);
    problem.draws_mg_per_kg = model.draws(2000, 1).middleCols(first, world.fields);
    for (int f = 0; f < world.fields; ++f) {
        problem.fields.emplace_back().field = std::to_string(f);
        problem.fields.back().tonnes = 100.0;
    }
    problem.limit.limit_mg_per_kg = limit_mg_per_kg;
    problem.law = model.reading_law({});
    problem.costs.wrong_acceptance_per_t = wrong_acceptance;
    problem.costs.wrong_rejection_per_t = 1.0;
    problem.tests = tests;
    std::vector<int> order;
    for (const models::RankedField& field : models::order_of_tests(problem).fields) {
        int f = 0;
        std::from_chars(field.field.data(), field.field.data() + field.field.size(), f);
        order.push_back(f);
    }
    return order;
}

}  // namespace

std::string Cell::name() const {
    return tests == 0 ? "0" : fmt::format("{} {}", tests, placement);
}

std::vector<Cell> study_cells() {
    std::vector<Cell> cells{{0, ""}};
    for (const int tests : {5, 10, 20, 40})
        for (const char* placement : {"random", "worst-first"}) cells.push_back({tests, placement});
    return cells;
}

Cell cell_named(const std::string& name) {
    Cell cell;
    const char* end = name.data() + name.size();
    const auto [at, error] = std::from_chars(name.data(), end, cell.tests);
    if (error == std::errc() && at != end && *at == '-') cell.placement.assign(at + 1, end);
    const std::set<std::string> placements{"random", "worst-first", "own-order", "looks-bad"};
    const bool whole = cell.tests == 0 ? at == end : placements.count(cell.placement) > 0;
    if (error != std::errc() || cell.tests < 0 || !whole)
        throw std::runtime_error(
            fmt::format("\"{}\" is no cell; write 0, 20-random, 20-worst-first, 20-own-order or 20-looks-bad", name));
    return cell;
}

World assumed_world() {
    World world;
    world.region_sd_high = 0.8;
    return world;
}

std::vector<OffWorld> off_worlds() {
    std::vector<OffWorld> worlds;
    const auto add = [&](const char* name, std::vector<Assumption> breaks, const char* says, const auto& spoil) {
        OffWorld& off = worlds.emplace_back(OffWorld{name, says, assumed_world(), {}, std::move(breaks)});
        spoil(off);
    };
    add("lot", {Assumption::kit_lot}, "the season's kit lot reads 35 % high, no control was read",
        [](OffWorld& o) { o.world.lot_bias = std::log(1.35); });
    add("lot-controls", {Assumption::kit_lot}, "the same, and 4 strips of a control were read", [](OffWorld& o) {
        o.world.lot_bias = std::log(1.35);
        o.world.controls = 4;
    });
    add("free", {Assumption::low_results, Assumption::no_outliers}, "a fifth of the fields has no DON at all",
        [](OffWorld& o) { o.world.free_share = 0.2; });
    add("heavy-tails", {Assumption::no_outliers}, "field effects of a Student law of 3 degrees of freedom",
        [](OffWorld& o) { o.world.heavy_tails = true; });
    add("no-effect", {Assumption::risk_effect}, "the risk has no effect",
        [](OffWorld& o) { o.world.slope_low = o.world.slope_high = 0.0; });
    add("bent", {Assumption::straight_effect}, "the effect of the risk is bent",
        [](OffWorld& o) { o.world.bent_slope = 0.3; });
    add("stage", {Assumption::stage}, "all tests of the season from standing heads, which read 50 % more",
        [](OffWorld& o) {
            o.world.standing_share = 1.0;
            o.world.standing_offset = std::log(1.5);
        });
    add("dates", {Assumption::risk_dates, Assumption::season_effect, Assumption::season_spread},
        "flowering dates told 6 days late, and 4 days wrong a field", [](OffWorld& o) {
            o.world.date_shift_days = 6.0;
            o.world.date_error_days = 4.0;
        });
    add("weather", {Assumption::risk_weather, Assumption::season_effect},
        "weather of a station 60 km outside the district", [](OffWorld& o) {
            o.world.weather_from_m = 60000.0;
            o.written.risk_weather_km = 60.0;
        });
    add("hidden", {Assumption::reason}, "fields that look bad are tested, and nobody writes why", [](OffWorld& o) {
        o.world.placement = Placement::looks_bad;
        o.written.chosen_because = models::ChosenBecause::unknown;  // what an empty cell is imported as
    });
    add("hidden-lied", {Assumption::reason},
        "fields that look bad are tested, and they are recorded as drawn at random",
        [](OffWorld& o) { o.world.placement = Placement::looks_bad; });
    add("hidden-told", {Assumption::reason}, "fields that look bad are tested, and that is recorded", [](OffWorld& o) {
        o.world.placement = Placement::looks_bad;
        o.written.chosen_because = models::ChosenBecause::looked_bad;
    });
    add("within", {Assumption::increments}, "contents within a field are alike over 80 m, increments from one walk",
        [](OffWorld& o) { o.world.within_range_m = 80.0; });
    return worlds;
}

Record study_season(std::uint64_t seed, const Cell& cell, const OffWorld& off, bool with_exact,
                    const models::ContaminationSettings& settings) {
    World world = off.world;
    world.tests = cell.tests;
    if (cell.placement == "worst-first") world.placement = Placement::worst_first;
    if (cell.placement == "looks-bad") world.placement = Placement::looks_bad;
    if (cell.placement == "own-order") {
        world.order = programs_order(world, cell.tests, seed, off, settings);
        world.placement = Placement::given;
    }
    const SimulatedSeasons s = season_simulator::simulate(world, seed);
    const models::ContaminationInput input = season_simulator::input_of(s, off.written);
    const auto first = static_cast<std::size_t>(world.past_seasons * world.fields);
    Record record;
    record.seed = seed;
    record.world = off.name;
    record.placement = cell.placement;
    record.tests = cell.tests;
    record.season_sd = s.season_sd;
    record.field_sd = s.field_sd;
    record.region_sd = s.region_sd;
    record.range_km = s.region_range_m / 1000.0;
    record.slope = s.slope;
    const models::ContaminationModel model = models::fit_contamination(input, {}, settings);
    record.ours.add(model, s.content_mg_per_kg.back(), first);
    record.notes = what_is_told(model, s, off.written);
    tell_doubts(model.learnt().doubts, record);
    record.region_supported = model.learnt().region && model.learnt().region->supported;
    record.effective = model.learnt().effective_points;
    record.unsettled = model.learnt().unsettled;
    if (with_exact)
        record.exact.emplace().add(models::fit_contamination(input, season_simulator::truth_of(s), settings),
                                   s.content_mg_per_kg.back(), first);
    return record;
}

}  // namespace honesty
