#include "models/decision/review.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>

#include <Eigen/Cholesky>
#include <fmt/format.h>

#include "models/counted.h"
#include "models/error.h"

namespace models {

namespace review_parts {

void check(const Eigen::Ref<const Eigen::VectorXd>& predicted, const std::vector<bool>& happened) {
    if (predicted.size() != static_cast<Eigen::Index>(happened.size())) {
        throw Error(fmt::format("there are {} predictions and {} findings", predicted.size(), happened.size()));
    }
    if (!predicted.allFinite()) throw Error("a prediction is not a number");
}

/// Cases in ascending order of prediction.
std::vector<Eigen::Index> ascending(const Eigen::Ref<const Eigen::VectorXd>& predicted) {
    std::vector<Eigen::Index> order(static_cast<std::size_t>(predicted.size()));
    std::iota(order.begin(), order.end(), Eigen::Index{0});
    std::stable_sort(order.begin(), order.end(),
                     [&](Eigen::Index a, Eigen::Index b) { return predicted[a] < predicted[b]; });
    return order;
}

/// Events and non-events at one value of the prediction.
struct Rating {
    double events = 0.0, non_events = 0.0;
};

std::vector<Rating> ratings_of(const Eigen::Ref<const Eigen::VectorXd>& predicted, const std::vector<bool>& happened) {
    std::vector<Rating> ratings;
    std::optional<double> last;
    for (const Eigen::Index i : ascending(predicted)) {
        if (!last || predicted[i] != *last) ratings.emplace_back();
        last = predicted[i];
        (happened[static_cast<std::size_t>(i)] ? ratings.back().events : ratings.back().non_events) += 1.0;
    }
    return ratings;
}

/// Sum of squares about the mean over n - 1, of values that come several times each.
double variance(const std::vector<double>& values, const std::vector<double>& counts, double mean, double n) {
    double sum = 0.0;
    for (std::size_t k = 0; k < values.size(); ++k) sum += counts[k] * (values[k] - mean) * (values[k] - mean);
    return sum / (n - 1.0);
}

double hanley_mcneil(double auc, double q1, double q2, double events, double non_events) {
    return std::sqrt((auc * (1.0 - auc) + (events - 1.0) * (q1 - auc * auc) + (non_events - 1.0) * (q2 - auc * auc)) /
                     (events * non_events));
}

double log1p_exp(double x) {
    return x > 0.0 ? x + std::log1p(std::exp(-x)) : std::log1p(std::exp(x));
}

double log_likelihood(const Eigen::VectorXd& logit, const Eigen::VectorXd& found) {
    double sum = 0.0;
    for (Eigen::Index i = 0; i < logit.size(); ++i) sum += found[i] * logit[i] - log1p_exp(logit[i]);
    return sum;
}

}  // namespace review_parts

RankSkill rank_skill(const Eigen::Ref<const Eigen::VectorXd>& predicted, const std::vector<bool>& happened) {
    review_parts::check(predicted, happened);
    RankSkill skill;
    skill.events = static_cast<int>(std::count(happened.begin(), happened.end(), true));
    skill.non_events = static_cast<int>(happened.size()) - skill.events;
    if (skill.events < 2 || skill.non_events < 2) {
        throw Error(fmt::format("{} and {} cannot be ranked", counted(skill.events, "event"),
                                counted(skill.non_events, "non-event")),
                    "", "at least two of each are needed");
    }
    const auto ratings = review_parts::ratings_of(predicted, happened);
    const double m = skill.events, n = skill.non_events;

    // Per rating: the share of the other kind that lies on the right side of it, ties half.
    std::vector<double> events, non_events, below_share, above_share;
    double below = 0.0, above = m, q1 = 0.0, q2 = 0.0;
    for (const auto& rating : ratings) {
        above -= rating.events;
        events.push_back(rating.events);
        non_events.push_back(rating.non_events);
        below_share.push_back((below + 0.5 * rating.non_events) / n);
        above_share.push_back((above + 0.5 * rating.events) / m);
        skill.auc += rating.events * below_share.back() / m;
        q1 += rating.non_events * (above * above + above * rating.events + rating.events * rating.events / 3.0);
        q2 += rating.events * (below * below + below * rating.non_events + rating.non_events * rating.non_events / 3.0);
        below += rating.non_events;
    }
    const double a = skill.auc;
    skill.standard_error = std::sqrt(review_parts::variance(below_share, events, a, m) / m +
                                     review_parts::variance(above_share, non_events, a, n) / n);
    skill.low95 = std::max(0.0, a - 1.959963984540054 * skill.standard_error);
    skill.high95 = std::min(1.0, a + 1.959963984540054 * skill.standard_error);
    skill.standard_error_hanley_mcneil = review_parts::hanley_mcneil(a, q1 / (n * m * m), q2 / (m * n * n), m, n);
    skill.standard_error_exponential = review_parts::hanley_mcneil(a, a / (2.0 - a), 2.0 * a * a / (1.0 + a), m, n);
    return skill;
}

BrierParts brier_parts(const Eigen::Ref<const Eigen::VectorXd>& predicted, const std::vector<bool>& happened,
                       int groups) {
    review_parts::check(predicted, happened);
    if (predicted.size() == 0) throw Error("there is nothing to compare");
    if (groups < 0) throw Error(fmt::format("{} groups are none", groups), "groups", "give 0 or more");
    if (predicted.minCoeff() < 0.0 || predicted.maxCoeff() > 1.0) {
        throw Error("a prediction is no chance from 0 to 1", "", "an index has a rank only");
    }
    const auto order = review_parts::ascending(predicted);
    const auto found = [&](Eigen::Index i) { return happened[static_cast<std::size_t>(i)] ? 1.0 : 0.0; };
    BrierParts parts;
    parts.n = static_cast<int>(predicted.size());
    const double total = static_cast<double>(predicted.size());
    double events = 0.0;
    for (const Eigen::Index i : order) {
        parts.brier += (predicted[i] - found(i)) * (predicted[i] - found(i)) / total;
        events += found(i);
    }
    const double share = events / total;
    parts.uncertainty = share * (1.0 - share);

    for (std::size_t at = 0; at < order.size();) {
        // A group ends where its count is reached and the prediction changes.
        const std::size_t group = parts.table.size() + 1;
        const std::size_t until =
            groups == 0 ? at + 1
                        : std::max(at + 1, order.size() * std::min(group, static_cast<std::size_t>(groups)) /
                                               static_cast<std::size_t>(groups));
        ReliabilityRow row;
        double sum = 0.0, happened_here = 0.0;
        while (at < order.size() && (at < until || predicted[order[at]] == predicted[order[at - 1]])) {
            sum += predicted[order[at]];
            happened_here += found(order[at]);
            ++row.n;
            ++at;
        }
        row.predicted = sum / row.n;
        row.observed = happened_here / row.n;
        parts.reliability += row.n * (row.predicted - row.observed) * (row.predicted - row.observed) / total;
        parts.resolution += row.n * (row.observed - share) * (row.observed - share) / total;
        parts.table.push_back(row);
    }
    parts.within = groups == 0 ? 0.0 : parts.brier - (parts.reliability - parts.resolution + parts.uncertainty);
    parts.skill = parts.uncertainty > 0.0 ? 1.0 - parts.brier / parts.uncertainty : 0.0;
    return parts;
}

LogisticFit fit_logistic(const Eigen::Ref<const Eigen::MatrixXd>& design, const std::vector<bool>& happened,
                         const CoefficientPrior& prior) {
    const Eigen::Index k = design.cols();
    if (design.rows() != static_cast<Eigen::Index>(happened.size())) {
        throw Error(fmt::format("there are {} rows and {} findings", design.rows(), happened.size()));
    }
    if (!design.allFinite()) throw Error("a number to fit by is not finite");
    const bool shrinks = prior.mean.size() > 0;
    if (shrinks && (prior.mean.size() != k || prior.sd.size() != k || !(prior.sd.array() > 0.0).all())) {
        throw Error("the prior needs a mean and a standard deviation above 0 for every coefficient");
    }
    if (k == 0 || (!shrinks && design.rows() < k)) {
        throw Error(fmt::format("{} cases cannot tell {} coefficients", design.rows(), k));
    }
    Eigen::VectorXd found(design.rows());
    for (Eigen::Index i = 0; i < found.size(); ++i) found[i] = happened[static_cast<std::size_t>(i)] ? 1.0 : 0.0;
    const Eigen::VectorXd precision =
        shrinks ? Eigen::VectorXd(prior.sd.array().square().inverse()) : Eigen::VectorXd(Eigen::VectorXd::Zero(k));
    const Eigen::VectorXd centre = shrinks ? prior.mean : Eigen::VectorXd(Eigen::VectorXd::Zero(k));
    const auto objective = [&](const Eigen::VectorXd& b) {
        return review_parts::log_likelihood(design * b, found) -
               0.5 * (precision.array() * (b - centre).array().square()).sum();
    };

    LogisticFit fit;
    fit.coefficients = centre;
    double value = objective(fit.coefficients);
    Eigen::LDLT<Eigen::MatrixXd> factor;
    constexpr int most_steps = 50;
    int step = 0;
    for (; step < most_steps && !fit.settled; ++step) {
        const Eigen::VectorXd p = (1.0 + (-(design * fit.coefficients)).array().exp()).inverse();
        const Eigen::VectorXd weight = p.array() * (1.0 - p.array());
        const Eigen::VectorXd slope =
            design.transpose() * (found - p) - (precision.array() * (fit.coefficients - centre).array()).matrix();
        Eigen::MatrixXd information = design.transpose() * weight.asDiagonal() * design;
        information.diagonal() += precision;
        factor.compute(information);
        if (factor.info() != Eigen::Success ||
            !(factor.vectorD().array() > 1e-12 * factor.vectorD().maxCoeff()).all()) {
            fit.message = "some columns say the same, or the classes separate: no single fit is best";
            break;
        }
        const Eigen::VectorXd change = factor.solve(slope);
        double length = 1.0;
        double next = objective(fit.coefficients + change);
        while (!(next >= value - 1e-12 * std::abs(value)) && length > 1e-6) {
            length *= 0.5;
            next = objective(fit.coefficients + length * change);
        }
        fit.coefficients += length * change;
        value = next;
        // Half the Newton decrement is how much likelihood is still to be won.
        fit.settled = 0.5 * slope.dot(change) < 1e-13 * (1.0 + std::abs(value));
    }
    const Eigen::VectorXd logit = design * fit.coefficients;
    fit.log_likelihood = review_parts::log_likelihood(logit, found);
    if (!shrinks && fit.settled && fit.log_likelihood > -1e-6 * static_cast<double>(found.size())) {
        fit.settled = false;
        fit.message = "the classes separate: the likelihood rises without end";
    }
    if (fit.settled) fit.message = "settled after " + counted(step, "step");
    if (fit.message.empty()) fit.message = fmt::format("did not settle in {} steps", most_steps);
    const Eigen::VectorXd p = (1.0 + (-logit).array().exp()).inverse();
    Eigen::MatrixXd information =
        design.transpose() * Eigen::VectorXd(p.array() * (1.0 - p.array())).asDiagonal() * Eigen::MatrixXd(design);
    information.diagonal() += precision;
    fit.standard_errors =
        information.ldlt().solve(Eigen::MatrixXd::Identity(k, k)).diagonal().cwiseMax(0.0).cwiseSqrt();
    return fit;
}

}  // namespace models
