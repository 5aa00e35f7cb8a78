#pragma once

#include <vector>

#include <Eigen/Core>

namespace models {

/// What tests are worth if the log contents of all fields together are normal (or their scores, joint_scores.h), with
/// the outcomes of tests placed before averaged out instead of guessed.
///
/// Field f: log content ~ N(mu_f, C_ff), limit at l = ln(limit), loss A_f where it is accepted and over, R_f where it
/// is rejected and not over. Tests leave the variance C_ff - v_f, and the mean after them is N(mu_f, v_f) as seen
/// today. Accepted where P(over) < R / (A + R), that is where the mean after is below k = l + sqrt(C - v) z, F(z) = R /
/// (A + R):
///   loss_f(v) = A P(mean < k, content > l) + R P(mean > k, content < l)
/// with mean and content jointly normal, covariance v. A test of field j with log error variance t_j adds
/// C_fj^2 / (C_jj + t_j) to v_f and takes C_.j C_.j' / (C_jj + t_j) off C. Gains are differences of one loss, so those
/// of tests placed one after another add up to its fall.
/// A field whose mean is at minus or plus infinity is settled: it has no loss, though a test of it may tell of others.
/// Source: Frazier, Powell & Dayanik (2009), INFORMS Journal on Computing 21(4), 599-613 (correlated beliefs).
class NormalValue {
 public:
    /// @param mean       fields, of log content;  @param covariance  fields x fields
    /// @param error_variance  fields, of the log of one reading; > 0
    /// @param loss_accepted, loss_rejected  fields, A and R, >= 0; both 0: the field's decision does not count
    NormalValue(const Eigen::VectorXd& mean, Eigen::MatrixXd covariance, Eigen::VectorXd error_variance,
                const Eigen::VectorXd& loss_accepted, const Eigen::VectorXd& loss_rejected, double log_limit);

    /// Fall of the expected loss by one more test of a field, given the tests placed so far; never below 0.
    struct Gain {
        double itself = 0.0, others = 0.0;  ///< on the field that is tested, on all others together
        int others_informed = 0;            ///< those whose loss falls by a hundredth of min(A, R) or more
        double all() const { return itself + others; }
    };
    Gain gain(Eigen::Index field) const;
    void place_test(Eigen::Index field);
    double expected_loss() const { return loss_now_.sum(); }
    /// What is still at stake on one field.
    double expected_loss(Eigen::Index field) const { return loss_now_[field]; }

 private:
    double loss_of(Eigen::Index field, double learnt_variance) const;

    Eigen::MatrixXd covariance_;  ///< of what the placed tests leave open
    Eigen::VectorXd prior_variance_, learnt_variance_, error_variance_;
    Eigen::VectorXd loss_now_, informed_from_;
    std::vector<std::vector<double>> loss_table_;  ///< of each field, at even steps of sqrt(v / C)
};

/// loss_f(v) above by itself, with 1024 even quantiles of the mean after the tests.
double normal_decision_loss(double mean, double variance, double learnt_variance, double loss_accepted,
                            double loss_rejected, double log_limit);

}  // namespace models
