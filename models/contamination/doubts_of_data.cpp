#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include <fmt/format.h>

#include "models/contamination/find_doubts.h"
#include "models/contamination/normal.h"
#include "models/counted.h"

namespace models::contamination {

namespace {

constexpr double bias_told_of = 0.35;      ///< a kit lot that reads so much too high is what is warned of; ours
constexpr double much_of_a_season = 0.25;  ///< of its tests, from which a kit lot matters; ours
constexpr double far_weather_km = 25.0;    ///< from here on a distance is told beside a risk, too
constexpr double level_of_comparison = 0.05;
constexpr int enough_pairs = 5;  ///< fields sampled twice that say whether samples of a field agree; ours

/// A Gaussian quantity with mean 0 and a variance before the results, and what they left of it.
struct LearntQuantity {
    double mean = 0.0, variance = 0.0, prior_variance = 0.0;
    /// Share of the variance that the results took away.
    double told() const { return prior_variance > 0.0 ? 1.0 - variance / prior_variance : 0.0; }
    /// Two-sided chance of a mean so far from 0: before the results it is N(0, prior variance - variance).
    double chance() const {
        return told() > 1e-6 ? 2.0 * normal::cdf(-std::abs(mean) / std::sqrt(prior_variance - variance)) : 1.0;
    }
    /// An effect that the comparisons would set apart from none in 8 of 10 cases.
    double would_be_seen() const {
        if (told() <= 1e-6) return 1e9;
        const double error = 1.0 / (1.0 / variance - 1.0 / prior_variance);
        return std::sqrt(error) * (-normal::quantile(0.5 * level_of_comparison) + normal::quantile(0.8));
    }
};

class Conditions {
 public:
    Conditions(const ContaminationModel::State& state, const ParameterIntegral& found)
        : state_(state),
          layout_(state.layout),
          input_(layout_.input()),
          fields_(fields_of_newest_season(layout_)),
          newest_(static_cast<int>(layout_.seasons().size()) - 1),
          year_(layout_.seasons().back()) {
        best_ = &*std::max_element(found.points.begin(), found.points.end(),
                                   [](const AtParameters& a, const AtParameters& b) { return a.weight < b.weight; });
        for (std::size_t s = 0; s < layout_.sites().size(); ++s)
            if (layout_.season_of_sample(sample_of(s)) == newest_) sites_.push_back(s);
    }
    std::vector<Doubt> doubts() const { return {kit_lot(), stage(), reason(), weather(), increments()}; }

 private:
    const GrainSample& sample_of(std::size_t site) const {
        return input_.samples[static_cast<std::size_t>(layout_.sites()[site].sample)];
    }

    /// What the season's fields are shown too high by if these sites read by so much (log) too high: the mean factor,
    /// at the most probable parameters, the readings' factors as they are.
    double shown_too_high(const std::vector<std::size_t>& sites, double log_bias) const {
        GaussianSites read_right = best_->sites;
        for (const std::size_t s : sites) {
            const auto i = static_cast<Eigen::Index>(s);
            read_right.nu[i] -= std::max(read_right.tau[i], 0.0) * log_bias;
        }
        const Linearisation& at = state_.linearisation;
        const PointPosterior now = point_posterior(layout_, at, best_->parameters, best_->sites);
        const PointPosterior then = point_posterior(layout_, at, best_->parameters, read_right);
        double sum = 0.0;
        for (const std::size_t f : fields_)
            sum += field_law(layout_, at, now, f).mean - field_law(layout_, at, then, f).mean;
        return std::expm1(sum / static_cast<double>(fields_.size()));
    }

    LearntQuantity of_column(int column, double prior_variance) const {
        const NormalMixture mixture = column_mixture(state_, column);
        return {mixture.expectation(), mixture.variance(), prior_variance};
    }

    /// Of kit lots, as the results leave it: what they make of one lot is held against the same law.
    double variance_of_lots() const {
        double mean = 0.0;
        for (const PointPosterior& point : state_.points)
            mean += point.weight * point.parameters.lot_sd * point.parameters.lot_sd;
        return mean;
    }

    /// Whether something better known is read with this lot: a control, or a sample that another method or lot read.
    bool compared_in_model(int lot_column) const {
        std::map<int, int> sites_of_sample;
        for (const Site& site : layout_.sites()) ++sites_of_sample[site.sample];
        for (std::size_t s = 0; s < layout_.sites().size(); ++s) {
            const Site& site = layout_.sites()[s];
            const bool of_lot = std::any_of(site.columns.begin(), site.columns.end(),
                                            [&](const auto& term) { return term.first == lot_column; });
            if (of_lot && (sample_of(s).from == SampledGrain::control || sites_of_sample[site.sample] > 1)) return true;
        }
        return false;
    }

    /// Unnamed strips have a lot of their own a season, whose name nobody gave.
    static std::string name_of_lot(const std::string& name) {
        return name.starts_with("unnamed lot of") ? "the strips that name no kit lot" : "kit lot " + name;
    }

    Doubt kit_lot() const {
        const double prior_sd =
            layout_.priors().fixed.active ? layout_.priors().fixed.lot_sd : layout_.priors().lot_sd_scale;
        Doubt doubt{Assumption::kit_lot, fmt::format("kit lots read true, but for {:.0f} % or so", 100.0 * prior_sd)};
        std::map<int, std::vector<std::size_t>> sites_of_lot;  // by column
        for (const std::size_t s : sites_)
            for (const auto& [column, value] : layout_.sites()[s].columns)
                if (layout_.columns()[static_cast<std::size_t>(column)].kind == ColumnKind::lot)
                    sites_of_lot[column].push_back(s);
        std::string off, fine;
        std::vector<std::size_t> unknown;
        std::string unknown_names;
        double would_be_seen = 0.0;  // by the lot that tells least; 0: nothing is compared at all
        for (const auto& [column, sites] : sites_of_lot) {
            const std::string& name =
                layout_.lots()[static_cast<std::size_t>(layout_.columns()[static_cast<std::size_t>(column)].which)];
            const auto compared =
                std::find_if(input_.lots_compared.begin(), input_.lots_compared.end(), [&](const KitLotEffect& effect) {
                    return effect.kit_lot == name && effect.controls + effect.laboratory_pairs > 0;
                });
            std::optional<LearntQuantity> learnt;
            std::string says;
            if (compared != input_.lots_compared.end()) {
                learnt = {compared->log_mean, compared->log_variance, prior_sd * prior_sd};
                says = compared->says;
            } else if (compared_in_model(column)) {
                learnt = of_column(column, variance_of_lots());
                says = fmt::format("{} reads {:.0f} % {}", name_of_lot(name),
                                   100.0 * std::abs(std::expm1(learnt->mean)), learnt->mean < 0.0 ? "low" : "high");
            }
            if (learnt && learnt->chance() < level_of_comparison) {
                doubt.chance = std::min(doubt.chance.value_or(1.0), learnt->chance());
                off += (off.empty() ? "" : "; ") + says;
            } else if (learnt && learnt->would_be_seen() < std::log1p(bias_told_of)) {
                doubt.chance = std::min(doubt.chance.value_or(1.0), learnt->chance());
                fine += (fine.empty() ? "" : "; ") + says;
            } else if (static_cast<double>(sites.size()) >= much_of_a_season * static_cast<double>(sites_.size())) {
                unknown.insert(unknown.end(), sites.begin(), sites.end());
                unknown_names += (unknown_names.empty() ? "" : ", ") + name_of_lot(name);
                if (learnt && learnt->told() > 1e-6) would_be_seen = std::max(would_be_seen, learnt->would_be_seen());
            }
        }
        if (!off.empty()) {
            doubt.state = DoubtState::doubted;
            doubt.sentence = fmt::format(
                "A kit lot of {} does not read true: {}. The fields are shown as the strips read, but for what a usual "
                "kit lot is off by.",
                year_, off);
        } else if (!unknown.empty()) {
            const double high = shown_too_high(unknown, std::log1p(bias_told_of));
            doubt.sentence = fmt::format(
                "{} {} ({} of {} samples of {}): nothing here would show if all its strips read {:.0f} % too much, and "
                "the fields would be shown {:.0f} % too high; the intervals allow for {:.0f} %.",
                would_be_seen > 0.0 ? fmt::format("Few comparisons speak of, and would show from {:.0f} % on,",
                                                  100.0 * std::expm1(would_be_seen))
                                    : std::string("No control and no laboratory result speaks of"),
                unknown_names, unknown.size(), sites_.size(), year_, 100.0 * bias_told_of, 100.0 * high,
                100.0 * prior_sd);
            doubt.in_short = fmt::format("a kit lot that reads {:.0f} % too much (all fields {:.0f} % too high)",
                                         100.0 * bias_told_of, 100.0 * high);
        } else {
            doubt.state = DoubtState::nothing_against;
            doubt.sentence = fine.empty() ? fmt::format("No kit lot has much of the results of {}.", year_)
                                          : "Comparisons agree with it: " + fine + ".";
        }
        return doubt;
    }

    Doubt stage() const {
        const double prior_sd = layout_.priors().standing_offset_sd;
        Doubt doubt{Assumption::stage, fmt::format("grain from standing heads reads like delivered grain, but for "
                                                   "{:.0f} % or so",
                                                   100.0 * prior_sd)};
        std::vector<std::size_t> standing;
        for (const std::size_t s : sites_)
            if (sample_of(s).stage == Stage::standing) standing.push_back(s);
        if (standing.empty()) {
            doubt.state = DoubtState::nothing_against;
            doubt.sentence = fmt::format("No sample of {} is from standing heads.", year_);
            return doubt;
        }
        const auto column = layout_.column_of(ColumnKind::standing);
        const LearntQuantity learnt = column ? of_column(*column, prior_sd * prior_sd) : LearntQuantity{0.0, 1.0, 1.0};
        const std::string of_samples =
            fmt::format("{} of {} samples of {} are from standing heads", standing.size(), sites_.size(), year_);
        constexpr double mostly_told = 0.5;
        if (learnt.told() > mostly_told && learnt.chance() < level_of_comparison) {
            doubt.state = DoubtState::doubted;
            doubt.chance = learnt.chance();
            doubt.sentence =
                fmt::format("Standing heads read {:.0f} % {} than delivered grain; {}.",
                            100.0 * std::abs(std::expm1(learnt.mean)), learnt.mean < 0.0 ? "less" : "more", of_samples);
        } else if (learnt.told() > mostly_told) {
            doubt.state = DoubtState::nothing_against;
            doubt.chance = learnt.chance();
            doubt.sentence = of_samples + ", and delivered grain agrees with them.";
        } else {
            const double high = shown_too_high(standing, std::log(1.5));
            doubt.sentence = fmt::format(
                "{}, and little ties them to delivered grain: if heads read 50 % more than the grain of the same "
                "field, "
                "the fields are shown {:.0f} % too high; the intervals allow for {:.0f} %.",
                of_samples, 100.0 * high, 100.0 * prior_sd);
            doubt.in_short = fmt::format(
                "standing heads that read 50 % more than delivered grain ({} of {} samples; all "
                "fields {:.0f} % too high)",
                standing.size(), sites_.size(), 100.0 * high);
        }
        return doubt;
    }

    Doubt reason() const {
        Doubt doubt{Assumption::reason, "samples were taken for the reason that is written down"};
        std::set<int> outside, all;
        for (const std::size_t s : sites_) {
            const GrainSample& sample = sample_of(s);
            if (sample.from != SampledGrain::field_season) continue;
            all.insert(layout_.sites()[s].sample);
            if (outside_the_model(sample.chosen_because)) outside.insert(layout_.sites()[s].sample);
        }
        if (all.empty()) {
            doubt.state = DoubtState::nothing_against;
            doubt.sentence = fmt::format("No sample of {} was taken from a field.", year_);
        } else if (!outside.empty()) {
            doubt.state = DoubtState::doubted;
            doubt.said_elsewhere = true;  // the layout's note on outside choices
            doubt.sentence = fmt::format(
                "{} of {} samples of {} were taken because something looked bad, was asked for, or for no recorded "
                "reason: fields without a test may be cleaner than they are shown.",
                outside.size(), all.size(), year_);
        } else {
            doubt.sentence = fmt::format(
                "{} of {} are booked as drawn at random, by plan or by risk; were they taken where it looked bad, "
                "nothing "
                "in one season's results would show it, and fields without a test would be shown too high.",
                counted(static_cast<long long>(all.size()), "sample"), year_);
            doubt.in_short = "samples taken where it looked bad and booked otherwise";
        }
        return doubt;
    }

    Doubt weather() const {
        Doubt doubt{Assumption::risk_weather, fmt::format("the weather behind the disease risks of {} was that of the "
                                                          "fields",
                                                          year_)};
        int known = 0, far = 0;
        double farthest = 0.0, nearest = 1e9;
        for (const std::size_t f : fields_) {
            const std::optional<double>& km = input_.field_seasons[f].risk_weather_km;
            if (!km || layout_.risk_unknown(f)) continue;
            ++known;
            if (*km < far_weather_km) continue;
            ++far;
            farthest = std::max(farthest, *km);
            nearest = std::min(nearest, *km);
        }
        if (far > 0) {
            doubt.state = DoubtState::doubted;
            const std::string km = farthest - nearest < 1.0 ? fmt::format("{:.0f}", farthest)
                                                            : fmt::format("{:.0f} to {:.0f}", nearest, farthest);
            doubt.sentence = fmt::format(
                "The disease risks of {} of {} fields rest on weather from {} km away: rain that fell there need not "
                "have fallen here, and the risks may order these fields wrongly.",
                far, fields_.size(), km);
        } else if (known > 0) {
            doubt.state = DoubtState::nothing_against;
            doubt.sentence = fmt::format("No disease risk of {} rests on weather from {:.0f} km away or more.", year_,
                                         far_weather_km);
        } else {
            doubt.sentence = "Nobody says how far from the fields the weather was measured.";
        }
        return doubt;
    }

    Doubt increments() const {
        Doubt doubt{Assumption::increments, "increments of a sample differ as if taken anywhere in the field"};
        std::map<std::size_t, std::set<int>> samples_of_field;
        for (std::size_t s = 0; s < layout_.sites().size(); ++s)
            if (sample_of(s).from == SampledGrain::field_season)
                samples_of_field[sample_of(s).index].insert(layout_.sites()[s].sample);
        int several = 0, composites = 0, not_counted = 0;
        for (const auto& [field, samples] : samples_of_field) several += samples.size() > 1 ? 1 : 0;
        for (const std::size_t s : sites_) {
            const GrainSample& sample = sample_of(s);
            if (sample.from != SampledGrain::field_season || sample.kind != SampleKind::composite) continue;
            ++composites;
            not_counted += sample.increments ? 0 : 1;
        }
        if (composites == 0) {
            doubt.state = DoubtState::nothing_against;
            doubt.sentence = fmt::format("No sample of {} is a composite of a field.", year_);
            return doubt;
        }
        const std::string assumed =
            not_counted > 0
                ? fmt::format(" {} of {} composites do not say how many increments they are of: {} are assumed.",
                              not_counted, composites, layout_.priors().assumed_increments)
                : std::string();
        if (!layout_.contradictions().empty()) {
            doubt.state = DoubtState::doubted;
            doubt.said_elsewhere = true;
            doubt.sentence = "Samples of one field contradict one another, as the notes say." + assumed;
        } else if (several >= enough_pairs) {
            doubt.state = DoubtState::nothing_against;
            doubt.sentence =
                fmt::format("Samples of the {} fields that were sampled more than once agree.", several) + assumed;
        } else {
            doubt.sentence = fmt::format(
                                 "{} sampled more than once: whether increments of one walk are more alike than those "
                                 "of the whole field (a sample then counts for less) does not show.",
                                 several == 0 ? std::string("No field was")
                                              : fmt::format("Only {}", counted(several, "field was", "fields were"))) +
                             assumed;
            doubt.in_short = "grain that is alike all along a walk";
        }
        return doubt;
    }

    const ContaminationModel::State& state_;
    const Layout& layout_;
    const ContaminationInput& input_;
    std::vector<std::size_t> fields_;
    int newest_ = 0, year_ = 0;
    const AtParameters* best_ = nullptr;
    std::vector<std::size_t> sites_;  ///< of the newest season
};

}  // namespace

std::vector<Doubt> doubts_of_data(const ContaminationModel::State& state, const ParameterIntegral& found) {
    return Conditions(state, found).doubts();
}

}  // namespace models::contamination
