#pragma once

#include <vector>

#include <Eigen/Core>

#include "models/contamination/within_field.h"

namespace models::contamination {

/// The results of one field, values first and then inequalities, readied for many values of the parameters.
struct FieldOfPlaces {
    std::size_t field = 0;
    Eigen::Index values = 0;                                        ///< how many of them are values
    Eigen::Index places = 0;                                        ///< different ones
    Eigen::MatrixXd distance_m;                                     ///< between all results
    std::vector<std::pair<Eigen::Index, Eigen::Index>> same_place;  ///< pairs of different results, i > j
    Eigen::VectorXd log_content;                                    ///< ln reading + q/2: of a value, or of a bound
    Eigen::VectorXd error_variance;                                 ///< q
    Eigen::VectorXd side;                                           ///< 0: a value; -1: below its bound; +1: above it
    std::vector<std::size_t> result;                                ///< index into the results
    bool flat_mean = true;
    double known_mean = 0.0, known_mean_variance = 0.0;
    Eigen::Index size() const { return log_content.size(); }
};

/// Covariance of w between the results, without their errors.
Eigen::MatrixXd place_covariance(const FieldOfPlaces& field, const WithinFieldParameters& parameters);

/// Inequalities as Gaussian factors N(z; nu/tau, 1/tau), and the log of the probability of all of them.
struct BoundFactors {
    Eigen::VectorXd tau, nu;
    double log_probability = 0.0;
    bool settled = true;
};

/// P(side (z - bound) > noise for all) with z ~ N(mean, covariance) and independent noise ~ N(0, variance), by
/// expectation propagation, site after site; the sites are probits, whose moments are closed. Such sites are
/// log-concave: tau is never negative. Source: Rasmussen & Williams (2006), algorithm 3.5 and eqs 3.58, 3.65.
BoundFactors propagate_bounds(const Eigen::VectorXd& mean, const Eigen::MatrixXd& covariance,
                              const Eigen::VectorXd& bound, const Eigen::VectorXd& noise, const Eigen::VectorXd& side);

/// A field's results at one value of the parameters.
struct FieldAtParameters {
    double log_likelihood = 0.0;
    Eigen::VectorXd log_content, error_variance;  ///< inequalities replaced by what they tell
};
FieldAtParameters field_at(const FieldOfPlaces& field, const WithinFieldParameters& parameters);

/// Each value predicted from all other results of its field; of inequalities nothing. Source: Dubrule (1983), Math.
/// Geology 15, 687-699.
struct FieldLeftOut {
    Eigen::VectorXd mean, variance;  ///< of the value left out, its error included; by value
};
FieldLeftOut left_out(const FieldOfPlaces& field, const WithinFieldParameters& parameters, const FieldAtParameters& at);

/// Mean and variance of the log likelihood ratio of `truth` over its best description without structure, were it the
/// truth: of a Gaussian quadratic form. Of the field's values alone.
struct RatioMoments {
    double mean = 0.0, variance = 0.0;
};
RatioMoments ratio_under(const FieldOfPlaces& field, const WithinFieldParameters& truth);

}  // namespace models::contamination
