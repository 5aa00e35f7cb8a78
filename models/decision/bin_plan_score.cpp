#include "models/decision/bin_plan_score.h"

#include <algorithm>
#include <cctype>
#include <map>

#include "models/assay/basis.h"
#include "models/decision/expected.h"
#include "models/decision/limit_rule.h"

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

/// 1 in every draw in which grain of that content breaks the limit. Without draws its own results are all there is.
Eigen::ArrayXd breaking_draws(const BinPlanProblem& problem, std::size_t grain, const Limit& limit) {
    if (problem.draws_mg_per_kg.size() == 0) {
        const bool over =
            clear_grain(problem.grain[grain].results, std::nullopt, limit, problem.caps).state == ClearingState::over;
        return Eigen::ArrayXd::Constant(1, over ? 1.0 : 0.0);
    }
    const BreakingPoint point = breaking_point(limit);
    const double factor = factor_to(limit.basis, problem.grain[grain].moisture);
    return problem.draws_mg_per_kg.col(static_cast<Eigen::Index>(grain))
        .unaryExpr([&](double content) { return point.breaks(content * factor) ? 1.0 : 0.0; })
        .array();
}

}  // namespace bin_plan_score_parts

Clearing clear_for_bin(const BinPlanProblem& problem, std::size_t grain, const BinForPlan& bin) {
    const WaitingGrain& waiting = problem.grain[grain];
    Clearing clearing;
    if (!bin.limit) {
        clearing.reason = "bin " + bin.bin.bin + " has no limit to clear it for";
        clearing.in_short = bin.bin.bin + " has no limit";
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
        clearing.reason = waiting.known_over_reason.empty() ? "it is recorded as over" : waiting.known_over_reason;
        clearing.in_short = "recorded as over";
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

std::optional<Eigen::VectorXd> mean_after(const BinPlanProblem& problem, std::size_t bin,
                                          const std::vector<std::size_t>& grain) {
    const BinForPlan& there = problem.bins[bin];
    const Eigen::Index n =
        problem.draws_mg_per_kg.size() > 0 ? problem.draws_mg_per_kg.rows() : there.content_draws_mg_per_kg.size();
    if (there.content_t > 0.0 && there.content_draws_mg_per_kg.size() == 0) return std::nullopt;
    if (!grain.empty() && problem.draws_mg_per_kg.size() == 0) return std::nullopt;
    const Basis basis = bin_plan_score_parts::basis_of(there);
    Eigen::VectorXd sum = Eigen::VectorXd::Zero(n);
    double counted_t = 0.0;
    if (there.content_t > 0.0) {
        sum += there.content_t * there.content_draws_mg_per_kg;
        counted_t += there.content_t / bin_plan_score_parts::factor_to(basis, there.content_moisture);
    }
    for (const std::size_t g : grain) {
        sum += problem.grain[g].mass_t * problem.draws_mg_per_kg.col(static_cast<Eigen::Index>(g));
        counted_t += problem.grain[g].mass_t / bin_plan_score_parts::factor_to(basis, problem.grain[g].moisture);
    }
    if (!(counted_t > 0.0)) return std::nullopt;
    return sum / counted_t;
}

PlanScore score_of(const BinPlanProblem& problem, const std::string& rule, const std::vector<int>& bin_of_grain) {
    using bin_plan_score_parts::breaking_draws;
    PlanScore score;
    score.rule = rule;
    const Eigen::Index n = std::max<Eigen::Index>(1, problem.draws_mg_per_kg.rows());

    // Good elsewhere is measured against the mildest food limit there is a bin for.
    const auto mildest_food_limit = [&](const WaitingGrain& grain) {
        const Limit* mildest = nullptr;
        for (const BinForPlan& bin : problem.bins) {
            if (bin.bin.purpose != Purpose::food || !bin.limit || !speaks_of(bin, grain)) continue;
            if (!mildest || bin.limit->limit_mg_per_kg > mildest->limit_mg_per_kg) mildest = &*bin.limit;
        }
        return mildest;
    };

    std::map<int, std::pair<double, Eigen::ArrayXd>> food;  // tonnes and draws in which something in it is over
    double feed_t = 0.0, other_t = 0.0;
    for (std::size_t g = 0; g < problem.grain.size(); ++g) {
        const WaitingGrain& grain = problem.grain[g];
        const int b = bin_of_grain[g];
        const BinForPlan* bin = b == not_placed ? nullptr : &problem.bins[static_cast<std::size_t>(b)];
        if (bin && bin->bin.purpose == Purpose::hold) {
            score.tonnes_held += grain.mass_t;
            continue;
        }
        if (bin && bin->bin.purpose == Purpose::food) {
            score.tonnes_in_food_bins += grain.mass_t;
            if (clear_for_bin(problem, g, *bin).state != ClearingState::cleared) {
                score.tonnes_not_cleared_in_food_bins += grain.mass_t;
            }
            auto& [mass_t, spoilt] = food[b];
            if (spoilt.size() == 0) {
                spoilt = Eigen::ArrayXd::Zero(n);
                if (bin->limit && bin->content_t > 0.0 && bin->content_draws_mg_per_kg.size() == n) {
                    const BreakingPoint point = breaking_point(*bin->limit);
                    spoilt = content_for_limit(*bin).array().unaryExpr(
                        [&](double content) { return point.breaks(content) ? 1.0 : 0.0; });
                }
            }
            mass_t += grain.mass_t;
            if (bin->limit) {
                const Eigen::ArrayXd over = breaking_draws(problem, g, *bin->limit);
                score.tonnes_over_in_food_bins += grain.mass_t * over.mean();
                spoilt = spoilt.max(over);
            }
            continue;
        }
        if (bin) (bin->bin.purpose == Purpose::feed ? feed_t : other_t) += grain.mass_t;
        if (const Limit* limit = mildest_food_limit(grain)) {
            score.tonnes_good_elsewhere += grain.mass_t * (1.0 - breaking_draws(problem, g, *limit).mean());
        }
    }
    for (const auto& [bin, content] : food) score.tonnes_spoilt_in_food_bins += content.first * content.second.mean();
    if (problem.prices) {
        score.value = problem.prices->food_per_t * (score.tonnes_in_food_bins - score.tonnes_spoilt_in_food_bins) -
                      problem.prices->wrong_acceptance_per_t * score.tonnes_spoilt_in_food_bins +
                      problem.prices->feed_per_t * feed_t + problem.prices->other_per_t * other_t;
    } else {
        score.value = score.tonnes_in_food_bins - score.tonnes_spoilt_in_food_bins - score.tonnes_good_elsewhere;
    }
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
