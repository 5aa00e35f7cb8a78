// What a fit of the contamination model costs: seconds, and what they are spent on.
//   bench_contamination_fit [threads = all] [tested field-seasons, alone = none] [most joined = as usual]
// 60 fields in 3 seasons with 100 results, with places and without; 24 results; then every field of three seasons
// tested. Beyond 1,500 tested field-seasons the most probable parameters stand alone; a season with more tested fields
// than are joined is cut into groups of near ones, and the last line says what that costs.
#include <charconv>
#include <chrono>
#include <cmath>
#include <cstring>
#include <ctime>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "models/contamination/contamination.h"
#include "models/contamination/layout.h"
#include "models/contamination/parameter_integral.h"
#include "models/memory.h"
#include "tests/support/season_simulator.h"

namespace {

using namespace models;

struct Case {
    const char* name;
    int fields, tests_a_season;
    bool placed;
};

/// Seasons of the simulator with the fields of each on a lattice that is a little out of line, 30 km across.
ContaminationInput input_of(const Case& of) {
    season_simulator::World world;
    world.fields = of.fields;
    world.tests = world.past_tests = of.tests_a_season;
    const season_simulator::SimulatedSeasons s = season_simulator::simulate(world, 3);
    ContaminationInput input;
    const int across = static_cast<int>(std::ceil(std::sqrt(of.fields)));
    for (std::size_t y = 0; y < s.risk_logit.size(); ++y) {
        for (int f = 0; f < of.fields; ++f) {
            FieldSeason& entry = input.field_seasons.emplace_back();
            entry.field = "F" + std::to_string(f);
            entry.season = static_cast<int>(y);
            entry.risk_logit = s.risk_logit[y][static_cast<std::size_t>(f)];
            const double step = 30000.0 / across;
            if (of.placed)
                entry.place_m = PointM{step * (f % across + 0.3 * std::sin(7.0 * f)),
                                       step * (f / across + 0.3 * std::cos(11.0 * f))};
        }
    }
    for (const season_simulator::Reading& r : s.readings) {
        AssayResult& result = input.results.emplace_back();
        result.test = "T" + std::to_string(input.results.size());
        result.sample = input.samples.size();
        result.reading = r.side < 0 ? Reading::below : r.side > 0 ? Reading::above : Reading::value;
        result.don_mg_per_kg = r.mg_per_kg;
        GrainSample& sample = input.samples.emplace_back();
        sample.sample = "S" + std::to_string(input.samples.size());
        sample.index = static_cast<std::size_t>(r.season * of.fields + r.field);
        sample.increments = world.increments;
    }
    return input;
}

/// Wall and processor seconds of some work.
template <typename Work>
std::pair<double, double> seconds_of(const Work& work) {
    const auto start = std::chrono::steady_clock::now();
    const std::clock_t cpu = std::clock();
    work();
    return {std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count(),
            static_cast<double>(std::clock() - cpu) / CLOCKS_PER_SEC};
}

void study(const Case& of, int threads, int most_joined) {
    const ContaminationInput input = input_of(of);
    ContaminationSettings settings;
    settings.threads = threads;
    settings.most_joined_fields = most_joined;
    std::optional<ContaminationModel> model;
    const auto [wall, cpu] = seconds_of([&] { model = fit_contamination(input, {}, settings); });
    const auto [say_wall, say_cpu] = seconds_of([&] {
        for (std::size_t i = 0; i < input.field_seasons.size(); ++i)
            if (input.field_seasons[i].season == 2) (void)model->field_season(i);
    });
    const auto [explain_wall, explain_cpu] = seconds_of([&] { (void)model->explain(input.samples.back().index); });
    const Learnt& learnt = model->learnt();
    fmt::print("{:<28} {:>7} {:>7} {:>8.2f} {:>8.2f} {:>8.2f} {:>8.2f} {:>6} {:>9.0f} {:>9}\n", of.name,
               input.field_seasons.size(), input.results.size(), wall, cpu, say_cpu, explain_cpu, learnt.rounds,
               learnt.effective_points, learnt.unsettled);
    const contamination::Layout layout(input, {}, settings);
    std::size_t largest = 0;
    contamination::Parameters joined;
    joined.region_sd = of.placed ? 1.0 : 0.0;
    for (const contamination::Layout::Block& block : layout.blocks(joined))
        largest = std::max(largest, block.bundles.size());
    contamination::Linearisation at = layout.first_linearisation();
    contamination::ParameterIntegral found;
    const auto [search_wall, search_cpu] =
        seconds_of([&] { found = contamination::integrate(layout, layout.dimensions(), at, {}); });
    fmt::print(
        "    the integral alone {:.2f} s ({:.2f} s of processors): {} propagations, {} sweeps, {} points kept; "
        "largest factor {} x {}\n",
        search_wall, search_cpu, found.propagations, found.sweeps, found.points.size(), largest, largest);
    if (learnt.groups)
        fmt::print(
            "    {} groups of at most {}; at {} fields the median differs by {:.2g} % at most ({:.2g} %), the width "
            "by {:.2g} % ({:.2g} %)\n",
            learnt.groups->groups, learnt.groups->largest, learnt.groups->fields_checked,
            100.0 * learnt.groups->median_most, 100.0 * learnt.groups->median_middle, 100.0 * learnt.groups->width_most,
            100.0 * learnt.groups->width_middle);
    for (const Learnt::Parameter& parameter : learnt.parameters)
        fmt::print("    {} {:.4g}", parameter.name, parameter.mean);
    fmt::print("\n");
}

int number_or(const char* text, int otherwise) {
    int value = otherwise;
    std::from_chars(text, text + std::strlen(text), value);
    return value;
}

}  // namespace

int main(int argc, char** argv) {
    models::keep_freed_memory();
    const int threads = argc > 1 ? number_or(argv[1], 0) : 0;
    const int tested = argc > 2 ? number_or(argv[2], 0) : 0;
    fmt::print("{:<28} {:>7} {:>7} {:>8} {:>8} {:>8} {:>8} {:>6} {:>9} {:>9}\n", "case", "fields", "results", "fit s",
               "cpu s", "say s", "explain", "rounds", "effective", "unsettled");
    const int usual = ContaminationSettings{}.most_joined_fields;
    const int most_joined = argc > 3 ? number_or(argv[3], usual) : usual;
    if (tested > 0) {
        study({"every field tested, places", tested / 3, tested / 3, true}, threads, most_joined);
        return 0;
    }
    study({"100 results, places", 60, 33, true}, threads, most_joined);
    study({"100 results, no places", 60, 33, false}, threads, most_joined);
    study({"24 results, places", 60, 8, true}, threads, most_joined);
    return 0;
}
