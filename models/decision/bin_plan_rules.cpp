#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>

#include <fmt/format.h>

#include "models/decision/bin_plan.h"
#include "models/decision/bin_plan_score.h"
#include "models/decision/expected.h"

namespace models {

namespace bin_plan_rules_parts {

constexpr double mass_slack_t = 1e-6;  // one gram

/// Each bin by itself: room, tags, closing, known content, cap.
void check_bin(const BinPlanProblem& problem, std::size_t b, const std::vector<Sent>& inside,
               std::vector<std::string>& broken) {
    const BinForPlan& bin = problem.bins[b];
    const std::string& name = bin.bin.bin;
    if (inside.empty()) return;
    double mass_t = bin.content_t;
    for (const Sent& one : inside) mass_t += one.mass_t;
    if (mass_t > bin.bin.capacity_t + mass_slack_t) {
        broken.push_back(fmt::format("{:.3f} t lie in bin {}, which holds {:.3f} t", mass_t, name, bin.bin.capacity_t));
    }
    if (bin.closed) broken.push_back(fmt::format("bin {} is closed and is filled", name));
    for (const Sent& one : inside) {
        const std::size_t g = one.grain;
        const std::string& tag = problem.grain[g].keep_apart;
        const bool meets_other = tag != problem.grain[inside.front().grain].keep_apart ||
                                 (!bin.bin.keep_apart.empty() && tag != bin.bin.keep_apart) ||
                                 (bin.content_t > 0.0 && tag != tag_of(bin));
        if (meets_other) {
            broken.push_back(fmt::format("{} (tag \"{}\") meets grain with another tag in bin {}",
                                         problem.grain[g].name, tag, name));
        }
    }
    if (bin.bin.purpose == Purpose::hold || !bin.limit) return;
    if (bin.content_t > 0.0) {
        if (bin.content_draws_mg_per_kg.size() == 0) {
            broken.push_back(fmt::format("what lies in bin {} is not known and it is filled", name));
            return;
        }
        if (exceedance_of_draws(content_for_limit(bin), *bin.limit) > problem.bin_cap) {
            broken.push_back(fmt::format("grain is put to thin what lies in bin {}, over its limit", name));
        }
    }
    const auto mean = mean_after(problem, b, inside);
    if (!mean || exceedance_of_draws(*mean, *bin.limit) > problem.bin_cap) {
        broken.push_back(fmt::format("the mean of bin {} is over its limit more often than its cap allows", name));
    }
}

/// The best and the worst that grain has against the limits of one purpose's bins.
struct Stand {
    bool cleared = false, undecided = false;
};
Stand stand_of(const BinPlanProblem& problem, std::size_t g, Purpose purpose) {
    Stand stand;
    for (const BinForPlan& bin : problem.bins) {
        if (bin.bin.purpose != purpose || !bin.limit || !speaks_of(bin, problem.grain[g])) continue;
        const ClearingState state = clear_for_bin(problem, g, bin).state;
        stand.cleared = stand.cleared || state == ClearingState::cleared;
        stand.undecided = stand.undecided || state == ClearingState::undecided;
    }
    return stand;
}

/// Each grain in its bin: cleared for the bin's own limit, and nowhere but on hold while it is undecided, and on hold
/// only then.
void check_grain(const BinPlanProblem& problem, std::size_t g, const BinForPlan& bin,
                 std::vector<std::string>& broken) {
    const WaitingGrain& grain = problem.grain[g];
    if (!speaks_of(bin, grain)) {
        broken.push_back(
            fmt::format("{} is {}, bin {} is for {}", grain.name, grain.commodity, bin.bin.bin, bin.limit->commodity));
    }
    constexpr Purpose best_first[] = {Purpose::food, Purpose::feed, Purpose::other};
    const auto open_question = [&](Purpose purpose) {
        const Stand stand = stand_of(problem, g, purpose);
        return stand.undecided && !stand.cleared;
    };
    if (bin.bin.purpose == Purpose::hold) {
        if (std::none_of(std::begin(best_first), std::end(best_first), open_question)) {
            broken.push_back(
                fmt::format("{} goes on hold in bin {} and nothing about it is undecided", grain.name, bin.bin.bin));
        }
        return;
    }
    if (!bin.limit && bin.bin.purpose != Purpose::other) {
        broken.push_back(fmt::format("{} goes into bin {}, which has no limit", grain.name, bin.bin.bin));
    }
    if (bin.limit && clear_for_bin(problem, g, bin).state != ClearingState::cleared) {
        broken.push_back(fmt::format("{} goes into bin {} without being cleared for it", grain.name, bin.bin.bin));
    }
    for (const Purpose better : best_first) {
        // A bin without a limit comes after all that have one, those of its own purpose among them.
        if (better == bin.bin.purpose && bin.limit) break;
        if (open_question(better)) {
            broken.push_back(fmt::format("{} is undecided and goes into bin {} instead of waiting on hold", grain.name,
                                         bin.bin.bin));
        }
        if (better == bin.bin.purpose) break;
    }
}

}  // namespace bin_plan_rules_parts

std::vector<std::string> broken_rules(const BinPlanProblem& problem, const BinPlan& plan) {
    std::vector<std::string> broken;
    std::map<std::pair<GrainKind, std::string>, std::size_t> grain_of;
    for (std::size_t g = 0; g < problem.grain.size(); ++g) grain_of[{problem.grain[g].kind, problem.grain[g].name}] = g;
    std::map<std::string, std::size_t> bin_of;
    for (std::size_t b = 0; b < problem.bins.size(); ++b) bin_of[problem.bins[b].bin.bin] = b;

    std::vector<double> accounted_t(problem.grain.size(), 0.0);
    std::vector<std::vector<Sent>> inside(problem.bins.size());
    std::vector<int> pieces(problem.grain.size(), 0);
    for (const Assignment& assignment : plan.assignments) {
        const auto grain = grain_of.find({assignment.kind, assignment.name});
        const auto bin = bin_of.find(assignment.bin);
        if (grain == grain_of.end() || bin == bin_of.end()) {
            broken.push_back(
                fmt::format("{} goes into {}: there is no such grain or no such bin", assignment.name, assignment.bin));
            continue;
        }
        accounted_t[grain->second] += assignment.mass_t;
        inside[bin->second].push_back({grain->second, bin->second, assignment.mass_t});
        ++pieces[grain->second];
        bin_plan_rules_parts::check_grain(problem, grain->second, problem.bins[bin->second], broken);
    }
    for (const UnplacedGrain& unplaced : plan.unplaced) {
        const auto grain = grain_of.find({unplaced.kind, unplaced.name});
        if (grain == grain_of.end()) {
            broken.push_back(fmt::format("{} is left unplaced: there is no such grain", unplaced.name));
            continue;
        }
        accounted_t[grain->second] += unplaced.mass_t;
        ++pieces[grain->second];
        if (unplaced.reason.empty())
            broken.push_back(fmt::format("{} is left unplaced without a reason", unplaced.name));
    }
    for (std::size_t g = 0; g < problem.grain.size(); ++g) {
        if (pieces[g] > 1 && !problem.grain[g].may_split) {
            broken.push_back(
                fmt::format("{} is split into {} pieces and is one load", problem.grain[g].name, pieces[g]));
        }
        if (std::abs(accounted_t[g] - problem.grain[g].mass_t) > bin_plan_rules_parts::mass_slack_t) {
            broken.push_back(fmt::format("{:.3f} t of {}'s {:.3f} t are accounted for", accounted_t[g],
                                         problem.grain[g].name, problem.grain[g].mass_t));
        }
    }
    for (std::size_t b = 0; b < problem.bins.size(); ++b) {
        bin_plan_rules_parts::check_bin(problem, b, inside[b], broken);
    }
    return broken;
}

}  // namespace models
