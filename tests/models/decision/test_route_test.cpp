#include "models/decision/test_route.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include <catch2/catch.hpp>

#include "models/error.h"

namespace {

using Catch::Matchers::Contains;
using models::RouteQuestion;
using models::TestRoute;

/// Fields anywhere in 20 km by 20 km, worth anything up to 100.
RouteQuestion scattered(int fields, std::uint64_t seed, double minutes) {
    RouteQuestion question;
    question.start = {10000, 10000};
    question.minutes = minutes;
    const auto uniform = [&] {
        seed = seed * 6364136223846793005ULL + 1442695040888963407ULL;
        return (static_cast<double>(seed >> 11) + 0.5) / 9007199254740992.0;
    };
    for (int i = 0; i < fields; ++i) {
        const double x = 20000 * uniform(), y = 20000 * uniform(), gain = 100 * uniform();
        question.stops.push_back({"F" + std::to_string(i), {x, y}, gain});
    }
    return question;
}

double minutes_driven(const RouteQuestion& question, const std::vector<std::size_t>& order) {
    double way_m = 0.0;
    models::PointM at = question.start;
    for (const std::size_t stop : order) {
        way_m += models::distance_m(at, question.stops[stop].place);
        at = question.stops[stop].place;
    }
    if (question.back_to_start && !order.empty()) way_m += models::distance_m(at, question.start);
    return question.roads_longer_by * way_m / 1000.0 / question.speed_km_per_h * 60.0 +
           question.minutes_a_test * static_cast<double>(order.size());
}

/// Worth of the best round, by trying every order of every choice.
double most_by_trying(const RouteQuestion& question) {
    double most = 0.0;
    const std::size_t n = question.stops.size();
    for (std::size_t subset = 1; subset < std::size_t{1} << n; ++subset) {
        std::vector<std::size_t> order;
        double gain = 0.0;
        for (std::size_t k = 0; k < n; ++k) {
            if ((subset >> k & 1U) == 0) continue;
            order.push_back(k);
            gain += question.stops[k].gain;
        }
        if (gain <= most) continue;
        do {
            if (minutes_driven(question, order) > question.minutes) continue;
            most = gain;
            break;
        } while (std::next_permutation(order.begin(), order.end()));
    }
    return most;
}

}  // namespace

TEST_CASE("a round of few fields is worth as much as the best of all orders of all choices") {
    for (std::uint64_t seed = 1; seed <= 12; ++seed) {
        RouteQuestion question = scattered(6, seed, 150.0);
        question.back_to_start = seed % 2 == 0;
        const TestRoute route = models::test_route(question);
        INFO(seed);
        CHECK(route.exact);
        CHECK(route.gain == Approx(most_by_trying(question)).epsilon(1e-12));
        CHECK(route.minutes == Approx(minutes_driven(question, route.order)).epsilon(1e-12));
        CHECK(route.minutes <= question.minutes + 1e-9);
    }
}

TEST_CASE("the steps that lay a round of many fields come near the best of a few") {
    // Fields far out of reach bring the number over what is tried exactly, and change nothing that can be driven.
    double found = 0.0, best = 0.0;
    for (std::uint64_t seed = 1; seed <= 20; ++seed) {
        RouteQuestion question = scattered(14, 100 + seed, 240.0);
        best += models::test_route(question).gain;
        for (const double share : {0.999, 0.998}) {  // near twins of the start, worth next to nothing
            question.stops.push_back({"near", {10000 * share, 10000}, 1e-9});
        }
        const TestRoute route = models::test_route(question);
        CHECK_FALSE(route.exact);
        CHECK(route.minutes <= question.minutes + 1e-9);
        found += route.gain;
    }
    INFO(found << " of " << best);
    CHECK(found > 0.98 * best);
    CHECK(found < best * (1.0 + 1e-6));
}

TEST_CASE("a round visits nothing that is worth nothing or out of reach and each field once") {
    RouteQuestion question = scattered(40, 7, 300.0);
    for (std::size_t i = 0; i < 10; ++i) question.stops[i].gain = 0.0;
    question.stops.push_back({"abroad", {900000, 0}, 1e6});
    const TestRoute route = models::test_route(question);
    REQUIRE_FALSE(route.order.empty());
    std::vector<std::size_t> sorted = route.order;
    std::sort(sorted.begin(), sorted.end());
    CHECK(std::adjacent_find(sorted.begin(), sorted.end()) == sorted.end());
    CHECK(sorted.front() >= 10);
    CHECK(sorted.back() < 40);
    CHECK(route.driven_km == Approx((route.minutes - 30.0 * static_cast<double>(route.order.size())) / 60.0 * 35.0));
    question.minutes = 10.0;
    CHECK(models::test_route(question).order.empty());
    CHECK(models::test_route(RouteQuestion{}).order.empty());
}

TEST_CASE("more time is never worth less") {
    double before = 0.0;
    for (const double minutes : {60.0, 120.0, 180.0, 240.0, 300.0}) {
        const TestRoute route = models::test_route(scattered(14, 3, minutes));
        CHECK(route.gain >= before);
        before = route.gain;
    }
}

TEST_CASE("rounds that make no sense are refused by their words") {
    RouteQuestion question = scattered(3, 1, 100.0);
    question.speed_km_per_h = 0.0;
    CHECK_THROWS_WITH(models::test_route(question), Contains("nobody drives 0 km/h between fields"));
    question.speed_km_per_h = 35.0;
    question.minutes = -1.0;
    CHECK_THROWS_WITH(models::test_route(question), Contains("a round of -1 minutes cannot be laid"));
    question.minutes = 100.0;
    question.roads_longer_by = 0.5;
    CHECK_THROWS_WITH(models::test_route(question), Contains("roads are not 0.5 times as long"));
    question.roads_longer_by = 1.3;
    question.stops[0].gain = -2.0;
    CHECK_THROWS_WITH(models::test_route(question), Contains("a test of F0 is worth -2"));
}
