#pragma once

#include <random>
#include <string>

#include <Eigen/Cholesky>

#include "models/decision/test_order.h"

/// Fields to be put in the order of their tests.
namespace tests {

inline constexpr double limit_mg_per_kg = 1.0;

inline models::Limit one_mg() {
    models::Limit limit;
    limit.limit_id = "one";
    limit.limit_mg_per_kg = limit_mg_per_kg;
    return limit;
}

/// Fields whose log contents are jointly normal, with n draws of them.
inline models::TestOrderProblem normal_fields(const Eigen::VectorXd& mean, const Eigen::MatrixXd& covariance, int n,
                                              double cv) {
    models::TestOrderProblem problem;
    problem.limit = one_mg();
    problem.law = models::lognormal_reading_law([cv](double) { return cv; });
    const Eigen::MatrixXd factor = covariance.llt().matrixL();
    std::mt19937_64 random(11);
    std::normal_distribution<double> normal;
    problem.draws_mg_per_kg.resize(n, mean.size());
    for (int i = 0; i < n; ++i) {
        Eigen::VectorXd z(mean.size());
        for (auto& value : z) value = normal(random);
        problem.draws_mg_per_kg.row(i) = (mean + factor * z).array().exp().transpose();
    }
    for (Eigen::Index f = 0; f < mean.size(); ++f) {
        models::FieldToTest field;
        field.field = "F" + std::to_string(f + 1);
        field.tonnes = 100.0;
        problem.fields.push_back(field);
    }
    return problem;
}

}  // namespace tests
