#include <algorithm>
#include <cmath>

#include <catch2/catch.hpp>

#include "models/decision/test_order.h"
#include "tests/models/decision/normal_orders.h"

/// Orders of tests in money, and those without any result.
using tests::normal_fields;
using tests::one_mg;

TEST_CASE("costs turn the order and the size of a spoilt lot counts") {
    // F1 is probably over, F2 probably under: dear acceptance makes F2's mistake the one that matters.
    const Eigen::Vector2d mean(std::log(1.5), std::log(0.6));
    auto problem = normal_fields(mean, 0.35 * Eigen::Matrix2d::Identity(), 4000, 0.3);
    problem.costs.wrong_acceptance_per_t = 10.0;
    problem.costs.wrong_rejection_per_t = 1.0;
    auto order = models::order_of_tests(problem);
    CHECK(order.unit == models::GainUnit::money);
    CHECK(order.fields[0].field == "F2");
    CHECK_THAT(order.says, Catch::Contains("in money") && Catch::Contains("10.0 a tonne wrongly accepted") &&
                               Catch::Contains("in the currency of the store's costs"));
    // What the sentence says is the gain of the row, to two digits, and a test that costs more than it saves says both.
    const double gain = order.fields[0].expected_gain;
    const double step = std::pow(10.0, std::floor(std::log10(gain)) - 1.0);
    CHECK_THAT(order.fields[0].why,
               Catch::StartsWith("A test here saves about ") &&
                   Catch::Contains(std::to_string(static_cast<int>(std::round(gain / step) * step))));
    // With a cost of the test the sentence says what it saves before that, and the gain is the difference.
    auto priced = problem;
    priced.costs.test = 0.5 * gain;
    const auto less = models::order_of_tests(priced);
    CHECK(less.fields[0].expected_gain == Approx(0.5 * gain));
    CHECK(less.fields[0]
              .why.substr(0, less.fields[0].why.find_first_of(",;"))
              .starts_with(order.fields[0].why.substr(0, order.fields[0].why.find_first_of(",;"))));
    CHECK_THAT(less.fields[0].why, Catch::Contains(" and costs "));
    CHECK_THAT(less.says, Catch::Contains("the gain is what a test saves less what it costs"));
    auto dear = problem;
    dear.costs.test = 1e6;
    CHECK_THAT(models::order_of_tests(dear).fields[0].why, Catch::Contains(" and costs 1000000"));
    problem.costs = {};
    order = models::order_of_tests(problem);
    CHECK_THAT(order.says, Catch::Contains("No costs of a wrong decision are given"));
    const double alone = order.expected_loss_now;
    problem.outbound_lot_t = 1000.0;
    CHECK(models::order_of_tests(problem).expected_loss_now > alone);
    problem.costs.test = 5.0;
    problem.costs.wrong_acceptance_per_t = 1.0;
    CHECK_THROWS_WITH(models::order_of_tests(problem), Catch::Contains("only one of the two costs"));
}

TEST_CASE("a test costs its strip and its sample and the hours that it takes") {
    const Eigen::Vector2d mean(std::log(1.5), std::log(0.6));
    auto problem = normal_fields(mean, 0.35 * Eigen::Matrix2d::Identity(), 1000, 0.3);
    problem.costs.wrong_acceptance_per_t = 10.0;
    problem.costs.wrong_rejection_per_t = 1.0;
    const double free = models::order_of_tests(problem).fields[0].expected_gain;
    problem.costs.test = 0.5;
    problem.costs.sample = 0.25;
    problem.costs.hour = 2.0;
    const models::TestOrder without_hours = models::order_of_tests(problem);
    CHECK(without_hours.fields[0].expected_gain == Approx(free - 0.75).epsilon(1e-12));
    CHECK_THAT(without_hours.says, Catch::Contains("one more test 0.75 (test 0.5, sample 0.25)"));
    problem.costs.hours_per_test = 0.5;
    const models::TestOrder all = models::order_of_tests(problem);
    CHECK(all.fields[0].expected_gain == Approx(free - 1.75).epsilon(1e-12));
    CHECK_THAT(all.says, Catch::Contains("one more test 1.75 (test 0.5, sample 0.25, 0.5 hours at 2"));
    problem.costs.hours_per_test = -1.0;
    CHECK_THROWS_WITH(models::order_of_tests(problem), Catch::Contains("a test does not take -1 hours"));
    problem.costs.hours_per_test = 0.0;
    problem.costs.sample = -1.0;
    CHECK_THROWS_WITH(models::order_of_tests(problem), Catch::Contains("a cost of -1 is none"));
}

TEST_CASE("without any result fields are ranked by risk and labelled so") {
    models::TestOrderProblem problem;
    problem.limit = one_mg();
    for (const double risk : {0.2, 0.6, 0.4}) {
        models::FieldToTest field;
        field.field = "R" + std::to_string(static_cast<int>(10 * risk));
        field.tonnes = 10.0;
        field.risk = risk;
        problem.fields.push_back(field);
    }
    problem.fields.push_back({.field = "R0", .tonnes = 5.0});
    const auto order = models::order_of_tests(problem);
    CHECK(order.ranking_only);
    CHECK(order.unit == models::GainUnit::none);
    REQUIRE(order.fields.size() == 4);
    CHECK(order.fields[0].field == "R6");
    CHECK(order.fields[1].field == "R4");
    CHECK(order.fields[3].why == "Its disease risk is not known");
    CHECK_THAT(order.says, Catch::Contains("Ranking only") && Catch::Contains("not a chance of being over"));
}
