#include "models/decision/bin_plan.h"

#include <cmath>
#include <map>

#include <catch2/catch.hpp>

#include "models/error.h"
#include "tests/models/decision/pits.h"

namespace {

using namespace tests::pits;

/// Two food bins (one a third full), a feed bin, a hold bin.
models::BinPlanProblem pit() {
    models::BinPlanProblem problem;
    problem.bins = {bin_of("F1", Purpose::food, 100.0, 1.0), bin_of("F2", Purpose::food, 100.0, 1.0),
                    bin_of("E1", Purpose::feed, 100.0, 5.0), bin_of("H1", Purpose::hold, 60.0, std::nullopt)};
    problem.bins[1].content_t = 33.0;
    problem.bins[1].content_draws_mg_per_kg = contents(0.3, 0.3, 99);
    return problem;
}

void add(models::BinPlanProblem& problem, const models::WaitingGrain& grain, double median, double log_sd = 0.3) {
    problem.draws_mg_per_kg.conservativeResize(n_draws, problem.draws_mg_per_kg.cols() + 1);
    problem.draws_mg_per_kg.rightCols(1) = contents(median, log_sd, static_cast<int>(problem.draws_mg_per_kg.cols()));
    problem.grain.push_back(grain);
}

const models::Assignment* assigned(const models::BinPlan& plan, const std::string& name) {
    for (const auto& assignment : plan.assignments) {
        if (assignment.name == name) return &assignment;
    }
    return nullptr;
}

std::string bin_of_load(const models::BinPlan& plan, const std::string& name) {
    const auto* assignment = assigned(plan, name);
    return assignment ? assignment->bin : "";
}

const models::BinOutlook& outlook(const models::BinPlan& plan, const std::string& name) {
    for (const auto& bin : plan.bins) {
        if (bin.bin == name) return bin;
    }
    throw std::runtime_error("no bin " + name);
}

}  // namespace

TEST_CASE("cleared loads go to the fullest food bin that takes them and over loads to feed") {
    auto problem = pit();
    add(problem, load_of("good", 20.0, 0.4), 0.4);
    add(problem, load_of("bad", 20.0, 1.6), 1.5);
    add(problem, load_of("unsure", 20.0), 0.8, 0.5);
    add(problem, load_of("large", 60.0, 0.3), 0.3);
    const auto plan = models::plan_bins(problem);
    CHECK(bin_of_load(plan, "good") == "F2");
    CHECK(bin_of_load(plan, "bad") == "E1");
    CHECK(bin_of_load(plan, "unsure") == "H1");
    CHECK(bin_of_load(plan, "large") == "F1");  // 53 of 100 t lie in F2 by then
    CHECK(plan.unplaced.empty());
    CHECK(models::broken_rules(problem, plan).empty());
    CHECK(outlook(plan, "F2").content_t == Approx(53.0));
    CHECK(outlook(plan, "F2").mean_mg_per_kg.value() == Approx((33.0 * problem.bins[1].content_draws_mg_per_kg.mean() +
                                                                20.0 * problem.draws_mg_per_kg.col(0).mean()) /
                                                               53.0));
    CHECK_THAT(assigned(plan, "bad")->reason, Catch::Contains("over for food: own strip 1.6 mg/kg is over 1.0: "
                                                              "suspected, hold and have a laboratory confirm it"));
    CHECK_THAT(plan.says, Catch::Contains("up to a 5 % chance"));
    CHECK_THAT(plan.value_says, Catch::Contains("counted in tonnes"));
}

TEST_CASE("a load whose own test is over never enters a food bin although its posterior is under") {
    auto problem = pit();
    add(problem, load_of("L", 20.0, 1.1), 0.3, 0.1);
    CHECK(bin_of_load(models::plan_bins(problem), "L") == "E1");
    problem.bins.erase(problem.bins.begin() + 2);
    const auto plan = models::plan_bins(problem);
    REQUIRE(plan.unplaced.size() == 1);
    // A strip holds grain; only a laboratory's result turns it away.
    CHECK_FALSE(plan.unplaced[0].turn_away);
    CHECK(plan.unplaced[0].state == models::ClearingState::over);
    CHECK_THAT(plan.unplaced[0].reason, Catch::Contains("own strip 1.1 mg/kg is over 1.0") &&
                                            Catch::Contains("hold it until a laboratory has confirmed it"));
    problem.grain[0].results[0].method = models::Method::laboratory;
    const auto confirmed = models::plan_bins(problem);
    REQUIRE(confirmed.unplaced.size() == 1);
    CHECK(confirmed.unplaced[0].turn_away);
    CHECK_THAT(confirmed.unplaced[0].reason, Catch::Contains("turn it away"));
}

TEST_CASE("an undecided load waits and is not sent to feed") {
    auto problem = pit();
    problem.bins[3].bin.capacity_t = 10.0;
    add(problem, load_of("L", 20.0), 0.8, 0.5);
    const auto plan = models::plan_bins(problem);
    REQUIRE(plan.unplaced.size() == 1);
    CHECK_FALSE(plan.unplaced[0].turn_away);
    CHECK_THAT(plan.unplaced[0].reason,
               Catch::Contains("not clear for food") && Catch::Contains("H1 has room for 10.0 t only"));
}

TEST_CASE("grain never thins what is over in a bin") {
    auto problem = pit();
    problem.bins.erase(problem.bins.begin());  // F2 only
    problem.bins[0].content_draws_mg_per_kg = contents(1.2, 0.2, 98);
    add(problem, load_of("L", 60.0, 0.1), 0.1);
    const auto plan = models::plan_bins(problem);
    CHECK(bin_of_load(plan, "L") == "E1");  // cleared for food, no food bin takes it, cleared for feed
    CHECK_THAT(assigned(plan, "L")->reason,
               Catch::Contains("what lies in F2 has a") && Catch::Contains("chance of being over already"));
}

TEST_CASE("a bin of unknown content and a closed bin take nothing") {
    auto problem = pit();
    problem.bins[1].content_draws_mg_per_kg.resize(0);
    problem.bins[0].closed = true;
    problem.bins[0].closed_reason = "load L9 in it was found over after dumping";
    problem.bins.erase(problem.bins.begin() + 2);
    add(problem, load_of("L", 20.0), 0.2);
    const auto plan = models::plan_bins(problem);
    REQUIRE(plan.unplaced.size() == 1);
    CHECK(plan.unplaced[0].state == models::ClearingState::cleared);
    CHECK_THAT(plan.unplaced[0].reason, Catch::Contains("F1 is closed: load L9 in it was found over after dumping") &&
                                            Catch::Contains("what lies in F2 is not known"));
    CHECK_THAT(outlook(plan, "F2").note, Catch::Contains("not known"));
    CHECK_FALSE(outlook(plan, "F2").exceedance);
}

TEST_CASE("tags that are kept apart never meet") {
    auto problem = pit();
    auto organic = load_of("organic", 20.0, 0.2);
    organic.keep_apart = "organic";
    add(problem, organic, 0.2);
    add(problem, load_of("plain", 60.0, 0.2), 0.2);
    add(problem, organic, 0.2);
    problem.grain[2].name = "organic 2";
    const auto plan = models::plan_bins(problem);
    CHECK(bin_of_load(plan, "organic") == "F1");  // F2 holds grain without the tag
    CHECK(bin_of_load(plan, "plain") == "F2");
    CHECK(bin_of_load(plan, "organic 2") == "F1");
    CHECK(models::broken_rules(problem, plan).empty());
}

TEST_CASE("every bin asks by its own limit") {
    models::BinPlanProblem problem;
    problem.bins = {bin_of("strict", Purpose::food, 50.0, 0.5), bin_of("legal", Purpose::food, 100.0, 1.25)};
    add(problem, load_of("L", 20.0, 0.8), 0.8, 0.1);
    const auto plan = models::plan_bins(problem);
    CHECK(bin_of_load(plan, "L") == "legal");
    // A limit of another commodity is not asked.
    problem.bins[1].limit->commodity = "durum";
    problem.grain[0].commodity = "wheat";
    CHECK(models::plan_bins(problem).unplaced.size() == 1);
}

TEST_CASE("a bin of other purpose without a limit takes what is over and a food bin without one takes nothing") {
    models::BinPlanProblem problem;
    problem.bins = {bin_of("F1", Purpose::food, 50.0, 1.0), bin_of("F0", Purpose::food, 50.0, std::nullopt),
                    bin_of("O1", Purpose::other, 50.0, std::nullopt)};
    add(problem, load_of("bad", 20.0, 9.0), 8.0);
    add(problem, load_of("good", 45.0, 0.1), 0.1);
    add(problem, load_of("good too", 20.0, 0.1), 0.1);
    const auto plan = models::plan_bins(problem);
    CHECK(bin_of_load(plan, "bad") == "O1");
    CHECK(bin_of_load(plan, "good") == "F1");
    CHECK(bin_of_load(plan, "good too") == "O1");
    CHECK_THAT(assigned(plan, "good too")->reason,
               Catch::Contains("F1 has room for 5.0 t only") && Catch::Contains("F0 has no limit"));
}

TEST_CASE("without any DON result nothing is cleared") {
    auto problem = pit();
    problem.grain = {load_of("L1", 20.0), load_of("L2", 20.0)};
    problem.bins[1].content_draws_mg_per_kg.resize(0);
    const auto plan = models::plan_bins(problem);
    for (const auto& assignment : plan.assignments) CHECK(assignment.bin == "H1");
    CHECK(plan.score.tonnes_held == Approx(40.0));
}

TEST_CASE("the bin cap looks at the mean and stops a bin before it is over") {
    models::BinPlanProblem problem;
    problem.caps.load_cap = 0.3;  // a user who clears loads lightly still has the bin's own cap
    problem.bins = {bin_of("F1", Purpose::food, 500.0, 1.0)};
    // Loads of one field: the same draws, so mixing them does not average anything away.
    for (int i = 0; i < 3; ++i) {
        problem.grain.push_back(load_of("L" + std::to_string(i), 20.0));
        problem.draws_mg_per_kg.conservativeResize(n_draws, i + 1);
        problem.draws_mg_per_kg.col(i) = contents(0.7, 0.4, 7);
    }
    const auto plan = models::plan_bins(problem);
    CHECK(plan.assignments.empty());
    CHECK_THAT(plan.unplaced[0].reason, Catch::Contains("with it the mean of F1 would have a"));
}

TEST_CASE("the chance that a buyer rejects a lot of known content is the tail of the reading") {
    const auto buyer = models::lognormal_reading_law([](double) { return 0.3; });
    const Eigen::VectorXd lot = Eigen::VectorXd::Constant(10, 0.8);
    // ln y ~ N(ln 0.8 - q/2, q), q = ln 1.09: R 4.2: plnorm(1, log(.8) - log(1.09) / 2, sqrt(log(1.09)), lower.tail =
    // FALSE) = 0.1822275963.
    CHECK(models::rejection_probability(lot, plan_limit_at(1.0), buyer) == Approx(0.1822275963).epsilon(1e-9));
    models::Limit rounded = plan_limit_at(1.0);
    rounded.rounding_mg_per_kg = 0.1;
    CHECK(models::rejection_probability(lot, rounded, buyer) <
          models::rejection_probability(lot, plan_limit_at(1.0), buyer));
}

TEST_CASE("the plan is set beside the habits on the same draws") {
    auto problem = pit();
    problem.bins[1].content_t = 0.0;
    problem.bins[1].content_draws_mg_per_kg.resize(0);
    for (int i = 0; i < 4; ++i) add(problem, load_of("good" + std::to_string(i), 20.0, 0.3), 0.3);
    add(problem, load_of("bad", 20.0, 2.0), 2.0);
    problem.grain[0].grower = problem.grain[4].grower = "Aldan";
    problem.grain[1].grower = problem.grain[2].grower = problem.grain[3].grower = "Brome";
    const auto plan = models::plan_bins(problem);
    REQUIRE(plan.compared_with.size() == 3);
    CHECK(plan.score.tonnes_in_food_bins == Approx(80.0));
    CHECK(plan.score.tonnes_not_cleared_in_food_bins == 0.0);
    const auto& first_come = plan.compared_with[0];
    CHECK(first_come.rule == "first come");
    CHECK(first_come.tonnes_in_food_bins == Approx(100.0));
    CHECK(first_come.tonnes_not_cleared_in_food_bins == Approx(20.0));
    // The five loads fill one bin, and the bad one (over in 99 % of draws) spoils it.
    CHECK(first_come.tonnes_spoilt_in_food_bins == Approx(100.0).margin(2.0).epsilon(0.0));
    CHECK(first_come.value < plan.score.value);
    const auto& number = plan.compared_with[1];
    CHECK(number.tonnes_in_food_bins == Approx(80.0));
    const auto& grower = plan.compared_with[2];
    CHECK(grower.tonnes_in_food_bins == Approx(100.0));
    CHECK(grower.tonnes_spoilt_in_food_bins == Approx(40.0).margin(1.0).epsilon(0.0));
    CHECK_FALSE(plan.value_in_money);
    problem.prices = models::PlanPrices{200.0, 150.0, 0.0, 300.0};
    const auto priced = models::plan_bins(problem);
    CHECK(priced.value_in_money);
    CHECK(priced.score.value == Approx(200.0 * (80.0 - priced.score.tonnes_spoilt_in_food_bins) + 150.0 * 20.0 -
                                       300.0 * priced.score.tonnes_spoilt_in_food_bins));
}

TEST_CASE("a plan that breaks a rule is found out") {
    auto problem = pit();
    add(problem, load_of("bad", 20.0, 1.6), 1.5);
    add(problem, load_of("unsure", 20.0), 0.8, 0.5);
    auto organic = load_of("organic", 20.0, 0.2);
    organic.keep_apart = "organic";
    add(problem, organic, 0.2);
    const auto plan_with = [](const std::vector<models::Assignment>& assignments) {
        models::BinPlan plan;
        plan.assignments = assignments;
        return plan;
    };
    const auto kind = models::GrainKind::load;
    const auto cleared = models::ClearingState::cleared;
    const auto broken = models::broken_rules(problem, plan_with({{"bad", kind, "F2", 20.0, cleared, ""},
                                                                 {"unsure", kind, "E1", 20.0, cleared, ""},
                                                                 {"organic", kind, "F2", 19.0, cleared, ""}}));
    std::string all;
    for (const auto& rule : broken) all += rule + "\n";
    CHECK_THAT(all, Catch::Contains("bad goes into bin F2 without being cleared for it") &&
                        Catch::Contains("unsure is undecided and goes into bin E1 instead of waiting on hold") &&
                        Catch::Contains("organic (tag \"organic\") meets grain with another tag in bin F2") &&
                        Catch::Contains("19.000 t of organic's 20.000 t are accounted for"));
}

TEST_CASE("a plan is the same on one thread and on several") {
    Dice dice{std::mt19937_64(22)};
    for (int pit_number = 0; pit_number < 20; ++pit_number) {
        models::BinPlanProblem problem = random_pit(dice, 6, 8);
        const auto alone = models::plan_bins(problem);
        problem.threads = 4;
        const auto together = models::plan_bins(problem);
        REQUIRE(together.assignments.size() == alone.assignments.size());
        for (std::size_t i = 0; i < alone.assignments.size(); ++i) {
            CHECK(together.assignments[i].name == alone.assignments[i].name);
            CHECK(together.assignments[i].bin == alone.assignments[i].bin);
            CHECK(together.assignments[i].reason == alone.assignments[i].reason);
        }
        REQUIRE(together.bins.size() == problem.bins.size());
        for (std::size_t b = 0; b < problem.bins.size(); ++b) {
            CHECK(together.bins[b].bin == problem.bins[b].bin.bin);
            CHECK(together.bins[b].mean_mg_per_kg == alone.bins[b].mean_mg_per_kg);
            CHECK(together.bins[b].exceedance == alone.bins[b].exceedance);
            CHECK(together.bins[b].note == alone.bins[b].note);
        }
    }
}

TEST_CASE("ten thousand random pits break no rule") {
    Dice dice{std::mt19937_64(4711)};
    int in_food = 0, in_feed = 0, held = 0, turned_away = 0, waiting = 0;
    for (int pit_number = 0; pit_number < 10000; ++pit_number) {
        const int bins = 1 + dice.below(6), loads = 1 + dice.below(8);
        const models::BinPlanProblem problem = random_pit(dice, bins, loads);

        const auto plan = models::plan_bins(problem);
        const auto broken = models::broken_rules(problem, plan);
        INFO("pit " << pit_number << (broken.empty() ? "" : ": " + broken.front()));
        REQUIRE(broken.empty());
        // The same once more by hand, without any of the program's own rules.
        std::map<std::string, double> filled;
        std::map<std::string, std::string> tag;
        for (const auto& bin : problem.bins) filled[bin.bin.bin] = bin.content_t;
        for (const auto& assignment : plan.assignments) {
            const auto& grain = problem.grain[static_cast<std::size_t>(std::stoi(assignment.name.substr(1)))];
            const auto& bin = problem.bins[static_cast<std::size_t>(std::stoi(assignment.bin.substr(1)))];
            filled[assignment.bin] += assignment.mass_t;
            REQUIRE(filled[assignment.bin] <= bin.bin.capacity_t + 1e-6);
            const auto [first, is_new] = tag.try_emplace(assignment.bin, grain.keep_apart);
            REQUIRE(first->second == grain.keep_apart);
            REQUIRE_FALSE(bin.closed);
            if (bin.bin.purpose == Purpose::food) {
                REQUIRE(bin.limit);
                REQUIRE_FALSE(grain.known_over);
                int over = 0;
                for (int i = 0; i < pit_draws; ++i) {
                    const double content = problem.draws_mg_per_kg(i, assignment.name[1] - '0');
                    const double step = bin.limit->rounding_mg_per_kg.value_or(0.0);
                    const double seen = step > 0.0 ? std::round(content / step) * step : content;
                    over += seen > bin.limit->limit_mg_per_kg + 1e-9;
                }
                REQUIRE(over <= 2);  // 5 % of 40
                for (const auto& result : grain.results) {
                    if (result.reading == Reading::above) REQUIRE(result.don_mg_per_kg < bin.limit->limit_mg_per_kg);
                    if (result.reading == Reading::value)
                        REQUIRE(result.don_mg_per_kg < bin.limit->limit_mg_per_kg + 0.05);
                }
            }
            in_food += bin.bin.purpose == Purpose::food;
            in_feed += bin.bin.purpose == Purpose::feed;
            held += bin.bin.purpose == Purpose::hold;
        }
        for (const auto& unplaced : plan.unplaced) (unplaced.turn_away ? turned_away : waiting) += 1;
    }
    // Every way out was taken often, so the rules were put to the test.
    CHECK(in_food > 1000);
    CHECK(in_feed > 1000);
    CHECK(held > 1000);
    CHECK(turned_away > 500);  // by a laboratory or the upper cap: strips alone hold
    CHECK(waiting > 1000);
}

TEST_CASE("a plan without sense is refused in one sentence") {
    auto problem = pit();
    add(problem, load_of("L", 20.0), 0.2);
    auto wrong = problem;
    wrong.bins.clear();
    CHECK_THROWS_WITH(models::plan_bins(wrong), Catch::Contains("there are no bins"));
    wrong = problem;
    wrong.grain[0].mass_t = -1.0;
    CHECK_THROWS_WITH(models::plan_bins(wrong), Catch::Contains("load L: -1 t cannot be placed"));
    wrong = problem;
    wrong.grain.push_back(wrong.grain[0]);
    CHECK_THROWS_WITH(models::plan_bins(wrong), Catch::Contains("draws of 1 loads for 2 loads"));
    wrong = problem;
    wrong.bin_cap = 5.0;
    CHECK_THROWS_WITH(models::plan_bins(wrong), Catch::Contains("bin cap") && Catch::Contains("5 % is 0.05"));
    wrong = problem;
    wrong.bins[1].content_draws_mg_per_kg.conservativeResize(3);
    CHECK_THROWS_WITH(models::plan_bins(wrong), Catch::Contains("its content has 3 draws"));
    wrong = problem;
    wrong.bins[1].bin.bin = "F1";
    CHECK_THROWS_WITH(models::plan_bins(wrong), Catch::Contains("bin F1: it is listed twice"));
}

TEST_CASE("a load heavier than any bin waits with that reason") {
    auto problem = pit();
    add(problem, load_of("L", 300.0), 0.2);
    const auto plan = models::plan_bins(problem);
    REQUIRE(plan.unplaced.size() == 1);
    CHECK_THAT(plan.unplaced[0].reason, Catch::Contains("F1 has room for 100.0 t only"));
}

TEST_CASE("a limit on dry matter meets each load at its own moisture") {
    // 0.85 mg/kg as is, in every draw. At 12 % moisture that is 0.85 / 0.88 = 0.966 on dry matter, at 18 % 0.85 / 0.82
    // = 1.037: the same grain as is, one under a limit of 1.0 on dry matter and one over it.
    models::BinPlanProblem problem;
    problem.bins = {bin_of("S", Purpose::food, 100.0, 1.0), bin_of("E", Purpose::feed, 100.0, 5.0)};
    problem.bins[0].limit->basis = models::Basis::dry;
    problem.bins[0].content_t = 10.0;
    problem.bins[0].content_moisture = 0.14;
    problem.bins[0].content_draws_mg_per_kg = Eigen::VectorXd::Constant(n_draws, 0.43);
    problem.draws_mg_per_kg = Eigen::MatrixXd::Constant(n_draws, 2, 0.85);
    problem.grain = {load_of("drier", 20.0), load_of("wetter", 20.0)};
    problem.grain[0].moisture = 0.12;
    problem.grain[1].moisture = 0.18;
    auto plan = models::plan_bins(problem);
    CHECK(models::broken_rules(problem, plan).empty());
    CHECK(bin_of_load(plan, "drier") == "S");
    CHECK(bin_of_load(plan, "wetter") != "S");
    // DON over dry matter: (10 x 0.43 + 20 x 0.85) / (10 x 0.86 + 20 x 0.88).
    CHECK(outlook(plan, "S").mean_mg_per_kg.value() == Approx((4.3 + 17.0) / (8.6 + 17.6)));
    // A result on dry matter is compared as it is, one as is at the moisture of what was tested.
    problem.grain[0].results = {{"T1", Reading::value, 0.99, models::Method::laboratory, models::Basis::dry, 0.5}};
    CHECK(bin_of_load(models::plan_bins(problem), "drier") == "S");
    problem.grain[0].results = {{"T1", Reading::value, 0.90, models::Method::laboratory, models::Basis::as_is, 0.12}};
    plan = models::plan_bins(problem);  // 0.90 / 0.88 = 1.02
    CHECK(bin_of_load(plan, "drier") == "E");
    CHECK_THAT(assigned(plan, "drier")->in_short, Catch::StartsWith("laboratory 1.02 is over 1.0; "));
}
