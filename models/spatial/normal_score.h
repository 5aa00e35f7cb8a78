#pragma once

#include <vector>

#include <Eigen/Core>

namespace models {

/// Values of any distribution turned into normal ones by their ranks, and back. The i-th smallest of n values gets the
/// score Phi^-1((i - 1/2) / n); values that are equal share the score of their mean rank. Between the data the way back
/// is a straight line, beyond them it stays at the smallest and the largest value seen: a map never leaves what was
/// measured, and says nothing of values that are rarer than one in 2n.
/// Source: Deutsch & Journel (1998), GSLIB, 2nd ed., section V.2.1; Verly (1983), in: Geostatistics for Natural
/// Resources Characterization, 495-515 (the mean).
class NormalScore {
 public:
    /// @param values  n, at least two of them different
    /// @throws Error  a value is no finite number; all values are the same
    explicit NormalScore(const Eigen::VectorXd& values);

    /// Score of a value: of one of the data exactly, else by the line between its neighbours.
    double score(double value) const;
    Eigen::VectorXd scores(const Eigen::VectorXd& values) const;
    /// The value of a score: the median of a value whose score has that median.
    double value(double score) const;
    /// The mean of the value whose score is normal with this mean and variance, exactly: the integral of the broken
    /// line over the normal density, piece by piece. The mean is not value(score): a mean of scores is not the score
    /// of a mean.
    double mean(double score, double variance) const;
    /// The chance that the value is over a limit.
    double chance_over(double limit, double score, double variance) const;

 private:
    std::vector<double> values_, scores_;  ///< ascending, as many as there are different values
};

}  // namespace models
