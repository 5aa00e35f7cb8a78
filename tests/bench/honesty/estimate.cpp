#include "tests/bench/honesty/estimate.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <random>

namespace honesty {

namespace {

constexpr int resamples = 1000;

Tally all_of_ours(const Seasons& seasons) {
    Tally sum;
    for (const Season& season : seasons) sum.add(season.record->ours);
    return sum;
}

Tally all_of_exact(const Seasons& seasons) {
    Tally sum;
    for (const Season& season : seasons) sum.add(*season.record->exact);
    return sum;
}

Tally all_without_tests(const Seasons& seasons) {
    Tally sum;
    for (const Season& season : seasons) sum.add(season.no_tests->ours);
    return sum;
}

Tally all_otherwise(const Seasons& seasons) {
    Tally sum;
    for (const Season& season : seasons) sum.add(season.otherwise->ours);
    return sum;
}

}  // namespace

Estimate estimate(const Seasons& seasons, const Statistic& statistic) {
    const std::size_t n = seasons.size();
    Estimate found;
    found.seasons = static_cast<int>(n);
    found.value = found.low95 = found.high95 = std::numeric_limits<double>::quiet_NaN();
    if (n == 0) return found;
    found.value = statistic(seasons);
    if (n < 3) return found;
    std::mt19937_64 engine(20261126);
    std::vector<double> values;
    Seasons resampled(n);
    for (int i = 0; i < resamples; ++i) {
        for (Season& season : resampled) season = seasons[engine() % n];
        const double value = statistic(resampled);
        if (std::isfinite(value)) values.push_back(value);
    }
    if (values.size() < resamples / 2) return found;
    std::sort(values.begin(), values.end());
    const auto at = [&](double p) {
        return values[static_cast<std::size_t>(p * static_cast<double>(values.size() - 1))];
    };
    found.low95 = at(0.025);
    found.high95 = at(0.975);
    return found;
}

double held90(const Seasons& seasons) {
    const Tally t = all_of_ours(seasons);
    return t.held90 / t.fields;
}
double held50(const Seasons& seasons) {
    const Tally t = all_of_ours(seasons);
    return t.held50 / t.fields;
}
double held90_with_don(const Seasons& seasons) {
    const Tally t = all_of_ours(seasons);
    return t.held90_with_don / t.with_don;
}
double held90_as_told(const Seasons& seasons) {
    const Tally t = all_of_ours(seasons);
    return t.held90_as_told / t.fields;
}
double exact_held90(const Seasons& seasons) {
    const Tally t = all_of_exact(seasons);
    return t.held90 / t.fields;
}
double brier(const Seasons& seasons) {
    const Tally t = all_of_ours(seasons);
    return t.brier / t.fields;
}
double reliability(const Seasons& seasons) {
    return all_of_ours(seasons).reliability();
}
double exact_reliability(const Seasons& seasons) {
    return all_of_exact(seasons).reliability();
}
double pinball(const Seasons& seasons) {
    const Tally t = all_of_ours(seasons);
    return t.pinball / (5.0 * t.fields);
}
double pinball_over_exact(const Seasons& seasons) {
    return all_of_ours(seasons).pinball / all_of_exact(seasons).pinball;
}
double pinball_less_exact(const Seasons& seasons) {
    const Tally t = all_of_ours(seasons);
    return (t.pinball - all_of_exact(seasons).pinball) / (5.0 * t.fields);
}
double loss(const Seasons& seasons) {
    const Tally t = all_of_ours(seasons);
    return t.loss / t.fields;
}
double exact_loss(const Seasons& seasons) {
    const Tally t = all_of_exact(seasons);
    return t.loss / t.fields;
}
double loss_over_exact(const Seasons& seasons) {
    return all_of_ours(seasons).loss / all_of_exact(seasons).loss;
}
double loss_less_exact(const Seasons& seasons) {
    return loss(seasons) - exact_loss(seasons);
}
double loss_less_no_tests(const Seasons& seasons) {
    const Tally t = all_of_ours(seasons);
    return (t.loss - all_without_tests(seasons).loss) / t.fields;
}
double expected_loss(const Seasons& seasons) {
    const Tally t = all_of_ours(seasons);
    return t.expected_loss / t.fields;
}
double loss_less_otherwise(const Seasons& seasons) {
    const Tally t = all_of_ours(seasons);
    return (t.loss - all_otherwise(seasons).loss) / t.fields;
}
double loss_over_otherwise(const Seasons& seasons) {
    return all_of_ours(seasons).loss / all_otherwise(seasons).loss;
}
double expected_loss_over_otherwise(const Seasons& seasons) {
    return all_of_ours(seasons).expected_loss / all_otherwise(seasons).expected_loss;
}
double factor90(const Seasons& seasons) {
    const Tally t = all_of_ours(seasons);
    return std::exp(t.width90 / t.fields);
}

std::vector<Seasons> thirds(const Seasons& seasons, double Record::*parameter) {
    Seasons sorted = seasons;
    std::stable_sort(sorted.begin(), sorted.end(),
                     [&](const Season& a, const Season& b) { return a.record->*parameter < b.record->*parameter; });
    std::vector<Seasons> parts(3);
    for (std::size_t i = 0; i < sorted.size(); ++i) parts[3 * i / sorted.size()].push_back(sorted[i]);
    return parts;
}

}  // namespace honesty
