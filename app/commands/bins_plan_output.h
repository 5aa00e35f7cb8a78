#pragma once

#include <string>
#include <vector>

#include <nlohmann/json_fwd.hpp>

#include "models/decision/bin_plan.h"

namespace app::commands {

/// How good a bin plan is, for `bins --json`: bound, gap, nodes, proof_of and binds:[{what, name, keeps_out, mass_t}].
/// `gap` is null where no bound was found.
void add_plan_proof(nlohmann::ordered_json& out, const models::BinPlan& plan);

/// The same in two or three lines for a person.
std::vector<std::string> lines_of_plan_proof(const models::BinPlan& plan);

}  // namespace app::commands
