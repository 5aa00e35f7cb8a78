#include "models/decision/test_order.h"

#include <algorithm>
#include <cmath>
#include <random>

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <catch2/catch.hpp>

#include "models/decision/normal_value.h"
#include "models/error.h"
#include "tests/models/decision/normal_orders.h"

using tests::limit_mg_per_kg;
using tests::normal_fields;
using tests::one_mg;

namespace {

double phi(double z) {
    return 0.5 * std::erfc(-z / std::sqrt(2.0));
}

const models::RankedField& row(const models::TestOrder& order, const std::string& field) {
    for (const auto& ranked : order.fields) {
        if (ranked.field == field) return ranked;
    }
    throw std::runtime_error("no row " + field);
}

/// Nested Monte Carlo with the exact conditional law inside: truths and readings drawn, the mean of each field's log
/// content given the readings by normal conditioning, the better decision's loss by the normal distribution. Of each
/// field; accepted and rejected are what a wrong decision costs.
Eigen::VectorXd losses_after_tests(const Eigen::VectorXd& mean, const Eigen::MatrixXd& covariance, double cv,
                                   const std::vector<int>& tested, double accepted, double rejected, int outer) {
    const double q = std::log1p(cv * cv);
    const auto count = static_cast<Eigen::Index>(tested.size());
    Eigen::MatrixXd among(count, count), to(mean.size(), count);
    for (Eigen::Index a = 0; a < count; ++a) {
        for (Eigen::Index b = 0; b < count; ++b) among(a, b) = covariance(tested[a], tested[b]) + (a == b ? q : 0.0);
        to.col(a) = covariance.col(tested[a]);
    }
    const Eigen::MatrixXd gain = count > 0 ? Eigen::MatrixXd(to * among.inverse()) : Eigen::MatrixXd(to);
    const Eigen::MatrixXd left = covariance - gain * to.transpose();
    const Eigen::MatrixXd factor = covariance.llt().matrixL();
    std::mt19937_64 random(77);
    std::normal_distribution<double> normal;
    Eigen::VectorXd sum = Eigen::VectorXd::Zero(mean.size());
    for (int i = 0; i < outer; ++i) {
        Eigen::VectorXd z(mean.size());
        for (auto& value : z) value = normal(random);
        const Eigen::VectorXd truth = mean + factor * z;
        Eigen::VectorXd surprise(count);
        for (Eigen::Index a = 0; a < count; ++a) {
            surprise[a] = truth[tested[a]] + std::sqrt(q) * normal(random) - mean[tested[a]];
        }
        const Eigen::VectorXd after = count > 0 ? Eigen::VectorXd(mean + gain * surprise) : mean;
        for (Eigen::Index f = 0; f < mean.size(); ++f) {
            const double over = phi((after[f] - std::log(limit_mg_per_kg)) / std::sqrt(left(f, f)));
            sum[f] += std::min(accepted * over, rejected * (1.0 - over));
        }
    }
    return sum / outer;
}

double loss_after_tests(const Eigen::VectorXd& mean, const Eigen::MatrixXd& covariance, double cv,
                        const std::vector<int>& tested, double tonnes, int outer) {
    return losses_after_tests(mean, covariance, cv, tested, tonnes, tonnes, outer).sum();
}

/// Losses of the fields once these are tested, all of 100 t without costs, with every draw weighed by itself: no
/// classes, no scores, no normal law. Truths are the draws in turn, their readings random.
Eigen::VectorXd losses_weighing_draws(const models::TestOrderProblem& problem, const std::vector<int>& tested,
                                      int outer) {
    const Eigen::ArrayXXd draws = problem.draws_mg_per_kg.array();
    const Eigen::ArrayXXd over = (draws > limit_mg_per_kg).cast<double>();
    std::mt19937_64 random(3);
    std::uniform_real_distribution<double> uniform(1e-9, 1.0 - 1e-9);
    Eigen::VectorXd after = Eigen::VectorXd::Zero(draws.cols());
    for (int i = 0; i < outer; ++i) {
        Eigen::ArrayXd weight = Eigen::ArrayXd::Zero(draws.rows());
        for (const int f : tested) {
            const auto reading = problem.law.sample(draws(i % draws.rows(), f), uniform(random), 0.5);
            weight += problem.law.log_density(reading, draws.col(f));
        }
        weight = (weight - weight.maxCoeff()).exp();
        weight /= weight.sum();
        for (Eigen::Index f = 0; f < draws.cols(); ++f) {
            const double p = (weight * over.col(f)).sum();
            after[f] += 100.0 * std::min(p, 1.0 - p) / outer;
        }
    }
    return after;
}

double loss_weighing_draws(const models::TestOrderProblem& problem, const std::vector<int>& tested, int outer) {
    return losses_weighing_draws(problem, tested, outer).sum();
}

int number_of(const models::RankedField& field) {
    return std::stoi(field.field.substr(1)) - 1;
}

}  // namespace

TEST_CASE("the value of a test of two correlated fields agrees with nested Monte Carlo") {
    const Eigen::Vector2d mean(std::log(0.8), std::log(1.3));
    Eigen::Matrix2d covariance;
    covariance << 0.50, 0.30, 0.30, 0.40;
    auto problem = normal_fields(mean, covariance, 200000, 0.35);
    const models::TestOrder order = models::order_of_tests(problem);
    const int outer = 200000;
    const double now = loss_after_tests(mean, covariance, 0.35, {}, 100.0, 1);
    const double gain_1 = now - loss_after_tests(mean, covariance, 0.35, {0}, 100.0, outer);
    const double gain_2 = now - loss_after_tests(mean, covariance, 0.35, {1}, 100.0, outer);
    // 200,000 draws know a chance of one third to 0.001: 0.2 t on two correlated fields of 100 t, three times over.
    CHECK(order.expected_loss_now == Approx(now).margin(0.6).epsilon(0.0));
    // The same for a gain, of which 64 outcomes and 128 classes see all but half a hundredth.
    CHECK(row(order, "F1").expected_gain == Approx(gain_1).margin(0.6).epsilon(0.0));
    CHECK(row(order, "F2").expected_gain == Approx(gain_2).margin(0.6).epsilon(0.0));
    CHECK(row(order, "F1").gain_on_itself < row(order, "F1").expected_gain);
    CHECK(order.expected_loss_after == Approx(order.expected_loss_now - order.fields[0].expected_gain));
}

TEST_CASE("the second of two tests is worth what nested Monte Carlo gives it after the first") {
    const Eigen::Vector3d mean(std::log(0.9), std::log(1.1), std::log(0.7));
    Eigen::Matrix3d covariance;
    covariance << 0.50, 0.42, 0.05, 0.42, 0.50, 0.05, 0.05, 0.05, 0.45;
    auto problem = normal_fields(mean, covariance, 200000, 0.35);
    problem.tests = 2;
    const models::TestOrder order = models::order_of_tests(problem);
    const int outer = 200000;
    const std::vector<std::vector<int>> pairs{{0, 1}, {0, 2}, {1, 2}};
    double best = 1e9;
    for (const auto& pair : pairs) {
        best = std::min(best, loss_after_tests(mean, covariance, 0.35, pair, 100.0, outer));
    }
    // F1 and F2 nearly tell the same; with one of them tested, F3 comes next although it is worth less by itself.
    CHECK(order.fields[1].field == "F3");
    CHECK(order.expected_loss_after == Approx(best).margin(1.0).epsilon(0.0));
}

TEST_CASE("the value of a test with a narrow working range agrees with weighing every draw by itself") {
    const Eigen::Vector2d mean(std::log(0.8), std::log(1.2));
    Eigen::Matrix2d covariance;
    covariance << 0.60, 0.35, 0.35, 0.60;
    auto problem = normal_fields(mean, covariance, 2000, 0.4);
    problem.law = models::lognormal_reading_law([](double c) { return 0.2 + 0.1 / c; }, 0.5, 1.5);
    const models::TestOrder order = models::order_of_tests(problem);

    for (int tested = 0; tested < 2; ++tested) {
        const double gain = order.expected_loss_now - loss_weighing_draws(problem, {tested}, 4000);
        // The oracle's own Monte Carlo error: losses of 0 to 100 t spread by about 35 t, 4000 of them: 0.55 t, twice.
        CHECK(row(order, tested == 0 ? "F1" : "F2").expected_gain == Approx(gain).margin(1.1).epsilon(0.0));
    }
}

TEST_CASE("gains, their parts and the order of three tests of four fields are those of nested Monte Carlo") {
    const Eigen::Vector4d mean(std::log(0.9), std::log(0.6), std::log(0.5), std::log(0.3));
    Eigen::Matrix4d covariance;
    covariance << 0.50, 0.40, 0.10, 0.05, 0.40, 0.55, 0.10, 0.05, 0.10, 0.10, 0.45, 0.20, 0.05, 0.05, 0.20, 0.60;
    auto problem = normal_fields(mean, covariance, 200000, 0.35);
    problem.costs.wrong_acceptance_per_t = 4.0;
    problem.costs.wrong_rejection_per_t = 1.0;
    problem.costs.test = 2.0;
    problem.tests = 3;
    const models::TestOrder order = models::order_of_tests(problem);
    const auto losses = [&](const std::vector<int>& tested, int outer) {
        return losses_after_tests(mean, covariance, 0.35, tested, 400.0, 100.0, outer);
    };
    // 200,000 draws know a chance to 0.001: 0.4 of 400 on each of four fields that hang together, and 200,000 truths
    // know their loss, which spreads by about 60, to 0.13.
    constexpr double margin = 1.2;
    std::vector<int> tested;
    Eigen::VectorXd before = losses({}, 1);
    CHECK(order.expected_loss_now == Approx(before.sum()).margin(margin).epsilon(0.0));
    for (std::size_t i = 0; i < 4; ++i) {
        std::vector<int> with = tested;
        with.push_back(number_of(order.fields[i]));
        const Eigen::VectorXd after = losses(with, 200000);
        CAPTURE(i, order.fields[i].field);
        CHECK(order.fields[i].expected_gain + 2.0 == Approx((before - after).sum()).margin(margin).epsilon(0.0));
        CHECK(order.fields[i].gain_on_itself == Approx((before - after)[with.back()]).margin(margin).epsilon(0.0));
        for (int other = 0; other < 4; ++other) {
            std::vector<int> instead = tested;
            instead.push_back(other);
            if (std::count(with.begin(), with.end(), other) == 0)
                CHECK(after.sum() <= losses(instead, 200000).sum() + margin);
        }
        if (i == 2) CHECK(order.expected_loss_after == Approx(after.sum()).margin(margin).epsilon(0.0));
        tested = with;
        before = after;
    }
}

TEST_CASE("fields that mostly read below the range are worth what weighing every draw gives them") {
    // At their medians, 0.45 and 0.5 mg/kg, a reading is below 0.8 nearly for sure and tells nothing of the content;
    // what a test is good for is that it is not.
    const Eigen::Vector2d mean(std::log(0.45), std::log(0.5));
    Eigen::Matrix2d covariance;
    covariance << 0.60, 0.25, 0.25, 0.60;
    auto problem = normal_fields(mean, covariance, 2000, 0.4);
    problem.law = models::lognormal_reading_law([](double) { return 0.2; }, 0.8, 3.0);
    const models::TestOrder alone = models::order_of_tests(problem);
    problem.tests = 2;
    const models::TestOrder both = models::order_of_tests(problem);
    // The oracle's error, of losses that spread by about 20 t: 0.3 t for 4000, twice.
    for (int tested = 0; tested < 2; ++tested) {
        const double gain = alone.expected_loss_now - loss_weighing_draws(problem, {tested}, 4000);
        CHECK(gain > 5.0);
        CHECK(row(alone, tested == 0 ? "F1" : "F2").expected_gain == Approx(gain).margin(0.6).epsilon(0.0));
    }
    CHECK(both.expected_loss_after == Approx(loss_weighing_draws(problem, {0, 1}, 4000)).margin(1.0).epsilon(0.0));
}

TEST_CASE("fields that may hold no DON are worth on themselves what weighing every draw gives, and no more on others") {
    const Eigen::Vector2d mean(std::log(0.8), std::log(1.1));
    Eigen::Matrix2d covariance;
    covariance << 0.50, 0.30, 0.30, 0.50;
    auto problem = normal_fields(mean, covariance, 2000, 0.4);
    std::mt19937_64 random(8);
    std::uniform_real_distribution<double> uniform(0.0, 1.0);
    for (Eigen::Index i = 0; i < problem.draws_mg_per_kg.rows(); ++i) {
        if (uniform(random) < 0.4) problem.draws_mg_per_kg(i, 0) = 0.0;
        if (uniform(random) < 0.2) problem.draws_mg_per_kg(i, 1) = 0.0;
    }
    problem.law = models::lognormal_reading_law([](double) { return 0.25; }, 0.3, 4.0);
    const models::TestOrder order = models::order_of_tests(problem);
    // The law of the oracle cannot read grain without DON: it reads as the least content that a field of its kind has.
    auto readable = problem;
    readable.draws_mg_per_kg = problem.draws_mg_per_kg.cwiseMax(0.02);
    const Eigen::VectorXd now = losses_weighing_draws(readable, {}, 1);
    CHECK(order.expected_loss_now == Approx(now.sum()).epsilon(1e-9));
    CHECK(order.fields[0].field == "F2");
    for (int tested = 0; tested < 2; ++tested) {
        const Eigen::VectorXd fall = now - losses_weighing_draws(readable, {tested}, 4000);
        const models::RankedField& ranked = row(order, tested == 0 ? "F1" : "F2");
        // The oracle's error, of losses that spread by about 20 t on a field: 0.3 t, three times.
        CHECK(ranked.gain_on_itself == Approx(fall[tested]).margin(1.0).epsilon(0.0));
        // Grain without DON in one field says nothing of the other, and the normal law does not know that it might.
        CHECK(ranked.expected_gain - ranked.gain_on_itself >= 0.0);
        CHECK(ranked.expected_gain <= fall.sum() + 1.0);
    }
}

TEST_CASE("gains add up to the fall of the loss and fewer tests are the first of more") {
    const int fields = 25;
    Eigen::VectorXd mean(fields);
    Eigen::MatrixXd covariance = 0.25 * Eigen::MatrixXd::Ones(fields, fields);
    for (int f = 0; f < fields; ++f) mean[f] = std::log(0.3) + 0.05 * ((7 * f) % fields);
    for (int f = 0; f < fields; ++f)
        for (int g = 0; g < fields; ++g) covariance(f, g) += 0.3 * std::exp(-std::abs(f - g) / 3.0);
    auto problem = normal_fields(mean, covariance, 2000, 0.4);
    for (int f = 0; f < fields; ++f) problem.fields[static_cast<std::size_t>(f)].tonnes = 60.0 + 10.0 * (f % 9);
    problem.fields[3].tests_so_far = 1;  // not asked about, and told of by the others
    problem.outbound_lot_t = 120.0;
    problem.tests = 12;
    const models::TestOrder many = models::order_of_tests(problem);
    REQUIRE(many.fields.size() == 24);
    double sum = 0.0;
    for (std::size_t i = 0; i < many.fields.size(); ++i) {
        CHECK(many.fields[i].expected_gain >= many.fields[i].gain_on_itself);
        CHECK(many.fields[i].gain_on_itself >= 0.0);
        if (i > 0) CHECK(many.fields[i].expected_gain <= many.fields[i - 1].expected_gain);
        if (i < 12) sum += many.fields[i].expected_gain;
    }
    CHECK(many.expected_loss_now - many.expected_loss_after == Approx(sum).epsilon(1e-12));
    for (int tests = 2; tests < 12; ++tests) {
        problem.tests = tests;
        const models::TestOrder few = models::order_of_tests(problem);
        const auto chosen = static_cast<std::size_t>(tests);
        for (std::size_t i = 0; i <= chosen; ++i) {
            CHECK(few.fields[i].field == many.fields[i].field);
            CHECK(few.fields[i].expected_gain == many.fields[i].expected_gain);
            CHECK(few.fields[i].why == many.fields[i].why);
        }
        CHECK(few.expected_loss_after > many.expected_loss_after);
    }
}

TEST_CASE("the loss shown is that of the tests worth making, and the others keep their order whatever is asked about") {
    const int fields = 14;
    Eigen::VectorXd mean(fields);
    Eigen::MatrixXd covariance = 0.15 * Eigen::MatrixXd::Ones(fields, fields);
    for (int f = 0; f < fields; ++f) mean[f] = std::log(0.25) + 0.11 * ((5 * f) % fields);
    for (int f = 0; f < fields; ++f)
        for (int g = 0; g < fields; ++g) covariance(f, g) += 0.3 * std::exp(-std::abs(f - g) / 2.0);
    auto problem = normal_fields(mean, covariance, 2000, 0.4);
    problem.costs.wrong_acceptance_per_t = 4.0;
    problem.costs.wrong_rejection_per_t = 1.0;
    problem.costs.test = 9.0;
    problem.tests = 14;
    const models::TestOrder all = models::order_of_tests(problem);
    const auto worth = static_cast<std::size_t>(all.worth_making);
    REQUIRE(worth >= 2);
    REQUIRE(worth <= 9);
    double saved = 0.0;
    for (std::size_t i = 0; i < worth; ++i) saved += all.fields[i].expected_gain + 9.0;
    CHECK(all.expected_loss_now - all.expected_loss_after == Approx(saved).epsilon(1e-12));
    for (std::size_t i = worth; i < all.fields.size(); ++i) CHECK(all.fields[i].expected_gain <= 0.0);
    const auto names_after = [](const models::TestOrder& order, std::size_t from) {
        std::vector<std::string> names;
        for (std::size_t i = from; i < order.fields.size(); ++i) names.push_back(order.fields[i].field);
        return names;
    };
    for (int tests = all.worth_making; tests < 14; ++tests) {
        problem.tests = tests;
        const models::TestOrder some = models::order_of_tests(problem);
        CAPTURE(tests);
        CHECK(some.worth_making == all.worth_making);
        CHECK(some.expected_loss_after == all.expected_loss_after);
        CHECK(names_after(some, 0) == names_after(all, 0));
    }
    for (int tests = 1; tests < all.worth_making; ++tests) {
        problem.tests = tests;
        const models::TestOrder few = models::order_of_tests(problem);
        CHECK(few.worth_making == tests);
        CHECK(few.expected_loss_after > all.expected_loss_after);
        std::vector<std::string> none, kept;  // those not worth it here, and the same where all are asked about
        for (const models::RankedField& field : few.fields)
            if (!(field.expected_gain > 0.0)) none.push_back(field.field);
        for (const std::string& name : names_after(all, worth))
            if (std::find(none.begin(), none.end(), name) != none.end()) kept.push_back(name);
        CHECK(none == kept);
    }
}

TEST_CASE("a test that saves nearly what it costs says that it saves less") {
    auto problem = normal_fields(Eigen::Vector2d(-0.4, -1.2), 0.4 * Eigen::Matrix2d::Identity(), 2000, 0.4);
    problem.costs.wrong_acceptance_per_t = 4.0;
    problem.costs.wrong_rejection_per_t = 1.0;
    const double saves = models::order_of_tests(problem).fields[0].expected_gain;
    REQUIRE(saves > 5.0);
    problem.costs.test = 1.0001 * saves;
    const models::TestOrder order = models::order_of_tests(problem);
    CHECK(order.worth_making == 0);
    // Both with as many digits as tell them apart.
    REQUIRE(order.fields[0].expected_gain < 0.0);
    const std::string& why = order.fields[0].why;
    constexpr std::string_view begin = "A test here saves ", between = ", a little less than the ", end = " it costs";
    REQUIRE_THAT(why, Catch::StartsWith(std::string(begin)) && Catch::Contains(std::string(between)) &&
                          Catch::EndsWith(std::string(end)));
    const auto at = why.find(between);
    const double told = std::stod(why.substr(begin.size(), at - begin.size())),
                 cost = std::stod(why.substr(at + between.size()));
    CHECK(told < cost);
    CHECK(told == Approx(saves).epsilon(0.01));
}

TEST_CASE("losses take the chance that the model states, and one that is none is refused") {
    auto problem = normal_fields(Eigen::Vector2d(-2.5, 0.0), 0.3 * Eigen::Matrix2d::Identity(), 1000, 0.3);
    problem.fields[0].exceedance = 0.004;
    problem.fields[1].exceedance = 0.7;
    const models::TestOrder order = models::order_of_tests(problem);
    CHECK(order.expected_loss_now == Approx(100.0 * (0.004 + 0.3)).epsilon(1e-9));
    CHECK(row(order, "F1").expected_gain <= 0.4);
    CHECK(row(order, "F2").exceedance == 0.7);
    // Settled: nothing to lose on the field, and none of the draws hang on it.
    problem.fields[0].exceedance = 0.0;
    CHECK(models::order_of_tests(problem).expected_loss_now == Approx(30.0).epsilon(1e-9));
    CHECK(row(models::order_of_tests(problem), "F1").gain_on_itself == 0.0);
    problem.fields[1].exceedance = 1.2;
    CHECK_THROWS_WITH(
        models::order_of_tests(problem),
        Catch::Contains("field F2: 1.2 is no chance of being over the limit. To mend it: give 0 to 1, or none"));
}

TEST_CASE("with every decision closed there is nothing to lose and no gain") {
    auto problem = normal_fields(Eigen::Vector2d(0.0, 0.0), 0.3 * Eigen::Matrix2d::Identity(), 200, 0.3);
    for (models::FieldToTest& field : problem.fields) field.status = models::FieldStatus::cut;
    problem.tests = 2;
    const models::TestOrder order = models::order_of_tests(problem);
    REQUIRE(order.fields.size() == 2);
    CHECK(order.expected_loss_now == 0.0);
    CHECK(order.expected_loss_after == 0.0);
    for (const models::RankedField& field : order.fields) CHECK(field.test_its_loads);
}

TEST_CASE("losses under the normal law agree with the bivariate normal and vanish with perfect knowledge") {
    const double mean = std::log(0.8), variance = 0.5, learnt = 0.3;
    // Monte Carlo over mean and content together, decision by the mean: another road to the same number.
    std::mt19937_64 random(5);
    std::normal_distribution<double> normal;
    const double accepted = 300.0, rejected = 100.0;
    const double left_sd = std::sqrt(variance - learnt);
    double sum = 0.0;
    const int n = 400000;
    for (int i = 0; i < n; ++i) {
        const double after = mean + std::sqrt(learnt) * normal(random);
        const double content = after + left_sd * normal(random);
        const bool accept = accepted * phi(after / left_sd) < rejected * (1.0 - phi(after / left_sd));
        if (accept && content > 0.0) sum += accepted;
        if (!accept && content <= 0.0) sum += rejected;
    }
    CHECK(models::normal_decision_loss(mean, variance, learnt, accepted, rejected, 0.0) ==
          Approx(sum / n).margin(5 * 90.0 / std::sqrt(n)).epsilon(0.0));
    CHECK(models::normal_decision_loss(mean, variance, variance, accepted, rejected, 0.0) ==
          Approx(0.0).margin(0.1).epsilon(0.0));
    const double over = phi(mean / std::sqrt(variance));
    CHECK(models::normal_decision_loss(mean, variance, 0.0, accepted, rejected, 0.0) ==
          Approx(std::min(accepted * over, rejected * (1.0 - over))));
}

TEST_CASE("a test never loses information and one that decides nothing is worth nothing") {
    const int fields = 12;
    Eigen::VectorXd mean(fields);
    Eigen::MatrixXd covariance = 0.2 * Eigen::MatrixXd::Ones(fields, fields);
    for (int f = 0; f < fields; ++f) mean[f] = std::log(0.05 * std::pow(2.0, 0.6 * f));
    covariance.diagonal().array() += 0.3;
    auto problem = normal_fields(mean, covariance, 2000, 0.4);
    problem.tests = fields;
    const auto order = models::order_of_tests(problem);
    for (std::size_t i = 0; i < order.fields.size(); ++i) {
        CHECK(order.fields[i].expected_gain >= 0.0);
        if (i > 0) CHECK(order.fields[i].expected_gain <= order.fields[i - 1].expected_gain);
    }
    CHECK(order.expected_loss_after >= 0.0);
    CHECK(order.expected_loss_after < 0.5 * order.expected_loss_now);
    // The field at 0.05 mg/kg is 20 times under the limit.
    problem.tests = 1;
    const auto first = models::order_of_tests(problem);
    CHECK(row(first, "F1").gain_on_itself < 0.01);
}

TEST_CASE("the order does not depend on threads and is the same twice") {
    Eigen::VectorXd mean = Eigen::VectorXd::LinSpaced(15, -1.0, 0.8);
    Eigen::MatrixXd covariance = 0.3 * Eigen::MatrixXd::Ones(15, 15);
    covariance.diagonal().array() += 0.2;
    auto problem = normal_fields(mean, covariance, 1000, 0.3);
    problem.tests = 5;
    const auto a = models::order_of_tests(problem);
    problem.threads = 3;
    const auto b = models::order_of_tests(problem);
    REQUIRE(a.fields.size() == b.fields.size());
    for (std::size_t i = 0; i < a.fields.size(); ++i) {
        CHECK(a.fields[i].field == b.fields[i].field);
        CHECK(a.fields[i].expected_gain == b.fields[i].expected_gain);
        CHECK(a.fields[i].why == b.fields[i].why);
    }
}

TEST_CASE("a field cut before the result is worth nothing and says so") {
    const Eigen::Vector3d mean(0.0, 0.0, 0.0);
    Eigen::Matrix3d covariance = 0.3 * Eigen::Matrix3d::Identity();
    auto problem = normal_fields(mean, covariance, 2000, 0.3);
    problem.today = models::day_of(2026, 7, 10);
    problem.days_to_result = 2;
    problem.fields[0].status = models::FieldStatus::cut;
    problem.fields[1].expected_cut_date = models::day_of(2026, 7, 11);
    problem.fields[2].expected_cut_date = models::day_of(2026, 7, 12);
    const auto order = models::order_of_tests(problem);
    CHECK(order.fields[0].field == "F3");
    CHECK(order.fields[0].expected_gain > 5.0);
    CHECK_THAT(order.fields[0].why, Catch::StartsWith("A test here keeps about ") &&
                                        Catch::EndsWith(" t from a wrong decision; cut on 12 Jul"));
    CHECK_FALSE(order.fields[0].test_its_loads);
    CHECK(row(order, "F1").expected_gain == 0.0);
    CHECK(row(order, "F1").why == "Already cut: test its loads instead");
    CHECK(row(order, "F2").why == "Cut on 11 Jul, before a result on 12 Jul: test its loads instead");
    CHECK(row(order, "F1").test_its_loads);
    CHECK(row(order, "F2").test_its_loads);
    CHECK(order.fields[1].test_its_loads);  // after all that stand
    CHECK(order.expected_loss_now == Approx(50.0).margin(4.0).epsilon(0.0));
}

TEST_CASE("fields that have a test are ranked again only when asked") {
    const Eigen::Vector2d mean(0.0, 0.0);
    auto problem = normal_fields(mean, 0.3 * Eigen::Matrix2d::Identity(), 500, 0.3);
    problem.fields[0].tests_so_far = 1;
    CHECK(models::order_of_tests(problem).fields.size() == 1);
    problem.repeat = true;
    CHECK(models::order_of_tests(problem).fields.size() == 2);
}

TEST_CASE("plain orders put the most suspect field first") {
    const Eigen::Vector3d mean(-0.5, 0.7, 0.1);
    auto problem = normal_fields(mean, 0.3 * Eigen::Matrix3d::Identity(), 1000, 0.3);
    problem.fields[0].risk = 0.9;
    problem.fields[2].risk = 0.1;
    const auto worst = models::plain_order(problem, models::PlainOrder::exceedance);
    CHECK(worst.fields[0].field == "F2");
    CHECK(worst.fields[2].field == "F1");
    CHECK(worst.fields[0].exceedance > 0.8);
    CHECK(models::plain_order(problem, models::PlainOrder::risk).fields[0].field == "F1");
}

TEST_CASE("an order of tests that makes no sense is refused") {
    const Eigen::Vector2d mean(0.0, 0.0);
    auto problem = normal_fields(mean, 0.3 * Eigen::Matrix2d::Identity(), 100, 0.3);
    auto wrong = problem;
    wrong.fields[1].field = "F1";
    CHECK_THROWS_WITH(models::order_of_tests(wrong), Catch::Contains("field F1: the field is listed twice"));
    wrong = problem;
    wrong.fields[1].tonnes = 0.0;
    CHECK_THROWS_WITH(models::order_of_tests(wrong), Catch::Contains("0 t cannot be delivered"));
    wrong = problem;
    wrong.fields.pop_back();
    CHECK_THROWS_WITH(models::order_of_tests(wrong), Catch::Contains("draws of 2 fields for 1 fields"));
    wrong = problem;
    wrong.draws_mg_per_kg(3, 1) = std::nan("");
    CHECK_THROWS_WITH(models::order_of_tests(wrong), Catch::Contains("not a number of 0 or more"));
}
