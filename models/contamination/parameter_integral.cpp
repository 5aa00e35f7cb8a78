#include "models/contamination/parameter_integral.h"

#include <algorithm>
#include <cmath>

#include "models/contamination/parallel.h"
#include "models/contamination/parameter_mode.h"
#include "models/contamination/parameter_points.h"
#include "models/contamination/point_posterior.h"

namespace models::contamination {

namespace {

/// How far each propagation is taken. The evidence is stationary about the fixed point, so that a site that is a
/// thousandth of its spread away from it moves the evidence by a millionth.
struct Effort {
    double tolerance = 1e-5;
    int sweeps = 40;
};

/// Rounds of propagation at one value of the parameters until what is taken at a point of the posterior has come to
/// rest.
GaussianSites settle_linearisation(const Layout& layout, const Parameters& p, const Effort& effort, Linearisation& at,
                                   GaussianSites start) {
    const int rounds = layout.needs_linearising() ? 8 : 1;
    for (int round = 0; round < rounds; ++round) {
        const GaussianLaw law = layout.law(p, at);
        const Propagation found = propagate(law, layout.tables(), std::move(start), effort.tolerance, effort.sweeps);
        start = found.sites;
        if (layout.needs_linearising())
            linearise(layout, found, point_posterior(layout, at, p, law, found.posterior, found.sites), at);
    }
    return start;
}

AtParameters readings_at(const Layout& layout, const Parameters& p, const Effort& effort, const Linearisation& at,
                         const GaussianSites& start) {
    Propagation found = propagate(layout.law(p, at), layout.tables(), start, effort.tolerance, effort.sweeps);
    return {p, 1.0, found.log_evidence, found.settled, std::move(found.sites), std::move(found.cavity_mean)};
}

/// Evaluates whole sets of parameters on all threads, from one start.
class Evaluations {
 public:
    Evaluations(const Layout& layout, int dimensions, const Effort& effort, Linearisation& at, const Progress& progress)
        : layout_(layout), dimensions_(dimensions), effort_(effort), at_(at), progress_(progress) {
        start_ = starting_sites(layout.tables());
    }
    void start_from(const Eigen::RowVectorXd& centre) {
        start_ =
            settle_linearisation(layout_, Parameters::at(centre, layout_.priors()), effort_, at_, std::move(start_));
    }
    Eigen::VectorXd operator()(const Eigen::MatrixXd& points) {
        last_.assign(static_cast<std::size_t>(points.rows()), {});
        for_each_index(
            static_cast<int>(points.rows()), layout_.settings().threads,
            [&](int i) {
                // So far out the prior leaves nothing, and a covariance of 1e20 leaves no digit of an evidence.
                constexpr double beyond_all = 12.0;
                if (points.row(i).cwiseAbs().maxCoeff() > beyond_all) {
                    last_[static_cast<std::size_t>(i)].log_evidence = -1e300;
                    return;
                }
                last_[static_cast<std::size_t>(i)] =
                    readings_at(layout_, Parameters::at(points.row(i), layout_.priors()), effort_, at_, start_);
            },
            progress_, "contamination model");
        Eigen::VectorXd evidence(points.rows());
        for (Eigen::Index i = 0; i < evidence.size(); ++i)
            evidence[i] = last_[static_cast<std::size_t>(i)].log_evidence;
        return evidence;
    }
    int dimensions() const { return dimensions_; }
    std::vector<AtParameters> take() { return std::move(last_); }

 private:
    const Layout& layout_;
    int dimensions_;
    Effort effort_;
    Linearisation& at_;
    const Progress& progress_;
    GaussianSites start_;
    std::vector<AtParameters> last_;
};

ParameterIntegral weighted(Evaluations& evaluate, const WeightedPoints& found, double enough) {
    ParameterIntegral integral;
    integral.enough = enough;
    integral.log_evidence = found.log_evidence;
    integral.effective = found.effective;
    integral.rounds = found.rounds;
    integral.points = evaluate.take();
    for (std::size_t i = 0; i < integral.points.size(); ++i)
        integral.points[i].weight = found.weight[static_cast<Eigen::Index>(i)];
    // What weighs under a millionth together with its like changes no printed digit.
    const double least = 1e-8 * found.weight.maxCoeff();
    std::erase_if(integral.points, [&](const AtParameters& point) { return point.weight < least; });
    double total = 0.0;
    for (const AtParameters& point : integral.points) total += point.weight;
    for (AtParameters& point : integral.points) point.weight /= total;
    return integral;
}

ParameterIntegral integrated_from_prior(const Layout& layout, Evaluations& evaluate) {
    const ContaminationSettings& settings = layout.settings();
    const auto of_points = [&](const Eigen::MatrixXd& points, const WeightedPoints& last) {
        const Eigen::RowVectorXd centre = last.rounds == 0
                                              ? Eigen::RowVectorXd(Eigen::RowVectorXd::Zero(evaluate.dimensions()))
                                              : Eigen::RowVectorXd(last.weight.transpose() * last.points);
        if (last.rounds == 0 || layout.needs_linearising()) evaluate.start_from(centre);
        return evaluate(points);
    };
    const WeightedPoints found = integrate_parameters(settings.points, evaluate.dimensions(), settings.enough_effective,
                                                      layout.needs_linearising() ? 2 : 1, of_points);
    return weighted(evaluate, found, settings.enough_effective);
}

ParameterIntegral integrated_about_mode(const Layout& layout, Evaluations& evaluate, bool mode_alone) {
    evaluate.start_from(Eigen::RowVectorXd::Zero(evaluate.dimensions()));
    const ParameterMode mode = most_probable_parameters(
        evaluate.dimensions(), [&](const Eigen::MatrixXd& points) { return evaluate(points); });
    evaluate.start_from(mode.law.centre);
    if (mode_alone) {
        ParameterIntegral integral;
        integral.way = ParameterWay::most_probable;
        evaluate(mode.law.centre);
        integral.points = evaluate.take();
        integral.points[0].settled = integral.points[0].settled && mode.settled;
        integral.log_evidence = mode.laplace_log_evidence;
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
    const Effort effort;
    const GaussianSites start = settle_linearisation(layout, p, effort, at, starting_sites(layout.tables()));
    ParameterIntegral integral;
    integral.way = ParameterWay::fixed;
    integral.points = {readings_at(layout, p, effort, at, start)};
    integral.log_evidence = integral.points[0].log_evidence;
    return integral;
}

ParameterIntegral integrate(const Layout& layout, int dimensions, Linearisation& at, const Progress& progress) {
    constexpr std::size_t few_sites = 300;
    const bool mode_alone = tested_field_seasons(layout) > most_integrated_fields;
    const bool many = mode_alone || (layout.regional() && layout.sites().size() > few_sites);
    Evaluations evaluate(layout, dimensions, many ? Effort{1e-3, 40} : Effort{}, at, progress);
    return many ? integrated_about_mode(layout, evaluate, mode_alone) : integrated_from_prior(layout, evaluate);
}

}  // namespace models::contamination
