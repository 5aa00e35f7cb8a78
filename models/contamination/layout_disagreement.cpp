#include <cmath>
#include <map>
#include <set>

#include <fmt/format.h>

#include "models/contamination/disagreement.h"
#include "models/contamination/layout.h"

namespace models::contamination {

void Layout::widen_where_samples_disagree() {
    disagreement_.assign(input_.samples.size(), 0.0);
    Parameters usual;
    usual.within_sd = priors_.fixed.active ? priors_.fixed.within_sd : priors_.within_sd_median;
    struct Group {
        std::map<int, SampleOfSame> samples;
        std::map<int, std::vector<int>> results;
        std::set<int> lots;
    };
    std::map<std::pair<SampledGrain, std::size_t>, Group> groups;
    for (std::size_t s = 0; s < sites_.size(); ++s) {
        const GrainSample& sample = input_.samples[static_cast<std::size_t>(sites_[s].sample)];
        if (sample.from == SampledGrain::control) continue;
        Group& group = groups[{sample.from, sample.index}];
        SampleOfSame& one = group.samples[sites_[s].sample];
        one.tables.push_back(&tables_[s]);
        one.variance =
            std::max(one.variance, composite_variance(sample, usual) +
                                       outside_log_variance(site_samples_[s], std::exp(tables_[s].start_mean())));
        for (const int result : sites_[s].results) {
            group.results[sites_[s].sample].push_back(result);
            group.lots.insert(lot_of(input_.results[static_cast<std::size_t>(result)]));
        }
    }
    for (auto& [of, group] : groups) {
        if (group.samples.size() < 2) continue;
        // Kit lots read a little apart; half of that variance a lot, at the prior's median.
        const double lot_sd = priors_.fixed.active ? priors_.fixed.lot_sd : 0.6745 * priors_.lot_sd_scale;
        std::vector<SampleOfSame> samples;
        for (const auto& [number, sample] : group.samples) {
            samples.push_back(sample);
            if (group.lots.size() > 1) samples.back().variance += lot_sd * lot_sd;
        }
        const double added = variance_of_disagreement(samples);
        if (added == 0.0) continue;
        std::string readings;
        for (const auto& [number, results] : group.results) {
            disagreement_[static_cast<std::size_t>(number)] = added;
            for (const int result : results) {
                const AssayResult& r = input_.results[static_cast<std::size_t>(result)];
                readings += fmt::format("{}{} {}{:.3g} mg/kg", readings.empty() ? "" : ", ", r.test,
                                        r.reading == Reading::below   ? "below "
                                        : r.reading == Reading::above ? "above "
                                                                      : "",
                                        r.don_mg_per_kg);
            }
        }
        const std::string name = of.first == SampledGrain::load ? "load " + input_.loads[of.second].load
                                                                : field_season_name(input_.field_seasons[of.second]);
        notes_.push_back(fmt::format(
            "Samples of {} contradict one another beyond the errors of sampling and test ({}): they count for less, "
            "and its interval is wider. Look for a mix-up and test again.",
            name, readings));
    }
}

}  // namespace models::contamination
