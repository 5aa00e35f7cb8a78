#include "models/phenology/day_distribution.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

#include <fmt/format.h>

#include "models/error.h"

namespace models {

namespace {

using std::chrono::days;

void raise_to_one(std::vector<double>& chance) {
    const double sum = std::accumulate(chance.begin(), chance.end(), 0.0);
    for (double& p : chance) p /= sum;
}

}  // namespace

double DayDistribution::at(LocalDay wanted) const {
    if (empty() || wanted < first || wanted > last()) return 0.0;
    return chance[static_cast<std::size_t>((wanted - first).count())];
}

LocalDay DayDistribution::most_likely() const {
    // Sums in another order differ in their last digits: equals are told apart by more than that.
    const double highest = *std::max_element(chance.begin(), chance.end());
    const auto found = std::find_if(chance.begin(), chance.end(), [&](double p) { return p > highest * (1.0 - 1e-9); });
    return day(static_cast<std::size_t>(found - chance.begin()));
}

double DayDistribution::mean_days() const {
    double mean = 0.0;
    for (std::size_t i = 0; i < chance.size(); ++i) mean += chance[i] * static_cast<double>(i);
    return mean;
}

double DayDistribution::sd_days() const {
    const double mean = mean_days();
    double variance = 0.0;
    for (std::size_t i = 0; i < chance.size(); ++i) {
        const double away = static_cast<double>(i) - mean;
        variance += chance[i] * away * away;
    }
    return std::sqrt(variance);
}

DayDistribution normal_days(LocalDay centre, double sd_days) {
    if (!(sd_days >= 0.0 && sd_days <= 100.0)) {
        throw Error(fmt::format("{} days are no standard deviation of a date", sd_days), "distribution over days",
                    "give 0 to 100 days");
    }
    const int reach = static_cast<int>(std::ceil(8.0 * sd_days));
    DayDistribution result{centre - days(reach), {}};
    for (int away = -reach; away <= reach; ++away) {
        const double z = away == 0 ? 0.0 : away / sd_days;
        result.chance.push_back(std::exp(-0.5 * z * z));
    }
    raise_to_one(result.chance);
    return result;
}

DayDistribution spread_evenly(const DayDistribution& given, int earlier, int later) {
    if (earlier < 0 || later < 0) {
        throw Error("a spread of a date is negative", "distribution over days", "give whole days, 0 or more");
    }
    DayDistribution result{given.first - days(earlier), {}};
    const auto width = static_cast<std::size_t>(earlier + later + 1);
    result.chance.assign(given.chance.size() + width - 1, 0.0);
    for (std::size_t i = 0; i < given.chance.size(); ++i) {
        for (std::size_t k = 0; k < width; ++k) result.chance[i + k] += given.chance[i] / static_cast<double>(width);
    }
    return result;
}

DayDistribution spread_normally(const DayDistribution& given, double sd_days) {
    if (given.empty()) return {};
    const DayDistribution shift = normal_days(given.first, sd_days);
    DayDistribution result{shift.first, std::vector<double>(given.chance.size() + shift.chance.size() - 1, 0.0)};
    for (std::size_t i = 0; i < given.chance.size(); ++i) {
        for (std::size_t k = 0; k < shift.chance.size(); ++k) {
            result.chance[i + k] += given.chance[i] * shift.chance[k];
        }
    }
    return result;
}

DayDistribution mixture_of(const std::vector<DayDistribution>& parts) {
    if (parts.empty()) return {};
    LocalDay first = parts.front().first, last = parts.front().last();
    for (const DayDistribution& part : parts) {
        first = std::min(first, part.first);
        last = std::max(last, part.last());
    }
    DayDistribution result{first, std::vector<double>(static_cast<std::size_t>((last - first).count()) + 1, 0.0)};
    for (const DayDistribution& part : parts) {
        const auto offset = static_cast<std::size_t>((part.first - first).count());
        for (std::size_t i = 0; i < part.chance.size(); ++i) {
            result.chance[offset + i] += part.chance[i] / static_cast<double>(parts.size());
        }
    }
    return result;
}

DayDistribution without_tails(const DayDistribution& given, double tail) {
    if (given.empty()) return {};
    std::size_t begin = 0, end = given.chance.size();
    for (double cut = given.chance[begin]; cut <= tail && begin + 1 < end; cut += given.chance[begin]) ++begin;
    for (double cut = given.chance[end - 1]; cut <= tail && end - 1 > begin; cut += given.chance[end - 1]) --end;
    DayDistribution result{given.day(begin), {}};
    result.chance.assign(given.chance.begin() + static_cast<std::ptrdiff_t>(begin),
                         given.chance.begin() + static_cast<std::ptrdiff_t>(end));
    raise_to_one(result.chance);
    return result;
}

AveragedRisk averaged_over(const DayDistribution& given, const std::function<std::optional<double>(LocalDay)>& risk) {
    AveragedRisk result;
    std::vector<std::pair<double, double>> value_and_chance;
    double sum = 0.0;
    for (std::size_t i = 0; i < given.chance.size(); ++i) {
        const auto value = risk(given.day(i));
        if (!value || !std::isfinite(*value)) continue;
        value_and_chance.emplace_back(*value, given.chance[i]);
        result.covered += given.chance[i];
        sum += given.chance[i] * *value;
    }
    if (!(result.covered > 0.0)) return result;
    result.mean = sum / result.covered;
    std::sort(value_and_chance.begin(), value_and_chance.end());
    const auto point = [&](double share) {
        double reached = 0.0;
        for (const auto& [value, chance] : value_and_chance) {
            reached += chance;
            if (reached >= (share - 1e-12) * result.covered) return value;
        }
        return value_and_chance.back().first;
    };
    result.low = point(0.05);
    result.high = point(0.95);
    return result;
}

}  // namespace models
