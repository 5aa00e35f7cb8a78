#include "models/spatial/variogram_fit.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include <Eigen/QR>
#include <fmt/format.h>

#include "models/counted.h"
#include "models/error.h"
#include "models/spatial/simplex_search.h"

namespace models {

namespace {

bool is_ranged(const VariogramTerm& term) {
    using enum VariogramShape;
    return term.shape != nugget && term.shape != error && term.shape != linear && term.shape != power;
}

double weight_of(const VariogramClass& entry, const VariogramModel& model, FitWeights weights) {
    const double pairs = static_cast<double>(entry.pairs);
    switch (weights) {
        case FitWeights::pairs_over_distance_squared:
            return pairs / (entry.distance_m * entry.distance_m);
        case FitWeights::pairs_over_gamma_squared: {
            const double azimuth = entry.direction_deg * std::numbers::pi / 180.0;
            const double gamma =
                model.semivariance(entry.distance_m * std::sin(azimuth), entry.distance_m * std::cos(azimuth));
            return pairs / std::max(gamma * gamma, std::numeric_limits<double>::min());
        }
        case FitWeights::pairs:
            return pairs;
        case FitWeights::equal:
            return 1.0;
    }
    return 1.0;
}

/// gamma of one term with sill 1 at a class.
double unit_of(const VariogramTerm& term, const VariogramClass& entry) {
    const double azimuth = entry.direction_deg * std::numbers::pi / 180.0;
    return term.unit_semivariance(
        term.anisotropic_distance_m(entry.distance_m * std::sin(azimuth), entry.distance_m * std::cos(azimuth)));
}

/// Least squares with no negative coefficient, for the few columns a variogram has: the best of all subsets whose own
/// least-squares solution is not negative is the constrained minimum.
struct NonNegative {
    Eigen::VectorXd coefficients;
    double sum_of_squares = std::numeric_limits<double>::infinity();
};
NonNegative non_negative_least_squares(const Eigen::MatrixXd& design, const Eigen::VectorXd& wanted) {
    const Eigen::Index columns = design.cols();
    NonNegative best;
    best.coefficients = Eigen::VectorXd::Zero(columns);
    best.sum_of_squares = wanted.squaredNorm();
    const unsigned all = (1u << columns) - 1u;
    for (unsigned subset = all; subset > 0; --subset) {
        std::vector<Eigen::Index> chosen;
        for (Eigen::Index k = 0; k < columns; ++k) {
            if (subset >> k & 1u) chosen.push_back(k);
        }
        const Eigen::MatrixXd part = design(Eigen::all, chosen);
        const Eigen::VectorXd solution = part.colPivHouseholderQr().solve(wanted);
        if (!(solution.minCoeff() >= 0.0)) continue;
        const double sum = (wanted - part * solution).squaredNorm();
        if (sum < best.sum_of_squares) {
            best.sum_of_squares = sum;
            best.coefficients.setZero();
            for (std::size_t k = 0; k < chosen.size(); ++k) {
                best.coefficients[chosen[k]] = solution[static_cast<Eigen::Index>(k)];
            }
        }
        if (subset == all) break;  // the unconstrained minimum is allowed: nothing can be better
    }
    return best;
}

/// The ranges are searched; for given ranges the sills follow.
class ProfiledFit {
 public:
    ProfiledFit(const std::vector<VariogramClass>& classes, VariogramModel shapes, Eigen::VectorXd weights)
        : classes_(classes), shapes_(std::move(shapes)), root_weights_(weights.cwiseSqrt()) {
        wanted_.resize(static_cast<Eigen::Index>(classes_.size()));
        const double error = shapes_.error();
        for (std::size_t k = 0; k < classes_.size(); ++k) {
            wanted_[static_cast<Eigen::Index>(k)] = classes_[k].gamma - error;
        }
        wanted_ = wanted_.cwiseProduct(root_weights_);
        for (std::size_t k = 0; k < shapes_.terms.size(); ++k) {
            if (shapes_.terms[k].shape != VariogramShape::error) fitted_.push_back(k);
            if (is_ranged(shapes_.terms[k])) ranged_.push_back(k);
        }
        design_.resize(wanted_.size(), static_cast<Eigen::Index>(fitted_.size()));
    }

    std::size_t ranges() const { return ranged_.size(); }

    double objective(const Eigen::VectorXd& log_ranges) { return profile(log_ranges).sum_of_squares; }

    VariogramModel model_at(const Eigen::VectorXd& log_ranges) {
        const NonNegative sills = profile(log_ranges);
        VariogramModel model = shapes_;
        for (std::size_t k = 0; k < fitted_.size(); ++k) {
            model.terms[fitted_[k]].partial_sill = sills.coefficients[static_cast<Eigen::Index>(k)];
        }
        return model;
    }

 private:
    NonNegative profile(const Eigen::VectorXd& log_ranges) {
        for (std::size_t k = 0; k < ranged_.size(); ++k) {
            shapes_.terms[ranged_[k]].range_m = std::exp(log_ranges[static_cast<Eigen::Index>(k)]);
        }
        for (std::size_t k = 0; k < fitted_.size(); ++k) {
            for (std::size_t row = 0; row < classes_.size(); ++row) {
                design_(static_cast<Eigen::Index>(row), static_cast<Eigen::Index>(k)) =
                    unit_of(shapes_.terms[fitted_[k]], classes_[row]) * root_weights_[static_cast<Eigen::Index>(row)];
            }
        }
        return non_negative_least_squares(design_, wanted_);
    }

    const std::vector<VariogramClass>& classes_;
    VariogramModel shapes_;
    Eigen::VectorXd root_weights_, wanted_;
    Eigen::MatrixXd design_;
    std::vector<std::size_t> fitted_, ranged_;
};

/// Every combination of ranges on a grid of logarithms, then a polish of the most promising ones.
Eigen::VectorXd search_ranges(ProfiledFit& fit, double low, double high) {
    const auto dimensions = static_cast<Eigen::Index>(fit.ranges());
    if (dimensions == 0) return {};
    const Eigen::Index steps = dimensions == 1 ? 1200 : dimensions == 2 ? 48 : 16;
    const double step = (high - low) / static_cast<double>(steps - 1);
    struct Start {
        double objective;
        Eigen::VectorXd log_ranges;
    };
    std::vector<Start> grid;
    std::vector<Eigen::Index> at(static_cast<std::size_t>(dimensions), 0);
    for (bool more = true; more;) {
        Eigen::VectorXd point(dimensions);
        for (Eigen::Index k = 0; k < dimensions; ++k) {
            point[k] = low + step * static_cast<double>(at[static_cast<std::size_t>(k)]);
        }
        grid.push_back({fit.objective(point), point});
        more = false;
        for (auto& index : at) {
            if (++index < steps) {
                more = true;
                break;
            }
            index = 0;
        }
    }
    std::stable_sort(grid.begin(), grid.end(),
                     [](const Start& a, const Start& b) { return a.objective < b.objective; });
    const auto objective = [&](const Eigen::VectorXd& point) { return fit.objective(point); };
    Start best = grid.front();
    std::vector<Eigen::VectorXd> polished;
    for (const Start& start : grid) {
        if (polished.size() >= 6) break;
        const bool near_another = std::any_of(polished.begin(), polished.end(), [&](const Eigen::VectorXd& other) {
            return (other - start.log_ranges).cwiseAbs().maxCoeff() < 3.5 * step;
        });
        if (near_another) continue;
        polished.push_back(start.log_ranges);
        const SimplexMinimum found =
            simplex_minimum(objective, start.log_ranges, step, Eigen::VectorXd::Constant(dimensions, low),
                            Eigen::VectorXd::Constant(dimensions, high));
        if (found.value < best.objective) best = {found.value, found.point};
    }
    return best.log_ranges;
}

void describe_fit(VariogramFit& fit, const std::vector<VariogramClass>& classes, double low_m, double high_m) {
    const double total = fit.model.sill();
    if (total <= 0.0) {
        fit.settled = true;
        fit.pure_nugget = true;
        fit.message = "no variation: all values are the same, so every place gets the same estimate";
        return;
    }
    double nearest = std::numeric_limits<double>::infinity(), farthest = 0.0;
    for (const VariogramClass& entry : classes) {
        nearest = std::min(nearest, entry.distance_m);
        farthest = std::max(farthest, entry.distance_m);
    }
    double rise = 0.0;
    for (std::size_t k = 0; k < fit.model.terms.size(); ++k) {
        const VariogramTerm& term = fit.model.terms[k];
        if (term.shape == VariogramShape::nugget || term.shape == VariogramShape::error) continue;
        rise += term.partial_sill * (term.unit_semivariance(farthest) - term.unit_semivariance(nearest));
        if (!is_ranged(term) || term.partial_sill == 0.0) continue;
        if (term.range_m > high_m * (1.0 - 1e-6)) {
            fit.at_bound.push_back(fmt::format("range of term {} at its upper bound {:.4g}", k + 1, high_m));
        }
        if (term.range_m < low_m * (1.0 + 1e-6)) {
            fit.at_bound.push_back(fmt::format("range of term {} at its lower bound {:.4g}", k + 1, low_m));
        }
    }
    fit.pure_nugget = rise < 0.01 * total;
    if (fit.pure_nugget) {
        fit.settled = true;
        fit.message =
            "pure nugget: the map will be flat because near pairs differ as much as far ones; estimates away from the "
            "data are their mean";
        return;
    }
    fit.settled = fit.at_bound.empty();
    if (!fit.settled) {
        fit.message = fit.at_bound.front() +
                      ": the data do not say where the variogram ends; give a larger cutoff or name the range yourself";
        return;
    }
    fit.message = fmt::format("settled: {:.0f} % of the variation is structured, up to a distance of {:.4g}",
                              100.0 * fit.model.structured_sill() / total, fit.model.practical_range_m());
}

std::string_view name_of(FitWeights weights) {
    switch (weights) {
        case FitWeights::pairs_over_distance_squared:
            return "N/h^2";
        case FitWeights::pairs_over_gamma_squared:
            return "N/gamma^2";
        case FitWeights::pairs:
            return "N";
        case FitWeights::equal:
            return "equal";
    }
    return "";
}

Eigen::VectorXd weights_of(const std::vector<VariogramClass>& classes, const VariogramModel& model,
                           FitWeights weights) {
    Eigen::VectorXd all(static_cast<Eigen::Index>(classes.size()));
    for (std::size_t k = 0; k < classes.size(); ++k) {
        all[static_cast<Eigen::Index>(k)] = weight_of(classes[k], model, weights);
    }
    return all;
}

}  // namespace

VariogramFit fit_variogram(const std::vector<VariogramClass>& all_classes, const VariogramModel& shapes,
                           FitWeights weights) {
    if (shapes.terms.empty()) throw Error("no shape is named to fit", "", "name at least one, such as spherical");
    if (std::count_if(shapes.terms.begin(), shapes.terms.end(), is_ranged) > 3) {
        throw Error("more than three terms with a range are to be fitted", "", "fit at most three");
    }
    std::vector<VariogramClass> classes;
    for (const VariogramClass& entry : all_classes) {
        if (entry.distance_m > 0.0 && entry.pairs > 0) classes.push_back(entry);
    }
    VariogramFit fit;
    fit.method = "least squares, weights " + std::string(name_of(weights));
    fit.model = shapes;
    for (VariogramTerm& term : fit.model.terms) {
        if (term.shape != VariogramShape::error) term.partial_sill = 0.0;
        if (is_ranged(term)) term.range_m = 1.0;
    }
    if (classes.size() < 2) {
        fit.found = false;
        fit.pure_nugget = true;
        double gamma = classes.empty() ? 0.0 : std::max(0.0, classes.front().gamma - shapes.error());
        fit.model = VariogramModel({{.shape = VariogramShape::nugget, .partial_sill = gamma}});
        fit.message = "fewer than two classes of distance have pairs";
        return fit;
    }
    const auto most = std::max_element(classes.begin(), classes.end(),
                                       [](const auto& a, const auto& b) { return a.pairs < b.pairs; });
    if (most->pairs < pairs_of_a_class_that_holds) {
        fit.notes.push_back(fmt::format(
            "no class of distance holds more than {}, and from {} on one can be relied on: this fit is little more "
            "than a guess",
            counted(most->pairs, "pair"), pairs_of_a_class_that_holds));
    }
    double nearest = std::numeric_limits<double>::infinity(), farthest = 0.0;
    for (const VariogramClass& entry : classes) {
        nearest = std::min(nearest, entry.distance_m);
        farthest = std::max(farthest, entry.distance_m);
    }
    const double low = std::log(nearest / 5.0), high = std::log(farthest * 5.0);
    const bool iterated = weights == FitWeights::pairs_over_gamma_squared;
    const auto fit_once = [&](const Eigen::VectorXd& now) {
        ProfiledFit profiled(classes, shapes, now);
        fit.model = profiled.model_at(search_ranges(profiled, low, high));
    };
    fit_once(weights_of(classes, fit.model, iterated ? FitWeights::pairs : weights));
    bool steady = !iterated;
    for (int round = 0; round < 40 && !steady; ++round) {
        const Eigen::VectorXd before = weights_of(classes, fit.model, weights);
        fit_once(before);
        steady = (weights_of(classes, fit.model, weights) - before).norm() < 1e-8 * before.norm();
    }
    fit.objective = weighted_sum_of_squares(classes, fit.model, weights);
    describe_fit(fit, classes, std::exp(low), std::exp(high));
    if (!steady) {
        fit.settled = false;
        fit.message = "the weights N/gamma^2 kept changing for 40 rounds; " + fit.message;
    }
    return fit;
}

VariogramFit fit_variogram(const std::vector<VariogramClass>& classes, FitWeights weights) {
    const auto sum_with = [](VariogramShape shape) {
        return VariogramModel({{.shape = VariogramShape::nugget}, {.shape = shape, .range_m = 1.0}});
    };
    VariogramFit spherical = fit_variogram(classes, sum_with(VariogramShape::spherical), weights);
    VariogramFit exponential = fit_variogram(classes, sum_with(VariogramShape::exponential), weights);
    if (spherical.settled != exponential.settled) return spherical.settled ? spherical : exponential;
    return spherical.objective <= exponential.objective ? spherical : exponential;
}

double weighted_sum_of_squares(const std::vector<VariogramClass>& classes, const VariogramModel& model,
                               FitWeights weights) {
    double sum = 0.0;
    for (const VariogramClass& entry : classes) {
        if (entry.distance_m <= 0.0 || entry.pairs <= 0) continue;
        const double azimuth = entry.direction_deg * std::numbers::pi / 180.0;
        const double gamma =
            model.semivariance(entry.distance_m * std::sin(azimuth), entry.distance_m * std::cos(azimuth));
        sum += weight_of(entry, model, weights) * (entry.gamma - gamma) * (entry.gamma - gamma);
    }
    return sum;
}

}  // namespace models
