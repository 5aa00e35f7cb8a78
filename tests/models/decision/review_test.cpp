#include "models/decision/review.h"

#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include "models/error.h"
#include "tests/support/shared_data.h"
#include "tests/support/table.h"

namespace {

/// Hosmer & Lemeshow's low birth weight cases: an intercept, then the columns; race as two indicators.
struct BirthWeight {
    Eigen::MatrixXd design;
    std::vector<bool> low;
};

BirthWeight birth_weight(const std::filesystem::path& shared, const std::vector<std::string>& columns) {
    const tests::Table table(shared / "stats" / "birthwt.csv");
    BirthWeight out;
    out.design.resize(static_cast<Eigen::Index>(table.rows()), 0);
    std::vector<std::vector<double>> values(1, std::vector<double>(table.rows(), 1.0));
    for (const std::string& column : columns) {
        for (const double level : column == "race" ? std::vector<double>{2.0, 3.0} : std::vector<double>{0.0}) {
            std::vector<double> one;
            for (std::size_t r = 0; r < table.rows(); ++r) {
                const double value = table.number(r, "\"" + column + "\"");
                one.push_back(level > 0.0 ? (value == level ? 1.0 : 0.0) : value);
            }
            values.push_back(one);
        }
    }
    out.design.resize(static_cast<Eigen::Index>(table.rows()), static_cast<Eigen::Index>(values.size()));
    for (std::size_t c = 0; c < values.size(); ++c) {
        for (std::size_t r = 0; r < table.rows(); ++r) {
            out.design(static_cast<Eigen::Index>(r), static_cast<Eigen::Index>(c)) = values[c][r];
        }
    }
    for (std::size_t r = 0; r < table.rows(); ++r) out.low.push_back(table.number(r, "\"low\"") == 1.0);
    return out;
}

}  // namespace

TEST_CASE("the area under the curve of 109 rated images is that of Hanley and McNeil") {
    // Hanley & McNeil (1982), Radiology 143, 29-36, table I: ratings 1 to 5 of 58 normal and 51 abnormal images;
    // 0.893 and 0.032 in the paper, all digits and DeLong's standard error computed from the counts.
    const int normal[] = {33, 6, 6, 11, 2}, abnormal[] = {3, 2, 2, 11, 33};
    std::vector<double> rating;
    std::vector<bool> is_abnormal;
    for (int r = 0; r < 5; ++r) {
        for (int i = 0; i < normal[r]; ++i) rating.push_back(r + 1), is_abnormal.push_back(false);
        for (int i = 0; i < abnormal[r]; ++i) rating.push_back(r + 1), is_abnormal.push_back(true);
    }
    const Eigen::Map<Eigen::VectorXd> predicted(rating.data(), static_cast<Eigen::Index>(rating.size()));
    const auto skill = models::rank_skill(predicted, is_abnormal);
    CHECK(skill.events == 51);
    CHECK(skill.non_events == 58);
    CHECK(skill.auc == Approx(0.893171).margin(5e-7).epsilon(0.0));
    CHECK(skill.standard_error_hanley_mcneil == Approx(0.031990).margin(5e-7).epsilon(0.0));
    CHECK(skill.standard_error_exponential == Approx(0.032487).margin(5e-7).epsilon(0.0));
    CHECK(skill.standard_error == Approx(0.030724).margin(5e-7).epsilon(0.0));
    CHECK(skill.high95 - skill.low95 == Approx(2.0 * 1.96 * 0.030724).margin(1e-5).epsilon(0.0));
}

TEST_CASE("rank skill agrees with comparing every pair and does not care for the scale") {
    std::mt19937 random(8);
    Eigen::VectorXd predicted(60);
    std::vector<bool> happened;
    for (Eigen::Index i = 0; i < 60; ++i) {
        predicted[i] = static_cast<double>(random() % 12) / 12.0;
        happened.push_back(static_cast<double>(random() % 100) < 30.0 + 40.0 * predicted[i]);
    }
    double wins = 0.0, pairs = 0.0;
    for (Eigen::Index i = 0; i < 60; ++i) {
        for (Eigen::Index j = 0; j < 60; ++j) {
            if (!happened[static_cast<std::size_t>(i)] || happened[static_cast<std::size_t>(j)]) continue;
            pairs += 1.0;
            wins += predicted[i] > predicted[j] ? 1.0 : predicted[i] == predicted[j] ? 0.5 : 0.0;
        }
    }
    const auto skill = models::rank_skill(predicted, happened);
    CHECK(skill.auc == Approx(wins / pairs));
    CHECK(models::rank_skill(predicted.array().exp().matrix(), happened).standard_error ==
          Approx(skill.standard_error));
    CHECK_THROWS_WITH(models::rank_skill(predicted, std::vector<bool>(60, true)), Catch::Contains("0 non-events"));
    CHECK_THROWS_WITH(models::rank_skill(predicted, std::vector<bool>(59, true)), Catch::Contains("59 findings"));
}

TEST_CASE("the Brier score falls into reliability and resolution and uncertainty") {
    // Worked by hand: five of 0.1 with one event, three of 0.3 with one, two of 0.7 with two.
    Eigen::VectorXd predicted(10);
    predicted << .1, .1, .1, .1, .1, .3, .3, .3, .7, .7;
    const std::vector<bool> happened{false, false, false, false, true, false, true, false, true, true};
    const auto parts = models::brier_parts(predicted, happened);
    CHECK(parts.brier == Approx(0.17));
    CHECK(parts.reliability == Approx(0.0233333).margin(5e-8).epsilon(0.0));
    CHECK(parts.resolution == Approx(0.0933333).margin(5e-8).epsilon(0.0));
    CHECK(parts.uncertainty == Approx(0.24));
    CHECK(parts.skill == Approx(1.0 - 0.17 / 0.24));
    REQUIRE(parts.table.size() == 3);
    CHECK(parts.table[1].n == 3);
    CHECK(parts.table[1].observed == Approx(1.0 / 3.0));
    const auto two = models::brier_parts(predicted, happened, 2);
    REQUIRE(two.table.size() == 2);
    CHECK(two.table[0].n + two.table[1].n == 10);
    CHECK(two.brier == Approx(two.reliability - two.resolution + two.uncertainty + two.within));
    CHECK_THROWS_WITH(models::brier_parts(predicted * 2.0, happened), Catch::Contains("an index has a rank only"));
}

TEST_CASE("logistic regression gives the textbook fit of the low birth weight cases") {
    NEEDS_SHARED_DATA(shared);
    // Hosmer & Lemeshow (2000), Applied Logistic Regression, table 2.3 (lwt and race); digits from R 4.2 glm.
    const auto data = birth_weight(shared / "data", {"lwt", "race"});
    REQUIRE(data.design.rows() == 189);
    const auto fit = models::fit_logistic(data.design, data.low);
    CHECK(fit.settled);
    CHECK(fit.log_likelihood == Approx(-111.629545).margin(1e-6).epsilon(0.0));
    CHECK(fit.coefficients[0] == Approx(0.805753470).margin(1e-7).epsilon(0.0));
    CHECK(fit.coefficients[1] == Approx(-0.015223102).margin(1e-8).epsilon(0.0));
    CHECK(fit.coefficients[2] == Approx(1.081066190).margin(1e-7).epsilon(0.0));
    CHECK(fit.coefficients[3] == Approx(0.480603260).margin(1e-7).epsilon(0.0));
    // R's standard errors stop at its last step but one; 1e-5 covers that.
    CHECK(fit.standard_errors[0] == Approx(0.8451666).epsilon(1e-5));
    CHECK(fit.standard_errors[2] == Approx(0.4880522).epsilon(1e-5));

    const auto full = birth_weight(shared / "data", {"age", "lwt", "race", "smoke", "ptl", "ht", "ui", "ftv"});
    const auto full_fit = models::fit_logistic(full.design, full.low);
    CHECK(full_fit.log_likelihood == Approx(-100.642398).margin(1e-6).epsilon(0.0));
    const auto skill = models::rank_skill(full.design * full_fit.coefficients, full.low);
    CHECK(skill.auc == Approx(0.746153846).margin(1e-8).epsilon(0.0));
    CHECK(skill.standard_error == Approx(0.0377743256).margin(1e-8).epsilon(0.0));  // R 4.2, DeLong from all pairs
}

TEST_CASE("a fit that has no end says so and a prior gives it one") {
    Eigen::MatrixXd design(6, 2);
    design << 1, -3, 1, -2, 1, -1, 1, 1, 1, 2, 1, 3;
    const std::vector<bool> happened{false, false, false, true, true, true};
    const auto open = models::fit_logistic(design, happened);
    CHECK_FALSE(open.settled);
    CHECK_THAT(open.message, Catch::Contains("separate"));
    models::CoefficientPrior prior;
    prior.mean = Eigen::Vector2d(0.0, 1.0);
    prior.sd = Eigen::Vector2d(1.0, 0.3);
    const auto held = models::fit_logistic(design, happened, prior);
    CHECK(held.settled);
    CHECK(held.coefficients[1] > 1.0);
    CHECK(held.coefficients[1] < 2.0);
    // Without cases the prior is all there is.
    const auto prior_alone = models::fit_logistic(Eigen::MatrixXd(0, 2), {}, prior);
    CHECK(prior_alone.coefficients[1] == Approx(1.0));
    CHECK(prior_alone.standard_errors[1] == Approx(0.3));
    Eigen::MatrixXd twice(6, 3);
    twice << design, design.col(1);
    CHECK_FALSE(models::fit_logistic(twice, {false, true, false, true, false, true}).settled);
    CHECK_THROWS_AS(models::fit_logistic(design, {true, false}), models::Error);
}
