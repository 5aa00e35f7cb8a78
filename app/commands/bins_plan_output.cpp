#include "app/commands/bins_plan_output.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace app::commands {

namespace {

const char* word_of(models::Binding::What what) {
    switch (what) {
        case models::Binding::What::capacity:
            return "capacity";
        case models::Binding::What::cap:
            return "bin_cap";
        case models::Binding::What::keep_apart:
            return "keep_apart";
        case models::Binding::What::clearing:
            return "clearing";
        case models::Binding::What::closed:
            return "closed";
    }
    return "";
}

}  // namespace

void add_plan_proof(nlohmann::ordered_json& out, const models::BinPlan& plan) {
    using Json = nlohmann::ordered_json;
    const bool known = std::isfinite(plan.proof.bound);
    out["proof_of"] = plan.proof.of;
    out["reached"] = plan.proof.reached;
    out["bound"] = known ? Json(plan.proof.bound) : Json(nullptr);
    out["gap"] = known ? Json(plan.proof.gap) : Json(nullptr);
    out["solver_nodes"] = plan.proof.nodes;
    out["binds"] = Json::array();
    for (const models::Binding& binding : plan.binds) {
        out["binds"].push_back({{"what", word_of(binding.what)},
                                {"name", binding.name},
                                {"keeps_out", binding.keeps_out},
                                {"mass_t", binding.mass_t}});
    }
}

std::vector<std::string> lines_of_plan_proof(const models::BinPlan& plan) {
    std::vector<std::string> lines;
    if (plan.best_of_all) {
        lines.push_back("Proved: no other way serves the aims of the plan better.");
    } else if (std::isfinite(plan.proof.bound)) {
        lines.push_back(
            fmt::format("Not proved to be the best: {} {:.1f}, and no plan reaches more than {:.1f} (gap {:.2g} "
                        "%, {} nodes searched).",
                        plan.proof.of, plan.proof.reached, plan.proof.bound, plan.proof.gap * 100.0, plan.proof.nodes));
    } else {
        lines.push_back("Not proved to be the best, and how far it may be from it was not found.");
    }
    constexpr std::size_t shown = 4;
    std::string binds;
    for (std::size_t i = 0; i < std::min(shown, plan.binds.size()); ++i) {
        binds += (i == 0 ? "" : "; ") + models::in_words(plan.binds[i]);
    }
    if (plan.binds.size() > shown) binds += fmt::format("; and {} more", plan.binds.size() - shown);
    if (!binds.empty()) lines.push_back("What keeps grain from a better place: " + binds + ".");
    return lines;
}

}  // namespace app::commands
