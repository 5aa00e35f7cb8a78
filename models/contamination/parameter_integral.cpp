#include "models/contamination/parameter_integral.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include <Eigen/Cholesky>
#include <fmt/format.h>

#include "models/contamination/parallel.h"
#include "models/contamination/parameter_mode.h"
#include "models/contamination/parameter_points.h"
#include "models/contamination/point_posterior.h"
#include "models/contamination/restricted_likelihood.h"
#include "models/error.h"
#include "models/spoken.h"

namespace models::contamination {

namespace {

/// How far each propagation is taken. The evidence is stationary about the fixed point, so that a site that is a
/// hundredth of its spread away from it moves the evidence by a ten thousandth.
struct Effort {
    double searching = 1e-2;  ///< where the points lie that count
    double settling = 1e-5;   ///< at those
};
constexpr int most_sweeps = 40;

/// Rounds of propagation at one value of the parameters until what is taken at a point of the posterior has come to
/// rest.
GaussianSites settle_linearisation(const Layout& layout, const Parameters& p, double tolerance, Linearisation& at,
                                   GaussianSites start) {
    const int rounds = layout.needs_linearising() ? 8 : 1;
    for (int round = 0; round < rounds; ++round) {
        const GaussianLaw law = layout.law(p, at);
        const Propagation found = propagate(law, layout.tables(), std::move(start), tolerance, most_sweeps);
        start = found.sites;
        if (layout.needs_linearising())
            linearise(layout, found,
                      point_posterior(layout, at, p, law, found.posterior, found.sites, layout.joined(p)), at);
    }
    return start;
}

AtParameters readings_at(const Layout& layout, const Parameters& p, double tolerance, const Linearisation& at,
                         const GaussianSites& start) {
    Propagation found = propagate(layout.law(p, at), layout.tables(), start, tolerance, most_sweeps);
    return {p,
            1.0,
            found.log_evidence,
            found.settled,
            found.sweeps,
            std::move(found.sites),
            std::move(found.cavity_mean),
            std::move(found.cavity_variance),
            std::move(found.free)};
}

/// What the sites come to at other parameters, by a plane through what they came to at the last points: where
/// propagation starts. Points count by the root of their density, so that those about the mass lead the others.
class SitesForecast {
 public:
    SitesForecast(Eigen::Index n, const Eigen::MatrixXd& points, const std::vector<AtParameters>& found) {
        const Eigen::Index d = points.cols();
        Eigen::VectorXd log_density(points.rows());
        for (Eigen::Index i = 0; i < points.rows(); ++i)
            log_density[i] = found[static_cast<std::size_t>(i)].log_evidence - 0.5 * points.row(i).squaredNorm();
        Eigen::VectorXd weight = (0.5 * (log_density.array() - log_density.maxCoeff())).exp();
        weight /= weight.sum();
        centre_ = weight.transpose() * points;
        plane_ = Eigen::MatrixXd::Zero(1 + d, 2 * n);
        Eigen::MatrixXd moments = Eigen::MatrixXd::Zero(1 + d, 1 + d);
        moments.diagonal().tail(d).setConstant(1e-3);  // directions in which the points do not differ
        Eigen::RowVectorXd terms(1 + d), sites(2 * n);
        least_tau_ = Eigen::VectorXd::Constant(n, std::numeric_limits<double>::infinity());
        for (Eigen::Index i = 0; i < points.rows(); ++i) {
            const GaussianSites& at = found[static_cast<std::size_t>(i)].sites;
            if (at.tau.size() != n || weight[i] < 1e-6) continue;
            terms << 1.0, points.row(i) - centre_;
            sites << at.tau.transpose(), at.nu.transpose();
            moments.noalias() += weight[i] * terms.transpose() * terms;
            plane_.noalias() += weight[i] * terms.transpose() * sites;
            least_tau_ = least_tau_.cwiseMin(at.tau);
        }
        plane_ = moments.llt().solve(plane_).eval();
    }
    GaussianSites at(const Eigen::RowVectorXd& point) const {
        Eigen::RowVectorXd terms(plane_.rows());
        terms << 1.0, point - centre_;
        const Eigen::VectorXd sites = (terms * plane_).transpose();
        const Eigen::Index n = sites.size() / 2;
        return {sites.head(n).cwiseMax(least_tau_), sites.tail(n)};
    }

 private:
    Eigen::RowVectorXd centre_;
    Eigen::MatrixXd plane_;  ///< value and slopes x tau and nu of each site
    Eigen::VectorXd least_tau_;
};

/// Evaluates whole sets of parameters on all threads, each from where the set before lets it expect the sites.
class Evaluations {
 public:
    Evaluations(const Layout& layout, int dimensions, const Effort& effort, Linearisation& at, const Progress& progress)
        : layout_(layout), dimensions_(dimensions), effort_(effort), at_(at), progress_(progress) {
        start_ = starting_sites(layout.tables());
    }
    /// From here on points are logs of the parameters themselves, not of the space of their prior.
    void take_logs() { logs_ = true; }
    void start_from(const Eigen::RowVectorXd& centre) {
        const Parameters p =
            logs_ ? parameters_of_logs(centre, layout_.priors()) : Parameters::at(centre, layout_.priors());
        start_ = settle_linearisation(layout_, p, effort_.settling, at_, std::move(start_));
    }
    Eigen::VectorXd operator()(const Eigen::MatrixXd& points) {
        std::vector<AtParameters> found(static_cast<std::size_t>(points.rows()));
        for_each_index(
            static_cast<int>(points.rows()), layout_.settings().threads,
            [&](int i) {
                AtParameters& here = found[static_cast<std::size_t>(i)];
                if (logs_) {
                    here = readings_at(layout_, parameters_of_logs(points.row(i), layout_.priors()), effort_.searching,
                                       at_, start_);
                    return;
                }
                // So far out the prior leaves nothing, and a covariance of 1e20 leaves no digit of an evidence.
                constexpr double beyond_all = 12.0;
                if (points.row(i).cwiseAbs().maxCoeff() > beyond_all) {
                    here.log_evidence = -1e300;
                    return;
                }
                here = readings_at(layout_, Parameters::at(points.row(i), layout_.priors()), effort_.searching, at_,
                                   forecast_ ? forecast_->at(points.row(i)) : start_);
            },
            progress_, phrase("contamination model"));
        Eigen::VectorXd evidence(points.rows());
        for (Eigen::Index i = 0; i < evidence.size(); ++i)
            evidence[i] = found[static_cast<std::size_t>(i)].log_evidence;
        Eigen::Index best = 0;
        if (logs_ && evidence.maxCoeff(&best) > -1e300)
            start_ = found[static_cast<std::size_t>(best)].sites;
        else if (evidence.maxCoeff() > -1e300 && points.rows() > 2 * dimensions_)
            forecast_.emplace(start_.tau.size(), points, found);
        count(found);
        last_ = std::move(found);
        return evidence;
    }
    /// Takes the points that count to the end, each from where it is; weights follow the evidence.
    void settle(std::vector<AtParameters>& points) {
        for_each_index(static_cast<int>(points.size()), layout_.settings().threads, [&](int i) {
            AtParameters& here = points[static_cast<std::size_t>(i)];
            AtParameters settled = readings_at(layout_, here.parameters, effort_.settling, at_, here.sites);
            settled.weight = here.weight * std::exp(settled.log_evidence - here.log_evidence);
            here = std::move(settled);
        });
        count(points);
    }
    int dimensions() const { return dimensions_; }
    std::vector<AtParameters> take() { return std::move(last_); }
    void tell_effort(ParameterIntegral& integral) const {
        integral.propagations = propagations_;
        integral.sweeps = sweeps_;
    }

 private:
    void count(const std::vector<AtParameters>& points) {
        propagations_ += static_cast<int>(points.size());
        for (const AtParameters& point : points) sweeps_ += point.sweeps;
    }

    const Layout& layout_;
    int dimensions_;
    Effort effort_;
    Linearisation& at_;
    const Progress& progress_;
    GaussianSites start_;
    bool logs_ = false;
    std::optional<SitesForecast> forecast_;
    std::vector<AtParameters> last_;
    int propagations_ = 0;
    long long sweeps_ = 0;
};

RoughLaw law_of(const WeightedPoints& found) {
    RoughLaw law;
    law.centre = found.weight.transpose() * found.points;
    const Eigen::MatrixXd off = found.points.rowwise() - law.centre;
    law.covariance = off.transpose() * found.weight.asDiagonal() * off;
    return law;
}

ParameterIntegral weighted(Evaluations& evaluate, const WeightedPoints& found, double enough) {
    ParameterIntegral integral;
    integral.enough = enough;
    integral.rounds = found.rounds;
    integral.law = law_of(found);
    std::vector<AtParameters>& points = integral.points;
    points = evaluate.take();
    for (std::size_t i = 0; i < points.size(); ++i) points[i].weight = found.weight[static_cast<Eigen::Index>(i)];
    // What weighs under a millionth together with its like changes no printed digit.
    const double least = 1e-8 * found.weight.maxCoeff();
    const auto leave_out = [&] {
        std::erase_if(points, [&](const AtParameters& point) { return point.weight < least; });
    };
    leave_out();
    evaluate.settle(points);
    leave_out();
    double sum = 0.0, sum_of_squares = 0.0;
    for (const AtParameters& point : points) {
        sum += point.weight;
        sum_of_squares += point.weight * point.weight;
    }
    integral.log_evidence = found.log_evidence + std::log(sum);
    integral.effective = sum * sum / sum_of_squares;
    for (AtParameters& point : points) point.weight /= sum;
    evaluate.tell_effort(integral);
    return integral;
}

ParameterIntegral integrated_from_prior(const Layout& layout, Evaluations& evaluate,
                                        const std::optional<RoughLaw>& about) {
    const ContaminationSettings& settings = layout.settings();
    const auto of_points = [&](const Eigen::MatrixXd& points, const WeightedPoints& last) {
        Eigen::RowVectorXd centre = Eigen::RowVectorXd::Zero(evaluate.dimensions());
        if (about) centre = about->centre;
        if (last.rounds > 0) centre = last.weight.transpose() * last.points;
        if (last.rounds == 0 || layout.needs_linearising()) evaluate.start_from(centre);
        return evaluate(points);
    };
    const WeightedPoints found = integrate_parameters(settings.points, evaluate.dimensions(), settings.enough_effective,
                                                      layout.needs_linearising() && !about ? 2 : 1, of_points, about);
    return weighted(evaluate, found, settings.enough_effective);
}

ParameterIntegral integrated_about_mode(const Layout& layout, Evaluations& evaluate, bool mode_alone,
                                        const std::optional<RoughLaw>& about) {
    const Eigen::RowVectorXd start =
        about ? about->centre : Eigen::RowVectorXd(Eigen::RowVectorXd::Zero(evaluate.dimensions()));
    evaluate.start_from(start);
    const ParameterMode mode =
        most_probable_parameters(start.transpose(), [&](const Eigen::MatrixXd& points) { return evaluate(points); });
    evaluate.start_from(mode.law.centre);
    if (mode_alone) {
        ParameterIntegral integral;
        integral.way = ParameterWay::most_probable;
        evaluate(mode.law.centre);
        integral.points = evaluate.take();
        integral.points[0].settled = integral.points[0].settled && mode.settled;
        integral.log_evidence = mode.laplace_log_evidence;
        integral.law = mode.law;
        evaluate.tell_effort(integral);
        return integral;
    }
    // With hundreds of results a quarter of the points tells as much as all of them do with ten.
    const int points = std::max(16, layout.settings().points / 4);
    const double enough = std::min(layout.settings().enough_effective, points / 8.0);
    const WeightedPoints found = integrate_parameters(
        points, evaluate.dimensions(), enough, 1,
        [&](const Eigen::MatrixXd& at, const WeightedPoints&) { return evaluate(at); }, mode.law);
    ParameterIntegral integral = weighted(evaluate, found, enough);
    integral.way = ParameterWay::integrated_about_mode;
    return integral;
}

ParameterIntegral at_restricted_maximum(const Layout& layout, Evaluations& evaluate) {
    const int tested = tested_field_seasons(layout);
    if (tested < fewest_restricted_fields)
        throw Error(fmt::format("restricted likelihood needs results of {} field-seasons, and there {} {}",
                                fewest_restricted_fields, tested == 1 ? "is" : "are", tested),
                    "", "take integrated or most-probable parameters, which have priors");
    evaluate.take_logs();
    const RestrictedSpace space = restricted_space(layout, evaluate.dimensions());
    evaluate.start_from(space.start);
    const RestrictedMaximum maximum =
        restricted_maximum(space, [&](const Eigen::MatrixXd& logs) { return evaluate(logs); });
    evaluate.start_from(maximum.at);
    evaluate(maximum.at);
    ParameterIntegral integral;
    integral.way = ParameterWay::restricted;
    integral.points = evaluate.take();
    integral.log_evidence = integral.points[0].log_evidence;
    integral.penalty = 0.5 * evaluate.dimensions() * std::log(static_cast<double>(tested));
    integral.law = {maximum.at, Eigen::MatrixXd::Identity(evaluate.dimensions(), evaluate.dimensions())};
    integral.range_untold = maximum.told.back() != ParameterTold::inside;
    integral.notes = notes_of(maximum);
    evaluate.tell_effort(integral);
    return integral;
}

}  // namespace

int tested_field_seasons(const Layout& layout) {
    std::vector<bool> tested(layout.locals().size(), false);
    for (const Site& site : layout.sites())
        for (const auto& [local, slope] : site.locals) tested[static_cast<std::size_t>(local)] = true;
    int count = 0;
    for (std::size_t k = 0; k < tested.size(); ++k)
        count += tested[k] && layout.locals()[k].kind == LocalKind::field ? 1 : 0;
    return count;
}

ParameterIntegral at_fixed_parameters(const Layout& layout, const Parameters& p, Linearisation& at) {
    const double tolerance = Effort{}.settling;
    const GaussianSites start = settle_linearisation(layout, p, tolerance, at, starting_sites(layout.tables()));
    ParameterIntegral integral;
    integral.way = ParameterWay::fixed;
    integral.points = {readings_at(layout, p, tolerance, at, start)};
    integral.log_evidence = integral.points[0].log_evidence;
    return integral;
}

ParameterIntegral integrate(const Layout& layout, int dimensions, Linearisation& at, const Progress& progress,
                            const std::optional<RoughLaw>& about) {
    constexpr std::size_t few_sites = 300;
    const ParametersBy by = layout.settings().parameters;
    if (by == ParametersBy::restricted_likelihood) {
        Evaluations evaluate(layout, dimensions, Effort{1e-4, 1e-5}, at, progress);
        return at_restricted_maximum(layout, evaluate);
    }
    const bool mode_alone = by == ParametersBy::most_probable ||
                            (by == ParametersBy::usual && tested_field_seasons(layout) > most_integrated_fields);
    const bool many = mode_alone || (layout.regional() && layout.sites().size() > few_sites);
    // The mode is found by differences of the evidence, which a rough propagation would blur.
    Evaluations evaluate(layout, dimensions, many ? Effort{1e-3, 1e-3} : Effort{1e-2, 1e-4}, at, progress);
    return many ? integrated_about_mode(layout, evaluate, mode_alone, about)
                : integrated_from_prior(layout, evaluate, about);
}

}  // namespace models::contamination
