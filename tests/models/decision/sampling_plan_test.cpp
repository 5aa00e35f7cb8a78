#include "models/decision/sampling_plan.h"

#include <algorithm>
#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include "models/error.h"

namespace {

models::Limit limit_of_one() {
    models::Limit limit;
    limit.limit_mg_per_kg = 1.0;
    return limit;
}

}  // namespace

TEST_CASE("official increments jump exactly at the bounds of the table") {
    // Implementing Regulation (EU) 2023/2782, Annex I, table 2: lot in tonnes, increments, aggregate in kg.
    const struct {
        double lot_t;
        int increments;
        double aggregate_kg;
    } rows[] = {{0.05, 3, 1},  {0.0501, 5, 1},   {0.5, 5, 1},     {0.501, 10, 1}, {1.0, 10, 1},
                {1.01, 20, 2}, {3.0, 20, 2},     {3.01, 40, 4},   {10.0, 40, 4},  {10.01, 60, 6},
                {20.0, 60, 6}, {20.01, 100, 10}, {100.0, 100, 10}};
    for (const auto& row : rows) {
        INFO(row.lot_t << " t");
        const auto sampling = models::official_sampling(row.lot_t);
        CHECK(sampling.increments == row.increments);
        CHECK(sampling.aggregate_kg == row.aggregate_kg);
        CHECK(sampling.sublots == 1);
    }
}

TEST_CASE("large lots are sampled by sublots") {
    // Table 1: 100 to 300 t by sublots of 100 t, which may be a fifth heavier; over 300 and under 1500 t by three.
    CHECK(models::official_sampling(200.0).sublots == 2);
    CHECK(models::official_sampling(120.0).sublots == 1);
    CHECK(models::official_sampling(121.0).sublots == 2);
    CHECK(models::official_sampling(300.0).sublots == 3);
    CHECK(models::official_sampling(301.0).sublots == 3);
    CHECK(models::official_sampling(1499.0).sublots == 3);
    CHECK(models::official_sampling(1499.0).increments == 100);
    CHECK_THROWS_WITH(models::official_sampling(1500.0), Catch::Contains("under 1500 t"));
    CHECK_THROWS_AS(models::official_sampling(0.0), models::Error);
    CHECK_THROWS_AS(models::official_sampling(-5.0), models::Error);
}

TEST_CASE("official increments never fall with the lot") {
    int before = 0;
    for (double lot_t = 0.01; lot_t < 1499.0; lot_t *= 1.01) {
        const auto sampling = models::official_sampling(lot_t);
        CHECK(sampling.increments * sampling.sublots >= before);
        CHECK(sampling.sublots * sampling.sublot_t == Approx(lot_t));
        before = sampling.increments * sampling.sublots;
    }
}

TEST_CASE("the operating characteristic of the reference procedure is that of the variance equations") {
    // 454 g, 25 g, one analysis, accept up to 1.0 mg/kg, from s2 = 0.118 C^0.833 (Whitaker et al. 2000, J AOAC Int 83,
    // 1285-1292) by hand: F((1 - C)/s) and the lognormal of the same mean and CV.
    const double content[] = {0.5, 0.75, 0.9, 1.0, 1.1, 1.25, 1.5, 2.0};
    const double normal[] = {0.9740, 0.7940, 0.6195, 0.5000, 0.3898, 0.2536, 0.1095, 0.0146};
    const double lognormal[] = {0.9528, 0.8242, 0.6825, 0.5663, 0.4434, 0.2713, 0.0824, 0.0016};
    for (int i = 0; i < 8; ++i) {
        INFO(content[i] << " mg/kg");
        CHECK(models::acceptance_probability({}, content[i], limit_of_one(), models::ReadingShape::normal) ==
              Approx(normal[i]).margin(5.1e-5).epsilon(0.0));
        CHECK(models::acceptance_probability({}, content[i], limit_of_one(), models::ReadingShape::lognormal) ==
              Approx(lognormal[i]).margin(5.1e-5).epsilon(0.0));
    }
}

TEST_CASE("more samples steepen the characteristic and a reader that reads low moves it") {
    models::SamplingPlan four;
    four.samples = 4;
    CHECK(models::plan_cv(four, 1.0) == Approx(0.5 * models::plan_cv({}, 1.0)));
    CHECK(models::acceptance_probability(four, 0.75, limit_of_one()) >
          models::acceptance_probability({}, 0.75, limit_of_one()));
    CHECK(models::acceptance_probability(four, 1.5, limit_of_one()) <
          models::acceptance_probability({}, 1.5, limit_of_one()));
    models::SamplingPlan low;
    low.bias = 0.8;
    CHECK(models::acceptance_probability(low, 1.2, limit_of_one()) >
          models::acceptance_probability({}, 1.2, limit_of_one()));
    models::SamplingPlan duplicate;
    duplicate.analyses = 2;
    // Sampling 0.026, preparation 0.066 and half of 0.026 at 1 mg/kg.
    CHECK(models::plan_cv(duplicate, 1.0) == Approx(std::sqrt(0.026 + 0.066 + 0.013)).epsilon(1e-9));
    models::SamplingPlan none;
    none.samples = 0;
    CHECK_THROWS_WITH(models::plan_cv(none, 1.0), Catch::Contains("judges nothing"));
}

TEST_CASE("risks over lots agree with drawing lots and readings") {
    std::mt19937_64 random(3);
    std::normal_distribution<double> normal;
    const int n = 200000;
    Eigen::VectorXd lots(n);
    int over = 0, over_accepted = 0, good_rejected = 0;
    for (int i = 0; i < n; ++i) {
        lots[i] = 0.7 * std::exp(0.6 * normal(random));
        const double cv = std::sqrt(0.118 * std::pow(lots[i], 0.833)) / lots[i];
        const double q = std::log(1.0 + cv * cv);
        const double reading = lots[i] * std::exp(-0.5 * q + std::sqrt(q) * normal(random));
        over += lots[i] > 1.0;
        over_accepted += lots[i] > 1.0 && reading <= 1.0;
        good_rejected += lots[i] <= 1.0 && reading > 1.0;
    }
    const auto risks = models::risks_over_lots({}, lots, limit_of_one());
    // Five standard errors of a share of about a tenth among 200,000.
    CHECK(risks.over == Approx(static_cast<double>(over) / n).margin(1e-12).epsilon(0.0));
    CHECK(risks.over_and_accepted == Approx(static_cast<double>(over_accepted) / n).margin(0.0035).epsilon(0.0));
    CHECK(risks.good_and_rejected == Approx(static_cast<double>(good_rejected) / n).margin(0.0035).epsilon(0.0));
}

TEST_CASE("the cheapest plan meets its target and every cheaper one misses it") {
    const models::PlanTarget target{
        .bad_mg_per_kg = 1.5, .most_bad_accepted = 0.05, .good_mg_per_kg = 0.6, .most_good_rejected = 0.05};
    const models::PlanCosts costs{.sample = 4.0, .portion = 3.0, .analysis = 9.0};
    const auto best = models::cheapest_plan(target, costs, {}, limit_of_one());
    REQUIRE(best);
    CHECK(best->bad_accepted <= 0.05);
    CHECK(best->good_rejected <= 0.05);
    for (int samples = 1; samples <= 12; ++samples) {
        for (int portions = 1; portions <= 4; ++portions) {
            for (int analyses = 1; analyses <= 4; ++analyses) {
                models::SamplingPlan plan;
                plan.samples = samples;
                plan.portions = portions;
                plan.analyses = analyses;
                if (4.0 * samples + 3.0 * samples * portions + 9.0 * samples * portions * analyses >= best->cost)
                    continue;
                CHECK((models::acceptance_probability(plan, 1.5, limit_of_one()) > 0.05 ||
                       models::acceptance_probability(plan, 0.6, limit_of_one()) < 0.95));
            }
        }
    }
    CHECK_FALSE(models::cheapest_plan({1.01, 0.01, 0.99, 0.01}, costs, {}, limit_of_one()));
    CHECK_THROWS_WITH(models::cheapest_plan({0.9, 0.05, 0.5, 0.05}, costs, {}, limit_of_one()),
                      Catch::Contains("does not lie on both sides of 1.0 mg/kg"));
}

TEST_CASE("a lot that cannot be divided takes a hundred increments and more with its size") {
    // Annex I, part II, A and N: 100 increments, over 500 t 100 + sqrt(tonnes).
    CHECK(models::official_sampling_undivided(15.0).increments == 60);
    CHECK(models::official_sampling_undivided(15.0).aggregate_kg == 6.0);
    CHECK(models::official_sampling_undivided(300.0).increments == 100);
    CHECK(models::official_sampling_undivided(500.0).increments == 100);
    CHECK(models::official_sampling_undivided(900.0).increments == 130);
    CHECK(models::official_sampling_undivided(2500.0).increments == 150);
    CHECK(models::official_sampling_undivided(2500.0).aggregate_kg == Approx(15.0));
    CHECK(models::official_sampling_undivided(501.0).increments == 123);
    CHECK_THROWS_WITH(models::official_sampling_undivided(std::nan("")), Catch::Contains("nan t cannot be sampled"));
}

TEST_CASE("the steps of the wheat study have its coefficients of variation at five parts per million") {
    // Whitaker et al. (2000), J AOAC Int 83, 1285: 13.4, 6.3, 10.0 and 6.3 % at 5 mg/kg.
    const auto v = models::relative_variance(5.0, {});
    CHECK(100.0 * std::sqrt(v.total()) == Approx(13.4).margin(0.05).epsilon(0.0));
    CHECK(100.0 * std::sqrt(v.sampling) == Approx(6.3).margin(0.05).epsilon(0.0));
    CHECK(100.0 * std::sqrt(v.preparation) == Approx(10.0).margin(0.05).epsilon(0.0));
    CHECK(100.0 * std::sqrt(v.analysis) == Approx(6.3).margin(0.05).epsilon(0.0));
    CHECK(models::plan_cv({}, 5.0) == Approx(std::sqrt(v.total())).epsilon(1e-12));
}

TEST_CASE("the work of a plan is its strips and minutes and grain") {
    models::SamplingPlan plan;
    plan.samples = 3;
    plan.sample_mass_g = 500.0;
    plan.portions = 2;
    plan.analyses = 2;
    const models::WorkCosts costs{.strip = 9.0,
                                  .minute = 0.5,
                                  .kilogram = 0.2,
                                  .minutes_per_sample = 10.0,
                                  .minutes_per_portion = 3.0,
                                  .minutes_per_analysis = 6.0};
    const auto work = models::work_of(plan, costs);
    CHECK(work.strips == 12);
    CHECK(work.minutes == Approx(3 * 10.0 + 6 * 3.0 + 12 * 6.0));
    CHECK(work.kilograms == Approx(1.5));
    CHECK(work.cost == Approx(12 * 9.0 + 120.0 * 0.5 + 1.5 * 0.2));
    models::WorkCosts wrong = costs;
    wrong.strip = -1.0;
    CHECK_THROWS_WITH(models::work_of(plan, wrong), Catch::Contains("a cost of -1 for a strip is none"));
    wrong = costs;
    wrong.minutes_per_portion = std::nan("");
    CHECK_THROWS_WITH(models::work_of(plan, wrong), Catch::Contains("nan minutes"));
}

TEST_CASE("the cheapest plan over masses is the cheapest of all that meet the target") {
    const models::PlanTarget target{
        .bad_mg_per_kg = 1.5, .most_bad_accepted = 0.05, .good_mg_per_kg = 0.6, .most_good_rejected = 0.05};
    const models::WorkCosts costs{.strip = 9.0,
                                  .minute = 0.5,
                                  .kilogram = 0.2,
                                  .minutes_per_sample = 10.0,
                                  .minutes_per_portion = 2.0,
                                  .minutes_per_analysis = 6.0};
    const models::PlanMasses masses{{250.0, 1000.0, 2000.0}, {5.0, 25.0, 50.0}};
    for (const auto shape : {models::ReadingShape::normal, models::ReadingShape::lognormal}) {
        const auto best = models::cheapest_plan(target, costs, masses, {}, limit_of_one(), shape);
        REQUIRE(best);
        CHECK(best->bad_accepted <= 0.05);
        CHECK(best->good_rejected <= 0.05);
        CHECK(best->cost == Approx(models::work_of(best->plan, costs).cost));
        // Every plan by itself: the slow obvious version.
        double cheapest = 1e300;
        for (const double mass_g : masses.sample_mass_g)
            for (const double portion_g : masses.portion_g)
                for (int samples = 1; samples <= 12; ++samples)
                    for (int portions = 1; portions <= 4; ++portions)
                        for (int analyses = 1; analyses <= 4; ++analyses) {
                            if (portions * portion_g > mass_g) continue;
                            models::SamplingPlan plan;
                            plan.samples = samples;
                            plan.sample_mass_g = mass_g;
                            plan.portions = portions;
                            plan.portion_g = portion_g;
                            plan.analyses = analyses;
                            if (models::acceptance_probability(plan, 1.5, limit_of_one(), shape) <= 0.05 &&
                                models::acceptance_probability(plan, 0.6, limit_of_one(), shape) >= 0.95)
                                cheapest = std::min(cheapest, models::work_of(plan, costs).cost);
                        }
        CHECK(best->cost == Approx(cheapest).epsilon(1e-12));
    }
    // Where nothing costs anything, less grain is better.
    const auto free = models::cheapest_plan(target, models::WorkCosts{}, masses, {}, limit_of_one());
    REQUIRE(free);
    CHECK(free->cost == 0.0);
    CHECK_FALSE(models::cheapest_plan({1.01, 0.01, 0.99, 0.01}, costs, masses, {}, limit_of_one()));
}

TEST_CASE("a plan or a target that cannot be is refused by its words") {
    models::SamplingPlan plan;
    plan.sample_mass_g = 20.0;
    CHECK_THROWS_WITH(models::acceptance_probability(plan, 1.0, limit_of_one()),
                      Catch::Contains("a portion of 25 g is larger than the sample of 20 g"));
    plan.sample_mass_g = 60.0;
    plan.portions = 3;
    CHECK_THROWS_WITH(models::plan_cv(plan, 1.0),
                      Catch::Contains("3 portions of 25 g are larger than the sample of 60 g"));
    plan.portions = 1;
    plan.portion_g = std::nan("");
    CHECK_THROWS_WITH(models::plan_cv(plan, 1.0), Catch::Contains("a portion of nan g is none"));
    CHECK_THROWS_AS(models::acceptance_probability({}, std::nan(""), limit_of_one()), models::Error);
    plan = {};
    plan.bias = 0.0;
    CHECK_THROWS_WITH(models::acceptance_probability(plan, 1.0, limit_of_one()), Catch::Contains("a bias of 0"));
    const models::WorkCosts costs;
    const auto refused = [&](models::PlanTarget target) {
        return models::cheapest_plan(target, costs, {}, {}, limit_of_one());
    };
    CHECK_THROWS_WITH(refused({1.5, 0.05, 1.2, 0.05}), Catch::Contains("does not lie on both sides of 1.0 mg/kg"));
    CHECK_THROWS_WITH(refused({std::nan(""), 0.05, 0.5, 0.05}), Catch::Contains("does not lie on both sides"));
    CHECK_THROWS_WITH(refused({1.5, 0.0, 0.5, 0.05}), Catch::Contains("a risk of 0 is no chance"));
    CHECK_THROWS_WITH(refused({1.5, 0.05, 0.5, std::nan("")}), Catch::Contains("a risk of nan is no chance"));
    CHECK_THROWS_WITH(
        models::cheapest_plan({1.5, 0.05, 0.5, 0.05}, models::PlanCosts{-1.0, 0.0, 0.0}, {}, limit_of_one()),
        Catch::Contains("a cost of -1 for a sample is none"));
}

TEST_CASE("an own error of known mass makes no small sample as good as a large one") {
    models::ErrorModel own;
    own.own_sampling_cv = 0.2;
    own.own_preparation_cv = 0.2;
    own.own_analysis_cv = 0.1;
    models::WorkCosts costs;
    costs.strip = 9.0;
    costs.kilogram = 5.0;
    const models::PlanTarget target{1.5, 0.05, 0.6, 0.05};
    const auto cheapest = [&](const models::PlanMasses& masses) {
        return models::cheapest_plan(target, costs, masses, {}, limit_of_one(), models::ReadingShape::lognormal, own);
    };
    CHECK_THROWS_WITH(cheapest({{50.0, 454.0}, {}}),
                      Catch::Contains("the own sampling error does not say at which mass it was measured") &&
                          Catch::Contains("leave the choice of masses out"));
    own.own_sampling_mass_g = 454.0;
    CHECK_THROWS_WITH(cheapest({{50.0, 454.0}, {0.5, 25.0}}),
                      Catch::Contains("the own preparation error does not say at which portion it was measured"));
    own.own_portion_g = 25.0;
    models::SamplingPlan smallest;
    smallest.sample_mass_g = 50.0;
    smallest.portion_g = 0.5;
    // CV^2 = 0.04 454/50 + 0.04 25/0.5 + 0.01 = 2.3732 by hand
    CHECK(models::plan_cv(smallest, 1.0, own) == Approx(std::sqrt(2.3732)));
    const auto found = cheapest({{50.0, 454.0, 5000.0}, {0.5, 5.0, 25.0}});
    REQUIRE(found);
    CHECK(found->plan.portion_g == 25.0);
    CHECK(models::plan_cv(found->plan, 1.0, own) < 0.35);
}

TEST_CASE("what a plan's variance is extrapolated from is said") {
    const auto said = [](const models::SamplingPlan& plan, const models::ErrorModel& error = {}) {
        std::string all;
        for (const std::string& sentence : models::extrapolations(plan, {0.5, 2.0}, error)) all += sentence + "\n";
        return all;
    };
    models::SamplingPlan plan;
    CHECK_THAT(said(plan), Catch::Contains("whose exponent 0.833 is unconfirmed"));
    CHECK_THAT(said(plan), !Catch::Contains("extrapolation from the study's"));
    CHECK_THAT(said(plan), !Catch::Contains("1 / mass"));
    plan.sample_mass_g = 1000.0;
    plan.portion_g = 5.0;
    CHECK_THAT(said(plan), Catch::Contains("no sample of that mass was measured"));
    CHECK_THAT(said(plan), Catch::Contains("A portion of 5 g is an extrapolation from the study's 25 g"));
    models::ErrorModel own;
    own.own_sampling_cv = own.own_preparation_cv = own.own_analysis_cv = 0.1;
    CHECK_THAT(said(plan, own), Catch::Contains("The own sampling error does not say at which mass it was measured: it "
                                                "is taken to be that of 1000 g. A smaller sample scatters more."));
    own.own_sampling_mass_g = 1000.0;
    own.own_portion_g = 25.0;
    CHECK(said(plan, own) ==
          "The own preparation error was measured with 25 g. That of 5 g is it in proportion to 1 / portion; no such "
          "portion was measured.\n");
    own.own_portion_g = 5.0;
    CHECK(said(plan, own).empty());
    plan.samples = 4;
    CHECK_THAT(said(plan), Catch::Contains("Several samples count as independent"));
    CHECK(models::in_words(plan) == "4 samples of 1000 g, 1 portion of 5 g of each, 1 analysis of each portion");
}
