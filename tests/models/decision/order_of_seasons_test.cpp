#include <algorithm>

#include <catch2/catch.hpp>

#include "tests/support/placed_tests.h"

using season_simulator::TestedSeason;
using season_simulator::WayOfTesting;

namespace {

constexpr double limit_of_seasons = 1.0,
                 taken_wrongly = 4.0;  // the limit in mg/kg; a tonne turned away wrongly costs 1

struct SeasonLoss {
    double found = 0.0;     ///< fields, a tonne each, held against their true contents
    double expected = 0.0;  ///< as the model itself expects it
};

SeasonLoss loss_after(TestedSeason& season, const std::vector<int>& tested) {
    const models::ContaminationModel& model = season.after(tested);
    SeasonLoss loss;
    for (std::size_t f = 0; f < season.truth().place.size(); ++f) {
        const double p = *model.exceedance(season.first_index() + f, limit_of_seasons);
        const bool over = season.truth().content_mg_per_kg.back()[f] > limit_of_seasons;
        const bool taken = taken_wrongly * p < 1.0 - p;
        loss.found += taken ? (over ? taken_wrongly : 0.0) : (over ? 0.0 : 1.0);
        loss.expected += std::min(taken_wrongly * p, 1.0 - p);
    }
    return loss;
}

}  // namespace

TEST_CASE("tests placed by first five at a time lose less than random ones in eight simulated seasons") {
    // How much less is what bench_decisions measures, over many more seasons.
    models::ContaminationSettings settings;
    settings.points = 64;
    settings.enough_effective = 8.0;
    SeasonLoss first, random;
    for (std::uint64_t seed = 0; seed < 8; ++seed) {
        season_simulator::World world;
        world.region_sd_high = 0.8;
        TestedSeason season(world, 3000 + seed, limit_of_seasons, taken_wrongly, settings);
        const std::vector<int> by_first = season.fields_tested({WayOfTesting::By::value, 5}, 20);
        const std::vector<int> by_chance = season.fields_tested({WayOfTesting::By::random}, 20);
        REQUIRE(by_first.size() == 20);
        REQUIRE(by_chance.size() == 20);
        const SeasonLoss a = loss_after(season, by_first), b = loss_after(season, by_chance);
        first.found += a.found, first.expected += a.expected;
        random.found += b.found, random.expected += b.expected;
    }
    CHECK(first.found < random.found);
    CHECK(first.expected < random.expected);
}

TEST_CASE("a field of a simulated season reads the same whoever chose it") {
    season_simulator::World world;
    world.fields = 12;
    world.past_tests = 4;
    const TestedSeason season(world, 5, limit_of_seasons, taken_wrongly);
    const auto reading_of = [&](const std::vector<int>& tested, int field) {
        const models::ContaminationInput input = season.input_after(tested);
        for (const models::AssayResult& result : input.results) {
            const models::GrainSample& sample = input.samples[result.sample];
            if (sample.index == season.first_index() + static_cast<std::size_t>(field)) return result.don_mg_per_kg;
        }
        return 0.0;
    };
    const double alone = reading_of({7}, 7);
    CHECK(alone > 0.0);
    CHECK(reading_of({3, 7, 1}, 7) == alone);
    CHECK(reading_of({7, 0, 2, 9}, 7) == alone);
    const season_simulator::Reading* among_all = nullptr;
    for (const season_simulator::Reading& reading : season.truth().readings)
        if (reading.season == world.past_seasons && reading.field == 7) among_all = &reading;
    REQUIRE(among_all != nullptr);
    CHECK(among_all->mg_per_kg == alone);
}
