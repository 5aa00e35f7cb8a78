#include "models/decision/zone_split.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "models/decision/expected.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"

namespace models {

namespace split_parts {

constexpr double never = std::numeric_limits<double>::infinity();
constexpr double same_width = 1e-6;  // of a header

void check_split(const ZoneSplitProblem& problem) {
    const Eigen::MatrixXd& draws = problem.contents_mg_per_kg;
    if (draws.rows() == 0 || draws.cols() == 0) throw Error("no contents of swaths to divide a field by");
    if (problem.tonnes.size() != static_cast<std::size_t>(draws.cols()) ||
        problem.headers.size() != problem.tonnes.size())
        throw Error(fmt::format("{} swaths with contents, {} with tonnes and {} with a width", draws.cols(),
                                problem.tonnes.size(), problem.headers.size()),
                    "", "give one of each for every swath");
    double whole = 0.0;
    for (std::size_t s = 0; s < problem.tonnes.size(); ++s) {
        const double t = problem.tonnes[s];
        if (!(t >= 0.0) || !std::isfinite(t))
            throw Error(fmt::format("{} t in a swath is no mass", t), "", "give 0 or more");
        if (!(problem.headers[s] >= 0.0) || !std::isfinite(problem.headers[s]))
            throw Error(fmt::format("a swath of {} headers has no width", problem.headers[s]), "", "give 0 or more");
        whole += t;
        if (!(t > 0.0)) continue;
        const auto column = draws.col(static_cast<Eigen::Index>(s));
        if (!(column.array() >= 0.0).all() || !column.allFinite())
            throw Error(fmt::format("a content of swath {} is no number of 0 or more", s + 1));
    }
    if (!(whole > 0.0)) throw Error("there is no grain to divide", "", "give the tonnes of the swaths");
    const SplitCosts& costs = problem.costs;
    if (!(costs.taken_over_per_t > 0.0) || !(costs.kept_good_per_t > 0.0) || !std::isfinite(costs.taken_over_per_t) ||
        !std::isfinite(costs.kept_good_per_t))
        throw Error("a wrong decision that loses nothing divides no field", "", "give what a tonne loses, above 0");
    if (!(costs.line >= 0.0) || !std::isfinite(costs.line))
        throw Error(fmt::format("a line that costs {} is none", costs.line), "", "give 0 or more");
    if (problem.most_zones < 1)
        throw Error(fmt::format("{} zones are none", problem.most_zones), "", "ask for 1 or more");
    if (!(problem.least_headers >= 0.0) || !std::isfinite(problem.least_headers))
        throw Error(fmt::format("a least width of {} headers is none", problem.least_headers), "", "give 0 or more");
}

/// What each run of swaths loses, taken and kept apart.
class SplitLosses {
 public:
    explicit SplitLosses(const ZoneSplitProblem& problem)
        : problem_(problem),
          breaks_(breaking_point(problem.limit)),
          allowed_(problem.limit.mixing == Mixing::allowed),
          n_(static_cast<int>(problem.tonnes.size())) {
        const Eigen::Index draws = problem.contents_mg_per_kg.rows();
        mass_ = Eigen::MatrixXd::Zero(draws, n_ + 1);
        over_ = Eigen::MatrixXd::Zero(draws, n_ + 1);
        tonnes_.assign(static_cast<std::size_t>(n_) + 1, 0.0);
        width_.assign(static_cast<std::size_t>(n_) + 1, 0.0);
        for (int s = 0; s < n_; ++s) {
            const auto at = static_cast<std::size_t>(s);
            const double t = problem.tonnes[at];
            tonnes_[at + 1] = tonnes_[at] + t;
            width_[at + 1] = width_[at] + (t > 0.0 ? problem.headers[at] : 0.0);
            mass_.col(s + 1) = mass_.col(s);
            over_.col(s + 1) = over_.col(s);
            if (!(t > 0.0)) continue;
            for (Eigen::Index d = 0; d < draws; ++d) {
                const double content = problem.contents_mg_per_kg(d, s);
                mass_(d, s + 1) += t * content;
                if (breaks_.breaks(content)) over_(d, s + 1) += t;
            }
        }
        if (!allowed_) judge();
    }

    int swaths() const { return n_; }
    double tonnes(int from, int to) const {
        return tonnes_[static_cast<std::size_t>(to)] - tonnes_[static_cast<std::size_t>(from)];
    }
    bool wide_enough(int from, int to) const {
        return width_[static_cast<std::size_t>(to)] - width_[static_cast<std::size_t>(from)] >=
               problem_.least_headers - split_parts::same_width;
    }
    bool holds_over(int from, int to) const {
        return !allowed_ && first_judged_end_[static_cast<std::size_t>(from)] <= to;
    }

    /// In one draw, of swaths from to (without `to`).
    double loss(Eigen::Index draw, int from, int to, ZoneUse use) const {
        const double t = tonnes(from, to), over = over_(draw, to) - over_(draw, from);
        const bool mean_over = breaks_.breaks((mass_(draw, to) - mass_(draw, from)) / t);
        const SplitCosts& costs = problem_.costs;
        if (use == ZoneUse::taken) return costs.taken_over_per_t * (mean_over ? t : allowed_ ? 0.0 : over);
        return costs.kept_good_per_t * (allowed_ && !mean_over ? t : t - over);
    }
    double expected(int from, int to, ZoneUse use) const {
        if (use == ZoneUse::taken && holds_over(from, to)) return never;
        double sum = 0.0;
        const Eigen::Index draws = mass_.rows();
        for (Eigen::Index d = 0; d < draws; ++d) sum += loss(d, from, to, use);
        return sum / static_cast<double>(draws);
    }
    ZoneOfSwaths best_use(int from, int to) const {
        const double taken = expected(from, to, ZoneUse::taken), kept = expected(from, to, ZoneUse::kept_apart);
        return {from, to - 1, taken <= kept ? ZoneUse::taken : ZoneUse::kept_apart, tonnes(from, to),
                std::min(taken, kept)};
    }
    /// The likeliest ground judged over that shares a zone with ground that is better.
    void tell_of_over(ZoneSplit& split) const {
        double worst = 0.0;  // of as likely ones that with the higher content
        for (const ZoneOfSwaths& zone : split.zones) {
            if (judged_.empty() || chance_over(zone.first, zone.last + 1) > bound_) continue;
            for (const Judged& one : judged_) {
                if (one.from < zone.first || one.to > zone.last + 1 || one.chance < split.over_chance) continue;
                const double mean = mean_content(one.from, one.to);
                if (one.chance == split.over_chance && mean <= worst) continue;
                worst = mean;
                split.over_first = one.from;
                split.over_last = one.to - 1;
                split.over_chance = one.chance;
            }
        }
    }

 private:
    struct Judged {
        int from = 0, to = 0;
        double chance = 0.0;
    };
    double mean_content(int from, int to) const { return (mass_.col(to) - mass_.col(from)).mean() / tonnes(from, to); }
    double chance_over(int from, int to) const {
        int times = 0;
        const double t = tonnes(from, to);
        for (Eigen::Index d = 0; d < mass_.rows(); ++d)
            times += breaks_.breaks((mass_(d, to) - mass_(d, from)) / t) ? 1 : 0;
        return static_cast<double>(times) / static_cast<double>(mass_.rows());
    }
    void judge() {
        const SplitCosts& costs = problem_.costs;
        bound_ = std::max(0.5, costs.kept_good_per_t / (costs.taken_over_per_t + costs.kept_good_per_t));
        first_judged_end_.assign(static_cast<std::size_t>(n_) + 1, n_ + 1);
        for (int from = n_ - 1; from >= 0; --from) {
            const auto at = static_cast<std::size_t>(from);
            first_judged_end_[at] = first_judged_end_[at + 1];
            if (!(problem_.tonnes[at] > 0.0)) continue;
            int to = from + 1;
            while (to < n_ && !wide_enough(from, to)) ++to;
            if (!wide_enough(from, to)) continue;
            const double chance = chance_over(from, to);
            if (!(chance > bound_)) continue;
            first_judged_end_[at] = std::min(first_judged_end_[at], to);
            judged_.push_back({from, to, chance});
        }
        std::reverse(judged_.begin(), judged_.end());
    }

    const ZoneSplitProblem& problem_;
    BreakingPoint breaks_;
    bool allowed_ = false;
    int n_ = 0;
    Eigen::MatrixXd mass_, over_;         ///< draws x (swaths + 1): mg/kg x t and t over, of all swaths before
    std::vector<double> tonnes_, width_;  ///< likewise
    std::vector<int> first_judged_end_;   ///< of ground judged over that begins there or later
    double bound_ = 1.0;
    std::vector<Judged> judged_;
};

ZoneSplit finished(const ZoneSplitProblem& problem, const SplitLosses& losses, std::vector<ZoneOfSwaths> zones) {
    const ZoneOfSwaths whole = losses.best_use(0, losses.swaths());
    ZoneSplit split;
    split.whole_use = whole.use;
    split.loss_of_whole = whole.loss;
    split.zones = std::move(zones);
    for (const ZoneOfSwaths& zone : split.zones) split.loss += zone.loss;
    split.earns =
        split.loss_of_whole - split.loss - problem.costs.line * (static_cast<double>(split.zones.size()) - 1.0);
    losses.tell_of_over(split);
    return split;
}

/// The least loss of the swaths before each place in so many zones, the last of them with that use.
struct Standing {
    double loss = never;
    int from = -1;  ///< where the last zone begins
};

}  // namespace split_parts

const char* in_words(ZoneUse use) {
    return use == ZoneUse::taken ? "taken" : "kept apart";
}

ZoneSplit best_zones(const ZoneSplitProblem& problem) {
    namespace parts = split_parts;
    parts::check_split(problem);
    const parts::SplitLosses losses(problem);
    const int n = losses.swaths(), most = std::min(problem.most_zones, n);
    constexpr ZoneUse uses[] = {ZoneUse::taken, ZoneUse::kept_apart};
    const auto at = [&](int k, int to, int use) {
        return static_cast<std::size_t>(((k - 1) * (n + 1) + to) * 2 + use);
    };
    std::vector<parts::Standing> best(static_cast<std::size_t>(most) * static_cast<std::size_t>(n + 1) * 2);
    for (int from = 0; from < n && most > 1; ++from)
        for (int to = from + 1; to <= n; ++to) {
            if (!losses.wide_enough(from, to) || !(losses.tonnes(from, to) > 0.0)) continue;
            for (int use = 0; use < 2; ++use) {
                const double loss = losses.expected(from, to, uses[use]);
                for (int k = 1; k <= most; ++k) {
                    if ((k == 1) != (from == 0)) continue;  // only the first zone begins with the first swath
                    const double before = k == 1 ? 0.0 : best[at(k - 1, from, 1 - use)].loss;
                    parts::Standing& standing = best[at(k, to, use)];
                    if (before + loss < standing.loss) standing = {before + loss, from};
                }
            }
        }
    std::vector<ZoneOfSwaths> zones = {losses.best_use(0, n)};
    // Sums of losses in another order differ in their last digits; a line is worth more than that.
    const double rounding =
        1e-9 * losses.tonnes(0, n) * std::max(problem.costs.taken_over_per_t, problem.costs.kept_good_per_t);
    double best_value = zones.front().loss;
    for (int k = 2; k <= most; ++k)
        for (int use = 0; use < 2; ++use) {
            const double value = best[at(k, n, use)].loss + problem.costs.line * (k - 1);
            if (!(value < best_value - rounding)) continue;
            best_value = value;
            zones.clear();
            for (int zone = k, to = n, u = use; zone >= 1; --zone, u = 1 - u) {
                const int from = best[at(zone, to, u)].from;
                zones.push_back({from, to - 1, uses[u], losses.tonnes(from, to), losses.expected(from, to, uses[u])});
                to = from;
            }
            std::reverse(zones.begin(), zones.end());
        }
    return parts::finished(problem, losses, std::move(zones));
}

ZoneSplit zones_at(const ZoneSplitProblem& problem, const std::vector<int>& first_swaths) {
    namespace parts = split_parts;
    parts::check_split(problem);
    const parts::SplitLosses losses(problem);
    if (first_swaths.empty() || first_swaths.front() != 0)
        throw Error("the first zone begins with the first swath", "", "begin the lines with 0");
    std::vector<ZoneOfSwaths> zones;
    for (std::size_t z = 0; z < first_swaths.size(); ++z) {
        const int from = first_swaths[z], to = z + 1 < first_swaths.size() ? first_swaths[z + 1] : losses.swaths();
        if (from >= to || to > losses.swaths())
            throw Error(fmt::format("a zone from swath {} to {} is none of {} swaths", from + 1, to, losses.swaths()),
                        "", "give lines that rise, within the field");
        if (!(losses.tonnes(from, to) > 0.0))
            throw Error(fmt::format("the zone from swath {} to {} holds no grain", from + 1, to));
        zones.push_back(losses.best_use(from, to));
    }
    return parts::finished(problem, losses, std::move(zones));
}

SplitWorth worth_of(const ZoneSplitProblem& problem, const ZoneSplit& split) {
    namespace parts = split_parts;
    parts::check_split(problem);
    const parts::SplitLosses losses(problem);
    int next = 0;
    for (const ZoneOfSwaths& zone : split.zones) {
        if (zone.first != next || zone.last < zone.first || zone.last >= losses.swaths())
            throw Error("the division is not one of these swaths");
        next = zone.last + 1;
    }
    if (next != losses.swaths()) throw Error("the division is not one of these swaths");
    const Eigen::Index draws = problem.contents_mg_per_kg.rows();
    const double lines = problem.costs.line * (static_cast<double>(split.zones.size()) - 1.0);
    Eigen::VectorXd worth(draws);
    for (Eigen::Index d = 0; d < draws; ++d) {
        worth[d] = losses.loss(d, 0, losses.swaths(), split.whole_use) - lines;
        for (const ZoneOfSwaths& zone : split.zones) worth[d] -= losses.loss(d, zone.first, zone.last + 1, zone.use);
    }
    SplitWorth told;
    told.mean = worth.mean();
    told.low90 = quantile_of_draws(worth, 0.05);
    told.high90 = quantile_of_draws(worth, 0.95);
    told.chance_it_pays = static_cast<double>((worth.array() > 0.0).count()) / static_cast<double>(draws);
    return told;
}

}  // namespace models
