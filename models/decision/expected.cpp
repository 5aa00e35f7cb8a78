#include "models/decision/expected.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include <fmt/format.h>

#include "models/error.h"

namespace models {

namespace expected_parts {

double quantile_of_sorted(const std::vector<double>& sorted, double probability) {
    const double at = static_cast<double>(sorted.size() - 1) * probability;
    const auto below = static_cast<std::size_t>(at);
    if (below + 1 >= sorted.size()) return sorted.back();
    return sorted[below] + (at - static_cast<double>(below)) * (sorted[below + 1] - sorted[below]);
}

std::vector<double> sorted_copy(const Eigen::Ref<const Eigen::VectorXd>& draws) {
    if (draws.size() == 0) throw Error("there are no draws to take a quantile from");
    std::vector<double> sorted(draws.data(), draws.data() + draws.size());
    std::sort(sorted.begin(), sorted.end());
    return sorted;
}

}  // namespace expected_parts

DrawSummary summary_of_draws(const Eigen::Ref<const Eigen::VectorXd>& draws_mg_per_kg, const Limit& limit) {
    for (const double draw : draws_mg_per_kg) {
        if (!(draw >= 0.0) || !std::isfinite(draw)) throw Error(fmt::format("a content of {} mg/kg is drawn", draw));
    }
    const std::vector<double> sorted = expected_parts::sorted_copy(draws_mg_per_kg);
    DrawSummary summary;
    summary.mean_mg_per_kg = draws_mg_per_kg.mean();
    summary.low90_mg_per_kg = expected_parts::quantile_of_sorted(sorted, 0.05);
    summary.low50_mg_per_kg = expected_parts::quantile_of_sorted(sorted, 0.25);
    summary.median_mg_per_kg = expected_parts::quantile_of_sorted(sorted, 0.50);
    summary.high50_mg_per_kg = expected_parts::quantile_of_sorted(sorted, 0.75);
    summary.high90_mg_per_kg = expected_parts::quantile_of_sorted(sorted, 0.95);
    summary.exceedance = exceedance_of_draws(draws_mg_per_kg, limit);
    return summary;
}

double quantile_of_draws(const Eigen::Ref<const Eigen::VectorXd>& draws, double probability) {
    if (!(probability >= 0.0 && probability <= 1.0)) {
        throw Error(fmt::format("{} is no probability of a quantile", probability), "", "give one from 0 to 1");
    }
    if (draws.size() == 0) throw Error("there are no draws to take a quantile from");
    // The two draws that it lies between, without sorting all the others.
    std::vector<double> all(draws.data(), draws.data() + draws.size());
    const double at = static_cast<double>(all.size() - 1) * probability;
    const auto below = all.begin() + static_cast<std::ptrdiff_t>(at);
    std::nth_element(all.begin(), below, all.end());
    if (below + 1 == all.end()) return *below;
    return *below + (at - std::floor(at)) * (*std::min_element(below + 1, all.end()) - *below);
}

double exceedance_of_draws(const Eigen::Ref<const Eigen::VectorXd>& draws_mg_per_kg, const Limit& limit) {
    if (draws_mg_per_kg.size() == 0) throw Error("there are no draws to take a chance from");
    const BreakingPoint point = breaking_point(limit);
    const auto draws = draws_mg_per_kg.array();  // two at a time: it is asked for every load and bin
    const Eigen::Index over =
        point.itself_breaks ? (draws >= point.mg_per_kg).count() : (draws > point.mg_per_kg).count();
    return static_cast<double>(over) / static_cast<double>(draws_mg_per_kg.size());
}

}  // namespace models
