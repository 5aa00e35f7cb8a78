#include "models/spatial/variogram_likelihood.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include <Eigen/QR>
#include <fmt/format.h>

#include "models/error.h"
#include "models/spatial/kriging_system.h"
#include "models/spatial/parallel.h"
#include "models/spatial/simplex_search.h"

namespace models {

namespace {

constexpr Eigen::Index most_places = 3000;
constexpr double lowest_ratio = 1e-7;

bool searches_range(const VariogramTerm& term) {
    return term.shape != VariogramShape::nugget && term.shape != VariogramShape::error;
}

/// Likelihoods of one set of values under many variograms.
class Likelihood {
 public:
    Likelihood(const SpatialData& data, const VariogramModel& model, LikelihoodKind kind)
        : data_(data, model, {}), kind_(kind) {
        if (!model.has_sill() || std::any_of(model.terms.begin(), model.terms.end(), [](const VariogramTerm& term) {
                return term.shape == VariogramShape::linear || term.shape == VariogramShape::power;
            })) {
            throw Error("a variogram without a sill (linear, power) has no likelihood", "",
                        "fit it by least squares, or take another shape");
        }
        if (data_.x.size() > most_places) {
            throw Error(fmt::format("{} places are too many for the full likelihood", data_.x.size()), "",
                        fmt::format("fit by least squares, or take a sample of at most {} places", most_places));
        }
        if (data_.x.size() <= data_.drift.cols()) throw Error("there are not enough places for a likelihood");
        const Eigen::HouseholderQR<Eigen::MatrixXd> qr(data_.drift);
        log_design_ = 2.0 * qr.matrixQR().diagonal().head(data_.drift.cols()).cwiseAbs().array().log().sum();
    }

    const PreparedData& data() const { return data_; }

    struct Value {
        double log_likelihood = -std::numeric_limits<double>::infinity();
        double scale = 1.0;  ///< the factor on all sills that was found best, 1 if it was not asked for
    };
    /// @param free_scale  the best common factor of all sills is taken; only without errors known beforehand
    Value at(const VariogramModel& model, bool free_scale) {
        const auto& table = kernels::kernel_table();
        const PreparedCovariance covariance(model);
        const Eigen::Index n = data_.x.size(), p = data_.drift.cols();
        factor_.resize(n, n);
        parallel_blocks((n + 31) / 32, 0, [&](long long block) {
            for (Eigen::Index j = block * 32; j < std::min<Eigen::Index>(n, (block + 1) * 32); ++j) {
                table.covariances(covariance.arrays(), data_.x.data() + j, data_.y.data() + j, static_cast<int>(n - j),
                                  data_.x[j], data_.y[j], factor_.col(j).data() + j);
                factor_(j, j) += data_.error_variances[j];
            }
        });
        if (table.factor(factor_.data(), static_cast<int>(n)) >= 0) return {};
        if (!(factor_.diagonal().minCoeff() > 1e-8 * factor_.diagonal().maxCoeff())) return {};
        Eigen::VectorXd z = data_.values;
        Eigen::MatrixXd w = data_.drift;
        table.forward_solve(factor_.data(), static_cast<int>(n), z.data(), 1);
        table.forward_solve(factor_.data(), static_cast<int>(n), w.data(), static_cast<int>(p));
        const Eigen::HouseholderQR<Eigen::MatrixXd> qr(w);
        const Eigen::VectorXd turned = qr.householderQ().transpose() * z;
        const double squares = turned.tail(n - p).squaredNorm();
        const double log_covariance = 2.0 * factor_.diagonal().array().log().sum();
        const double log_information = 2.0 * qr.matrixQR().diagonal().head(p).cwiseAbs().array().log().sum();
        const bool restricted = kind_ == LikelihoodKind::restricted;
        const double count = static_cast<double>(restricted ? n - p : n);
        Value value;
        if (free_scale) value.scale = squares / count;
        const double determinants = log_covariance + (restricted ? log_information - log_design_ : 0.0);
        value.log_likelihood =
            -0.5 * (count * std::log(2.0 * std::numbers::pi * value.scale) + determinants + squares / value.scale);
        if (!std::isfinite(value.log_likelihood)) return {};
        return value;
    }

 private:
    PreparedData data_;
    LikelihoodKind kind_;
    double log_design_ = 0.0;
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

}  // namespace

double log_likelihood(const SpatialData& data, const VariogramModel& model, LikelihoodKind kind) {
    Likelihood likelihood(data, model, kind);
    const double value = likelihood.at(model, false).log_likelihood;
    if (!std::isfinite(value)) {
        throw Error("the covariances of the points cannot be told apart under this variogram",
                    "variogram \"" + model.to_text() + "\"", "add a small nugget or an error variance");
    }
    return value;
}

VariogramFit fit_variogram_by_likelihood(const SpatialData& data, const VariogramModel& shapes, LikelihoodKind kind,
                                         const Progress& progress) {
    VariogramFit fit;
    fit.method = kind == LikelihoodKind::restricted ? "restricted maximum likelihood" : "maximum likelihood";
    Likelihood likelihood(data, shapes, kind);
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
    double nearest = std::numeric_limits<double>::infinity();
    for (Eigen::Index i = 0; i < used.x.size(); ++i) {
        for (Eigen::Index j = 0; j < i; ++j) {
            const double distance = std::hypot(used.x[i] - used.x[j], used.y[i] - used.y[j]);
            if (distance > 0.0) nearest = std::min(nearest, distance);
        }
    }
    const double extent = std::hypot(used.x.maxCoeff() - used.x.minCoeff(), used.y.maxCoeff() - used.y.minCoeff());
    if (!(extent > 0.0)) throw Error("all points lie at one place, so no range can be found");
    SearchSpace space = space_for(shapes, used, nearest, extent, variance);
    const auto cost = [&](const Eigen::VectorXd& point) {
        return -likelihood.at(space.model_at(point), space.free_scale).log_likelihood;
    };
    struct Start {
        double cost;
        Eigen::VectorXd point;
    };
    std::vector<Start> starts;
    // Likelihoods of shapes that end at their range have many maxima (Mardia & Watkins 1989, Biometrika 76, 289-295).
    constexpr int range_starts = 20;
    for (int step = 0; step < range_starts; ++step) {
        const double range_share = 0.008 * std::pow(150.0, step / (range_starts - 1.0));
        for (const double ratio : {0.05, 0.5, 5.0}) {
            Eigen::VectorXd point(space.low.size());
            Eigen::Index at = 0;
            for (std::size_t k = 0; k < space.ranged.size(); ++k) {
                point[at++] = std::log(extent * range_share * (k == 0 ? 1.0 : 5.0));
            }
            for (std::size_t k = 0; k < space.sills.size(); ++k) point[at++] = std::log(ratio);
            if (!space.free_scale) point[at] = std::log(0.7 * variance);
            point = point.cwiseMax(space.low).cwiseMin(space.high);
            starts.push_back({cost(point), point});
            progress.step("fitting the variogram", 0.3 * static_cast<double>(starts.size()) / (3.0 * range_starts));
        }
    }
    std::stable_sort(starts.begin(), starts.end(), [](const Start& a, const Start& b) { return a.cost < b.cost; });
    SimplexMinimum best;
    best.value = std::numeric_limits<double>::infinity();
    std::vector<double> polished;  // logarithms of first ranges that were started from
    constexpr std::size_t most_polished = 6;
    for (const Start& start : starts) {
        if (polished.size() == most_polished || !std::isfinite(start.cost)) break;
        const bool near_another = std::any_of(polished.begin(), polished.end(),
                                              [&](double other) { return std::abs(other - start.point[0]) < 0.1; });
        if (near_another) continue;
        polished.push_back(start.point[0]);
        const SimplexMinimum found = simplex_minimum(cost, start.point, 0.15, space.low, space.high, 800);
        if (found.value < best.value) best = found;
        progress.step("fitting the variogram",
                      0.3 + 0.7 * static_cast<double>(polished.size()) / static_cast<double>(most_polished));
    }
    if (!std::isfinite(best.value)) {
        fit.model = shapes;
        fit.message = "no variogram of this shape gives covariances that can be told apart; add a nugget";
        return fit;
    }
    fit.model = space.model_at(best.point);
    const double scale = likelihood.at(fit.model, space.free_scale).scale;
    for (VariogramTerm& term : fit.model.terms) {
        if (term.shape != VariogramShape::error) term.partial_sill *= scale;
    }
    fit.objective = -best.value;
    for (std::size_t k = 0; k < space.ranged.size(); ++k) {
        const auto at = static_cast<Eigen::Index>(k);
        const bool upper = best.point[at] > space.high[at] - 1e-4;
        if (!upper && best.point[at] >= space.low[at] + 1e-4) continue;
        fit.at_bound.push_back(fmt::format("range of term {} at its {} bound {:.4g} m", space.ranged[k] + 1,
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
        fit.message = fmt::format("settled: log-likelihood {:.4f}", fit.objective);
    }
    return fit;
}

}  // namespace models
