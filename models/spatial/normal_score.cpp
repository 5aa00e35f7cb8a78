#include "models/spatial/normal_score.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "models/contamination/normal.h"
#include "models/error.h"

namespace models {

namespace {

/// The broken line through (from, to) at a place; flat beyond its ends.
double on_broken_line(const std::vector<double>& from, const std::vector<double>& to, double place) {
    if (place <= from.front()) return to.front();
    if (place >= from.back()) return to.back();
    const auto right = static_cast<std::size_t>(std::upper_bound(from.begin(), from.end(), place) - from.begin());
    const double share = (place - from[right - 1]) / (from[right] - from[right - 1]);
    return to[right - 1] + share * (to[right] - to[right - 1]);
}

}  // namespace

NormalScore::NormalScore(const Eigen::VectorXd& values) {
    std::vector<double> sorted(values.data(), values.data() + values.size());
    for (std::size_t i = 0; i < sorted.size(); ++i) {
        if (!std::isfinite(sorted[i])) {
            throw Error("value is no finite number", fmt::format("point {}", i + 1), "leave the point out");
        }
    }
    std::sort(sorted.begin(), sorted.end());
    if (sorted.empty() || sorted.front() == sorted.back()) {
        throw Error("all values are the same, so they have no scores", "", "leave --normal-score out");
    }
    for (std::size_t first = 0; first < sorted.size();) {
        std::size_t last = first;
        while (last + 1 < sorted.size() && sorted[last + 1] == sorted[first]) ++last;
        const double rank = 0.5 * static_cast<double>(first + last) + 0.5;  // mean of i - 1/2
        values_.push_back(sorted[first]);
        scores_.push_back(normal::quantile(rank / static_cast<double>(sorted.size())));
        first = last + 1;
    }
}

double NormalScore::score(double value) const {
    return on_broken_line(values_, scores_, value);
}

Eigen::VectorXd NormalScore::scores(const Eigen::VectorXd& values) const {
    return values.unaryExpr([this](double one) { return score(one); });
}

double NormalScore::value(double score) const {
    return std::isnan(score) ? score : on_broken_line(scores_, values_, score);
}

double NormalScore::mean(double score, double variance) const {
    if (!(variance > 0.0)) return std::isnan(variance) ? variance : value(score);
    const double spread = std::sqrt(variance);
    // Integral of the line a + b s from one score to the next, with s normal.
    double sum = 0.0, before = normal::cdf((scores_.front() - score) / spread),
           density_before = normal::density((scores_.front() - score) / spread);
    sum += values_.front() * before;
    for (std::size_t k = 1; k < scores_.size(); ++k) {
        const double here = normal::cdf((scores_[k] - score) / spread),
                     density = normal::density((scores_[k] - score) / spread);
        const double slope = (values_[k] - values_[k - 1]) / (scores_[k] - scores_[k - 1]);
        sum += (values_[k - 1] + slope * (score - scores_[k - 1])) * (here - before) -
               slope * spread * (density - density_before);
        before = here;
        density_before = density;
    }
    return sum + values_.back() * normal::cdf((score - scores_.back()) / spread);
}

double NormalScore::chance_over(double limit, double score, double variance) const {
    if (std::isnan(score) || std::isnan(variance)) return score + variance;
    // Values stay between the smallest and the largest that were seen.
    if (limit < values_.front()) return 1.0;
    if (limit >= values_.back()) return 0.0;
    const double edge = this->score(limit);
    if (!(variance > 0.0)) return score > edge ? 1.0 : 0.0;
    return normal::cdf((score - edge) / std::sqrt(variance));
}

}  // namespace models
