#pragma once

#include <memory>
#include <vector>

#include "models/assay/error_variance.h"
#include "models/records.h"

namespace models::contamination {

/// One reading as the likelihood sees it.
struct SiteReading {
    Reading reading = Reading::value;
    double don_mg_per_kg = 1.0;
    int analyses = 1;
    const ErrorModel* error = nullptr;
    double stated_relative_variance = -1.0;  ///< >= 0: preparation and analysis together, at every content
    double curve_log_variance = 0.0;         ///< about ln of the reading symmetrically, at every content
};

struct SitePortion {
    std::optional<double> portion_g;
    std::vector<SiteReading> readings;
};

/// The readings of one sample that share their kit lot.
struct SiteSample {
    std::optional<double> mass_g;
    const ErrorModel* sampling_error = nullptr;  ///< null: the material is homogeneous (a control)
    bool sampling_inside = true;                 ///< false: the sampling error is a latent of the Gaussian model
    bool preparation_inside = true;
    std::vector<SitePortion> portions;
};

/// Log likelihood of the readings given z = ln of the content of the sampled lot (times the lot effect), every error
/// variance taken at exp(z). Errors that readings share are integrated: in closed form among values, by Gauss-Hermite
/// quadrature about the law that the values leave where readings below or above the range share them. Of several values
/// their mean counts; how they scatter about it does not, or duplicates would tell the content from the size of their
/// error and shrink the interval below the error that they share.
double site_log_likelihood(const SiteSample& sample, double z);

/// What the readings of a sample come to: a number (that of several is their mean), one bound, or both kinds together.
enum class SiteSays { value, below, above, mixed };
SiteSays what_it_says(const SiteSample& sample);

/// P(it would read at most what it read | z), of a bound: at most the bound; not for `mixed`. With `instead_mg_per_kg`
/// at most that, of a sample with one reading.
double chance_of_at_most(const SiteSample& sample, double z, std::optional<double> instead_mg_per_kg = std::nullopt);

/// Log variance of the sampling error (with preparation where that is outside as well) at a content.
double outside_log_variance(const SiteSample& sample, double content_mg_per_kg);

/// The same function of z tabulated from 1e-5 to 2e4 mg/kg, in steps of a fifth of the narrowest error and read by
/// cubic interpolation (exact for a Gaussian error); straight on beyond the ends. More than three standard errors from
/// where the readings point it falls at least as steeply as there, whatever the tails of the lognormal law do. Copies
/// share the numbers.
class SiteTable {
 public:
    static constexpr double least_don_mg_per_kg = 1e-5, most_don_mg_per_kg = 2e4;  ///< beyond: straight lines

    explicit SiteTable(const SiteSample& sample);
    double operator()(double z) const {
        double at = (z - low_) * per_step_;
        if (!(at >= 1.0)) return value_[1] + (at - 1.0) * (value_[2] - value_[1]);
        const auto last = static_cast<double>(count_ - 3);
        if (at >= last) return value_[count_ - 3] + (at - last) * (value_[count_ - 2] - value_[count_ - 3]);
        const auto i = static_cast<std::size_t>(at);
        const double t = at - static_cast<double>(i);
        const double* v = value_ + i - 1;
        const double t_minus = t - 1.0, t_two = t - 2.0, t_plus = t + 1.0;
        return -t * t_minus * t_two / 6.0 * v[0] + t_plus * t_minus * t_two / 2.0 * v[1] -
               t_plus * t * t_two / 2.0 * v[2] + t_plus * t * t_minus / 6.0 * v[3];
    }
    /// A Gaussian to start from: centre and variance in z; a variance of 0 where the readings are bounds only.
    double start_mean() const { return start_mean_; }
    double start_variance() const { return start_variance_; }
    double low() const { return low_; }
    double high() const { return low_ + static_cast<double>(count_ - 1) / per_step_; }
    /// Whether both are the same numbers in memory.
    bool shares_with(const SiteTable& other) const { return kept_ == other.kept_; }

 private:
    double low_ = 0.0, per_step_ = 1.0;
    std::shared_ptr<const std::vector<double>> kept_;
    const double* value_ = nullptr;  ///< what is kept
    std::size_t count_ = 0;
    double start_mean_ = 0.0, start_variance_ = 0.0;
};

/// A table for each sample. Samples whose readings are the same share one: of thousands of tests few read what no other
/// does, and a table is some four thousand bytes.
std::vector<SiteTable> tables_of(const std::vector<SiteSample>& samples, int threads);

}  // namespace models::contamination
