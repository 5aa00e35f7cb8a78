#include "models/decision/season_review.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "models/assay/interval_law.h"
#include "models/counted.h"
#include "models/decision/review.h"
#include "models/error.h"

namespace models {

namespace {

void check_season_cases(const SeasonCases& cases) {
    const auto n = static_cast<std::size_t>(cases.predicted.size());
    if (cases.happened.size() != n || cases.season.size() != n) {
        throw Error(fmt::format("there are {} predictions, {} findings and {} seasons", n, cases.happened.size(),
                                cases.season.size()));
    }
    if (!cases.predicted.allFinite()) throw Error("a prediction is not a number");
}

bool are_chances(const SeasonCases& cases) {
    return (cases.predicted.array() >= 0.0).all() && (cases.predicted.array() <= 1.0).all();
}

template <typename Keep>
SeasonCases chosen_cases(const SeasonCases& cases, Keep keep) {
    check_season_cases(cases);
    SeasonCases out;
    const auto n = std::count_if(cases.season.begin(), cases.season.end(), keep);
    out.predicted.resize(n);
    Eigen::Index at = 0;
    for (std::size_t i = 0; i < cases.season.size(); ++i) {
        if (!keep(cases.season[i])) continue;
        out.predicted[at++] = cases.predicted[static_cast<Eigen::Index>(i)];
        out.happened.push_back(cases.happened[i]);
        out.season.push_back(cases.season[i]);
    }
    return out;
}

struct EventCounts {
    double events = 0.0, non_events = 0.0;
};
EventCounts event_counts(const SeasonCases& cases) {
    const auto events = static_cast<double>(std::count(cases.happened.begin(), cases.happened.end(), true));
    return {events, static_cast<double>(cases.happened.size()) - events};
}

double share_of_events(const EventCounts& kinds) {
    return kinds.events / (kinds.events + kinds.non_events);
}

double logit_of_chance(double chance) {
    const double kept = std::clamp(chance, 0.001, 0.999);
    return std::log(kept / (1.0 - kept));
}

/// Standard error over groups of a number by its values without each of them; h is n / m of the group.
double delete_group_error(double all, const std::vector<double>& without, const std::vector<double>& h) {
    const auto g = static_cast<double>(without.size());
    double centre = g * all;
    for (std::size_t j = 0; j < without.size(); ++j) centre -= (1.0 - 1.0 / h[j]) * without[j];
    double variance = 0.0;
    for (std::size_t j = 0; j < without.size(); ++j) {
        const double pseudo = h[j] * all - (h[j] - 1.0) * without[j];
        variance += (pseudo - centre) * (pseudo - centre) / (h[j] - 1.0) / g;
    }
    return std::sqrt(variance);
}

LogisticFit fit_local_logit(const SeasonCases& cases, const CalibrationPrior& prior) {
    Eigen::MatrixXd design(cases.predicted.size(), 2);
    design.col(0).setOnes();
    for (Eigen::Index i = 0; i < design.rows(); ++i) design(i, 1) = logit_of_chance(cases.predicted[i]);
    CoefficientPrior around;
    around.mean = Eigen::Vector2d(0.0, 1.0);
    around.sd = Eigen::Vector2d(prior.intercept_sd, prior.slope_sd);
    return fit_logistic(design, cases.happened, around);
}

double brought_to_place(double published, double intercept, double slope) {
    return 1.0 / (1.0 + std::exp(-(intercept + slope * logit_of_chance(published))));
}

}  // namespace

std::vector<int> seasons_of(const SeasonCases& cases) {
    std::vector<int> seasons = cases.season;
    std::sort(seasons.begin(), seasons.end());
    seasons.erase(std::unique(seasons.begin(), seasons.end()), seasons.end());
    return seasons;
}

SeasonCases only_season(const SeasonCases& cases, int season) {
    return chosen_cases(cases, [season](int other) { return other == season; });
}

SeasonCases without_season(const SeasonCases& cases, int season) {
    return chosen_cases(cases, [season](int other) { return other != season; });
}

std::vector<SeasonTally> tally_of_seasons(const SeasonCases& cases) {
    check_season_cases(cases);
    const bool chances = are_chances(cases);
    std::vector<SeasonTally> all;
    for (const int season : seasons_of(cases)) {
        const SeasonCases here = only_season(cases, season);
        SeasonTally tally;
        tally.season = season;
        tally.n = static_cast<int>(here.happened.size());
        tally.events = static_cast<int>(event_counts(here).events);
        tally.mean_predicted = here.predicted.mean();
        tally.auc = area_under_curve(here);
        if (chances) tally.brier = brier_score(here);
        all.push_back(tally);
    }
    return all;
}

std::optional<double> area_under_curve(const SeasonCases& cases) {
    check_season_cases(cases);
    const EventCounts kinds = event_counts(cases);
    if (kinds.events == 0.0 || kinds.non_events == 0.0) return std::nullopt;
    // By the sum of the ranks of the events, ties at their mean rank (Mann & Whitney 1947).
    std::vector<std::size_t> order(cases.happened.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    const auto value = [&](std::size_t i) { return cases.predicted[static_cast<Eigen::Index>(i)]; };
    std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return value(a) < value(b); });
    double ranks = 0.0;
    for (std::size_t at = 0; at < order.size();) {
        std::size_t end = at;
        double events = 0.0;
        for (; end < order.size() && value(order[end]) == value(order[at]); ++end)
            events += cases.happened[order[end]] ? 1.0 : 0.0;
        ranks += events * 0.5 * static_cast<double>(at + end + 1);
        at = end;
    }
    return (ranks - 0.5 * kinds.events * (kinds.events + 1.0)) / (kinds.events * kinds.non_events);
}

std::optional<double> area_within_seasons(const SeasonCases& cases) {
    check_season_cases(cases);
    double pairs = 0.0, sum = 0.0;
    for (const int season : seasons_of(cases)) {
        const SeasonCases here = only_season(cases, season);
        const EventCounts kinds = event_counts(here);
        if (const auto area = area_under_curve(here)) {
            pairs += kinds.events * kinds.non_events;
            sum += kinds.events * kinds.non_events * *area;
        }
    }
    return pairs > 0.0 ? std::optional(sum / pairs) : std::nullopt;
}

std::vector<OperatingPoint> operating_curve(const SeasonCases& cases) {
    check_season_cases(cases);
    const EventCounts all = event_counts(cases);
    if (all.events == 0.0 || all.non_events == 0.0) return {};
    std::vector<std::size_t> order(cases.happened.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    const auto value = [&](std::size_t i) { return cases.predicted[static_cast<Eigen::Index>(i)]; };
    std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return value(a) > value(b); });
    std::vector<OperatingPoint> curve(1);
    double events = 0.0, non_events = 0.0;
    for (std::size_t at = 0; at < order.size(); ++at) {
        (cases.happened[order[at]] ? events : non_events) += 1.0;
        if (at + 1 < order.size() && value(order[at + 1]) == value(order[at])) continue;
        curve.push_back({non_events / all.non_events, events / all.events});
    }
    return curve;
}

std::optional<double> brier_score(const SeasonCases& cases) {
    check_season_cases(cases);
    if (cases.happened.empty()) return std::nullopt;
    double sum = 0.0;
    for (std::size_t i = 0; i < cases.happened.size(); ++i) {
        const double miss = cases.predicted[static_cast<Eigen::Index>(i)] - (cases.happened[i] ? 1.0 : 0.0);
        sum += miss * miss;
    }
    return sum / static_cast<double>(cases.happened.size());
}

Eigen::VectorXd climatology_of_others(const SeasonCases& cases) {
    check_season_cases(cases);
    const std::vector<int> seasons = seasons_of(cases);
    if (seasons.size() < 2) {
        throw Error(counted(static_cast<long long>(seasons.size()), "season") + " has no other seasons beside it", "",
                    "at least two seasons are needed");
    }
    Eigen::VectorXd shares(cases.predicted.size());
    for (const int season : seasons) {
        const double share = share_of_events(event_counts(without_season(cases, season)));
        for (std::size_t i = 0; i < cases.season.size(); ++i) {
            if (cases.season[i] == season) shares[static_cast<Eigen::Index>(i)] = share;
        }
    }
    return shares;
}

std::optional<double> skill_against_climatology(const SeasonCases& cases) {
    if (seasons_of(cases).size() < 2) return std::nullopt;
    SeasonCases without_model = cases;
    without_model.predicted = climatology_of_others(cases);
    const double reference = *brier_score(without_model);
    if (!(reference > 0.0)) return std::nullopt;
    return 1.0 - *brier_score(cases) / reference;
}

OverSeasons over_seasons(const SeasonCases& cases, const SeasonStatistic& statistic, double low, double high) {
    check_season_cases(cases);
    OverSeasons out;
    out.value = statistic(cases);
    const std::vector<int> seasons = seasons_of(cases);
    const auto n = static_cast<double>(cases.season.size());
    std::vector<double> without, h;
    for (const int season : seasons) {
        const SeasonCases rest = without_season(cases, season);
        const auto value = rest.season.empty() ? std::nullopt : statistic(rest);
        out.without.push_back({season, value});
        if (value) without.push_back(*value);
        h.push_back(n / (n - static_cast<double>(rest.season.size())));
        if (!value && out.not_told.empty())
            out.not_told = fmt::format("without season {} the number cannot be worked out", season);
    }
    if (static_cast<int>(seasons.size()) < least_seasons) {
        out.not_told = fmt::format("from {} nothing can be told of other seasons; it takes {}",
                                   counted(static_cast<long long>(seasons.size()), "season"), least_seasons);
    } else if (!out.value) {
        out.not_told = "the number cannot be worked out";
    }
    if (!out.not_told.empty()) return out;
    out.standard_error = delete_group_error(*out.value, without, h);
    const double reach =
        interval_law::student_quantile(0.975, static_cast<double>(seasons.size()) - 1.0) * *out.standard_error;
    out.low95 = std::max(low, *out.value - reach);
    out.high95 = std::min(high, *out.value + reach);
    return out;
}

double LocalCalibration::apply(double published) const {
    return brought_to_place(published, intercept, slope);
}

LocalCalibration local_calibration(const SeasonCases& cases, const CalibrationPrior& prior) {
    check_season_cases(cases);
    if (!are_chances(cases)) throw Error("a prediction is no chance; an index has a rank only");
    if (!(prior.intercept_sd > 0.0) || !(prior.slope_sd > 0.0))
        throw Error("the prior needs standard deviations above 0");
    const std::vector<int> seasons = seasons_of(cases);
    if (seasons.size() < 2) {
        throw Error(counted(static_cast<long long>(seasons.size()), "season") +
                        " cannot be held back from a fit to "
                        "others",
                    "", "at least two seasons are needed");
    }
    LocalCalibration local;
    const LogisticFit all = fit_local_logit(cases, prior);
    local.intercept = all.coefficients[0];
    local.slope = all.coefficients[1];
    bool settled = all.settled, order_stays = local.slope > 0.0;
    const auto n = static_cast<double>(cases.season.size());
    for (const int season : seasons) {
        const LogisticFit fit = fit_local_logit(without_season(cases, season), prior);
        settled = settled && fit.settled;
        SeasonCases here = only_season(cases, season);
        LocalCalibration::LeftOut left;
        left.season = season;
        left.n = static_cast<int>(here.season.size());
        left.intercept = fit.coefficients[0];
        left.slope = fit.coefficients[1];
        order_stays = order_stays && left.slope > 0.0;
        left.brier_published = *brier_score(here);
        for (double& chance : here.predicted) chance = brought_to_place(chance, left.intercept, left.slope);
        left.brier_local = *brier_score(here);
        local.brier_published += left.n * left.brier_published / n;
        local.brier_local += left.n * left.brier_local / n;
        local.without.push_back(left);
    }
    const double gain = local.brier_published - local.brier_local;
    const auto g = static_cast<double>(seasons.size());
    double variance = 0.0;  // of a mean the delete-group jackknife is this
    for (const LocalCalibration::LeftOut& left : local.without) {
        const double apart = left.brier_published - left.brier_local - gain;
        variance += apart * apart * left.n / (n - left.n) / g;
    }
    local.gain_standard_error = std::sqrt(variance);
    const std::string scores = fmt::format("seasons that it had not seen: Brier {:.3f}, as published {:.3f}",
                                           local.brier_local, local.brier_published);
    if (static_cast<int>(seasons.size()) < least_seasons) {
        local.reason = fmt::format("not offered: {} cannot show that it helps in another; it takes {}",
                                   counted(static_cast<long long>(seasons.size()), "season"), least_seasons);
    } else if (!settled) {
        local.reason = "not offered: the fit did not settle";
    } else if (!order_stays) {
        local.reason = "not offered: it would turn the order of fields over";
    } else if (!(gain > 0.0)) {
        local.reason = "not offered: it does not help (" + scores + ")";
    } else if (!(gain > *local.gain_standard_error)) {
        local.reason = fmt::format("not offered: what it wins is within its error over seasons, {:.3f} ({})",
                                   *local.gain_standard_error, scores);
    } else {
        local.offered = true;
        local.reason = fmt::format("offered: it helps by more than its error over seasons, {:.3f} ({})",
                                   *local.gain_standard_error, scores);
    }
    return local;
}

ShareInterval share_interval(int events, int n) {
    if (n <= 0 || events < 0 || events > n) throw Error(fmt::format("{} of {} is no share", events, n));
    constexpr double z = 1.959963984540054;
    const double share = static_cast<double>(events) / n, z2 = z * z / n;
    const double middle = (share + 0.5 * z2) / (1.0 + z2);
    const double reach = z / (1.0 + z2) * std::sqrt(share * (1.0 - share) / n + 0.25 * z2 / n);
    return {share, std::max(0.0, middle - reach), std::min(1.0, middle + reach)};
}

}  // namespace models
