#include "tests/bench/decisions/ways.h"

#include <charconv>
#include <map>
#include <stdexcept>

#include <fmt/format.h>

#include "tests/bench/honesty/worlds.h"

namespace decisions {

using season_simulator::TestedSeason;
using season_simulator::WayOfTesting;

std::vector<Way> study_ways() {
    std::vector<Way> ways;
    for (const char* name :
         {"none", "random", "worst-first", "suspect-by-5", "first", "first-by-5", "first-by-5-without-costs"})
        ways.push_back(way_named(name));
    return ways;
}

Way way_named(const std::string& name) {
    static const std::map<std::string, WayOfTesting::By> known{{"random", WayOfTesting::By::random},
                                                               {"worst-first", WayOfTesting::By::risk},
                                                               {"suspect", WayOfTesting::By::chance},
                                                               {"first", WayOfTesting::By::value}};
    Way way{name, name != "none", {}};
    if (!way.tests) return way;
    std::string rest = name;
    if (constexpr const char* ending = "-without-costs"; rest.ends_with(ending)) {
        rest.resize(rest.size() - std::string(ending).size());
        way.how.knows_costs = false;
    }
    bool whole = true;
    if (const std::size_t by = rest.find("-by-"); by != std::string::npos) {
        const char* const end = rest.data() + rest.size();
        const auto [at, error] = std::from_chars(rest.data() + by + 4, end, way.how.batch);
        whole = error == std::errc() && at == end && way.how.batch > 0;
        rest.resize(by);
    }
    const auto found = known.find(rest);
    const bool meant = way.how.knows_costs || rest == "first";  // nobody else asks what a mistake costs
    if (!whole || !meant || found == known.end())
        throw std::runtime_error(
            fmt::format("\"{}\" is no way of placing tests; write none, random, worst-first, "
                        "suspect or first, with -by-5 for five at a time; first also with "
                        "-without-costs behind it",
                        name));
    way.how.by = found->second;
    return way;
}

std::vector<honesty::Record> study_season(std::uint64_t seed, const std::vector<Way>& ways, int tests,
                                          const models::ContaminationSettings& settings) {
    TestedSeason season(honesty::assumed_world(), seed, honesty::limit_mg_per_kg, honesty::wrong_acceptance, settings);
    const season_simulator::SimulatedSeasons& truth = season.truth();
    std::vector<honesty::Record> records;
    for (const Way& way : ways) {
        honesty::Record& record = records.emplace_back();
        record.seed = seed;
        record.world = "assumed";
        record.placement = way.name;
        record.tests = way.tests ? tests : 0;
        record.season_sd = truth.season_sd;
        record.field_sd = truth.field_sd;
        record.region_sd = truth.region_sd;
        record.range_km = truth.region_range_m / 1000.0;
        record.slope = truth.slope;
        const models::ContaminationModel& model = season.after(season.fields_tested(way.how, record.tests));
        record.ours.add(model, truth.content_mg_per_kg.back(), season.first_index());
        record.effective = model.learnt().effective_points;
        record.unsettled = model.learnt().unsettled;
    }
    return records;
}

}  // namespace decisions
