#include <array>
#include <random>

#include <catch2/catch.hpp>

#include "models/decision/bin_plan.h"
#include "models/decision/placing.h"
#include "tests/models/decision/pits.h"

namespace {

using namespace tests::pits;

/// Loads with a place, tonnes with a place, tonnes in food, feed and other bins: what a plan is for, first things
/// first, counted from the plan as it is printed.
using Aims = std::array<double, 5>;

Aims aims_of(const models::BinPlanProblem& problem, const models::BinPlan& plan) {
    Aims aims{};
    for (const auto& assignment : plan.assignments) {
        for (const auto& bin : problem.bins) {
            if (bin.bin.bin != assignment.bin) continue;
            aims[0] += 1.0;
            aims[1] += assignment.mass_t;
            if (bin.bin.purpose == Purpose::food) aims[2] += assignment.mass_t;
            if (bin.bin.purpose == Purpose::feed) aims[3] += assignment.mass_t;
            if (bin.bin.purpose == Purpose::other) aims[4] += assignment.mass_t;
        }
    }
    return aims;
}

/// The best of all ways to send each load to a bin or nowhere that break no rule, one after the other.
Aims best_by_trying_all(const models::BinPlanProblem& problem) {
    const std::size_t loads = problem.grain.size(), choices = problem.bins.size() + 1;
    std::size_t ways = 1;
    for (std::size_t g = 0; g < loads; ++g) ways *= choices;
    Aims best{};
    for (std::size_t way = 0; way < ways; ++way) {
        models::BinPlan plan;
        std::size_t left = way;
        for (const auto& grain : problem.grain) {
            const std::size_t choice = left % choices;
            left /= choices;
            if (choice == problem.bins.size()) {
                plan.unplaced.push_back(
                    {grain.name, grain.kind, grain.mass_t, models::ClearingState::undecided, false, "x"});
            } else {
                plan.assignments.push_back({grain.name, grain.kind, problem.bins[choice].bin.bin, grain.mass_t,
                                            models::ClearingState::cleared, "x"});
            }
        }
        const Aims aims = aims_of(problem, plan);
        if (aims > best && models::broken_rules(problem, plan).empty()) best = aims;
    }
    return best;
}

}  // namespace

TEST_CASE("no way that keeps to the rules serves the aims of a plan better than the plan") {
    Dice dice{std::mt19937_64(90210)};
    int unlike_first_come = 0;
    for (int pit = 0; pit < 600; ++pit) {
        const int bins = 1 + dice.below(4), loads = 1 + dice.below(5);
        auto problem = random_pit(dice, bins, loads);
        // Whole tonnes add up exactly. Small bins, so that there is something to choose.
        for (auto& bin : problem.bins) bin.bin.capacity_t = bin.content_t + 10.0 + dice.below(50);
        const auto plan = models::plan_bins(problem);
        INFO("pit " << pit);
        REQUIRE(plan.best_of_all);
        REQUIRE(models::broken_rules(problem, plan).empty());
        REQUIRE(aims_of(problem, plan) == best_by_trying_all(problem));
        // The plan of each load as it comes: the loads before it keep the bins that they have.
        auto seen = problem;
        models::BinPlan one_by_one;
        for (std::size_t g = 0; g < problem.grain.size(); ++g) {
            seen.grain = {problem.grain[g]};
            if (problem.draws_mg_per_kg.size() > 0) {
                seen.draws_mg_per_kg = problem.draws_mg_per_kg.col(static_cast<Eigen::Index>(g));
            }
            const auto next = models::plan_bins(seen);
            for (const auto& assignment : next.assignments) {
                one_by_one.assignments.push_back(assignment);
                for (auto& bin : seen.bins) {
                    if (bin.bin.bin != assignment.bin) continue;
                    bin.content_t += assignment.mass_t;
                    bin.content_keep_apart = problem.grain[g].keep_apart;
                    if (bin.content_draws_mg_per_kg.size() == 0 && seen.draws_mg_per_kg.size() > 0) {
                        bin.content_draws_mg_per_kg = seen.draws_mg_per_kg.col(0);
                    }
                }
            }
        }
        unlike_first_come += aims_of(problem, one_by_one) < aims_of(problem, plan);
    }
    CHECK(unlike_first_come > 10);  // the choice was put to the test
}

TEST_CASE("what is over for food and cleared for feed is told why hold does not take it") {
    models::BinPlanProblem problem;
    problem.bins = {bin_of("S", Purpose::food, 200.0, 1.0), bin_of("F", Purpose::feed, 60.0, 4.0),
                    bin_of("H", Purpose::hold, 60.0, std::nullopt)};
    problem.bins[1].closed = true;
    problem.bins[1].closed_reason = "of a test";
    auto grain = load_of("L", 6.4);
    models::OwnResult result;
    result.don_mg_per_kg = 1.3;
    result.test = "T1";
    grain.results = {result};
    problem.grain = {grain};
    problem.draws_mg_per_kg = contents(1.3, 0.1, 1);
    const auto plan = models::plan_bins(problem);
    REQUIRE(plan.unplaced.size() == 1);
    CHECK_THAT(plan.unplaced[0].in_short, Catch::EndsWith("F is closed"));
    REQUIRE(plan.given_away.size() == 1);
    CHECK(plan.given_away[0].bin == "H");
    CHECK(plan.given_away[0].reason ==
          "hold is for grain that is undecided, and L is over for food and cleared for feed");
}

TEST_CASE("a hold bin is not given to a class before the loads behind it are seen") {
    // Two durum loads come first; the one hold bin would then be closed to five loads of wheat.
    models::BinPlanProblem problem;
    problem.bins = {bin_of("S", Purpose::food, 200.0, 1.0), bin_of("H", Purpose::hold, 60.0, std::nullopt)};
    const auto wait = [&](const std::string& name, double mass_t, const std::string& tag) {
        auto grain = load_of(name, mass_t);
        grain.keep_apart = tag;
        problem.draws_mg_per_kg.conservativeResize(n_draws, problem.draws_mg_per_kg.cols() + 1);
        problem.draws_mg_per_kg.rightCols(1) = contents(0.9, 0.5, static_cast<int>(problem.draws_mg_per_kg.cols()));
        problem.grain.push_back(grain);
    };
    wait("D1", 13.0, "durum");
    wait("W1", 24.0, "");
    wait("W2", 12.0, "");
    wait("D2", 21.0, "durum");
    wait("W3", 25.0, "");
    wait("W4", 20.0, "");
    const auto plan = models::plan_bins(problem);
    CHECK(models::broken_rules(problem, plan).empty());
    // By hand: three wheat loads of 60 t or less, or both durum loads. Of the three: 24 + 12 + 20 = 56 t, 12 + 25 + 20
    // = 57 t, 24 + 12 + 25 = 61 t is too much.
    std::string held;
    for (const auto& assignment : plan.assignments) held += assignment.name + " ";
    CHECK(held == "W2 W3 W4 ");
    REQUIRE(plan.unplaced.size() == 3);
    CHECK(plan.unplaced[0].name == "D1");
    CHECK_THAT(plan.unplaced[0].reason, Catch::Contains("no hold bin takes it (H is given to grain that is not durum"));
    CHECK_THAT(plan.unplaced[0].in_short, Catch::EndsWith("sample; H is given to grain that is not durum"));
    CHECK_THAT(plan.unplaced[1].reason,
               Catch::Contains("no hold bin takes it (H has room for 3.0 t only in this plan: 57.0 t are planned for "
                               "W2, W3, W4)"));
    CHECK_THAT(plan.unplaced[1].in_short, Catch::EndsWith("sample; no room on hold"));
    // The same stands beside the bin, for whoever looks there.
    const auto given = [](const models::BinPlan& made, const std::string& name, const std::string& bin) {
        for (const models::GivenAway& one : made.given_away)
            if (one.name == name && one.bin == bin) return one.reason;
        return std::string();
    };
    CHECK(given(plan, "D1", "H") ==
          "H is given to grain that is not durum in this plan: 57.0 t are planned for W2, W3, W4");
    CHECK(given(plan, "W1", "H") == "H has room for 3.0 t only in this plan: 57.0 t are planned for W2, W3, W4");
    CHECK(given(plan, "W2", "H").empty());
    CHECK(given(plan, "W1", "S").empty());
    // Beside a full bin, one that is empty and shut to the load is what is to be told.
    problem.bins.push_back(bin_of("F", Purpose::hold, 5.0, std::nullopt));
    CHECK_THAT(models::plan_bins(problem).unplaced[0].in_short,
               Catch::EndsWith("sample; H is given to grain that is not durum, no other takes it"));
    problem.bins.pop_back();
    // A second hold bin, and nobody is left.
    problem.bins.push_back(bin_of("H2", Purpose::hold, 40.0, std::nullopt));
    problem.bins[1].bin.capacity_t = 90.0;
    CHECK(models::plan_bins(problem).unplaced.empty());
}

TEST_CASE("a cleared load goes to feed only where another would else have no place") {
    models::BinPlanProblem problem;
    problem.bins = {bin_of("S", Purpose::food, 50.0, 1.0), bin_of("E", Purpose::feed, 50.0, 5.0)};
    const auto wait = [&](const std::string& name, double mass_t) {
        problem.draws_mg_per_kg.conservativeResize(n_draws, problem.draws_mg_per_kg.cols() + 1);
        problem.draws_mg_per_kg.rightCols(1) = contents(0.2, 0.2, static_cast<int>(problem.draws_mg_per_kg.cols()));
        problem.grain.push_back(load_of(name, mass_t));
    };
    wait("A", 30.0);
    wait("B", 20.0);
    auto plan = models::plan_bins(problem);
    REQUIRE(plan.assignments.size() == 2);
    CHECK(plan.assignments[0].bin == "S");
    CHECK(plan.assignments[1].bin == "S");
    // 25 t more: food takes 30 + 20 t or 25 + 20 t, and feed the third load. The most food grain is the first.
    wait("C", 25.0);
    plan = models::plan_bins(problem);
    REQUIRE(plan.assignments.size() == 3);
    CHECK(plan.assignments[2].bin == "E");
    CHECK_THAT(
        plan.assignments[2].reason,
        Catch::Contains("no food bin takes it (S is full in this plan: 50.0 t are planned for A, B); cleared for E"));
    CHECK_THAT(plan.assignments[2].in_short, Catch::StartsWith("no food bin takes it; "));
    // Without a feed bin one stays on the truck, and the line says for want of what.
    problem.bins.pop_back();
    plan = models::plan_bins(problem);
    REQUIRE(plan.unplaced.size() == 1);
    CHECK(plan.unplaced[0].in_short == "no room for food");
    // Where the bin holds grain of another class, that is what is said, not that it were full.
    problem.grain[2].keep_apart = "organic";
    plan = models::plan_bins(problem);
    REQUIRE(plan.unplaced.size() == 1);
    CHECK(plan.unplaced[0].in_short == "S is given to grain that is not organic");
}

TEST_CASE("where there are more ways than can be tried the plan says so and still keeps the rules") {
    models::PlacingProblem problem;
    Dice dice{std::mt19937_64(5)};
    for (int b = 0; b < 4; ++b) {
        models::BinToFill bin;
        bin.tier = models::BinToFill::Tier::hold;
        bin.room_t = 90.0 + b;
        problem.bins.push_back(bin);
    }
    for (int g = 0; g < 40; ++g) {
        problem.grain.push_back({6.0 + 20.0 * dice.uniform(), dice.below(3) ? "" : "durum", {0, 1, 2, 3}});
    }
    problem.most_tries = 2000;
    const auto few = models::best_placing(problem);
    CHECK_FALSE(few.best_of_all);
    std::array<double, 4> filled{};
    std::array<std::string, 4> tag;
    for (std::size_t g = 0; g < few.bin_of_grain.size(); ++g) {
        if (few.bin_of_grain[g] < 0) continue;
        const auto b = static_cast<std::size_t>(few.bin_of_grain[g]);
        if (filled[b] > 0.0) CHECK(tag[b] == problem.grain[g].tag);
        tag[b] = problem.grain[g].tag;
        filled[b] += problem.grain[g].mass_t;
    }
    for (std::size_t b = 0; b < 4; ++b) CHECK(filled[b] <= problem.bins[b].room_t + 1e-9);
    // More tries never make it worse, and the same tries give the same plan.
    problem.most_tries = 100000;
    CHECK(models::standing_of(problem, models::best_placing(problem).bin_of_grain) >=
          models::standing_of(problem, few.bin_of_grain));
    problem.most_tries = 2000;
    CHECK(models::best_placing(problem).bin_of_grain == few.bin_of_grain);
}
