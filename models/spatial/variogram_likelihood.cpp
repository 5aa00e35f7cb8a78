#include "models/spatial/variogram_likelihood.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <numeric>
#include <utility>

#include <Eigen/QR>
#include <fmt/format.h>

#include "models/error.h"
#include "models/spatial/kriging_system.h"
#include "models/spatial/place_order.h"
#include "models/spatial/simplex_search.h"
#include "models/spatial/whitening.h"

namespace models {

namespace {

constexpr int scan_neighbours = 10;  ///< where a search looks about
constexpr std::size_t most_compared = 2000;
constexpr double lowest_ratio = 1e-7;

bool searches_range(const VariogramTerm& term) {
    return term.shape != VariogramShape::nugget && term.shape != VariogramShape::error;
}

double log_determinant_of_triangle(const Eigen::HouseholderQR<Eigen::MatrixXd>& qr) {
    return qr.matrixQR().diagonal().cwiseAbs().array().log().sum();
}

struct LikelihoodValue {
    double log_likelihood = -std::numeric_limits<double>::infinity();
    double scale = 1.0;  ///< the factor on all sills that was found best, 1 if it was not asked for
    Eigen::VectorXd coefficients;
};

/// @param log_design  log |X'X|
/// @param free_scale  the best common factor of all sills is taken; only without errors known beforehand
LikelihoodValue likelihood_of(const Whitened& whitened, LikelihoodKind kind, double log_design, bool free_scale) {
    if (!whitened.told_apart) return {};
    const Eigen::Index n = whitened.values.size(), p = whitened.drift.cols();
    LikelihoodValue value;
    double squares = whitened.values.squaredNorm(), log_information = 0.0;
    if (p > 0) {
        const Eigen::HouseholderQR<Eigen::MatrixXd> qr(whitened.drift);
        const Eigen::VectorXd turned = qr.householderQ().transpose() * whitened.values;
        squares = turned.tail(n - p).squaredNorm();
        log_information = 2.0 * log_determinant_of_triangle(qr);
        value.coefficients = qr.matrixQR().topRows(p).template triangularView<Eigen::Upper>().solve(turned.head(p));
    }
    const bool restricted = kind == LikelihoodKind::restricted;
    const double count = static_cast<double>(restricted ? n - p : n);
    if (free_scale) value.scale = squares / count;
    const double determinants = whitened.log_determinant + (restricted ? log_information - log_design : 0.0);
    const double found =
        -0.5 * (count * std::log(2.0 * std::numbers::pi * value.scale) + determinants + squares / value.scale);
    if (std::isfinite(found)) value.log_likelihood = found;
    return value;
}

/// Likelihoods of one set of values under many variograms.
class Likelihood {
 public:
    Likelihood(const SpatialData& data, const VariogramModel& model, LikelihoodKind kind,
               const LikelihoodSettings& settings, const Progress& progress)
        : data_(data, model, {}), kind_(kind), threads_(settings.threads) {
        if (!model.has_sill()) {
            throw Error("a variogram without a sill (linear, power) has no likelihood", "",
                        "fit it by least squares, or take another shape");
        }
        if (settings.neighbours < 0) {
            throw Error(fmt::format("{} neighbours are asked for", settings.neighbours), "",
                        "give a number greater than 0");
        }
        const Eigen::Index n = data_.x.size();
        if (n <= data_.drift.cols()) throw Error("there are not enough places for a likelihood");
        log_design_ = 2.0 * log_determinant_of_triangle(Eigen::HouseholderQR<Eigen::MatrixXd>(data_.drift));
        int wanted = settings.neighbours;
        if (wanted == 0 && n > most_places_together) wanted = usual_neighbours;
        if (wanted > 0 && wanted < n - 1) nearest_.emplace(data_, model, wanted, threads_, progress);
    }

    const PreparedData& data() const { return data_; }
    /// That each value is conditioned on; 0: all places are taken together.
    int neighbours() const { return nearest_ ? nearest_->neighbours() : 0; }

    /// @param neighbours  no more than neighbours()
    LikelihoodValue at(const VariogramModel& model, bool free_scale, int neighbours, const Progress& progress) {
        const PreparedCovariance covariance(model);
        const Whitened whitened = nearest_ ? nearest_->whiten(covariance, neighbours, progress)
                                           : whiten_together(data_, covariance, factor_, threads_, progress);
        return likelihood_of(whitened, kind_, log_design_, free_scale);
    }

    /// What the neighbours leave out, at a model.
    NeighbourApproximation approximation_at(const VariogramModel& model, const Progress& progress) {
        const PreparedCovariance covariance(model);
        const LikelihoodValue found = at(model, false, neighbours(), progress);
        NeighbourApproximation shown;
        shown.neighbours = neighbours();
        const NearestWhitening twice(data_, model, 2 * neighbours(), threads_, progress);
        const Whitened whitened = twice.whiten(covariance, twice.neighbours(), progress);
        shown.change_with_twice =
            likelihood_of(whitened, kind_, log_design_, false).log_likelihood - found.log_likelihood;

        // Of places as close to one another as all are, and with the mean as found: a drift may be constant there.
        PreparedData there = places_in_order(data_, in_the_middle(most_compared));
        there.values -= there.drift * found.coefficients;
        there.drift.resize(there.values.size(), 0);
        const auto known_mean = [&](const Whitened& one) {
            return likelihood_of(one, LikelihoodKind::full, 0.0, false).log_likelihood;
        };
        const NearestWhitening nearest(there, model, neighbours(), threads_, progress);
        shown.compared_places = static_cast<int>(there.values.size());
        shown.error_there = known_mean(nearest.whiten(covariance, nearest.neighbours(), progress)) -
                            known_mean(whiten_together(there, covariance, factor_, threads_, progress));
        return shown;
    }

 private:
    /// The places nearest to the mean of all.
    std::vector<int> in_the_middle(std::size_t most) const {
        const Eigen::ArrayXd squared =
            (data_.x.array() - data_.x.mean()).square() + (data_.y.array() - data_.y.mean()).square();
        std::vector<int> numbers(static_cast<std::size_t>(squared.size()));
        std::iota(numbers.begin(), numbers.end(), 0);
        std::sort(numbers.begin(), numbers.end(),
                  [&](int a, int b) { return squared[a] < squared[b] || (squared[a] == squared[b] && a < b); });
        numbers.resize(std::min(numbers.size(), most));
        return numbers;
    }

    PreparedData data_;
    LikelihoodKind kind_;
    int threads_;
    double log_design_ = 0.0;
    std::optional<NearestWhitening> nearest_;
    Eigen::MatrixXd factor_;
};

/// From the searched numbers to a model: logarithms of the ranges, then of each sill over the first one with a range,
/// then (with errors known beforehand) of that sill itself.
struct SearchSpace {
    VariogramModel shapes;
    std::vector<std::size_t> ranged, sills;  ///< terms with a range; terms whose sill is searched as a ratio
    bool free_scale = true;
    Eigen::VectorXd low, high;

    VariogramModel model_at(const Eigen::VectorXd& point) const {
        VariogramModel model = shapes;
        Eigen::Index at = 0;
        for (const std::size_t k : ranged) model.terms[k].range_m = std::exp(point[at++]);
        std::vector<double> ratio(sills.size());
        for (double& value : ratio) value = std::exp(point[at++]);
        const double first = free_scale ? 1.0 : std::exp(point[at]);
        model.terms[ranged.front()].partial_sill = first;
        for (std::size_t k = 0; k < sills.size(); ++k) {
            model.terms[sills[k]].partial_sill = ratio[k] <= 2.0 * lowest_ratio ? 0.0 : ratio[k] * first;
        }
        return model;
    }
};

SearchSpace space_for(const VariogramModel& shapes, const PreparedData& data, double nearest, double extent,
                      double variance) {
    SearchSpace space;
    space.shapes = shapes;
    for (std::size_t k = 0; k < shapes.terms.size(); ++k) {
        if (searches_range(shapes.terms[k])) {
            space.ranged.push_back(k);
            space.shapes.terms[k].range_m = 1.0;
        }
        if (shapes.terms[k].shape != VariogramShape::error) space.shapes.terms[k].partial_sill = 1.0;
    }
    if (space.ranged.empty() || space.ranged.size() > 2) {
        throw Error("a likelihood fit takes one or two terms with a range", "", "such as nugget + exponential");
    }
    for (std::size_t k = 0; k < shapes.terms.size(); ++k) {
        if (k != space.ranged.front() && shapes.terms[k].shape != VariogramShape::error) space.sills.push_back(k);
    }
    space.free_scale = data.error_variances.maxCoeff() == 0.0;
    const auto size = static_cast<Eigen::Index>(space.ranged.size() + space.sills.size()) + (space.free_scale ? 0 : 1);
    space.low.resize(size);
    space.high.resize(size);
    Eigen::Index at = 0;
    for (std::size_t k = 0; k < space.ranged.size(); ++k, ++at) {
        space.low[at] = std::log(nearest / 5.0);
        space.high[at] = std::log(extent * 5.0);
    }
    for (std::size_t k = 0; k < space.sills.size(); ++k, ++at) {
        space.low[at] = std::log(lowest_ratio);
        space.high[at] = std::log(1e6);
    }
    if (!space.free_scale) {
        space.low[at] = std::log(variance * 1e-8);
        space.high[at] = std::log(variance * 1e3);
    }
    return space;
}

/// The work within one part of a fit: it says how far the fit is, and can be stopped.
Progress at_share(const Progress& progress, double share) {
    return Progress([&progress, share](std::string_view, double) {
        progress.step("fitting the variogram", share);
        return true;
    });
}

/// The best point of the space: a scan of ranges and ratios, then a polish of the best few. With neighbours the scan
/// and its polish look at few of them, and the best is polished once more with all.
class LikelihoodSearch {
 public:
    LikelihoodSearch(Likelihood& likelihood, const SearchSpace& space, const Progress& progress)
        : likelihood_(likelihood), space_(space), progress_(progress), all_(likelihood.neighbours()) {}

    SimplexMinimum best(double extent, double variance) {
        const bool in_steps = all_ > scan_neighbours;
        neighbours_ = in_steps ? scan_neighbours : all_;
        const std::vector<Start> starts = scanned(extent, variance);
        if (!in_steps) return best_polished(starts, {6, 0.1, 800, 1e-10}, 1.0);
        const SimplexMinimum found = best_polished(starts, {3, 0.3, 120, 1e-4}, 0.4);
        if (!std::isfinite(found.value)) return found;
        neighbours_ = all_;
        pace(0.4, 0.95, 150);
        // With thousands of values the likelihood is flat to its last digit long before 1e-6.
        return polished(found.point, 0.05, 800, 1e-6);
    }

 private:
    struct Start {
        double cost;
        Eigen::VectorXd point;
    };

    struct Polish {
        std::size_t most;      ///< starts
        double apart;          ///< at least, between the logarithms of their first ranges
        int most_evaluations;  ///< of each
        double smallest;       ///< as for simplex_minimum
    };

    void pace(double from, double to, int usual_evaluations) {
        from_ = from;
        to_ = to;
        usual_ = usual_evaluations;
        done_ = 0;
    }

    double cost(const Eigen::VectorXd& point) {
        share_ = std::max(share_, from_ + (to_ - from_) * std::min(1.0, static_cast<double>(done_++) / usual_));
        const Progress within = at_share(progress_, share_);
        within.step("", share_);
        return -likelihood_.at(space_.model_at(point), space_.free_scale, neighbours_, within).log_likelihood;
    }

    SimplexMinimum polished(const Eigen::VectorXd& start, double step, int most_evaluations, double smallest) {
        return simplex_minimum([this](const Eigen::VectorXd& point) { return cost(point); }, start, step, space_.low,
                               space_.high, most_evaluations, smallest);
    }

    std::vector<Start> scanned(double extent, double variance) {
        // Likelihoods of shapes that end at their range have many maxima (Mardia & Watkins 1989, Biometrika 76,
        // 289-295).
        constexpr int range_starts = 20;
        pace(0.0, 0.1, 3 * range_starts);
        // From about the spacing of the places on, where they are many.
        const double shortest = std::min(0.008, 1.0 / std::sqrt(static_cast<double>(likelihood_.data().x.size())));
        std::vector<Start> starts;
        for (int step = 0; step < range_starts; ++step) {
            const double range_share = shortest * std::pow(1.2 / shortest, step / (range_starts - 1.0));
            for (const double ratio : {0.05, 0.5, 5.0}) {
                Eigen::VectorXd point(space_.low.size());
                Eigen::Index at = 0;
                for (std::size_t k = 0; k < space_.ranged.size(); ++k) {
                    point[at++] = std::log(extent * range_share * (k == 0 ? 1.0 : 5.0));
                }
                for (std::size_t k = 0; k < space_.sills.size(); ++k) point[at++] = std::log(ratio);
                if (!space_.free_scale) point[at] = std::log(0.7 * variance);
                point = point.cwiseMax(space_.low).cwiseMin(space_.high);
                starts.push_back({cost(point), point});
            }
        }
        std::stable_sort(starts.begin(), starts.end(), [](const Start& a, const Start& b) { return a.cost < b.cost; });
        return starts;
    }

    SimplexMinimum best_polished(const std::vector<Start>& starts, const Polish& polish, double to) {
        SimplexMinimum best;
        best.value = std::numeric_limits<double>::infinity();
        std::vector<double> begun;  // logarithms of first ranges that were started from
        for (const Start& start : starts) {
            if (begun.size() == polish.most || !std::isfinite(start.cost)) break;
            const bool near_another = std::any_of(begun.begin(), begun.end(), [&](double other) {
                return std::abs(other - start.point[0]) < polish.apart;
            });
            if (near_another) continue;
            const double part = (to - 0.1) / static_cast<double>(polish.most);
            const double from = 0.1 + part * static_cast<double>(begun.size());
            pace(from, from + part, std::min(300, polish.most_evaluations));
            begun.push_back(start.point[0]);
            const SimplexMinimum found = polished(start.point, 0.15, polish.most_evaluations, polish.smallest);
            if (found.value < best.value) best = found;
        }
        return best;
    }

    Likelihood& likelihood_;
    const SearchSpace& space_;
    const Progress& progress_;
    int all_, neighbours_ = 0;
    double from_ = 0.0, to_ = 1.0, share_ = 0.0;
    int usual_ = 1, done_ = 0;
};

std::string difference_text(double difference) {
    return fmt::format("{:+.2g}", difference);
}

/// The sentences that go with an approximation.
std::vector<std::string> notes_on(const NeighbourApproximation& shown, Eigen::Index places, int twice) {
    std::vector<std::string> notes;
    notes.push_back(fmt::format(
        "the likelihood of {} places is that of each value given its {} nearest among those before it, from coarse to "
        "fine",
        places, shown.neighbours));
    std::string error = fmt::format("{} neighbours instead of all: ", shown.neighbours);
    error +=
        std::isfinite(shown.change_with_twice)
            ? fmt::format("with {} the log-likelihood moves by {}", twice, difference_text(shown.change_with_twice))
            : fmt::format("with {} the covariances cannot be told apart", twice);
    error += std::isfinite(shown.error_there)
                 ? fmt::format("; that of {} places lying together is {} off the exact one", shown.compared_places,
                               difference_text(shown.error_there))
                 : fmt::format("; those of {} places lying together, all at once, cannot be told apart",
                               shown.compared_places);
    notes.push_back(error);
    return notes;
}

}  // namespace

double log_likelihood(const SpatialData& data, const VariogramModel& model, LikelihoodKind kind,
                      const LikelihoodSettings& settings, const Progress& progress) {
    Likelihood likelihood(data, model, kind, settings, progress);
    const double value = likelihood.at(model, false, likelihood.neighbours(), progress).log_likelihood;
    if (!std::isfinite(value)) {
        throw Error("the covariances of the points cannot be told apart under this variogram",
                    "variogram \"" + model.to_text() + "\"", "add a small nugget or an error variance");
    }
    return value;
}

VariogramFit fit_variogram_by_likelihood(const SpatialData& data, const VariogramModel& shapes, LikelihoodKind kind,
                                         const Progress& progress, const LikelihoodSettings& settings) {
    VariogramFit fit;
    fit.method = kind == LikelihoodKind::restricted ? "restricted maximum likelihood" : "maximum likelihood";
    Likelihood likelihood(data, shapes, kind, settings, progress);
    if (likelihood.neighbours() > 0) {
        fit.method += fmt::format(", each value given its {} nearest", likelihood.neighbours());
    }
    const PreparedData& used = likelihood.data();
    const double mean = used.values.mean();
    const double variance = (used.values.array() - mean).square().mean();
    if (!(variance > 0.0)) {
        fit.model = VariogramModel({{.shape = VariogramShape::nugget, .partial_sill = 0.0}});
        fit.settled = true;
        fit.pure_nugget = true;
        fit.message = "no variation: all values are the same, so every place gets the same estimate";
        return fit;
    }
    const double nearest = shortest_distance(used.x, used.y);
    const double extent = std::hypot(used.x.maxCoeff() - used.x.minCoeff(), used.y.maxCoeff() - used.y.minCoeff());
    if (!(extent > 0.0)) throw Error("all points lie at one place, so no range can be found");
    const SearchSpace space = space_for(shapes, used, nearest, extent, variance);
    const SimplexMinimum best = LikelihoodSearch(likelihood, space, progress).best(extent, variance);
    if (!std::isfinite(best.value)) {
        fit.model = shapes;
        fit.message = "no variogram of this shape gives covariances that can be told apart; add a nugget";
        return fit;
    }
    fit.model = space.model_at(best.point);
    const Progress last = at_share(progress, 0.95);
    const double scale = likelihood.at(fit.model, space.free_scale, likelihood.neighbours(), last).scale;
    for (VariogramTerm& term : fit.model.terms) {
        if (term.shape != VariogramShape::error) term.partial_sill *= scale;
    }
    fit.objective = -best.value;
    if (likelihood.neighbours() > 0) {
        fit.approximation = likelihood.approximation_at(fit.model, last);
        const int twice = std::min(2 * likelihood.neighbours(), static_cast<int>(used.x.size()) - 1);
        fit.notes = notes_on(*fit.approximation, used.x.size(), twice);
    }
    progress.step("fitting the variogram", 1.0);
    for (std::size_t k = 0; k < space.ranged.size(); ++k) {
        const auto at = static_cast<Eigen::Index>(k);
        const bool upper = best.point[at] > space.high[at] - 1e-4;
        if (!upper && best.point[at] >= space.low[at] + 1e-4) continue;
        fit.at_bound.push_back(fmt::format("range of term {} at its {} bound {:.4g}", space.ranged[k] + 1,
                                           upper ? "upper" : "lower", fit.model.terms[space.ranged[k]].range_m));
    }
    const double total = fit.model.sill() - fit.model.error();
    double structured = 0.0;
    for (const std::size_t k : space.ranged) {
        const VariogramTerm& term = fit.model.terms[k];
        structured += term.partial_sill * (1.0 - term.unit_semivariance(nearest));
    }
    fit.pure_nugget = structured < 0.01 * total;
    fit.settled = best.settled && (fit.at_bound.empty() || fit.pure_nugget);
    if (fit.pure_nugget) {
        fit.message =
            "pure nugget: the map will be flat because near values are no more alike than far ones; estimates away "
            "from "
            "the data are their mean";
    } else if (!fit.at_bound.empty()) {
        fit.message = fit.at_bound.front() +
                      ": the likelihood still rises with the range; the data do not say where the variogram ends";
    } else if (!best.settled) {
        fit.message = "the search ran out of steps before it settled";
    } else {
        fit.message = fmt::format("settled: log-likelihood {:.1f}", fit.objective);
    }
    return fit;
}

}  // namespace models
