// Which swaths of a field are cut together.
#include "models/decision/zone_split.h"

#include <cmath>
#include <limits>
#include <vector>

#include <catch2/catch.hpp>

#include "models/contamination/counter_random.h"
#include "models/decision/limit_rule.h"

using Catch::Matchers::Contains;
using Catch::Matchers::WithinAbs;

namespace {

models::ZoneSplitProblem field_of_swaths(int swaths, double tonnes) {
    models::ZoneSplitProblem problem;
    problem.tonnes.assign(static_cast<std::size_t>(swaths), tonnes / swaths);
    problem.headers.assign(static_cast<std::size_t>(swaths), 1.0);
    problem.limit.limit_mg_per_kg = 1.0;
    return problem;
}

/// ln content = level of the draw + middle of the swath + noise of its own.
void fill_contents(models::ZoneSplitProblem& problem, const std::vector<double>& middle, double level_sd, double own_sd,
                   int draws, std::uint64_t seed) {
    problem.contents_mg_per_kg.resize(draws, static_cast<Eigen::Index>(middle.size()));
    for (int d = 0; d < draws; ++d) {
        const double level = level_sd * models::contamination::counter_normal(seed, static_cast<std::uint64_t>(d), 0);
        for (std::size_t s = 0; s < middle.size(); ++s)
            problem.contents_mg_per_kg(d, static_cast<Eigen::Index>(s)) =
                std::exp(level + middle[s] +
                         own_sd * models::contamination::counter_normal(seed, static_cast<std::uint64_t>(d), s + 1));
    }
}

/// Expected loss of swaths from..to (both included) by the words of the header, draw by draw and swath by swath.
double slow_loss(const models::ZoneSplitProblem& p, int from, int to, models::ZoneUse use) {
    const auto breaks = models::breaking_point(p.limit);
    double sum = 0.0;
    for (Eigen::Index d = 0; d < p.contents_mg_per_kg.rows(); ++d) {
        double t = 0.0, mass = 0.0, over = 0.0;
        for (int s = from; s <= to; ++s) {
            const double one = p.tonnes[static_cast<std::size_t>(s)];
            if (one == 0.0) continue;
            t += one;
            mass += one * p.contents_mg_per_kg(d, s);
            if (breaks.breaks(p.contents_mg_per_kg(d, s))) over += one;
        }
        const bool mean_over = breaks.breaks(mass / t), allowed = p.limit.mixing == models::Mixing::allowed;
        if (use == models::ZoneUse::taken)
            sum += p.costs.taken_over_per_t * (mean_over ? t : allowed ? 0.0 : over);
        else
            sum += p.costs.kept_good_per_t * (allowed && !mean_over ? t : t - over);
    }
    return sum / static_cast<double>(p.contents_mg_per_kg.rows());
}

double slow_width(const models::ZoneSplitProblem& p, int from, int to) {
    double width = 0.0;
    for (int s = from; s <= to; ++s)
        if (p.tonnes[static_cast<std::size_t>(s)] > 0.0) width += p.headers[static_cast<std::size_t>(s)];
    return width;
}

/// Whether swaths hold a narrowest piece of ground that is judged over.
bool slow_holds_over(const models::ZoneSplitProblem& p, int from, int to) {
    if (p.limit.mixing == models::Mixing::allowed) return false;
    const auto breaks = models::breaking_point(p.limit);
    const double bound = std::max(0.5, p.costs.kept_good_per_t / (p.costs.kept_good_per_t + p.costs.taken_over_per_t));
    for (int a = from; a <= to; ++a) {
        if (p.tonnes[static_cast<std::size_t>(a)] == 0.0) continue;
        int b = a;
        while (b <= to && slow_width(p, a, b) < p.least_headers - 1e-6) ++b;
        if (b > to) continue;
        double times = 0.0;
        for (Eigen::Index d = 0; d < p.contents_mg_per_kg.rows(); ++d) {
            double t = 0.0, mass = 0.0;
            for (int s = a; s <= b; ++s) {
                const double one = p.tonnes[static_cast<std::size_t>(s)];
                t += one;
                if (one > 0.0) mass += one * p.contents_mg_per_kg(d, s);
            }
            times += breaks.breaks(mass / t) ? 1.0 : 0.0;
        }
        if (times / static_cast<double>(p.contents_mg_per_kg.rows()) > bound) return true;
    }
    return false;
}

/// The least of loss + lines over all sets of lines and all uses.
double slow_best(const models::ZoneSplitProblem& p) {
    const int n = static_cast<int>(p.tonnes.size());
    double best = std::numeric_limits<double>::infinity();
    for (unsigned lines = 0; lines < (1u << (n - 1)); ++lines) {
        std::vector<int> begin = {0};
        for (int s = 1; s < n; ++s)
            if ((lines >> (s - 1)) & 1u) begin.push_back(s);
        const int zones = static_cast<int>(begin.size());
        if (zones > p.most_zones) continue;
        for (int first = 0; first < 2; ++first) {
            double value = p.costs.line * (zones - 1);
            for (int z = 0; z < zones; ++z) {
                const int from = begin[static_cast<std::size_t>(z)];
                const int to = z + 1 < zones ? begin[static_cast<std::size_t>(z) + 1] - 1 : n - 1;
                const bool grain = slow_width(p, from, to) > 0.0;
                const bool wide = zones == 1 || slow_width(p, from, to) >= p.least_headers - 1e-6;
                const auto use = (z + first) % 2 == 0 ? models::ZoneUse::taken : models::ZoneUse::kept_apart;
                if (!grain || !wide || (use == models::ZoneUse::taken && slow_holds_over(p, from, to)))
                    value = std::numeric_limits<double>::infinity();
                else
                    value += slow_loss(p, from, to, use);
            }
            best = std::min(best, value);
        }
    }
    return best;
}

double value_of(const models::ZoneSplitProblem& p, const models::ZoneSplit& split) {
    double value = p.costs.line * (static_cast<double>(split.zones.size()) - 1.0);
    for (const auto& zone : split.zones) value += slow_loss(p, zone.first, zone.last, zone.use);
    return value;
}

}  // namespace

TEST_CASE("the division found is the best of all divisions tried one by one") {
    int split = 0;
    for (std::uint64_t seed = 1; seed <= 60; ++seed) {
        const auto u = [&](std::uint64_t k) { return models::contamination::counter_uniform(seed, 999, k); };
        models::ZoneSplitProblem problem = field_of_swaths(9, 60.0 + 60.0 * u(1));
        std::vector<double> middle;
        for (std::size_t s = 0; s < 9; ++s) {
            middle.push_back(1.6 * (u(10 + s) - 0.5));
            problem.tonnes[s] *= 0.5 + u(30 + s);
        }
        if (seed % 3 == 0) problem.tonnes[4] = 0.0;  // a road
        problem.headers[8] = 0.3;
        problem.least_headers = seed % 4 == 0 ? 2.0 : seed % 4 == 1 ? 1.0 : 1.3;
        problem.most_zones = 1 + static_cast<int>(4.0 * u(2));
        problem.costs = {0.3 + 2.0 * u(3), 0.3 + 2.0 * u(4), 6.0 * u(5)};
        problem.limit.mixing = seed % 2 == 0 ? models::Mixing::forbidden : models::Mixing::allowed;
        fill_contents(problem, middle, 0.3, 0.3, 40, seed);
        const models::ZoneSplit found = models::best_zones(problem);
        INFO("seed " << seed << ", " << found.zones.size() << " zones");
        CHECK_THAT(value_of(problem, found), WithinAbs(slow_best(problem), 1e-9));
        CHECK_THAT(found.loss_of_whole - found.earns, WithinAbs(value_of(problem, found), 1e-9));
        CHECK_FALSE(found.earns < 0.0);
        split += found.zones.size() > 1 ? 1 : 0;
    }
    CHECK(split > 15);  // the cases are not all of one kind
    CHECK(split < 55);
}

TEST_CASE("where nothing tells one swath from another no line is laid") {
    for (std::uint64_t seed = 1; seed <= 40; ++seed) {
        models::ZoneSplitProblem problem = field_of_swaths(30, 200.0);
        problem.least_headers = 3.0;
        problem.limit.mixing = seed % 2 == 0 ? models::Mixing::forbidden : models::Mixing::allowed;
        const double level = -1.0 + 0.05 * static_cast<double>(seed);  // far under the limit to far over
        fill_contents(problem, std::vector<double>(30, level), 0.3, 0.35, 500, seed);
        INFO("seed " << seed);
        CHECK(models::best_zones(problem).zones.size() == 1);
    }
}

TEST_CASE("a step in contamination is found within a header") {
    for (std::uint64_t seed = 1; seed <= 20; ++seed) {
        models::ZoneSplitProblem problem = field_of_swaths(40, 250.0);
        problem.least_headers = 3.0;
        std::vector<double> middle(40, std::log(0.5));
        const int step = 8 + static_cast<int>(seed);
        for (int s = step; s < 40; ++s) middle[static_cast<std::size_t>(s)] = std::log(1.8);
        fill_contents(problem, middle, 0.15, 0.2, 500, seed);
        const models::ZoneSplit found = models::best_zones(problem);
        REQUIRE(found.zones.size() == 2);
        CHECK(std::abs(found.zones[1].first - step) <= 1);
        CHECK(found.zones[0].use == models::ZoneUse::taken);
        CHECK(found.zones[1].use == models::ZoneUse::kept_apart);
        // Worth on draws that had no part in the choice: a field with a mean over the limit would have been kept.
        fill_contents(problem, middle, 0.15, 0.2, 500, seed + 1000);
        const models::SplitWorth worth = models::worth_of(problem, found);
        CHECK(worth.mean > 0.0);
        CHECK(worth.low90 > 0.0);
        CHECK(worth.chance_it_pays > 0.9);
    }
}

TEST_CASE("no zone is narrower than the least width and a split that costs more than it earns is none") {
    models::ZoneSplitProblem problem = field_of_swaths(20, 100.0);
    std::vector<double> middle(20, std::log(0.4));
    middle[9] = middle[10] = std::log(3.0);  // 10 t in the middle
    fill_contents(problem, middle, 0.1, 0.1, 400, 7);
    problem.limit.mixing = models::Mixing::forbidden;
    problem.costs.line = 1.0;
    problem.least_headers = 2.0;
    const models::ZoneSplit narrow = models::best_zones(problem);
    REQUIRE(narrow.zones.size() == 3);
    CHECK(narrow.zones[1].first == 9);
    CHECK(narrow.zones[1].last == 10);
    problem.least_headers = 5.0;
    for (const models::ZoneOfSwaths& zone : models::best_zones(problem).zones) CHECK(zone.last - zone.first + 1 >= 5);
    // What a narrow last swath lacks of a header counts.
    problem.least_headers = 2.0;
    std::vector<double> at_the_end(20, std::log(0.4));
    at_the_end[18] = at_the_end[19] = std::log(3.0);
    fill_contents(problem, at_the_end, 0.1, 0.1, 400, 7);
    problem.headers[19] = 0.5;
    const models::ZoneSplit edge = models::best_zones(problem);
    REQUIRE(edge.zones.size() == 2);
    CHECK(edge.zones[1].first == 17);
    problem.costs.line = 150.0;
    CHECK(models::best_zones(problem).zones.size() == 1);
    problem.costs.line = 1.0;
    problem.most_zones = 1;
    CHECK(models::best_zones(problem).zones.size() == 1);
}

TEST_CASE("ground judged over is not brought under the limit by its neighbours in the same cut") {
    models::ZoneSplitProblem problem = field_of_swaths(12, 60.0);
    std::vector<double> middle(12, std::log(0.5));
    for (int s = 5; s < 8; ++s) middle[static_cast<std::size_t>(s)] = std::log(1.7);  // mean of all: 0.8
    fill_contents(problem, middle, 0.05, 0.05, 400, 3);
    problem.least_headers = 3.0;
    for (const models::Mixing mixing : {models::Mixing::forbidden, models::Mixing::not_addressed}) {
        problem.limit.mixing = mixing;
        const models::ZoneSplit apart = models::best_zones(problem);
        REQUIRE(apart.zones.size() == 3);
        CHECK(apart.zones[1].first == 5);
        CHECK(apart.zones[1].last == 7);
        CHECK(apart.zones[1].use == models::ZoneUse::kept_apart);
        CHECK(apart.over_last < apart.over_first);
        // With one line only, what holds it is kept apart, though its mean is under the limit.
        problem.most_zones = 2;
        const models::ZoneSplit two = models::best_zones(problem);
        REQUIRE(two.zones.size() == 2);
        for (const models::ZoneOfSwaths& zone : two.zones)
            CHECK((zone.use == models::ZoneUse::kept_apart) == (zone.first <= 5 && zone.last >= 7));
        // And so is the field as one, where no line may be laid.
        problem.most_zones = 1;
        const models::ZoneSplit one = models::best_zones(problem);
        CHECK(one.whole_use == models::ZoneUse::kept_apart);
        CHECK(one.over_first == 5);
        CHECK(one.over_last == 7);
        CHECK(one.over_chance > 0.99);
        problem.most_zones = 3;
    }
    problem.limit.mixing = models::Mixing::allowed;
    const models::ZoneSplit mixed = models::best_zones(problem);
    CHECK(mixed.zones.size() == 1);
    CHECK(mixed.whole_use == models::ZoneUse::taken);
}

TEST_CASE("lines that are given are valued as those that are found") {
    models::ZoneSplitProblem problem = field_of_swaths(20, 100.0);
    std::vector<double> middle(20, std::log(0.5));
    for (int s = 12; s < 20; ++s) middle[static_cast<std::size_t>(s)] = std::log(2.0);
    fill_contents(problem, middle, 0.2, 0.2, 300, 5);
    const models::ZoneSplit found = models::best_zones(problem), given = models::zones_at(problem, {0, 12});
    REQUIRE(found.zones.size() == 2);
    CHECK(found.zones[1].first == 12);
    CHECK(given.earns == found.earns);
    CHECK(models::zones_at(problem, {0, 4}).earns < found.earns);
    CHECK_THAT(models::worth_of(problem, given).mean, WithinAbs(given.earns, 1e-9));
    // The same problem has the same answer, to the last bit.
    CHECK(models::best_zones(problem).loss == found.loss);
}

TEST_CASE("what a split brings is the sum of a hand") {
    models::ZoneSplitProblem problem = field_of_swaths(2, 30.0);
    problem.tonnes = {20.0, 10.0};
    problem.costs = {2.0, 1.0, 4.0};
    problem.contents_mg_per_kg.resize(4, 2);
    // Means of the field: 0.97, 1.07, 1.37, 0.77.
    problem.contents_mg_per_kg << 0.5, 1.9, 0.6, 2.0, 1.1, 1.9, 0.7, 0.9;
    const models::ZoneSplit split = models::zones_at(problem, {0, 1});
    // Taken, the first loses 2 x 20 t in one draw of four; kept apart it loses 20 t in three.
    CHECK(split.zones[0].use == models::ZoneUse::taken);
    CHECK_THAT(split.zones[0].loss, WithinAbs(10.0, 1e-12));
    // The second is over in three draws; kept apart it loses its 10 t in the fourth.
    CHECK(split.zones[1].use == models::ZoneUse::kept_apart);
    CHECK_THAT(split.zones[1].loss, WithinAbs(2.5, 1e-12));
    // The field as one holds ground judged over and is kept apart: 20 + 20 + 0 + 30 t of good grain in the four draws.
    CHECK(split.whole_use == models::ZoneUse::kept_apart);
    CHECK_THAT(split.loss_of_whole, WithinAbs(17.5, 1e-12));
    CHECK_THAT(split.earns, WithinAbs(17.5 - 12.5 - 4.0, 1e-12));
    // By draw 20 - 0, 20 - 0, 0 - 40 and 30 - 10, less the line.
    const models::SplitWorth worth = models::worth_of(problem, split);
    CHECK_THAT(worth.mean, WithinAbs(1.0, 1e-12));
    CHECK_THAT(worth.chance_it_pays, WithinAbs(0.75, 1e-12));
    CHECK_THAT(worth.low90, WithinAbs(-44.0 + 0.15 * 60.0, 1e-9));
    CHECK_THAT(worth.high90, WithinAbs(16.0, 1e-12));
}

TEST_CASE("a division of nothing is refused in words") {
    models::ZoneSplitProblem good = field_of_swaths(4, 20.0);
    fill_contents(good, std::vector<double>(4, 0.0), 0.1, 0.1, 10, 1);
    const auto refused = [&](auto change) {
        models::ZoneSplitProblem bad = good;
        change(bad);
        return bad;
    };
    const double nan = std::numeric_limits<double>::quiet_NaN();
    CHECK_THROWS_WITH(models::best_zones(refused([&](auto& p) { p.contents_mg_per_kg(3, 2) = nan; })),
                      Contains("a content of swath 3 is no number of 0 or more"));
    CHECK_THROWS_WITH(models::best_zones(refused([&](auto& p) { p.contents_mg_per_kg(3, 2) = -0.1; })),
                      Contains("a content of swath 3"));
    CHECK_NOTHROW(models::best_zones(refused([&](auto& p) {
        p.contents_mg_per_kg(3, 2) = nan;
        p.tonnes[2] = 0.0;
    })));
    CHECK_THROWS_WITH(models::best_zones(refused([](auto& p) { p.tonnes.pop_back(); })),
                      Contains("4 swaths with contents, 3 with tonnes"));
    CHECK_THROWS_WITH(models::best_zones(refused([](auto& p) { p.tonnes.assign(4, 0.0); })), Contains("no grain"));
    CHECK_THROWS_WITH(models::best_zones(refused([](auto& p) { p.tonnes[1] = -1.0; })), Contains("-1 t in a swath"));
    CHECK_THROWS_WITH(models::best_zones(refused([](auto& p) { p.headers[1] = -1.0; })), Contains("-1 headers"));
    CHECK_THROWS_WITH(models::best_zones(refused([](auto& p) { p.costs.line = -2.0; })), Contains("costs -2"));
    CHECK_THROWS_WITH(models::best_zones(refused([](auto& p) { p.costs.kept_good_per_t = 0.0; })),
                      Contains("loses nothing"));
    CHECK_THROWS_WITH(models::best_zones(refused([](auto& p) { p.most_zones = 0; })), Contains("0 zones are none"));
    CHECK_THROWS_WITH(models::best_zones(refused([&](auto& p) { p.least_headers = nan; })), Contains("least width"));
    CHECK_THROWS_WITH(models::best_zones(refused([](auto& p) { p.contents_mg_per_kg.resize(0, 4); })),
                      Contains("no contents"));
    CHECK_THROWS_WITH(models::zones_at(good, {1, 2}), Contains("begins with the first swath"));
    CHECK_THROWS_WITH(models::zones_at(good, {0, 2, 2}), Contains("from swath 3 to 2"));
    CHECK_THROWS_WITH(models::zones_at(good, {0, 9}), Contains("from swath 1 to 9"));
    models::ZoneSplit other = models::best_zones(good);
    other.zones.back().last = 7;
    CHECK_THROWS_WITH(models::worth_of(good, other), Contains("not one of these swaths"));
}
