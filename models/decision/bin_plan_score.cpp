#include "models/decision/bin_plan_score.h"

#include <algorithm>
#include <cctype>
#include <map>

#include "models/assay/basis.h"
#include "models/decision/bin_value.h"
#include "models/decision/expected.h"
#include "models/decision/limit_rule.h"
#include "models/spoken.h"

namespace models {

namespace bin_plan_score_parts {

constexpr double room_slack_t = 1e-9;

std::string lower(std::string text) {
    std::transform(text.begin(), text.end(), text.begin(),
                   [](unsigned char letter) { return static_cast<char>(std::tolower(letter)); });
    return text;
}

/// Bins as they fill while a habit is followed.
class Filling {
 public:
    explicit Filling(const BinPlanProblem& problem) : problem_(problem), tags_(problem.bins.size()) {
        for (const BinForPlan& bin : problem.bins) content_t_.push_back(bin.content_t);
        for (std::size_t b = 0; b < problem.bins.size(); ++b) {
            if (problem.bins[b].content_t > 0.0 || !tag_of(problem.bins[b]).empty()) tags_[b] = tag_of(problem.bins[b]);
        }
    }
    bool takes(std::size_t b, const WaitingGrain& grain) const {
        return content_t_[b] + grain.mass_t <= problem_.bins[b].bin.capacity_t + room_slack_t &&
               (!tags_[b] || *tags_[b] == grain.keep_apart);
    }
    void add(std::size_t b, const WaitingGrain& grain) {
        content_t_[b] += grain.mass_t;
        tags_[b] = grain.keep_apart;
    }

 private:
    const BinPlanProblem& problem_;
    std::vector<double> content_t_;
    std::vector<std::optional<std::string>> tags_;
};

constexpr Purpose in_order[] = {Purpose::food, Purpose::feed, Purpose::other};

/// What a content as is becomes on a basis: times this.
double factor_to(Basis basis, double moisture) {
    return basis == Basis::as_is ? 1.0 : convert_basis(1.0, Basis::as_is, basis, moisture);
}
Basis basis_of(const BinForPlan& bin) {
    return bin.limit ? bin.limit->basis : Basis::as_is;
}

}  // namespace bin_plan_score_parts

Clearing clear_for_bin(const BinPlanProblem& problem, std::size_t grain, const BinForPlan& bin) {
    const WaitingGrain& waiting = problem.grain[grain];
    Clearing clearing;
    if (!bin.limit) {
        clearing.reason = phrase("bin {} has no limit to clear it for", bin.bin.bin);
        clearing.in_short = phrase("{} has no limit", bin.bin.bin);
        return clearing;
    }
    std::optional<double> exceedance;
    if (problem.draws_mg_per_kg.size() > 0) {
        const double factor = bin_plan_score_parts::factor_to(bin.limit->basis, waiting.moisture);
        exceedance =
            exceedance_of_draws(problem.draws_mg_per_kg.col(static_cast<Eigen::Index>(grain)) * factor, *bin.limit);
    }
    clearing = clear_grain(waiting.results, exceedance, *bin.limit, problem.caps);
    if (waiting.known_over && bin.bin.purpose == Purpose::food && clearing.state != ClearingState::over) {
        clearing.state = ClearingState::over;
        clearing.reason =
            waiting.known_over_reason.empty() ? phrase("it is recorded as over") : waiting.known_over_reason;
        clearing.in_short = phrase("recorded as over");
    }
    return clearing;
}

bool speaks_of(const BinForPlan& bin, const WaitingGrain& grain) {
    if (!bin.limit || bin.limit->commodity.empty() || grain.commodity.empty()) return true;
    return bin_plan_score_parts::lower(bin.limit->commodity) == bin_plan_score_parts::lower(grain.commodity);
}

std::string tag_of(const BinForPlan& bin) {
    if (!bin.bin.keep_apart.empty()) return bin.bin.keep_apart;
    return bin.content_t > 0.0 ? bin.content_keep_apart : "";
}

Eigen::VectorXd content_for_limit(const BinForPlan& bin) {
    using namespace bin_plan_score_parts;
    return bin.content_draws_mg_per_kg * factor_to(basis_of(bin), bin.content_moisture);
}

std::vector<Sent> sent_whole(const BinPlanProblem& problem, const std::vector<int>& bin_of_grain) {
    std::vector<Sent> sent;
    for (std::size_t g = 0; g < bin_of_grain.size(); ++g) {
        if (bin_of_grain[g] == not_placed) continue;
        sent.push_back({g, static_cast<std::size_t>(bin_of_grain[g]), problem.grain[g].mass_t});
    }
    return sent;
}

double counted_per_t(const BinPlanProblem& problem, std::size_t bin, std::size_t grain) {
    using namespace bin_plan_score_parts;
    return 1.0 / factor_to(basis_of(problem.bins[bin]), problem.grain[grain].moisture);
}

double content_counted_per_t(const BinForPlan& bin) {
    using namespace bin_plan_score_parts;
    return 1.0 / factor_to(basis_of(bin), bin.content_moisture);
}

Eigen::ArrayXd breaking_draws(const BinPlanProblem& problem, std::size_t grain, const Limit& limit) {
    if (problem.draws_mg_per_kg.size() == 0) {
        const bool over =
            clear_grain(problem.grain[grain].results, std::nullopt, limit, problem.caps).state == ClearingState::over;
        return Eigen::ArrayXd::Constant(1, over ? 1.0 : 0.0);
    }
    const BreakingPoint point = breaking_point(limit);
    const double factor = bin_plan_score_parts::factor_to(limit.basis, problem.grain[grain].moisture);
    return problem.draws_mg_per_kg.col(static_cast<Eigen::Index>(grain))
        .unaryExpr([&](double content) { return point.breaks(content * factor) ? 1.0 : 0.0; })
        .array();
}

std::optional<Eigen::ArrayXd> content_breaking_draws(const BinForPlan& bin) {
    if (!bin.limit || !(bin.content_t > 0.0) || bin.content_draws_mg_per_kg.size() == 0) return std::nullopt;
    const BreakingPoint point = breaking_point(*bin.limit);
    return Eigen::ArrayXd(
        content_for_limit(bin).array().unaryExpr([&](double content) { return point.breaks(content) ? 1.0 : 0.0; }));
}

std::optional<Eigen::VectorXd> mean_after(const BinPlanProblem& problem, std::size_t bin,
                                          const std::vector<std::size_t>& grain) {
    std::vector<Sent> sent;
    for (const std::size_t g : grain) sent.push_back({g, bin, problem.grain[g].mass_t});
    return mean_after(problem, bin, sent);
}

std::optional<Eigen::VectorXd> mean_after(const BinPlanProblem& problem, std::size_t bin,
                                          const std::vector<Sent>& sent) {
    const BinForPlan& there = problem.bins[bin];
    const Eigen::Index n =
        problem.draws_mg_per_kg.size() > 0 ? problem.draws_mg_per_kg.rows() : there.content_draws_mg_per_kg.size();
    if (there.content_t > 0.0 && there.content_draws_mg_per_kg.size() == 0) return std::nullopt;
    Eigen::VectorXd sum = Eigen::VectorXd::Zero(n);
    double counted_t = 0.0;
    if (there.content_t > 0.0) {
        sum += there.content_t * there.content_draws_mg_per_kg;
        counted_t += there.content_t * content_counted_per_t(there);
    }
    for (const Sent& one : sent) {
        if (one.bin != bin) continue;
        if (problem.draws_mg_per_kg.size() == 0) return std::nullopt;
        sum += one.mass_t * problem.draws_mg_per_kg.col(static_cast<Eigen::Index>(one.grain));
        counted_t += one.mass_t * counted_per_t(problem, bin, one.grain);
    }
    if (!(counted_t > 0.0)) return std::nullopt;
    return sum / counted_t;
}

PlanScore score_of(const BinPlanProblem& problem, const std::string& rule, const std::vector<Sent>& sent) {
    PlanScore score;
    score.rule = rule;

    // Good elsewhere is measured against the mildest food limit there is a bin for.
    const auto mildest_food_limit = [&](const WaitingGrain& grain) {
        const Limit* mildest = nullptr;
        for (const BinForPlan& bin : problem.bins) {
            if (bin.bin.purpose != Purpose::food || !bin.limit || !speaks_of(bin, grain)) continue;
            if (!mildest || bin.limit->limit_mg_per_kg > mildest->limit_mg_per_kg) mildest = &*bin.limit;
        }
        return mildest;
    };

    std::vector<double> good_t(problem.grain.size());  // in feed, other or nowhere
    for (std::size_t g = 0; g < problem.grain.size(); ++g) good_t[g] = problem.grain[g].mass_t;
    std::vector<double> food_t(problem.bins.size(), 0.0);
    for (const Sent& one : sent) {
        const BinForPlan& bin = problem.bins[one.bin];
        if (bin.bin.purpose == Purpose::hold) {
            score.tonnes_held += one.mass_t;
            good_t[one.grain] -= one.mass_t;
        }
        if (bin.bin.purpose != Purpose::food) continue;
        good_t[one.grain] -= one.mass_t;
        food_t[one.bin] += one.mass_t;
        score.tonnes_in_food_bins += one.mass_t;
        if (clear_for_bin(problem, one.grain, bin).state != ClearingState::cleared) {
            score.tonnes_not_cleared_in_food_bins += one.mass_t;
        }
        if (bin.limit)
            score.tonnes_over_in_food_bins += one.mass_t * breaking_draws(problem, one.grain, *bin.limit).mean();
    }
    for (std::size_t b = 0; b < problem.bins.size(); ++b) {
        if (food_t[b] > 0.0) score.tonnes_spoilt_in_food_bins += food_t[b] * spoilt_draws(problem, b, sent).mean();
    }
    for (std::size_t g = 0; g < problem.grain.size(); ++g) {
        if (!(good_t[g] > 1e-9)) continue;
        if (const Limit* limit = mildest_food_limit(problem.grain[g])) {
            score.tonnes_good_elsewhere += good_t[g] * (1.0 - breaking_draws(problem, g, *limit).mean());
        }
    }
    score.value = problem.prices
                      ? money_of(problem, sent)
                      : score.tonnes_in_food_bins - score.tonnes_spoilt_in_food_bins - score.tonnes_good_elsewhere;
    return score;
}

std::vector<int> first_come(const BinPlanProblem& problem) {
    bin_plan_score_parts::Filling filling(problem);
    std::vector<int> placed;
    for (const WaitingGrain& grain : problem.grain) {
        int into = not_placed;
        for (const Purpose purpose : bin_plan_score_parts::in_order) {
            for (std::size_t b = 0; b < problem.bins.size() && into == not_placed; ++b) {
                if (problem.bins[b].bin.purpose == purpose && filling.takes(b, grain)) into = static_cast<int>(b);
            }
        }
        if (into != not_placed) filling.add(static_cast<std::size_t>(into), grain);
        placed.push_back(into);
    }
    return placed;
}

std::vector<int> own_number_against_the_limit(const BinPlanProblem& problem) {
    bin_plan_score_parts::Filling filling(problem);
    std::vector<int> placed;
    for (const WaitingGrain& grain : problem.grain) {
        const OwnResult* latest = nullptr;
        for (const OwnResult& result : grain.results) {
            if (result.reading != Reading::invalid) latest = &result;
        }
        int into = not_placed;
        const auto look = [&](Purpose purpose) {
            for (std::size_t b = 0; b < problem.bins.size() && into == not_placed; ++b) {
                const BinForPlan& bin = problem.bins[b];
                if (bin.bin.purpose != purpose || !filling.takes(b, grain)) continue;
                if (purpose != Purpose::hold && bin.limit &&
                    outcome_of(latest->reading, on_basis(*latest, bin.limit->basis).don_mg_per_kg, *bin.limit) !=
                        LimitOutcome::meets) {
                    continue;
                }
                into = static_cast<int>(b);
            }
        };
        if (latest) {
            for (const Purpose purpose : bin_plan_score_parts::in_order) look(purpose);
        } else {
            look(Purpose::hold);
        }
        if (into != not_placed) filling.add(static_cast<std::size_t>(into), grain);
        placed.push_back(into);
    }
    return placed;
}

std::vector<int> one_bin_per_grower(const BinPlanProblem& problem) {
    bin_plan_score_parts::Filling filling(problem);
    std::vector<int> placed;
    std::map<std::size_t, std::string> grower_of_bin;
    for (const WaitingGrain& grain : problem.grain) {
        int into = not_placed;
        for (const bool own : {true, false}) {
            for (std::size_t b = 0; b < problem.bins.size() && into == not_placed; ++b) {
                if (problem.bins[b].bin.purpose != Purpose::food || !filling.takes(b, grain)) continue;
                const auto owner = grower_of_bin.find(b);
                const bool is_own = owner != grower_of_bin.end() && owner->second == grain.grower;
                if (own ? is_own : owner == grower_of_bin.end()) into = static_cast<int>(b);
            }
        }
        if (into != not_placed) {
            grower_of_bin[static_cast<std::size_t>(into)] = grain.grower;
            filling.add(static_cast<std::size_t>(into), grain);
        }
        placed.push_back(into);
    }
    return placed;
}

}  // namespace models
