#include "models/contamination/assay_site.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>
#include <optional>
#include <string>
#include <type_traits>
#include <utility>

#include "models/contamination/normal.h"
#include "models/contamination/parallel.h"
#include "models/contamination/quadrature.h"

namespace models::contamination {

namespace {

constexpr double smallest_variance = 1e-12;  ///< an error of nothing is one of a millionth

double log_sum_exp(const std::array<double, 12>& terms) {
    const double top = *std::max_element(terms.begin(), terms.end());
    double sum = 0.0;
    for (const double t : terms) sum += std::exp(t - top);
    return top + std::log(sum);
}

double log_normal_density(double x, double mean, double variance) {
    const double d = x - mean;
    return -0.5 * d * d / variance - 0.5 * std::log(2.0 * std::numbers::pi * variance);
}

/// ln P(reading | its log is N(mean, variance)); a value's density is per mg/kg.
double reading_log_likelihood(const SiteReading& r, double mean, double variance) {
    const double log_y = std::log(r.don_mg_per_kg);
    switch (r.reading) {
        case Reading::value:
            return log_normal_density(log_y, mean, variance) - log_y;
        case Reading::below:
            return normal::log_cdf((log_y - mean) / std::sqrt(variance));
        case Reading::above:
            return normal::log_cdf((mean - log_y) / std::sqrt(variance));
        case Reading::invalid:
            break;
    }
    return 0.0;
}

/// The variances of one sample at one content, step by step.
struct StepVariances {
    double sampling = 0.0;
    std::vector<double> preparation;            ///< by portion; shared by its readings
    std::vector<std::vector<double>> analysis;  ///< by portion and reading
};

StepVariances variances_at(const SiteSample& sample, double content) {
    StepVariances q;
    const double s = sample.sampling_error
                         ? relative_variance(content, {sample.mass_g, std::nullopt, 1}, *sample.sampling_error).sampling
                         : 0.0;
    q.sampling = std::max(std::log1p(s), sample.sampling_error ? smallest_variance : 0.0);
    for (const SitePortion& portion : sample.portions) {
        double p = 0.0;
        for (const SiteReading& r : portion.readings)
            if (r.stated_relative_variance < 0.0)
                p = std::max(p, relative_variance(content, {std::nullopt, portion.portion_g, 1}, *r.error).preparation);
        q.preparation.push_back(std::log1p(p / (1.0 + s)));
        std::vector<double>& each = q.analysis.emplace_back();
        for (const SiteReading& r : portion.readings) {
            const bool stated = r.stated_relative_variance >= 0.0;
            const double a =
                stated ? r.stated_relative_variance
                       : relative_variance(content, {std::nullopt, std::nullopt, r.analyses}, *r.error).analysis;
            each.push_back(std::max(std::log1p(a / (1.0 + s + (stated ? 0.0 : p))), smallest_variance));
        }
    }
    return q;
}

/// What the values of a portion say about t + e_p, t being the log of what the sample holds: a Gaussian of this
/// precision and weighted mean.
struct ValueSummary {
    double precision = 0.0, weighted = 0.0;
    int bounds = 0;
};

ValueSummary summary_of_values(const SitePortion& portion, const std::vector<double>& analysis) {
    ValueSummary s;
    for (std::size_t j = 0; j < portion.readings.size(); ++j) {
        const SiteReading& r = portion.readings[j];
        if (r.reading == Reading::value) {
            const double variance = analysis[j] + r.curve_log_variance;
            s.precision += 1.0 / variance;
            s.weighted += (std::log(r.don_mg_per_kg) + 0.5 * analysis[j]) / variance;
        } else {
            ++s.bounds;
        }
    }
    return s;
}

/// ln P(readings of the portion | t), the error that they share being N(-shared/2, shared).
double portion_log_likelihood(const SitePortion& portion, const std::vector<double>& analysis, double shared,
                              double t) {
    if (portion.readings.size() == 1) {
        const double variance = shared + analysis[0];
        return reading_log_likelihood(portion.readings[0], t - 0.5 * variance,
                                      variance + portion.readings[0].curve_log_variance);
    }
    const auto given = [&](double e) {
        double sum = 0.0;
        for (std::size_t j = 0; j < portion.readings.size(); ++j)
            sum += reading_log_likelihood(portion.readings[j], t + e - 0.5 * analysis[j],
                                          analysis[j] + portion.readings[j].curve_log_variance);
        return sum;
    };
    if (shared <= 0.0) return given(0.0);
    const ValueSummary values = summary_of_values(portion, analysis);
    const double precision = 1.0 / shared + values.precision;
    const double mean = (-0.5 + values.weighted - values.precision * t) / precision;
    const double sd = 1.0 / std::sqrt(precision);
    std::array<double, 12> terms{};
    const NormalRule<12>& rule = short_rule();
    for (std::size_t i = 0; i < terms.size(); ++i) {
        const double e = mean + sd * rule.node[i];
        terms[i] = rule.log_weight[i] + given(e) + log_normal_density(e, -0.5 * shared, shared) -
                   log_normal_density(e, mean, sd * sd);
        if (values.bounds == 0) return terms[i] - rule.log_weight[i];  // the ratio is the same at every node
    }
    return log_sum_exp(terms);
}

}  // namespace

namespace {

double with_scatter(const SiteSample& sample, double z) {
    const StepVariances q = variances_at(sample, std::exp(z));
    const double sampling = sample.sampling_inside ? q.sampling : 0.0;
    const auto preparation = [&](std::size_t k) { return sample.preparation_inside ? q.preparation[k] : 0.0; };
    if (sample.portions.size() == 1 || sampling <= 0.0) {
        double sum = 0.0;
        for (std::size_t k = 0; k < sample.portions.size(); ++k)
            sum += portion_log_likelihood(sample.portions[k], q.analysis[k], sampling + preparation(k), z);
        return sum;
    }
    // Several portions of one sample: its sampling error, about the law that the values leave of it.
    double precision = 1.0 / sampling, weighted = -0.5;
    for (std::size_t k = 0; k < sample.portions.size(); ++k) {
        const ValueSummary values = summary_of_values(sample.portions[k], q.analysis[k]);
        if (values.precision <= 0.0) continue;
        const double p = 1.0 / (preparation(k) + 1.0 / values.precision);
        precision += p;
        weighted += p * (values.weighted / values.precision + 0.5 * preparation(k) - z);
    }
    const double mean = weighted / precision, sd = 1.0 / std::sqrt(precision);
    std::array<double, 12> terms{};
    const NormalRule<12>& rule = short_rule();
    for (std::size_t i = 0; i < terms.size(); ++i) {
        const double e = mean + sd * rule.node[i];
        terms[i] = rule.log_weight[i] + log_normal_density(e, -0.5 * sampling, sampling) -
                   log_normal_density(e, mean, sd * sd);
        for (std::size_t k = 0; k < sample.portions.size(); ++k)
            terms[i] += portion_log_likelihood(sample.portions[k], q.analysis[k], preparation(k), z + e);
    }
    return log_sum_exp(terms);
}

/// The sample without its bounds.
SiteSample values_of(const SiteSample& sample) {
    SiteSample values = sample;
    for (SitePortion& portion : values.portions)
        std::erase_if(portion.readings, [](const SiteReading& r) { return r.reading != Reading::value; });
    std::erase_if(values.portions, [](const SitePortion& portion) { return portion.readings.empty(); });
    return values;
}

/// The weighted mean of the values as one value with the variance that it has, what they share included.
struct MeanOfValues {
    double observed = 0.0, mean = 0.0, variance = 0.0;
};

MeanOfValues mean_of_values(const SiteSample& values, double z) {
    const StepVariances q = variances_at(values, std::exp(z));
    double precision = 0.0, weighted = 0.0;
    for (std::size_t k = 0; k < values.portions.size(); ++k) {
        const double shared = values.preparation_inside ? q.preparation[k] : 0.0;
        const ValueSummary s = summary_of_values(values.portions[k], q.analysis[k]);
        const double p = 1.0 / (shared + 1.0 / s.precision);
        precision += p;
        weighted += p * (s.weighted / s.precision + 0.5 * shared);
    }
    const double sampling = values.sampling_inside ? q.sampling : 0.0;
    return {weighted / precision, z - 0.5 * sampling, sampling + 1.0 / precision};
}

int number_of_readings(const SiteSample& sample) {
    std::size_t count = 0;
    for (const SitePortion& portion : sample.portions) count += portion.readings.size();
    return static_cast<int>(count);
}

/// @param values  of the sample, without its bounds
double log_likelihood_beside(const SiteSample& sample, const SiteSample& values, double z) {
    if (number_of_readings(values) < 2) return with_scatter(sample, z);
    const MeanOfValues mean = mean_of_values(values, z);
    return with_scatter(sample, z) - with_scatter(values, z) +
           log_normal_density(mean.observed, mean.mean, mean.variance);
}

}  // namespace

double site_log_likelihood(const SiteSample& sample, double z) {
    return log_likelihood_beside(sample, values_of(sample), z);
}

SiteSays what_it_says(const SiteSample& sample) {
    const int values = number_of_readings(values_of(sample)), all = number_of_readings(sample);
    if (values == all) return SiteSays::value;
    if (all > 1) return SiteSays::mixed;
    return sample.portions.front().readings.front().reading == Reading::below ? SiteSays::below : SiteSays::above;
}

double chance_of_at_most(const SiteSample& sample, double z, std::optional<double> instead_mg_per_kg) {
    SiteSample as_value = sample;
    for (SitePortion& portion : as_value.portions)
        for (SiteReading& reading : portion.readings) {
            reading.reading = Reading::value;
            reading.don_mg_per_kg = instead_mg_per_kg.value_or(reading.don_mg_per_kg);
        }
    const double low = std::log(SiteTable::least_don_mg_per_kg), high = std::log(SiteTable::most_don_mg_per_kg);
    const MeanOfValues mean = mean_of_values(as_value, std::clamp(z, low, high));
    return normal::cdf((mean.observed - mean.mean) / std::sqrt(mean.variance));
}

double outside_log_variance(const SiteSample& sample, double content_mg_per_kg) {
    const StepVariances q = variances_at(sample, content_mg_per_kg);
    double variance = sample.sampling_inside ? 0.0 : q.sampling;
    if (!sample.preparation_inside) variance += *std::max_element(q.preparation.begin(), q.preparation.end());
    return variance;
}

namespace {

/// Beyond three standard errors from where the readings point a documented variance says nothing any more, and a
/// lognormal law whose spread grows towards small contents would have a reading of 30 speak for 0.05 rather than for 3.
/// From there on every further step away costs at least as much as the step before.
void straighten_tails(std::vector<double>& value) {
    constexpr double three_standard_errors = 4.5;
    const auto peak = static_cast<std::size_t>(std::max_element(value.begin(), value.end()) - value.begin());
    const double least = value[peak] - three_standard_errors;
    const auto go = [&](auto next_of, std::size_t last) {
        bool beyond = false;
        double drop = 0.0;
        double before = value[peak];  // as it was before it was straightened
        for (std::size_t i = peak; i != last;) {
            const std::size_t next = next_of(i);
            const double own_drop = before - value[next];
            before = value[next];
            if (beyond) {
                drop = std::max(drop, own_drop);
                value[next] = value[i] - drop;
            } else {
                drop = own_drop;
                beyond = value[next] < least;
            }
            i = next;
        }
    };
    go([](std::size_t i) { return i - 1; }, std::size_t{0});
    go([](std::size_t i) { return i + 1; }, value.size() - 1);
}

/// All that a table depends on, byte by byte: where two samples have the same, they have the same table.
class TableKey {
 public:
    explicit TableKey(const SiteSample& sample) {
        add(sample.mass_g);
        add(sample.sampling_error);
        add(sample.sampling_inside);
        add(sample.preparation_inside);
        add(sample.portions.size());
        for (const SitePortion& portion : sample.portions) {
            add(portion.portion_g);
            add(portion.readings.size());
            for (const SiteReading& r : portion.readings) {
                add(r.reading);
                add(r.don_mg_per_kg);
                add(r.analyses);
                add(r.error);
                add(r.stated_relative_variance);
                add(r.curve_log_variance);
            }
        }
    }
    bool operator<(const TableKey& other) const { return bytes_ < other.bytes_; }

 private:
    template <typename T>
    void add(const T& value) {
        static_assert(std::is_scalar_v<T>);
        bytes_.append(reinterpret_cast<const char*>(&value), sizeof value);
    }
    void add(const std::optional<double>& value) {
        add(value.has_value());
        add(value.value_or(0.0));
    }
    std::string bytes_;
};

}  // namespace

SiteTable::SiteTable(const SiteSample& sample) {
    double narrowest = 0.25, weight = 0.0, weighted = 0.0, smallest = std::numeric_limits<double>::infinity();
    for (const SitePortion& portion : sample.portions) {
        for (const SiteReading& r : portion.readings) {
            const StepVariances q = variances_at(sample, r.don_mg_per_kg);
            // The error of the reading alone; what it shares only widens its law of z.
            const SitePortion alone{portion.portion_g, {r}};
            SiteSample one = sample;
            one.portions = {alone};
            const StepVariances own = variances_at(one, r.don_mg_per_kg);
            const double mean_shift = (sample.sampling_inside ? q.sampling : 0.0) +
                                      (sample.preparation_inside ? own.preparation[0] : 0.0) + own.analysis[0][0];
            const double total = mean_shift + r.curve_log_variance;
            narrowest = std::min(narrowest, std::sqrt(total / static_cast<double>(sample.portions.size())));
            if (r.reading != Reading::value) continue;
            weight += 1.0 / total;
            weighted += (std::log(r.don_mg_per_kg) + 0.5 * mean_shift) / total;
            smallest = std::min(smallest, total);
        }
    }
    if (weight > 0.0) {
        start_mean_ = weighted / weight;
        start_variance_ = smallest;
    }
    low_ = std::log(least_don_mg_per_kg);
    const double high = std::log(most_don_mg_per_kg);
    const double step = std::clamp(narrowest / 5.0, 0.002, 0.05);
    const auto count = static_cast<std::size_t>(std::ceil((high - low_) / step)) + 1;
    per_step_ = 1.0 / step;
    std::vector<double> value(count);
    const SiteSample values = values_of(sample);
    for (std::size_t i = 0; i < count; ++i)
        value[i] = log_likelihood_beside(sample, values, low_ + static_cast<double>(i) * step);
    straighten_tails(value);
    kept_ = std::make_shared<const std::vector<double>>(std::move(value));
    value_ = kept_->data();
    count_ = count;
}

std::vector<SiteTable> tables_of(const std::vector<SiteSample>& samples, int threads) {
    std::map<TableKey, std::size_t> number;
    std::vector<std::size_t> first, of;  // the first sample of each kind, and the kind of each sample
    for (std::size_t s = 0; s < samples.size(); ++s) {
        const auto [at, is_new] = number.emplace(TableKey(samples[s]), first.size());
        if (is_new) first.push_back(s);
        of.push_back(at->second);
    }
    std::vector<std::optional<SiteTable>> made(first.size());
    for_each_index(static_cast<int>(first.size()), threads, [&](int i) {
        const auto k = static_cast<std::size_t>(i);
        made[k].emplace(samples[first[k]]);
    });
    std::vector<SiteTable> tables;
    tables.reserve(samples.size());
    for (const std::size_t k : of) tables.push_back(*made[k]);
    return tables;
}

}  // namespace models::contamination
