#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include <fmt/format.h>

#include "models/contamination/disagreement.h"
#include "models/contamination/layout.h"

namespace models::contamination {

namespace {

/// All samples of one field-season or of one load.
struct SamplesOfOne {
    std::map<int, SampleOfSame> samples;
    std::map<int, std::vector<int>> results;
    std::set<int> lots;
    std::set<bool> standing;

    std::vector<SampleOfSame> all() const {
        std::vector<SampleOfSame> list;
        for (const auto& [number, sample] : samples) list.push_back(sample);
        return list;
    }
};

std::string reading_in_words(const AssayResult& r) {
    const char* side = r.reading == Reading::below ? "below " : r.reading == Reading::above ? "above " : "";
    return fmt::format("{} {}{:.3g} mg/kg", r.test, side, r.don_mg_per_kg);
}

}  // namespace

/// What is compared: the samples of each field and of each load among themselves; each field's own samples with the
/// loads that are all of it; each load of several origins with what is said of its parts.
class Layout::Contradictions {
 public:
    explicit Contradictions(Layout& layout) : layout_(layout) {
        usual_.within_sd =
            layout.priors_.fixed.active ? layout.priors_.fixed.within_sd : layout.priors_.within_sd_median;
        gather();
    }

    void find() {
        for (auto& [of, group] : groups_) {
            if (group.samples.size() < 2) continue;
            std::vector<SampleOfSame> samples = group.all();
            for (SampleOfSame& sample : samples) sample.variance += between({&group});
            widen({of}, variance_of_disagreement(samples));
        }
        for (std::size_t f = 0; f < layout_.input_.field_seasons.size(); ++f) compare_field_with_its_loads(f);
        for (const auto& [of, group] : groups_) {
            if (of.first == SampledGrain::load && !all_of_one_field(of.second)) compare_load_with_its_parts(of.second);
        }
    }

 private:
    using Of = std::pair<SampledGrain, std::size_t>;

    void gather() {
        for (std::size_t s = 0; s < layout_.sites_.size(); ++s) {
            const int number = layout_.sites_[s].sample;
            const GrainSample& sample = layout_.input_.samples[static_cast<std::size_t>(number)];
            if (sample.from == SampledGrain::control) continue;
            SamplesOfOne& group = groups_[{sample.from, sample.index}];
            SampleOfSame& one = group.samples[number];
            one.tables.push_back(&layout_.tables_[s]);
            one.variance = std::max(one.variance, layout_.composite_variance(sample, usual_) +
                                                      outside_log_variance(layout_.site_samples_[s],
                                                                           std::exp(layout_.tables_[s].start_mean())));
            group.standing.insert(sample.stage == Stage::standing);
            for (const int result : layout_.sites_[s].results) {
                group.results[number].push_back(result);
                group.lots.insert(layout_.lot_of(layout_.input_.results[static_cast<std::size_t>(result)]));
            }
        }
        speakers_.resize(layout_.input_.field_seasons.size());
        for (const auto& [of, group] : groups_) {
            if (of.first == SampledGrain::field_season) speakers_[of.second].push_back(of);
            if (of.first == SampledGrain::load && all_of_one_field(of.second))
                speakers_[layout_.input_.loads[of.second].parts.front().field_season].push_back(of);
        }
    }

    /// Kit lots read a little apart, standing heads and delivered grain as well: half of the variance of such a
    /// difference, which each side gets.
    double between(const std::vector<const SamplesOfOne*>& groups) const {
        std::set<int> lots;
        std::set<bool> standing;
        for (const SamplesOfOne* group : groups) {
            lots.insert(group->lots.begin(), group->lots.end());
            standing.insert(group->standing.begin(), group->standing.end());
        }
        const ContaminationPriors& priors = layout_.priors_;
        const double lot_sd = priors.fixed.active ? priors.fixed.lot_sd : 0.6745 * priors.lot_sd_scale;
        return (lots.size() > 1 ? lot_sd * lot_sd : 0.0) +
               (standing.size() > 1 ? 0.5 * priors.standing_offset_sd * priors.standing_offset_sd : 0.0);
    }

    bool all_of_one_field(std::size_t load) const {
        return layout_.input_.loads[load].parts.size() == 1 && layout_.bought_share(load) == 0.0;
    }

    /// The field's own samples and the loads that are all of it.
    const std::vector<Of>& speakers_of(std::size_t field_season) const { return speakers_[field_season]; }

    std::vector<Witness> witnesses(const std::vector<Of>& speakers, double between) const {
        std::vector<Witness> said;
        for (const Of& of : speakers) {
            Witness& witness = said.emplace_back();
            witness.samples = groups_.at(of).all();
            witness.variance = between + (of.first == SampledGrain::load ? layout_.load_variance(usual_) : 0.0);
        }
        return said;
    }

    std::vector<const SamplesOfOne*> groups_of(const std::vector<Of>& speakers) const {
        std::vector<const SamplesOfOne*> list;
        for (const Of& of : speakers) list.push_back(&groups_.at(of));
        return list;
    }

    void compare_field_with_its_loads(std::size_t field_season) {
        const std::vector<Of> speakers = speakers_of(field_season);
        if (speakers.size() < 2) return;
        widen(speakers, variance_of_disagreement(witnesses(speakers, between(groups_of(speakers)))));
    }

    void compare_load_with_its_parts(std::size_t load) {
        const GrainLoad& grain = layout_.input_.loads[load];
        std::vector<std::vector<Of>> speakers_of_part;
        std::vector<Of> all = {{SampledGrain::load, load}};
        for (const GrainShare& part : grain.parts) {
            speakers_of_part.push_back(speakers_of(part.field_season));
            all.insert(all.end(), speakers_of_part.back().begin(), speakers_of_part.back().end());
        }
        if (all.size() < 2) return;
        const double apart = between(groups_of(all));
        std::vector<PartOfMix> parts;
        const ContaminationPriors& priors = layout_.priors_;
        const auto add_part = [&](double share, std::vector<Witness> said) {
            parts.push_back({share, std::move(said), priors.bought_mean, priors.bought_sd});
        };
        for (std::size_t k = 0; k < grain.parts.size(); ++k) {
            add_part(std::min(1.0, grain.parts[k].share), witnesses(speakers_of_part[k], 0.0));
        }
        if (const double bought = layout_.bought_share(load); bought > 0.0) add_part(bought, {});
        Witness witness = witnesses({all.front()}, 0.0).front();
        witness.variance += 2.0 * apart;
        widen(all, variance_of_disagreement(witness, parts));
    }

    static constexpr int points_of_ground = 5;  ///< so many places of one field are hardly all mixed up

    void widen(const std::vector<Of>& of, double added) {
        if (added == 0.0) return;
        Learnt::Contradiction found;
        std::string names;
        std::vector<int> results;
        int points = 0;
        for (const Of& one : of) {
            SamplesOfOne& group = groups_.at(one);
            (one.first == SampledGrain::load ? found.loads : found.field_seasons).push_back(one.second);
            names += (names.empty() ? "" : " and ") + name_of(one);
            for (auto& [number, sample] : group.samples) {
                layout_.disagreement_[static_cast<std::size_t>(number)] += added;
                sample.variance += added;
                results.insert(results.end(), group.results[number].begin(), group.results[number].end());
                points += layout_.input_.samples[static_cast<std::size_t>(number)].kind == SampleKind::point ? 1 : 0;
            }
        }
        found.sentence = fmt::format(
            "Samples of {} contradict one another beyond the errors of sampling and test ({}): they count for less, "
            "and {} wider. {}",
            names, readings_in_words(results), of.size() > 1 ? "the intervals are" : "its interval is",
            points >= points_of_ground ? "Its places differ more than those of other fields, or something was mixed up."
                                       : "Look for a mix-up and test again.");
        layout_.notes_.push_back(found.sentence);
        layout_.contradictions_.push_back(std::move(found));
    }

    /// All of them, or of many how many they are and the ends.
    std::string readings_in_words(std::vector<int> results) const {
        constexpr std::size_t all_named = 8;
        const auto of = [&](int result) -> const AssayResult& {
            return layout_.input_.results[static_cast<std::size_t>(result)];
        };
        if (results.size() > all_named) {
            const auto [lowest, highest] = std::minmax_element(results.begin(), results.end(), [&](int a, int b) {
                return of(a).don_mg_per_kg < of(b).don_mg_per_kg;
            });
            return fmt::format("{} readings from {} to {}", results.size(), reading_in_words(of(*lowest)),
                               reading_in_words(of(*highest)));
        }
        std::string words;
        for (const int result : results) words += (words.empty() ? "" : ", ") + reading_in_words(of(result));
        return words;
    }

    std::string name_of(const Of& of) const {
        return of.first == SampledGrain::load ? "load " + layout_.input_.loads[of.second].load
                                              : field_season_name(layout_.input_.field_seasons[of.second]);
    }

    Layout& layout_;
    Parameters usual_;
    std::map<Of, SamplesOfOne> groups_;
    std::vector<std::vector<Of>> speakers_;  ///< of each field-season
};

bool Layout::contradicted(SampledGrain of, std::size_t index) const {
    return std::any_of(contradictions_.begin(), contradictions_.end(), [&](const Learnt::Contradiction& found) {
        const auto& named = of == SampledGrain::load ? found.loads : found.field_seasons;
        return std::find(named.begin(), named.end(), index) != named.end();
    });
}

void Layout::widen_where_samples_disagree() {
    disagreement_.assign(input_.samples.size(), 0.0);
    Contradictions(*this).find();
}

}  // namespace models::contamination
