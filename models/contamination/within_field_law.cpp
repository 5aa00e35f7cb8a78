#include "models/contamination/within_field_law.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <Eigen/Cholesky>

#include "models/contamination/normal.h"
#include "models/error.h"

namespace models::contamination {

namespace {

const double log_two_pi = std::log(2.0 * std::numbers::pi);
constexpr double error_that_tells_nothing = 1e8;

/// Covariance of the results, the error variances and that of a known mean on it.
Eigen::MatrixXd results_covariance(const FieldOfPlaces& field, const WithinFieldParameters& parameters,
                                   const Eigen::VectorXd& error_variance) {
    Eigen::MatrixXd c = place_covariance(field, parameters);
    if (!field.flat_mean) c.array() += field.known_mean_variance;
    c.diagonal() += error_variance;
    return c;
}

/// Without structure, with places apart and a mean that is flat or certain, results have nothing in common.
bool nothing_in_common(const FieldOfPlaces& field, const WithinFieldParameters& parameters) {
    return parameters.structured_share <= 0.0 && field.same_place.empty() &&
           (field.flat_mean || field.known_mean_variance <= 0.0);
}

/// Takes from vectors and matrices what results have in common: L^-1 of their covariance L L'.
class FieldWhitening {
 public:
    explicit FieldWhitening(const Eigen::MatrixXd& covariance) : factor_(covariance) {
        if (factor_.info() != Eigen::Success || !(factor_.matrixLLT().diagonal().minCoeff() > 0.0))
            throw Error("two values without an error of their own lie at one place", "",
                        "give their error variances, or their mean as one value");
    }
    explicit FieldWhitening(const Eigen::VectorXd& variance) : scale_(variance.cwiseSqrt().cwiseInverse()) {}

    template <typename Columns>
    void apply(Columns& columns) const {
        if (scale_.size() > 0)
            columns = scale_.asDiagonal() * columns;
        else
            factor_.matrixL().solveInPlace(columns);
    }
    /// Half the log of the covariance's determinant.
    double sum_of_logs() const {
        return scale_.size() > 0 ? -scale_.array().log().sum() : factor_.matrixLLT().diagonal().array().log().sum();
    }

 private:
    Eigen::LLT<Eigen::MatrixXd> factor_;
    Eigen::VectorXd scale_;  ///< of a diagonal covariance; empty: any other
};

double bound_sum_of_logs(const Eigen::LLT<Eigen::MatrixXd>& factor) {
    return factor.matrixLLT().diagonal().array().log().sum();
}

}  // namespace

Eigen::MatrixXd place_covariance(const FieldOfPlaces& field, const WithinFieldParameters& parameters) {
    const double variance = parameters.sd * parameters.sd;
    Eigen::MatrixXd c;
    if (parameters.structured_share > 0.0)
        c = (variance * parameters.structured_share) * (field.distance_m.array() / -parameters.range_m).exp();
    else
        c.setZero(field.size(), field.size());
    c.diagonal().setConstant(variance);
    for (const auto& [i, j] : field.same_place) c(i, j) = c(j, i) = variance;
    return c;
}

BoundFactors propagate_bounds(const Eigen::VectorXd& mean, const Eigen::MatrixXd& covariance,
                              const Eigen::VectorXd& bound, const Eigen::VectorXd& noise, const Eigen::VectorXd& side) {
    constexpr int most_sweeps = 200;
    constexpr double settled_within = 1e-5;
    const Eigen::Index n = mean.size();
    BoundFactors out{Eigen::VectorXd::Zero(n), Eigen::VectorXd::Zero(n), 0.0, false};
    Eigen::VectorXd mu = mean;
    Eigen::MatrixXd sigma = covariance;
    double site_terms = 0.0;
    for (int sweep = 0; sweep < most_sweeps && !out.settled; ++sweep) {
        double moved = 0.0;
        site_terms = 0.0;
        for (Eigen::Index i = 0; i < n; ++i) {
            const double variance = sigma(i, i);
            const double total = 1.0 / variance, shift = mu[i] / variance;
            const double cavity = std::max(total - out.tau[i], 1e-12 * total);
            const double cavity_shift = shift - out.nu[i];
            const double m = cavity_shift / cavity, v = 1.0 / cavity;
            const double spread = std::sqrt(v + noise[i]);
            const double zeta = side[i] * (m - bound[i]) / spread;
            const double log_mass = normal::log_cdf(zeta);
            const double ratio = std::exp(-0.5 * zeta * zeta - 0.5 * log_two_pi - log_mass);
            const double new_mean = m + side[i] * v * ratio / spread;
            const double new_variance = std::max(v - v * v * ratio * (zeta + ratio) / (v + noise[i]), 1e-12 * v);
            const double tau = std::max(1.0 / new_variance - cavity, 0.0);
            const double nu = new_mean * (cavity + tau) - cavity_shift;
            const double step_tau = tau - out.tau[i], step_nu = nu - out.nu[i];
            const double grown = 1.0 + step_tau * variance;
            const Eigen::VectorXd column = sigma.col(i);
            mu += (step_nu - step_tau * mu[i]) / grown * column;
            sigma.noalias() -= (step_tau / grown * column) * column.transpose();
            out.tau[i] = tau;
            out.nu[i] = nu;
            moved =
                std::max({moved, std::abs(step_tau) * variance, std::abs(new_mean - shift / total) * std::sqrt(total)});
            const double both = cavity + tau, both_shift = cavity_shift + nu;
            site_terms += log_mass - 0.5 * std::log(cavity / both) - 0.5 * both_shift * both_shift / both +
                          0.5 * cavity_shift * cavity_shift / cavity;
        }
        out.settled = moved < settled_within;
    }
    const Eigen::VectorXd root = out.tau.cwiseSqrt();
    Eigen::MatrixXd b = root.asDiagonal() * covariance * root.asDiagonal();
    b.diagonal().array() += 1.0;
    const Eigen::LLT<Eigen::MatrixXd> factor(b);
    const Eigen::VectorXd pull = out.nu - out.tau.cwiseProduct(mean);
    const Eigen::VectorXd spread_pull = covariance * pull;
    const Eigen::VectorXd half = factor.matrixL().solve(Eigen::VectorXd(root.cwiseProduct(spread_pull)));
    out.log_probability = (out.nu.array() * mean.array() - 0.5 * out.tau.array() * mean.array().square()).sum() +
                          0.5 * (pull.dot(spread_pull) - half.squaredNorm()) - bound_sum_of_logs(factor) + site_terms;
    return out;
}

FieldAtParameters field_at(const FieldOfPlaces& field, const WithinFieldParameters& parameters) {
    const Eigen::Index n = field.size(), values = field.values, bounds = n - values;
    FieldAtParameters at{0.0, field.log_content, field.error_variance};
    const double variance = parameters.sd * parameters.sd;
    const bool apart = nothing_in_common(field, parameters);
    Eigen::MatrixXd all;
    if (!apart || bounds > 0) {
        Eigen::VectorXd errors = field.error_variance;
        errors.tail(bounds).setZero();
        all = results_covariance(field, parameters, errors);
    }
    const FieldWhitening whiten =
        apart ? FieldWhitening(Eigen::VectorXd(field.error_variance.head(values).array() + variance))
              : FieldWhitening(Eigen::MatrixXd(all.topLeftCorner(values, values)));
    // y: whitened values; the mean that they have in common, if flat, is taken from them by generalised least squares.
    Eigen::VectorXd y = field.log_content.head(values).array() - field.known_mean;
    whiten.apply(y);
    Eigen::VectorXd one = Eigen::VectorXd::Ones(values);
    double level = 0.0, level_precision = 0.0;
    const double freedom = static_cast<double>(values) - (field.flat_mean ? 1.0 : 0.0);
    if (field.flat_mean) {
        whiten.apply(one);
        level_precision = one.squaredNorm();
        level = one.dot(y) / level_precision;
        y -= level * one;
        at.log_likelihood -= 0.5 * std::log(level_precision);
    }
    at.log_likelihood -= 0.5 * (y.squaredNorm() + freedom * log_two_pi) + whiten.sum_of_logs();
    if (bounds == 0) return at;

    Eigen::MatrixXd w = all.topRightCorner(values, bounds);
    whiten.apply(w);
    const Eigen::VectorXd mean = (w.transpose() * y).array() + level + field.known_mean;
    Eigen::MatrixXd covariance = all.bottomRightCorner(bounds, bounds) - w.transpose() * w;
    if (field.flat_mean) {
        const Eigen::VectorXd rest = Eigen::VectorXd::Ones(bounds) - w.transpose() * one;
        covariance += rest * rest.transpose() / level_precision;
    }
    // A bound on a place whose content a value gives without error would leave nothing to propagate.
    covariance.diagonal().array() += 1e-9 * variance;
    const BoundFactors factors = propagate_bounds(mean, covariance, field.log_content.tail(bounds),
                                                  field.error_variance.tail(bounds), field.side.tail(bounds));
    at.log_likelihood += factors.log_probability;
    for (Eigen::Index k = 0; k < bounds; ++k) {
        const bool tells = factors.tau[k] > 1.0 / error_that_tells_nothing;
        at.error_variance[values + k] = tells ? 1.0 / factors.tau[k] : error_that_tells_nothing;
        at.log_content[values + k] = tells ? factors.nu[k] / factors.tau[k] : mean[k];
    }
    return at;
}

FieldLeftOut left_out(const FieldOfPlaces& field, const WithinFieldParameters& parameters,
                      const FieldAtParameters& at) {
    const Eigen::Index n = field.size();
    const Eigen::VectorXd y = at.log_content.array() - field.known_mean;
    // Diagonal of the inverse covariance, and the inverse times y and times ones.
    Eigen::VectorXd precision, pull, ones;
    if (nothing_in_common(field, parameters)) {
        precision = (at.error_variance.array() + parameters.sd * parameters.sd).inverse();
        pull = precision.cwiseProduct(y);
        ones = precision;
    } else {
        Eigen::MatrixXd half = Eigen::MatrixXd::Identity(n, n);
        FieldWhitening(results_covariance(field, parameters, at.error_variance)).apply(half);
        precision = half.colwise().squaredNorm();
        pull = half.transpose() * (half * y);
        ones = half.transpose() * half.rowwise().sum();
    }
    if (field.flat_mean) {
        const double all = ones.sum();
        pull -= ones * (ones.dot(y) / all);
        precision -= ones.cwiseAbs2() / all;
    }
    FieldLeftOut out;
    const Eigen::ArrayXd p = precision.head(field.values).array();
    out.variance = p.inverse();
    out.mean = field.log_content.head(field.values).array() - pull.head(field.values).array() / p;
    return out;
}

RatioMoments ratio_under(const FieldOfPlaces& field, const WithinFieldParameters& truth) {
    const Eigen::Index n = field.values;
    RatioMoments moments;
    if (n < 3) return moments;
    // Orthonormal contrasts: all but the first row after reflecting the vector of ones onto the first axis.
    Eigen::VectorXd reflector = Eigen::VectorXd::Constant(n, 1.0 / std::sqrt(static_cast<double>(n)));
    reflector[0] += 1.0;
    reflector.normalize();
    const auto contrasts_of = [&](Eigen::MatrixXd c) {
        c -= 2.0 * reflector * (reflector.transpose() * c).eval();
        c -= 2.0 * (c * reflector).eval() * reflector.transpose();
        return Eigen::MatrixXd(c.bottomRightCorner(n - 1, n - 1));
    };
    const Eigen::MatrixXd places = place_covariance(field, truth).topLeftCorner(n, n);
    const Eigen::MatrixXd errors = field.error_variance.head(n).asDiagonal();
    // Without structure the variance that shows within the field is all there is to see.
    const double seen = contrasts_of(places).diagonal().mean();
    const Eigen::MatrixXd plain =
        place_covariance(field, {std::sqrt(seen), 0.0, truth.range_m}).topLeftCorner(n, n) + errors;
    const FieldWhitening whiten(contrasts_of(plain));
    Eigen::MatrixXd ratio = contrasts_of(places + errors);
    whiten.apply(ratio);
    ratio.transposeInPlace();
    whiten.apply(ratio);
    const double log_determinant = 2.0 * FieldWhitening(ratio).sum_of_logs();
    moments.mean = 0.5 * (ratio.trace() - static_cast<double>(n - 1) - log_determinant);
    ratio.diagonal().array() -= 1.0;
    moments.variance = 0.5 * ratio.squaredNorm();
    return moments;
}

}  // namespace models::contamination
