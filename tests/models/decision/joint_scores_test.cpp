#include "models/decision/joint_scores.h"

#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include "models/decision/normal_value.h"

namespace {

double score_cdf(double z) {
    return 0.5 * std::erfc(-z / std::sqrt(2.0));
}

/// Var(P(over | reading)) / (p (1 - p)) for a standard normal score read with that error variance, over from h on, by
/// the trapezoid rule over what is expected of the score after the reading.
double share_resolved(double error_variance, double h) {
    const double known = 1.0 / (1.0 + error_variance), left_sd = std::sqrt(1.0 - known);
    double sum = 0.0;
    constexpr double step = 1e-3;
    for (double z = -9.0; z <= 9.0; z += step) {
        const double over = score_cdf((std::sqrt(known) * z - h) / left_sd);
        sum += over * over * std::exp(-0.5 * z * z) / std::sqrt(2.0 * 3.14159265358979324) * step;
    }
    const double p = score_cdf(-h);
    return (sum - p * p) / (p * (1.0 - p));
}

models::ScoresQuestion question_about(Eigen::Index fields, double cv) {
    models::ScoresQuestion question;
    for (Eigen::Index f = 0; f < fields; ++f) question.columns.push_back(f);
    question.asked.assign(static_cast<std::size_t>(fields), true);
    question.limit.limit_mg_per_kg = 1.0;
    question.law = models::lognormal_reading_law([cv](double) { return cv; });
    return question;
}

Eigen::MatrixXd score_draws(Eigen::Index rows, Eigen::Index columns, std::uint64_t seed) {
    std::mt19937_64 random(seed);
    std::normal_distribution<double> normal;
    Eigen::MatrixXd z(rows, columns);
    for (Eigen::Index j = 0; j < columns; ++j)
        for (Eigen::Index i = 0; i < rows; ++i) z(i, j) = normal(random);
    return z;
}

}  // namespace

TEST_CASE("the error that resolves as much as a reading is found again from what the reading resolves") {
    for (const double error_variance : {0.05, 0.3, 1.0, 6.0}) {
        for (const double h : {-1.5, 0.0, 0.4, 2.0}) {
            CAPTURE(error_variance, h);
            CHECK(models::error_variance_resolving(share_resolved(error_variance, h), score_cdf(-h)) ==
                  Approx(error_variance).epsilon(2e-3));
        }
    }
    CHECK(models::error_variance_resolving(0.0, 0.3) == 1e9);
    CHECK(models::error_variance_resolving(1.0, 0.3) < 1e-4);
    CHECK(models::error_variance_resolving(-0.1, 0.3) == 1e9);
}

TEST_CASE("lognormal contents have the scores, correlations and errors of their logarithms") {
    // Contents ln c ~ N(m, 0.5 or 0.8), correlation 0.7; the reading's log error ln(1 + 0.35^2).
    const Eigen::MatrixXd z = score_draws(100000, 2, 4);
    Eigen::MatrixXd draws(z.rows(), 2);
    draws.col(0) = (-0.2 + std::sqrt(0.5) * z.col(0).array()).exp();
    draws.col(1) = (0.3 + std::sqrt(0.8) * (0.7 * z.col(0) + std::sqrt(0.51) * z.col(1)).array()).exp();
    const models::JointScores joint = models::joint_scores(draws, question_about(2, 0.35));
    // A correlation of n draws has a standard error of (1 - r^2) / sqrt(n), a share one of at most 1 / (2 sqrt(n)).
    CHECK(joint.correlation(0, 1) == Approx(0.7).margin(4 * 0.51 / std::sqrt(1e5)).epsilon(0.0));
    CHECK(joint.correlation(1, 0) == joint.correlation(0, 1));
    CHECK(joint.correlation(0, 0) == 1.0);
    CHECK(joint.over[0] == Approx(score_cdf(-0.2 / std::sqrt(0.5))).margin(2 / std::sqrt(1e5)).epsilon(0.0));
    // 64 readings and 128 classes stand for all of them: good to a few hundredths of the error.
    const double q = std::log1p(0.35 * 0.35);
    CHECK(joint.error_variance[0] == Approx(q / 0.5).epsilon(0.06));
    CHECK(joint.error_variance[1] == Approx(q / 0.8).epsilon(0.06));
}

TEST_CASE("correlations of few draws are drawn to nothing where there are none and kept where there are some") {
    const Eigen::MatrixXd z = score_draws(400, 40, 9);
    const auto off_diagonal_square = [](const Eigen::MatrixXd& correlation) {
        const auto n = static_cast<double>(correlation.rows());
        return (correlation.squaredNorm() - n) / (n * (n - 1.0));
    };
    const models::JointScores apart = models::joint_scores(z.array().exp(), question_about(40, 0.3));
    // As drawn they would have a mean square of 1 / 400.
    CHECK(off_diagonal_square(apart.correlation) < 0.1 / 400.0);
    // One common part of half the variance.
    const Eigen::VectorXd common = score_draws(400, 1, 10);
    const Eigen::MatrixXd together = (z.colwise() + common).array().exp();
    const models::JointScores near = models::joint_scores(together, question_about(40, 0.3));
    CHECK(std::sqrt(off_diagonal_square(near.correlation)) == Approx(0.5).margin(0.08).epsilon(0.0));
}

TEST_CASE("draws that are all the same and limits that no draw reaches give numbers, and a reading of them nothing") {
    Eigen::MatrixXd draws = score_draws(300, 3, 2).array().exp();
    draws.col(0).setConstant(0.0);
    draws.col(1).setConstant(2.5);
    draws.col(2) *= 1e-6;
    const models::JointScores joint = models::joint_scores(draws, question_about(3, 0.3));
    CHECK(joint.correlation.allFinite());
    CHECK(joint.over == Eigen::Vector3d(0.0, 1.0, 0.0));
    CHECK(joint.error_variance[0] == 1e9);
    CHECK(joint.error_variance[1] == 1e9);
    // The content that leaves 2 % of the draws stands in for the limit; a strip tells of it.
    CHECK(joint.error_variance[2] < 0.5);
    const models::JointScores one = models::joint_scores(draws.topRows(1), question_about(3, 0.3));
    CHECK(one.correlation.allFinite());
    CHECK(one.error_variance == Eigen::Vector3d::Constant(1e9));
}

TEST_CASE("gains of the normal law are the fall of its loss, field by field, for any number of threads") {
    const Eigen::MatrixXd z = score_draws(2000, 70, 6);
    const Eigen::VectorXd common = score_draws(2000, 1, 7);
    const Eigen::MatrixXd draws = ((z.colwise() + common) * 0.6).array().exp();
    models::ScoresQuestion question = question_about(70, 0.3);
    const models::JointScores joint = models::joint_scores(draws, question);
    question.threads = 3;
    const models::JointScores threaded = models::joint_scores(draws, question);
    CHECK(joint.correlation == threaded.correlation);
    CHECK(joint.error_variance == threaded.error_variance);
    const Eigen::VectorXd accepted = Eigen::VectorXd::Constant(70, 4.0), rejected = Eigen::VectorXd::Ones(70);
    models::NormalValue value(Eigen::VectorXd::LinSpaced(70, -2.0, 1.0), joint.correlation, joint.error_variance,
                              accepted, rejected, 0.0);
    for (const Eigen::Index field : {40, 10, 40, 69}) {
        const double before = value.expected_loss(), on_field = value.expected_loss(field);
        const models::NormalValue::Gain gain = value.gain(field);
        CHECK(gain.itself >= 0.0);
        CHECK(gain.others >= 0.0);
        CHECK(gain.others_informed <= 69);
        value.place_test(field);
        CHECK(before - value.expected_loss() == Approx(gain.all()).epsilon(1e-10));
        CHECK(on_field - value.expected_loss(field) == Approx(gain.itself).margin(1e-12));
    }
}
