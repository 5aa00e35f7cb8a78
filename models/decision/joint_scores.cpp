#include "models/decision/joint_scores.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <numeric>
#include <set>
#include <utility>

#include "models/contamination/counter_random.h"
#include "models/contamination/normal.h"
#include "models/contamination/parallel.h"
#include "models/decision/limit_rule.h"
#include "models/spoken.h"

namespace models {

namespace joint_scores_parts {

using Index = Eigen::Index;

constexpr double least_variance = 1e-9, most_variance = 1e9;
/// So much of the draws has to lie on both sides of a content before what a reading says of it is measured there.
constexpr double least_side = 0.02;

/// One field's draws, made ready for asking what a reading of it would tell.
class FieldDraws {
 public:
    FieldDraws(const Eigen::Ref<const Eigen::VectorXd>& draws, const ScoresQuestion& question)
        : question_(question), n_(draws.size()), draws_(draws) {
        order_.resize(static_cast<std::size_t>(n_));
        std::iota(order_.begin(), order_.end(), Index{0});
        std::stable_sort(order_.begin(), order_.end(), [&](Index a, Index b) { return draws_[a] < draws_[b]; });
        const BreakingPoint point = breaking_point(question.limit);
        for (const double content : draws_)
            if (point.breaks(content)) ++over_;
    }

    double over() const { return static_cast<double>(over_) / static_cast<double>(n_); }

    /// @param quantiles  of the ranks
    Eigen::VectorXd scores(const Eigen::VectorXd& quantiles) const {
        Eigen::VectorXd scores(n_);
        for (Index from = 0, to = 0; from < n_; from = to) {
            while (to < n_ && sorted(to) == sorted(from)) ++to;
            const double mean = quantiles.segment(from, to - from).mean();
            for (Index i = from; i < to; ++i) scores[order_[static_cast<std::size_t>(i)]] = mean;
        }
        const double variance = scores.squaredNorm() / static_cast<double>(n_);
        if (variance > 0.0) scores /= std::sqrt(variance);
        return scores;
    }

    double error_variance(Index most_classes) const {
        // The first rank that counts as over: the limit's own, or the nearest that leaves enough on both sides.
        const auto side = std::max(Index{1}, static_cast<Index>(std::ceil(least_side * static_cast<double>(n_))));
        Index first_over = std::clamp(n_ - over_, std::min(side, n_), std::max(n_ - side, Index{0}));
        while (first_over < n_ && first_over > 0 && sorted(first_over) == sorted(first_over - 1)) ++first_over;
        if (first_over <= 0 || first_over >= n_) return most_variance;

        std::set<Index> edge_set{first_over};
        const Index classes = std::min(n_, most_classes);
        for (Index b = 0; b <= classes; ++b) edge_set.insert(b * n_ / classes);
        const std::vector<Index> edges(edge_set.begin(), edge_set.end());
        const auto count = static_cast<Index>(edges.size()) - 1;
        // Grain without any DON reads like the least content that is drawn of the field: below the range.
        double least = 1.0;
        for (Index i = 0; i < n_; ++i) {
            if (!(sorted(i) > 0.0)) continue;
            least = std::min(least, sorted(i));
            break;
        }
        Eigen::VectorXd size(count), content(count), over = Eigen::VectorXd::Zero(count);
        for (Index b = 0; b < count; ++b) {
            const Index from = edges[static_cast<std::size_t>(b)], to = edges[static_cast<std::size_t>(b) + 1];
            double sum = 0.0;
            for (Index i = from; i < to; ++i) sum += std::log(std::max(sorted(i), least));
            size[b] = static_cast<double>(to - from);
            content[b] = std::exp(sum / size[b]);
            if (from >= first_over) over[b] = size[b];
        }
        const Eigen::MatrixXd weights = outcome_weights(size, content, least);
        const double n = static_cast<double>(n_);
        const Eigen::VectorXd chance = weights * size / n, both = weights * over / n;
        const double p = over.sum() / n;
        double resolved = 0.0;
        for (Index k = 0; k < chance.size(); ++k)
            if (chance[k] > 0.0) resolved += both[k] * both[k] / chance[k];
        return error_variance_resolving((resolved - p * p) / (p * (1.0 - p)), p);
    }

 private:
    double sorted(Index rank) const { return draws_[order_[static_cast<std::size_t>(rank)]]; }

    std::pair<double, double> spread(int k) const {
        // Kronecker sequence of the plastic number: even in the square for every count (Niederreiter 1992, ch. 3).
        const auto fraction = [](double x) { return std::clamp(x - std::floor(x), 1e-9, 1.0 - 1e-9); };
        return {fraction(contamination::counter_uniform(question_.seed, 0, 0) + 0.7548776662466927 * k),
                fraction(contamination::counter_uniform(question_.seed, 0, 1) + 0.5698402909980532 * k)};
    }

    /// outcomes x classes: P(outcome k | class), each column summing to one, so that the chances after the test average
    /// to those before it. Outcomes are readings drawn from the predictive law, each worth density over predictive
    /// density.
    Eigen::MatrixXd outcome_weights(const Eigen::VectorXd& size, const Eigen::VectorXd& content, double least) const {
        const Index outcomes = std::max(2, question_.outcomes);
        Eigen::MatrixXd weights(outcomes, content.size());
        for (Index k = 0; k < outcomes; ++k) {
            const Index rank = (2 * k + 1) * n_ / (2 * outcomes);
            const auto [u, v] = spread(static_cast<int>(k));
            const PossibleReading reading = question_.law.sample(std::max(sorted(rank), least), u, v);
            Eigen::ArrayXd density = question_.law.log_density(reading, content.array());
            if (!(density.maxCoeff() > -std::numeric_limits<double>::infinity())) {
                weights.row(k).setZero();  // a reading that no content at all explains
                continue;
            }
            density = (density - density.maxCoeff()).exp();
            weights.row(k) = (density / (density * size.array()).sum()).matrix().transpose();
        }
        for (Index b = 0; b < weights.cols(); ++b) {
            const double sum = weights.col(b).sum();
            // A class that no reading tried could come from learns nothing: it is spread over all outcomes.
            if (sum > 0.0) {
                weights.col(b) /= sum;
            } else {
                weights.col(b).setConstant(1.0 / static_cast<double>(outcomes));
            }
        }
        return weights;
    }

    const ScoresQuestion& question_;
    Index n_;
    Eigen::VectorXd draws_;
    std::vector<Index> order_;  ///< of the draws, ascending
    Index over_ = 0;
};

/// Of columns with mean square 1 (or 0), drawn to 0 by the share that chance has in it.
Eigen::MatrixXd shrunk_correlation(const Eigen::MatrixXd& scores, int threads) {
    const Index fields = scores.cols();
    const auto n = static_cast<double>(scores.rows());
    Eigen::MatrixXd correlation(fields, fields);
    constexpr Index block = 64;
    const auto blocks = static_cast<int>((fields + block - 1) / block);
    contamination::for_each_index(blocks, threads, [&](int b) {
        const Index from = b * block, wide = std::min(block, fields - from);
        correlation.block(from, from, fields - from, wide).noalias() =
            scores.rightCols(fields - from).transpose() * scores.middleCols(from, wide) / n;
    });
    double squares = 0.0, by_chance = 0.0;
    for (Index j = 0; j < fields; ++j) {
        for (Index i = j + 1; i < fields; ++i) {
            const double square = correlation(i, j) * correlation(i, j);
            squares += square;
            by_chance += (1.0 - square) * (1.0 - square) / n;
        }
    }
    const double left = squares > by_chance ? 1.0 - by_chance / squares : 0.0;
    for (Index j = 0; j < fields; ++j) {
        correlation(j, j) = 1.0;
        for (Index i = j + 1; i < fields; ++i) correlation(j, i) = correlation(i, j) *= left;
    }
    return correlation;
}

}  // namespace joint_scores_parts

double error_variance_resolving(double share, double chance) {
    using namespace joint_scores_parts;
    // P(both beyond h) = p^2 + 1/(2 pi) int_0^asin(R) exp(-h^2 / (1 + sin t)) dt, R = 1 / (1 + variance).
    constexpr int steps = 512;
    const double h = normal::quantile(std::clamp(chance, 1e-12, 1.0 - 1e-12));
    constexpr double step = 0.5 * std::numbers::pi / steps;
    std::array<double, steps> part{};
    double all = 0.0;
    for (int i = 0; i < steps; ++i) {
        part[static_cast<std::size_t>(i)] = std::exp(-h * h / (1.0 + std::sin((i + 0.5) * step)));
        all += part[static_cast<std::size_t>(i)];
    }
    double wanted = std::clamp(share, 0.0, 1.0) * all, angle = 0.0;
    for (const double one : part) {
        if (wanted < one) {
            angle += step * wanted / one;
            break;
        }
        wanted -= one;
        angle += step;
    }
    const double correlation = std::sin(std::min(angle, 0.5 * std::numbers::pi));
    return correlation <= 1.0 / (1.0 + most_variance) ? most_variance
                                                      : std::max(1.0 / correlation - 1.0, least_variance);
}

JointScores joint_scores(const Eigen::MatrixXd& draws_mg_per_kg, const ScoresQuestion& question,
                         const Progress& progress) {
    using namespace joint_scores_parts;
    const auto fields = static_cast<Index>(question.columns.size());
    const Index n = draws_mg_per_kg.rows();
    JointScores joint;
    joint.over.resize(fields);
    joint.error_variance = Eigen::VectorXd::Constant(fields, most_variance);
    Eigen::VectorXd quantiles(n);
    for (Index i = 0; i < n; ++i) {
        quantiles[i] = normal::quantile((static_cast<double>(i) + 0.5) / static_cast<double>(n));
    }
    Eigen::MatrixXd scores(n, fields);
    // Fine where that is cheap, coarser where thousands of fields are asked about.
    const Index most_classes = fields <= 256 ? 128 : 64;
    const int threads = std::max(1, question.threads);
    contamination::for_each_index(
        static_cast<int>(fields), threads,
        [&](int i) {
            const auto f = static_cast<std::size_t>(i);
            const FieldDraws field(draws_mg_per_kg.col(question.columns[f]), question);
            joint.over[i] = field.over();
            scores.col(i) = field.scores(quantiles);
            if (question.asked[f]) joint.error_variance[i] = field.error_variance(most_classes);
        },
        progress, phrase("value of a test"));
    joint.correlation = shrunk_correlation(scores, threads);
    return joint;
}

}  // namespace models
