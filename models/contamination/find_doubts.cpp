#include "models/contamination/find_doubts.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>

#include <fmt/format.h>

#include "models/contamination/normal.h"
#include "models/contamination/residual_checks.h"
#include "models/counted.h"

namespace models::contamination {

namespace {

/// Checks of residuals, in the order in which their chances are taken together.
enum Check { bend, season_slope, long_tails, one_outlier, number_low, scatter, checks };

std::string times(double factor) {
    return factor < 0.0095 || factor > 99.5 ? fmt::format("{:.1g}", factor)
                                            : fmt::format("{:.{}f}", factor, factor < 9.95 ? 1 : 0);
}

std::string percent(double chance) {
    return chance < 0.001 ? std::string("less than 0.1 %")
                          : fmt::format("{:.{}f} %", 100.0 * chance, chance < 0.0995 ? 1 : 0);
}

/// (logit + 1) of the risk at the least suspect tenth of the season's fields, the middle and the most suspect tenth.
struct RisksOfSeason {
    double low = 0.0, middle = 0.0, high = 0.0;
    bool differ() const { return high > low; }
};

RisksOfSeason risks_of(const Layout& layout, const std::vector<std::size_t>& fields) {
    std::vector<double> risks;
    for (const std::size_t i : fields)
        if (!layout.risk_unknown(i)) risks.push_back(layout.risk(i) + 1.0);
    if (risks.empty()) return {};
    std::sort(risks.begin(), risks.end());
    const auto at = [&](double p) {
        return risks[static_cast<std::size_t>(std::lround(p * static_cast<double>(risks.size() - 1)))];
    };
    return {at(0.1), at(0.5), at(0.9)};
}

/// 95 % of a normal law lie under this.
const double upper_twentieth = normal::quantile(0.95);

/// Chance that a check at this level finds an effect, both in units of its standard deviation.
double chance_to_find(double effect, double sd) {
    if (!(sd > 0.0)) return 0.0;
    const double level = -normal::quantile(0.5 * false_doubts / static_cast<double>(checks));
    return normal::cdf(std::abs(effect) / sd - level);
}

class Residuals {
 public:
    Residuals(const ContaminationModel::State& state, const ParameterIntegral& found, const LeftOut& left)
        : state_(state),
          layout_(state.layout),
          found_(found),
          fields_(fields_of_newest_season(layout_)),
          newest_(static_cast<int>(layout_.seasons().size()) - 1),
          year_(layout_.seasons().back()),
          risks_(risks_of(layout_, fields_)),
          left_(left) {
        try_terms();
        look_at_readings();
    }

    std::vector<Doubt> doubts() {
        together_ = together(chances_);
        return {risk_effect(), straight_effect(), season_effect(), outliers(), low_results(), season_spread(), dates()};
    }

 private:
    bool doubted(std::initializer_list<Check> of) const {
        return std::any_of(of.begin(), of.end(), [&](Check c) { return together_[c] && *together_[c] < false_doubts; });
    }

    void try_terms() {
        const auto n = static_cast<Eigen::Index>(layout_.input().field_seasons.size());
        Eigen::VectorXd square(n), of_season(n);
        double most = -1e300, least = 1e300;
        int seasons_with_tests = 0;
        std::vector<int> tests(layout_.seasons().size(), 0);
        for (const Foretold& reading : left_.readings)
            if (reading.season >= 0) ++tests[static_cast<std::size_t>(reading.season)];
        for (const int count : tests) seasons_with_tests += count > 0 ? 1 : 0;
        tests_ = tests.back();
        for (Eigen::Index i = 0; i < n; ++i) {
            const auto field = static_cast<std::size_t>(i);
            const double x = layout_.risk(field) + 1.0;
            square[i] = x * x;
            of_season[i] = layout_.season_of(field) == newest_ ? x : 0.0;
            if (layout_.risk_unknown(field)) continue;
            most = std::max(most, x);
            least = std::min(least, x);
        }
        if (!(most > least)) return;
        bend_ = try_term(layout_, state_.linearisation, found_, square);
        if (left_.readings.size() >= fewest) chances_[bend] = bend_.chance();
        if (tests_ < 3 || seasons_with_tests < 2 || !risks_.differ()) return;
        own_slope_ = try_term(layout_, state_.linearisation, found_, of_season);
        chances_[season_slope] = own_slope_->chance();
    }

    void look_at_readings() {
        Eigen::VectorXd normals(static_cast<Eigen::Index>(left_.readings.size()));
        std::vector<double> under;
        std::vector<int> is_under;
        double least = 1.0;
        for (std::size_t i = 0; i < left_.readings.size(); ++i) {
            const Foretold& one = left_.readings[i];
            const double normal = normals[static_cast<Eigen::Index>(i)] = one.as_normal();
            const double odd = one.says == SiteSays::value   ? 2.0 * std::min(one.low, 1.0 - one.low)
                               : one.says == SiteSays::below ? 2.0 * one.high
                                                             : 2.0 * (1.0 - one.low);
            least = std::min(least, odd);
            oddest_.push_back({odd, i});
            if (one.is_under >= 0) {
                under.push_back(one.under_common_bound);
                is_under.push_back(one.is_under);
            }
            if (one.season == newest_) squares_ += normal * normal;
        }
        std::sort(oddest_.begin(), oddest_.end());
        if (left_.readings.size() >= fewest) {
            kurtosis_ = kurtosis_test(normals);
            // Short tails are what bounds make of them, and harm nobody.
            if (kurtosis_) chances_[long_tails] = normal::cdf(-kurtosis_->z);
            chances_[one_outlier] =
                -std::expm1(static_cast<double>(left_.readings.size()) * std::log1p(-std::min(least, 1.0 - 1e-12)));
        }
        if (under.size() >= fewest) {
            low_ = share_that_is_sure(under, is_under);
            chances_[number_low] = low_->chance;
        }
        if (tests_ >= 5) chances_[scatter] = chance_of_squares(squares_, tests_);
    }

    Doubt doubt_about(Assumption what, std::string assumption, std::initializer_list<Check> of) const {
        Doubt doubt{what, std::move(assumption)};
        for (const Check c : of)
            if (together_[c]) doubt.chance = std::min(doubt.chance.value_or(1.0), *together_[c]);
        return doubt;
    }

    std::string odd(const Doubt& doubt) const {
        return fmt::format("a chance of {} where the model holds, all checks together", percent(*doubt.chance));
    }

    Doubt risk_effect() const {
        Doubt doubt{Assumption::risk_effect, "DON rises with the disease risk, about as much as is published"};
        const ContaminationPriors& priors = layout_.priors();
        if (!risks_.differ()) {
            doubt.sentence = fmt::format("The fields of {} have no disease risks that differ.", year_);
            return doubt;
        }
        const double centre = priors.flat_coefficients ? 0.0 : priors.slope_mean;
        const NormalMixture slope = column_mixture(state_, 1);
        const double low = centre + slope.quantile(0.05), high = centre + slope.quantile(0.95);
        const double step = risks_.high - risks_.low;
        doubt.chance = slope.cdf(-centre);
        // What is published makes a slope above 0 likely before there is any result: that the results follow the risk
        // is said of what they add to it alone.
        const double prior_precision = priors.flat_coefficients ? 0.0 : 1.0 / (priors.slope_sd * priors.slope_sd);
        const double added = 1.0 / slope.variance() - prior_precision;
        const bool results_rise = added > 0.0 && centre + slope.expectation() / (slope.variance() * added) >
                                                     upper_twentieth / std::sqrt(added);
        const std::string rises = fmt::format(
            "from the least to the most suspect tenth of the fields of {} DON is multiplied by {} ({} to {}), and by "
            "{} "
            "as published",
            year_, times(std::exp(step * (centre + slope.quantile(0.5)))), times(std::exp(step * low)),
            times(std::exp(step * high)), times(std::exp(step * priors.slope_mean)));
        if (low > 0.0 && results_rise) {
            doubt.state = DoubtState::nothing_against;
            doubt.sentence = "The results follow the disease risk: " + rises + ".";
        } else if (low <= 0.0 && high < priors.slope_mean) {
            doubt.state = DoubtState::doubted;
            doubt.sentence = "The results do not follow the disease risk: " + rises +
                             "; what is said of fields without a test says little of which is worse.";
        } else {
            doubt.in_short = "a disease risk that says nothing";
            doubt.sentence = "Whether the results follow the disease risk is open: " + rises + ".";
        }
        return doubt;
    }

    Doubt straight_effect() const {
        Doubt doubt = doubt_about(Assumption::straight_effect,
                                  "each step of the disease risk multiplies DON by the same, low or high", {bend});
        if (!chances_[bend]) {
            doubt.sentence = fmt::format("{} with differing risks are too few to tell.",
                                         counted(static_cast<long long>(left_.readings.size()), "result"));
            return doubt;
        }
        const auto factor = [&](double from, double to) {
            return std::exp(bend_.slope * (to - from) + bend_.coefficient * (to * to - from * from));
        };
        const std::string figures = fmt::format(
            "from the least suspect to the middle fields DON is multiplied by {}, from the middle to the most suspect "
            "by {}",
            times(factor(risks_.low, risks_.middle)), times(factor(risks_.middle, risks_.high)));
        const double would = chance_to_find(reference_bend, bend_.sd);
        if (doubted({bend})) {
            doubt.state = DoubtState::doubted;
            doubt.sentence = fmt::format(
                "The effect of the disease risk is not the same low and high: {} ({}); the least and the most suspect "
                "fields are misjudged.",
                figures, odd(doubt));
        } else {
            doubt.state = would >= enough_chance_to_find ? DoubtState::nothing_against : DoubtState::cannot_be_told;
            doubt.in_short = "a disease risk that says more low than high, or less";
            doubt.sentence = fmt::format(
                "No bend of the effect of the disease risk is seen; one that doubles the factor of the last step of a "
                "risk would have been found with a chance of {:.0f} %.",
                100.0 * would);
        }
        return doubt;
    }

    Doubt season_effect() const {
        Doubt doubt = doubt_about(Assumption::season_effect,
                                  fmt::format("the disease risks of {} say as much as those of other seasons", year_),
                                  {season_slope});
        if (!chances_[season_slope]) {
            doubt.sentence = fmt::format("There are not results enough in {} and in another season.", year_);
            return doubt;
        }
        const double step = risks_.high - risks_.low, others = own_slope_->slope,
                     here = others + own_slope_->coefficient;
        const double would = chance_to_find(others, own_slope_->sd);
        if (doubted({season_slope})) {
            doubt.state = DoubtState::doubted;
            doubt.sentence = fmt::format(
                "In {} the results follow the disease risk otherwise than in other seasons: from the least to the most "
                "suspect tenth of the fields DON is multiplied by {}, not by {} ({}). Flowering dates or weather may "
                "be "
                "wrong.",
                year_, times(std::exp(step * here)), times(std::exp(step * others)), odd(doubt));
        } else {
            doubt.state = would >= enough_chance_to_find ? DoubtState::nothing_against : DoubtState::cannot_be_told;
            doubt.sentence = fmt::format(
                "The results of {} follow the disease risk as those of other seasons do; risks of {} that say nothing "
                "would have been found with a chance of {:.0f} %.",
                year_, year_, 100.0 * would);
        }
        return doubt;
    }

    /// "F12 (2026: 5.1 mg/kg)", the oddest first.
    std::string names_of_oddest(std::size_t most) const {
        std::string names;
        for (std::size_t k = 0; k < std::min(most, oddest_.size()); ++k) {
            const Foretold& one = left_.readings[oddest_[k].second];
            if (k > 0 && oddest_[k].first > still_odd) break;
            const Site& site = layout_.sites()[static_cast<std::size_t>(one.site)];
            const GrainSample& sample = layout_.input().samples[static_cast<std::size_t>(site.sample)];
            const AssayResult& result = layout_.input().results[static_cast<std::size_t>(site.results.front())];
            const std::string of = sample.from == SampledGrain::load
                                       ? "load " + layout_.input().loads[sample.index].load
                                       : field_season_name(layout_.input().field_seasons[sample.index]);
            names += fmt::format("{}{} ({}{:.2g} mg/kg, {})", names.empty() ? "" : ", ", of,
                                 one.says == SiteSays::below   ? "under "
                                 : one.says == SiteSays::above ? "over "
                                                               : "",
                                 result.don_mg_per_kg, one.middle() < 0.5 ? "far lower" : "far higher");
        }
        return names;
    }

    Doubt outliers() const {
        Doubt doubt = doubt_about(Assumption::no_outliers, "no field is far beyond what fields differ by",
                                  {long_tails, one_outlier});
        const auto results = static_cast<long long>(left_.readings.size());
        if (!chances_[one_outlier]) {
            doubt.sentence = counted(results, "result is", "results are") + " too few to tell.";
        } else if (doubted({long_tails, one_outlier})) {
            doubt.state = DoubtState::doubted;
            doubt.sentence = fmt::format(
                "Some results lie farther from what the others foretell than fields differ by ({}): {}. Look at these "
                "samples again; among fields without a test more may be like them than the intervals hold.",
                odd(doubt), names_of_oddest(3));
        } else {
            doubt.in_short = "single fields far worse than fields usually differ by";
            doubt.sentence = fmt::format(
                "The oddest of {} is {}; field effects with long tails show in one season of four or so (simulated, 60 "
                "results).",
                counted(results, "result"), names_of_oddest(1));
        }
        return doubt;
    }

    Doubt low_results() const {
        Doubt doubt = doubt_about(Assumption::low_results, "no field is clean against all that the others foretell",
                                  {number_low});
        if (!low_) {
            doubt.sentence = "No result, or too few, lie under the range of a test.";
            return doubt;
        }
        const std::string figures =
            fmt::format("{} lie under {} mg/kg where {:.1f} (standard deviation {:.1f}) are foretold by the others",
                        counted(low_->happened, "result"), left_.common_bound_mg_per_kg, low_->foretold, low_->sd);
        if (doubted({number_low})) {
            doubt.state = DoubtState::doubted;
            doubt.sentence = fmt::format(
                "{}, some of them in fields where hardly any was ({}): some fields may hold no DON at all, which the "
                "intervals do not.",
                figures, odd(doubt));
        } else {
            doubt.in_short = "fields with no DON at all";
            doubt.sentence = figures +
                             "; a fifth of fields with no DON at all shows in one season of three or so "
                             "(simulated, 60 results).";
        }
        return doubt;
    }

    Doubt season_spread() const {
        Doubt doubt = doubt_about(Assumption::season_spread,
                                  fmt::format("results of {} scatter as those of other seasons do", year_), {scatter});
        if (!chances_[scatter]) {
            doubt.sentence = fmt::format("{} in {}: too few to tell.", counted(tests_, "result"), year_);
            return doubt;
        }
        const std::string figures = fmt::format(
            "The results of {} lie {:.2f} times as far from what the others foretell "
            "as they should",
            year_, std::sqrt(squares_ / tests_));
        // A scatter half as large again, by the standard deviation of the log of a sum of squares.
        const double would = chance_to_find(2.0 * std::log(1.5), std::sqrt(2.0 / tests_));
        if (doubted({scatter})) {
            doubt.state = DoubtState::doubted;
            doubt.sentence = fmt::format(
                "{} ({}): {}.", figures, odd(doubt),
                squares_ > tests_ ? "its intervals are too narrow" : "its intervals are wider than they need be");
        } else {
            doubt.state = would >= enough_chance_to_find ? DoubtState::nothing_against : DoubtState::cannot_be_told;
            doubt.sentence =
                fmt::format("{}; 1.5 times would have been found with a chance of {:.0f} %.", figures, 100.0 * would);
        }
        return doubt;
    }

    /// Dates are seen through the season's own slope alone.
    Doubt dates() const {
        Doubt doubt{Assumption::risk_dates, fmt::format("the flowering dates of {} are right", year_)};
        long long with_risk = 0, estimated = 0;
        for (const std::size_t i : fields_) {
            if (layout_.risk_unknown(i)) continue;
            ++with_risk;
            estimated += layout_.input().field_seasons[i].date_observed ? 0 : 1;
        }
        const double would = own_slope_ ? chance_to_find(own_slope_->slope, own_slope_->sd) : 0.0;
        const std::string seen =
            own_slope_ ? fmt::format(
                             "dates so wrong that the risks say nothing would show in the results with a chance "
                             "of {:.0f} %, dates a week off far more seldom",
                             100.0 * would)
                       : std::string("no result would show that they are wrong");
        doubt.sentence =
            estimated > 0
                ? fmt::format(
                      "{} of {} disease risks of {} count from a date that nobody saw; how unsure it is counts in "
                      "the intervals; {}.",
                      estimated, with_risk, year_, seen)
                : fmt::format("Dates of {} that were written down are taken as seen: {}.",
                              counted(with_risk, "disease risk"), seen);
        if (with_risk > 0) doubt.in_short = "flowering dates that are a week off";
        if (doubted({season_slope})) doubt.in_short.clear();  // said of the season's risks
        return doubt;
    }

    static constexpr std::size_t fewest = 20;
    static constexpr double reference_bend =
        0.3;  ///< of the log, times the squared logit: of the simulated bent worlds
    static constexpr double still_odd = 0.02;

    const ContaminationModel::State& state_;
    const Layout& layout_;
    const ParameterIntegral& found_;
    std::vector<std::size_t> fields_;
    int newest_ = 0, year_ = 0;
    RisksOfSeason risks_;
    const LeftOut& left_;
    int tests_ = 0;  ///< samples of the newest season that are foretold
    std::vector<std::optional<double>> chances_ = std::vector<std::optional<double>>(checks), together_;
    TriedTerm bend_;
    std::optional<TriedTerm> own_slope_;
    std::optional<Kurtosis> kurtosis_;
    std::optional<SureShare> low_;
    double squares_ = 0.0;
    std::vector<std::pair<double, std::size_t>> oddest_;  ///< chance, and which reading
};

}  // namespace

std::vector<std::size_t> fields_of_newest_season(const Layout& layout) {
    std::vector<std::size_t> fields;
    const int newest = static_cast<int>(layout.seasons().size()) - 1;
    for (std::size_t i = 0; i < layout.input().field_seasons.size(); ++i)
        if (layout.season_of(i) == newest) fields.push_back(i);
    return fields;
}

std::vector<Doubt> find_doubts(const ContaminationModel::State& state, const ParameterIntegral& found,
                               const LeftOut& left) {
    if (state.layout.seasons().empty()) return {};
    std::vector<Doubt> doubts = doubts_of_data(state, found);
    std::vector<Doubt> of_residuals = Residuals(state, found, left).doubts();
    std::move(of_residuals.begin(), of_residuals.end(), std::back_inserter(doubts));
    return doubts;
}

}  // namespace models::contamination
