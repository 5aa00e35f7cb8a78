#include "models/contamination/leave_one_out.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "models/contamination/counter_random.h"
#include "models/contamination/normal.h"
#include "models/contamination/parallel.h"

namespace models::contamination {

namespace {

/// A fine grid: an error of a twentieth of the spread is still seen; of very many samples a fifth has to do.
Eigen::Index steps_of_content(const Layout& layout) {
    return layout.sites().size() > 1000 ? 80 : 240;
}
constexpr double reach_in_spreads = 6.0;
constexpr double never = 1e-12;  ///< a chance of 0 has no place on the normal scale

/// The law of ln content that the other samples give one of them, on a grid.
struct LawOnGrid {
    Eigen::VectorXd z, chance;
};

/// A site that took over from all others leaves nothing that they say.
bool others_speak(const AtParameters& point, Eigen::Index site) {
    return std::isfinite(point.cavity_mean[site]) && std::isfinite(point.cavity_variance[site]) &&
           point.cavity_variance[site] > 0.0;
}

LawOnGrid law_left_out(const Layout& layout, const ParameterIntegral& found, Eigen::Index site) {
    const double least = std::log(SiteTable::least_don_mg_per_kg), most_told = std::log(SiteTable::most_don_mg_per_kg);
    double low = most_told, high = least;
    for (const AtParameters& point : found.points) {
        if (!others_speak(point, site)) continue;
        const double mean = point.cavity_mean[site], reach = reach_in_spreads * std::sqrt(point.cavity_variance[site]);
        low = std::min(low, mean - reach);
        high = std::max(high, mean + reach);
    }
    // Where nobody says anything: all that a test can read.
    low = std::clamp(low, least, most_told);
    high = std::clamp(high, least, most_told);
    if (!(high > low)) low = least, high = most_told;
    LawOnGrid law{Eigen::VectorXd::LinSpaced(steps_of_content(layout) + 1, low, high), {}};
    const SiteTable& table = layout.tables()[static_cast<std::size_t>(site)];
    Eigen::ArrayXd likelihood(law.z.size());
    for (Eigen::Index g = 0; g < law.z.size(); ++g) likelihood[g] = table(law.z[g]);
    likelihood = (likelihood - likelihood.maxCoeff()).exp();
    const auto count = static_cast<Eigen::Index>(found.points.size());
    Eigen::ArrayXXd density(law.z.size(), count);
    Eigen::ArrayXd weight(count), ratio(count);
    for (Eigen::Index k = 0; k < count; ++k) {
        const AtParameters& point = found.points[static_cast<std::size_t>(k)];
        density.col(k).setZero();
        if (others_speak(point, site))
            density.col(k) = -0.5 * (law.z.array() - point.cavity_mean[site]).square() / point.cavity_variance[site];
        density.col(k) = (density.col(k) - density.col(k).maxCoeff()).exp();
        density.col(k) /= density.col(k).sum();
        weight[k] = point.weight;
        ratio[k] = 1.0 / std::max((density.col(k) * likelihood).sum(), 1e-300);
    }
    const double most = (weight * ratio).sum() * std::sqrt(static_cast<double>(count));
    weight *= ratio.min(most);
    law.chance = density.matrix() * (weight / weight.sum()).matrix();
    return law;
}

/// The bound that most samples are under; 0: none is under any.
double common_bound(const Layout& layout) {
    std::map<double, int> count;
    for (const AssayResult& result : layout.input().results)
        if (result.reading == Reading::below) ++count[result.don_mg_per_kg];
    double bound = 0.0;
    int most = 0;
    for (const auto& [mg_per_kg, samples] : count)
        if (samples > most) most = samples, bound = mg_per_kg;
    return bound;
}

/// Whether a sample with one reading read under a bound; -1: its own bound leaves it open.
int read_under(const SiteSample& sample, SiteSays says, double bound_mg_per_kg) {
    const double read = sample.portions.front().readings.front().don_mg_per_kg;
    if (says == SiteSays::value) return read < bound_mg_per_kg ? 1 : 0;
    if (says == SiteSays::below) return read <= bound_mg_per_kg ? 1 : -1;
    return read >= bound_mg_per_kg ? 0 : -1;
}

/// Quantiles of a sample's reading where its content has that law: the chance of reading at most each of a few
/// readings, evenly spread on the log scale, and straight lines between them on the normal scale, on which such a law
/// is nearly straight itself. The content is taken four steps at a time.
void give_quantiles(Foretold& one, const SiteSample& sample, const LawOnGrid& law) {
    constexpr Eigen::Index readings = 25, steps_at_once = 4;
    constexpr double error_reach = 1.0;  // of ln reading about ln content: beyond what errors of tests reach
    SiteSample alone = sample;
    alone.portions.resize(1);
    alone.portions.front().readings.resize(1);
    std::vector<std::pair<double, double>> contents;  // ln content and its chance
    for (Eigen::Index g = 0; g < law.z.size(); g += steps_at_once) {
        const Eigen::Index count = std::min(steps_at_once, law.z.size() - g);
        const double chance = law.chance.segment(g, count).sum();
        if (chance > 1e-9)
            contents.push_back({law.z.segment(g, count).dot(law.chance.segment(g, count)) / chance, chance});
    }
    const Eigen::VectorXd at =
        Eigen::VectorXd::LinSpaced(readings, law.z[0] - error_reach, law.z[law.z.size() - 1] + error_reach);
    Eigen::VectorXd as_normal(readings);
    for (Eigen::Index r = 0; r < readings; ++r) {
        double at_most = 0.0;
        for (const auto& [z, chance] : contents) at_most += chance * chance_of_at_most(alone, z, std::exp(at[r]));
        as_normal[r] = normal::quantile(std::clamp(at_most, never, 1.0 - never));
    }
    const auto quantile = [&](double p) {
        const double wanted = normal::quantile(p);
        Eigen::Index r = 0;
        while (r < readings && as_normal[r] < wanted) ++r;
        if (r == 0) return std::exp(at[0]);
        if (r == readings) return std::exp(at[readings - 1]);
        const double share = (wanted - as_normal[r - 1]) / (as_normal[r] - as_normal[r - 1]);
        return std::exp(at[r - 1] + share * (at[r] - at[r - 1]));
    };
    one.low90 = quantile(0.05);
    one.median = quantile(0.5);
    one.high90 = quantile(0.95);
}

}  // namespace

double Foretold::as_normal() const {
    const double placed = low + (high - low) * counter_uniform(1, static_cast<std::uint64_t>(site), 0);
    return normal::quantile(std::clamp(placed, never, 1.0 - never));
}

LeftOut foretell_each(const Layout& layout, const ParameterIntegral& found) {
    LeftOut out;
    out.common_bound_mg_per_kg = common_bound(layout);
    for (std::size_t s = 0; s < layout.sites().size(); ++s) {
        const Site& site = layout.sites()[s];
        const GrainSample& sample = layout.input().samples[static_cast<std::size_t>(site.sample)];
        Foretold one;
        one.site = static_cast<int>(s);
        one.says = what_it_says(layout.site_samples()[s]);
        if (sample.from == SampledGrain::control || one.says == SiteSays::mixed) continue;
        one.season = layout.season_of_sample(sample);
        out.readings.push_back(one);
    }
    const int newest = static_cast<int>(layout.seasons().size()) - 1;
    for_each_index(static_cast<int>(out.readings.size()), layout.settings().threads, [&](int i) {
        Foretold& one = out.readings[static_cast<std::size_t>(i)];
        const SiteSample& sample = layout.site_samples()[static_cast<std::size_t>(one.site)];
        const LawOnGrid law = law_left_out(layout, found, one.site);
        const bool alone = sample.portions.size() == 1 && sample.portions.front().readings.size() == 1;
        double at_most = 0.0, under = 0.0;
        for (Eigen::Index g = 0; g < law.z.size(); ++g) {
            if (law.chance[g] <= 0.0) continue;
            at_most += law.chance[g] * chance_of_at_most(sample, law.z[g]);
            if (alone && out.common_bound_mg_per_kg > 0.0)
                under += law.chance[g] * chance_of_at_most(sample, law.z[g], out.common_bound_mg_per_kg);
        }
        one.low = one.says == SiteSays::below ? 0.0 : at_most;
        one.high = one.says == SiteSays::above ? 1.0 : at_most;
        if (one.season == newest) give_quantiles(one, sample, law);
        if (!alone || out.common_bound_mg_per_kg <= 0.0) return;
        one.under_common_bound = under;
        one.is_under = read_under(sample, one.says, out.common_bound_mg_per_kg);
    });
    return out;
}

std::vector<Learnt::LeftOut> told_of_newest(const Layout& layout, const LeftOut& left) {
    std::vector<Learnt::LeftOut> told;
    const int newest = static_cast<int>(layout.seasons().size()) - 1;
    for (const Foretold& one : left.readings) {
        if (one.season != newest) continue;
        Learnt::LeftOut out;
        out.sample = static_cast<std::size_t>(layout.sites()[static_cast<std::size_t>(one.site)].sample);
        out.reading = one.says == SiteSays::below   ? Reading::below
                      : one.says == SiteSays::above ? Reading::above
                                                    : Reading::value;
        double log_sum = 0.0;
        int count = 0;
        const SiteSample& sample = layout.site_samples()[static_cast<std::size_t>(one.site)];
        for (const SitePortion& portion : sample.portions)
            for (const SiteReading& reading : portion.readings) {
                if (one.says != SiteSays::value && count > 0) continue;
                log_sum += std::log(reading.don_mg_per_kg);
                ++count;
            }
        out.read_mg_per_kg = std::exp(log_sum / count);
        out.median = one.median;
        out.low90 = one.low90;
        out.high90 = one.high90;
        out.at_most = one.says == SiteSays::above ? one.low : one.high;
        told.push_back(out);
    }
    std::stable_sort(told.begin(), told.end(),
                     [](const Learnt::LeftOut& a, const Learnt::LeftOut& b) { return a.sample < b.sample; });
    return told;
}

}  // namespace models::contamination
