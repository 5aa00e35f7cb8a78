#include "models/decision/normal_value.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "models/contamination/normal.h"

namespace models {

namespace normal_value_parts {

constexpr int table_steps = 48;

/// Midpoints of n classes of equal probability.
template <std::size_t n>
const std::array<double, n>& even_quantiles() {
    static const std::array<double, n> quantiles = [] {
        std::array<double, n> z{};
        for (std::size_t i = 0; i < n; ++i) {
            z[i] = normal::quantile((static_cast<double>(i) + 0.5) / static_cast<double>(n));
        }
        return z;
    }();
    return quantiles;
}

template <std::size_t n>
double decision_loss(double mean, double variance, double learnt_variance, double loss_accepted, double loss_rejected,
                     double log_limit) {
    const double left_sd = std::sqrt(std::max(variance - learnt_variance, 1e-12 * variance));
    const double learnt_sd = std::sqrt(std::max(learnt_variance, 0.0));
    double sum = 0.0;
    for (const double z : even_quantiles<n>()) {
        const double over = normal::cdf((mean + learnt_sd * z - log_limit) / left_sd);
        sum += std::min(loss_accepted * over, loss_rejected * (1.0 - over));
    }
    return sum / static_cast<double>(n);
}

}  // namespace normal_value_parts

double normal_decision_loss(double mean, double variance, double learnt_variance, double loss_accepted,
                            double loss_rejected, double log_limit) {
    return normal_value_parts::decision_loss<1024>(mean, variance, learnt_variance, loss_accepted, loss_rejected,
                                                   log_limit);
}

NormalValue::NormalValue(const Eigen::VectorXd& mean, Eigen::MatrixXd covariance, Eigen::VectorXd error_variance,
                         const Eigen::VectorXd& loss_accepted, const Eigen::VectorXd& loss_rejected, double log_limit)
    : covariance_(std::move(covariance)),
      prior_variance_(covariance_.diagonal()),
      learnt_variance_(Eigen::VectorXd::Zero(mean.size())),
      error_variance_(std::move(error_variance)),
      loss_now_(Eigen::VectorXd::Zero(mean.size())),
      informed_from_(0.01 * loss_accepted.cwiseMin(loss_rejected)) {
    using normal_value_parts::table_steps;
    loss_table_.resize(static_cast<std::size_t>(mean.size()));
    for (Eigen::Index f = 0; f < mean.size(); ++f) {
        if (loss_accepted[f] <= 0.0 && loss_rejected[f] <= 0.0) continue;
        if (!std::isfinite(mean[f]) || !(prior_variance_[f] > 0.0)) continue;
        std::vector<double>& table = loss_table_[static_cast<std::size_t>(f)];
        for (int step = 0; step <= table_steps; ++step) {
            const double share = static_cast<double>(step) / table_steps;
            const double loss =
                normal_value_parts::decision_loss<128>(mean[f], prior_variance_[f], share * share * prior_variance_[f],
                                                       loss_accepted[f], loss_rejected[f], log_limit);
            // More knowledge never costs; the sum over quantiles does not know that to the last digits.
            table.push_back(table.empty() ? loss : std::min(loss, table.back()));
        }
        loss_now_[f] = table.front();
    }
}

double NormalValue::loss_of(Eigen::Index field, double learnt_variance) const {
    using normal_value_parts::table_steps;
    const std::vector<double>& table = loss_table_[static_cast<std::size_t>(field)];
    const double at = table_steps * std::sqrt(std::clamp(learnt_variance / prior_variance_[field], 0.0, 1.0));
    const auto step = std::min(static_cast<std::size_t>(at), static_cast<std::size_t>(table_steps - 1));
    return table[step] + (at - static_cast<double>(step)) * (table[step + 1] - table[step]);
}

NormalValue::Gain NormalValue::gain(Eigen::Index field) const {
    Gain gain;
    const double spread = covariance_(field, field) + error_variance_[field];
    if (!(spread > 0.0)) return gain;
    for (Eigen::Index f = 0; f < covariance_.rows(); ++f) {
        const double shared = covariance_(f, field);
        if (shared == 0.0 || loss_table_[static_cast<std::size_t>(f)].empty()) continue;
        const double fall = loss_now_[f] - loss_of(f, learnt_variance_[f] + shared * shared / spread);
        if (f == field) {
            gain.itself = std::max(0.0, fall);
        } else {
            gain.others += std::max(0.0, fall);
            if (fall > informed_from_[f]) ++gain.others_informed;
        }
    }
    return gain;
}

void NormalValue::place_test(Eigen::Index field) {
    const double spread = covariance_(field, field) + error_variance_[field];
    if (!(spread > 0.0)) return;
    const Eigen::VectorXd shared = covariance_.col(field);
    learnt_variance_ += shared.cwiseAbs2() / spread;
    covariance_.noalias() -= (shared / spread) * shared.transpose();
    for (Eigen::Index f = 0; f < covariance_.rows(); ++f) {
        if (!loss_table_[static_cast<std::size_t>(f)].empty()) loss_now_[f] = loss_of(f, learnt_variance_[f]);
    }
}

}  // namespace models
