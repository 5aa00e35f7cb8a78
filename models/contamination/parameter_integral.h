#pragma once

#include <optional>
#include <vector>

#include "models/contamination/layout.h"
#include "models/contamination/parameter_points.h"
#include "models/contamination/propagation.h"
#include "models/progress.h"

namespace models::contamination {

/// The readings at one value of the covariance parameters.
struct AtParameters {
    Parameters parameters;
    double weight = 1.0, log_evidence = 0.0;
    bool settled = true;
    int sweeps = 0;  ///< of the propagation that ended here
    GaussianSites sites;
    Eigen::VectorXd cavity_mean, cavity_variance;
    FreeFound free;
};

/// How the covariance parameters were dealt with.
enum class ParameterWay {
    fixed,
    integrated,             ///< over points from the prior and from laws fitted to them
    integrated_about_mode,  ///< over points from a law about the most probable values
    most_probable,          ///< those alone (empirical Bayes)
    restricted,             ///< those of the highest restricted likelihood alone, without a prior
};

struct ParameterIntegral {
    ParameterWay way = ParameterWay::integrated;
    std::vector<AtParameters> points;  ///< weights add up to 1; those of next to no weight are left out
    double log_evidence = 0.0;
    double effective = 1.0, enough = 0.0;  ///< effective number of points, and what was to be reached
    int rounds = 1;
    int propagations = 0;  ///< made for it, the search included
    long long sweeps = 0;  ///< of these
    RoughLaw law;          ///< of the parameters given the readings, where their prior is standard normal
    /// Taken off log_evidence before one way is weighed against another: of a maximum half of ln n for each parameter
    /// (Schwarz 1978, Ann Stat 6, 461-464), of an integral nothing.
    double penalty = 0.0;
    bool range_untold = false;       ///< a maximum that lies at a bound of the range or of the regional effect
    std::vector<std::string> notes;  ///< on where a maximum lies
};

/// More tested field-seasons than this: the most probable parameters alone.
inline constexpr int most_integrated_fields = 1500;

/// Field-seasons with a reading of their own or of a load of theirs.
int tested_field_seasons(const Layout& layout);

/// Readings at one value of the parameters. What is taken at a point of the posterior is found by going round.
ParameterIntegral at_fixed_parameters(const Layout& layout, const Parameters& p, Linearisation& at);

/// Restricted likelihood of fewer tested field-seasons is refused.
inline constexpr int fewest_restricted_fields = 10;

/// Deals with the covariance parameters as the settings say. Usually it integrates over them, with the regional ones or
/// (dimensions = Parameters::without_region) with no regional effect. Up to 300 sites, and wherever nothing joins the
/// fields, from the prior; beyond that the points are drawn about the most probable values; above
/// `most_integrated_fields` the most probable values stand alone. The search for the points that count propagates to
/// 1e-2 (1e-3 beyond 300 sites), those with weight are then taken to 1e-4 (1e-3). Restricted likelihood:
/// restricted_likelihood.h.
/// @param about  where the parameters are known to lie roughly; the search begins there instead
ParameterIntegral integrate(const Layout& layout, int dimensions, Linearisation& at, const Progress& progress,
                            const std::optional<RoughLaw>& about = std::nullopt);

}  // namespace models::contamination
