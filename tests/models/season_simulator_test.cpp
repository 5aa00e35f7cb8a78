// The simulated seasons are what they say they are. Tolerances are four standard errors of what is averaged, so that a
// right simulator fails one time in 16,000; seeds are fixed.
#include "tests/support/season_simulator.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <set>
#include <vector>

#include <catch2/catch.hpp>

using namespace season_simulator;

namespace simulator_claims {

/// Mean of values that are independent of one another, and its standard error.
struct Mean {
    double n = 0.0, sum = 0.0, squares = 0.0;
    void add(double x) { n += 1.0, sum += x, squares += x * x; }
    double mean() const { return sum / n; }
    double error() const { return std::sqrt((squares / n - mean() * mean()) / (n - 1.0)); }
};

double correlation(const std::vector<double>& a, const std::vector<double>& b) {
    Mean of_a, of_b, of_product;
    for (std::size_t i = 0; i < a.size(); ++i) of_a.add(a[i]), of_b.add(b[i]), of_product.add(a[i] * b[i]);
    return (of_product.mean() - of_a.mean() * of_b.mean()) /
           std::sqrt((of_a.squares / of_a.n - of_a.mean() * of_a.mean()) *
                     (of_b.squares / of_b.n - of_b.mean() * of_b.mean()));
}

/// All standard deviations fixed, so that effects can be told apart.
World plain_world() {
    World world;
    world.season_sd_low = world.season_sd_high = 0.5;
    world.field_sd_low = world.field_sd_high = 0.4;
    world.slope_low = world.slope_high = 0.9;
    world.within_sd_low = world.within_sd_high = 0.4;
    return world;
}

/// Field effects in units of their standard deviation, all seasons.
std::vector<double> field_effects(const World& world, const SimulatedSeasons& s) {
    std::vector<double> effects;
    for (std::size_t y = 0; y < s.content_mg_per_kg.size(); ++y)
        for (std::size_t f = 0; f < s.place.size(); ++f) {
            const double l = s.acting_risk_logit[y][f] + 1.0;
            effects.push_back((std::log(s.content_mg_per_kg[y][f]) - s.level - s.slope * l - world.bent_slope * l * l -
                               s.season_effect[y] - s.regional_effect[y][f]) /
                              s.field_sd);
        }
    return effects;
}

}  // namespace simulator_claims
using namespace simulator_claims;

TEST_CASE("simulated regional effects are alike as far as their exponential range says and no farther") {
    World world;
    world.region_sd_low = world.region_sd_high = 0.6;
    world.region_range_low_m = world.region_range_high_m = 10000.0;
    world.tests = world.past_tests = 0;
    const std::array<double, 7> ends_m{0.0, 1500.0, 4000.0, 8000.0, 15000.0, 25000.0, 45000.0};
    std::array<Mean, 6> apart;  // of product less what it should be, a season each
    Mean own, between_seasons;
    for (std::uint64_t seed = 0; seed < 300; ++seed) {
        const SimulatedSeasons s = simulate(world, seed);
        std::array<Mean, 6> of_seed;
        Mean variance, across;
        for (std::size_t y = 0; y < 3; ++y)
            for (std::size_t i = 0; i < 60; ++i) {
                const double effect = s.regional_effect[y][i];
                variance.add(effect * effect);
                across.add(effect * s.regional_effect[(y + 1) % 3][i]);
                for (std::size_t j = 0; j < i; ++j) {
                    const double h = std::hypot(s.place[i].x_m - s.place[j].x_m, s.place[i].y_m - s.place[j].y_m);
                    const auto bin = std::upper_bound(ends_m.begin(), ends_m.end(), h) - ends_m.begin() - 1;
                    if (bin < 6)
                        of_seed[static_cast<std::size_t>(bin)].add(effect * s.regional_effect[y][j] -
                                                                   0.36 * std::exp(-h / 10000.0));
                }
            }
        own.add(variance.mean());
        between_seasons.add(across.mean());
        for (std::size_t b = 0; b < 6; ++b)
            if (of_seed[b].n > 0.0) apart[b].add(of_seed[b].mean());
    }
    CHECK(std::abs(own.mean() - 0.36) < 4.0 * own.error());
    CHECK(std::abs(between_seasons.mean()) < 4.0 * between_seasons.error());
    for (const Mean& bin : apart) {
        CHECK(std::abs(bin.mean()) < 4.0 * bin.error());
        CHECK(bin.error() < 0.02);  // so that a wrong range would be seen: 0.36 exp(-h / 10 km) falls by 0.1 a class
    }
}

TEST_CASE("simulated fields lie in farms of a district that a season's trucks come from") {
    const SimulatedSeasons s = simulate({}, 4);
    REQUIRE(s.place.size() == 60);
    int with_near_one = 0;
    double widest = 0.0;
    for (std::size_t i = 0; i < 60; ++i) {
        double nearest = 1e9;
        for (std::size_t j = 0; j < 60; ++j) {
            const double h = std::hypot(s.place[i].x_m - s.place[j].x_m, s.place[i].y_m - s.place[j].y_m);
            widest = std::max(widest, h);
            if (i != j) nearest = std::min(nearest, h);
        }
        with_near_one += nearest < 3000.0 ? 1 : 0;
    }
    CHECK(with_near_one >= 55);
    CHECK(widest > 20000.0);
    CHECK(widest < 70000.0);
}

TEST_CASE("what is drawn anew for a season lies evenly between its ends") {
    World world;
    world.region_sd_high = 0.8;
    world.tests = world.past_tests = world.past_seasons = 0;
    std::array<Mean, 5> drawn;  // as a share of the way from end to end
    for (std::uint64_t seed = 0; seed < 400; ++seed) {
        const SimulatedSeasons s = simulate(world, seed);
        const std::array<double, 5> share{(s.season_sd - 0.15) / 0.85, (s.field_sd - 0.2) / 0.7, s.region_sd / 0.8,
                                          (s.region_range_m - 3000.0) / 37000.0, s.slope / 1.6};
        for (std::size_t i = 0; i < 5; ++i) {
            CHECK(share[i] > 0.0);
            CHECK(share[i] < 1.0);
            drawn[i].add(share[i]);
        }
    }
    for (const Mean& one : drawn) {
        CHECK(std::abs(one.mean() - 0.5) < 4.0 * one.error());
        CHECK(one.error() == Approx(std::sqrt(1.0 / 12.0 / 400.0)).epsilon(0.1));  // of an even law
    }
}

TEST_CASE(
    "a simulated season has the same truth whatever is tested and longer lists of tests begin with shorter ones") {
    World few = plain_world(), many = few;
    few.tests = 10;
    many.tests = 40;
    const SimulatedSeasons a = simulate(few, 7), b = simulate(many, 7);
    CHECK(a.content_mg_per_kg == b.content_mg_per_kg);
    REQUIRE(b.readings.size() == a.readings.size() + 30);
    for (std::size_t i = 0; i < a.readings.size(); ++i) {
        CHECK(a.readings[i].field == b.readings[i].field);
        CHECK(a.readings[i].mg_per_kg == b.readings[i].mg_per_kg);
    }
    few.placement = Placement::worst_first;
    const SimulatedSeasons worst = simulate(few, 7);
    CHECK(worst.content_mg_per_kg == a.content_mg_per_kg);
    // The ten fields of the highest risk, and past seasons as they were.
    std::vector<double> risks = worst.risk_logit.back();
    std::sort(risks.rbegin(), risks.rend());
    for (std::size_t i = 0; i < 10; ++i)
        CHECK(worst.risk_logit.back()[static_cast<std::size_t>(worst.readings[40 + i].field)] == risks[i]);
    CHECK(worst.readings[39].mg_per_kg == a.readings[39].mg_per_kg);
    few.placement = Placement::given;
    few.order = {5, 3, 59};
    few.tests = 3;
    const SimulatedSeasons given = simulate(few, 7);
    CHECK(given.readings[40].field == 5);
    CHECK(given.readings[42].field == 59);
    CHECK(simulate(many, 8).content_mg_per_kg != b.content_mg_per_kg);
}

TEST_CASE("the simulated risk has the mean and spread that its world says and near fields share its weather") {
    World world;
    world.tests = world.past_tests = 0;
    Mean level, square, near, far;
    for (std::uint64_t seed = 0; seed < 400; ++seed) {
        const SimulatedSeasons s = simulate(world, seed);
        Mean of_seed, squares, of_near, of_far;
        for (const std::vector<double>& logits : s.risk_logit)
            for (std::size_t i = 0; i < 60; ++i) {
                of_seed.add(logits[i]);
                squares.add(std::pow(logits[i] + 1.2, 2));
                for (std::size_t j = 0; j < i; ++j)
                    (i % 12 == j % 12 ? of_near : of_far).add((logits[i] + 1.2) * (logits[j] + 1.2));
            }
        level.add(of_seed.mean());
        square.add(squares.mean());
        near.add(of_near.mean());  // of one farm
        far.add(of_far.mean());
    }
    CHECK(std::abs(level.mean() + 1.2) < 4.0 * level.error());
    CHECK(std::abs(square.mean() - 1.0) < 4.0 * square.error());
    CHECK(near.mean() > far.mean() + 4.0 * near.error());
    CHECK(near.mean() < 0.5);  // the share of the weather
}

TEST_CASE("the told risk is the acting one unless dates or weather are wrong and then only in the season that counts") {
    World right = plain_world(), dates = right, weather = right;
    dates.date_shift_days = 6.0;
    dates.date_error_days = 4.0;
    weather.weather_from_m = 60000.0;
    Mean by_dates, by_weather;
    for (std::uint64_t seed = 0; seed < 100; ++seed) {
        const SimulatedSeasons a = simulate(right, seed), d = simulate(dates, seed), w = simulate(weather, seed);
        CHECK(a.risk_logit == a.acting_risk_logit);
        CHECK(d.acting_risk_logit == a.acting_risk_logit);
        CHECK(d.risk_logit[1] == d.acting_risk_logit[1]);
        CHECK(w.risk_logit[1] == w.acting_risk_logit[1]);
        by_dates.add(correlation(d.risk_logit.back(), d.acting_risk_logit.back()));
        by_weather.add(correlation(w.risk_logit.back(), w.acting_risk_logit.back()));
    }
    // The crop's own half of the risk is right in both.
    CHECK(by_dates.mean() > 0.4);
    CHECK(by_dates.mean() < 0.9);
    CHECK(by_weather.mean() > 0.4);
    CHECK(by_weather.mean() < 0.95);
}

TEST_CASE("a fifth of simulated fields without any DON is a fifth and they read below the range") {
    World world = plain_world();
    world.free_share = 0.2;
    world.tests = 60;
    Mean share;
    for (std::uint64_t seed = 0; seed < 100; ++seed) {
        const SimulatedSeasons s = simulate(world, seed);
        for (const double content : s.content_mg_per_kg.back()) share.add(content == 0.0 ? 1.0 : 0.0);
        for (const season_simulator::Reading& r : s.readings)
            if (s.content_mg_per_kg[static_cast<std::size_t>(r.season)][static_cast<std::size_t>(r.field)] == 0.0) {
                CHECK(r.side == -1);
                CHECK(r.mg_per_kg == 0.2);
            }
    }
    CHECK(std::abs(share.mean() - 0.2) < 4.0 * share.error());
}

TEST_CASE("simulated heavy tails keep the spread and have more fields far out") {
    World normal = plain_world(), heavy = normal;
    normal.tests = normal.past_tests = heavy.tests = heavy.past_tests = 0;
    heavy.heavy_tails = true;
    Mean of_normal, of_heavy;
    for (std::uint64_t seed = 0; seed < 200; ++seed) {
        for (const double e : field_effects(normal, simulate(normal, seed))) of_normal.add(std::abs(e) > 3.0);
        for (const double e : field_effects(heavy, simulate(heavy, seed))) of_heavy.add(std::abs(e) > 3.0);
    }
    CHECK(std::abs(of_normal.mean() - 0.0026998) < 4.0 * of_normal.error());  // 2 pnorm(-3)
    CHECK(std::abs(of_heavy.mean() - 0.013847) < 4.0 * of_heavy.error());     // 2 pt(-3 sqrt(3), 3)
}

TEST_CASE("a bent effect adds just its square to the simulated contents") {
    World straight = plain_world(), bent = straight;
    bent.bent_slope = 0.3;
    const SimulatedSeasons a = simulate(straight, 3), b = simulate(bent, 3);
    for (std::size_t f = 0; f < 60; ++f)
        CHECK(std::log(b.content_mg_per_kg.back()[f] / a.content_mg_per_kg.back()[f]) ==
              Approx(0.3 * std::pow(a.acting_risk_logit.back()[f] + 1.0, 2)).margin(1e-12).epsilon(0.0));
}

TEST_CASE("a biased simulated lot and standing heads read too much in the season that counts and nowhere else") {
    World plain = plain_world();
    plain.level_mean = 3.0;  // the error of a reading is about the same at a content and at half as much more
    World biased = plain, standing = plain;
    plain.range_low_mg_per_kg = biased.range_low_mg_per_kg = standing.range_low_mg_per_kg = 1e-6;
    plain.range_high_mg_per_kg = biased.range_high_mg_per_kg = standing.range_high_mg_per_kg = 1e6;
    biased.lot_bias = 0.3;
    biased.controls = 4;
    standing.standing_share = 0.5;
    standing.standing_offset = 0.4;
    Mean of_controls, of_standing;
    int stood = 0;
    for (std::uint64_t seed = 0; seed < 100; ++seed) {
        const SimulatedSeasons a = simulate(plain, seed), b = simulate(biased, seed), c = simulate(standing, seed);
        for (std::size_t i = 0; i < a.readings.size(); ++i) {
            const double by_lot = std::log(b.readings[i].mg_per_kg / a.readings[i].mg_per_kg);
            CHECK(by_lot == Approx(a.readings[i].season == 2 ? 0.3 : 0.0).margin(1e-12).epsilon(0.0));
            const double by_stage = std::log(c.readings[i].mg_per_kg / a.readings[i].mg_per_kg);
            if (!c.readings[i].standing)
                CHECK(by_stage == 0.0);
            else
                ++stood, of_standing.add(by_stage);
        }
        CHECK(a.controls.empty());
        REQUIRE(b.controls.size() == 4);
        for (const season_simulator::Reading& r : b.controls) of_controls.add(r.mg_per_kg);
    }
    CHECK(stood > 0.4 * 2000);
    CHECK(stood < 0.6 * 2000);
    CHECK(of_standing.mean() == Approx(0.4).margin(0.02).epsilon(0.0));
    CHECK(std::abs(of_controls.mean() - std::exp(0.3)) < 4.0 * of_controls.error());
}

TEST_CASE("simulated samples are right on the average whether contents within a field are alike or not") {
    for (const double range_m : {0.0, 80.0}) {
        World world = plain_world();
        world.within_range_m = range_m;
        world.range_low_mg_per_kg = 1e-6;
        world.range_high_mg_per_kg = 1e6;
        Mean ratio;
        for (std::uint64_t seed = 0; seed < 150; ++seed) {
            const SimulatedSeasons s = simulate(world, seed);
            for (const season_simulator::Reading& r : s.readings)
                ratio.add(r.mg_per_kg /
                          s.content_mg_per_kg[static_cast<std::size_t>(r.season)][static_cast<std::size_t>(r.field)]);
        }
        INFO("within_range_m " << range_m);
        CHECK(std::abs(ratio.mean() - 1.0) < 4.0 * ratio.error());
    }
}

TEST_CASE("fields that look bad are worse than the others of a simulated season") {
    World world = plain_world();
    world.placement = Placement::looks_bad;
    Mean of_tested, of_all;
    for (std::uint64_t seed = 0; seed < 50; ++seed) {
        const SimulatedSeasons s = simulate(world, seed);
        std::set<int> fields;
        for (const season_simulator::Reading& r : s.readings)
            if (r.season == 2) fields.insert(r.field);
        REQUIRE(fields.size() == 20);
        for (int f = 0; f < 60; ++f) {
            const double content = std::log(s.content_mg_per_kg.back()[static_cast<std::size_t>(f)]);
            of_all.add(content);
            if (fields.count(f) > 0) of_tested.add(content);
        }
    }
    CHECK(of_tested.mean() > of_all.mean() + 0.3);
}
