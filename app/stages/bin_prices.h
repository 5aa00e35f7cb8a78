#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/stages/season_data.h"
#include "models/decision/bin_content.h"
#include "models/decision/bin_plan.h"

namespace app {

/// The prices that a plan of the store's bins goes by; none where no contract with a price names the limit of a bin:
/// the plan then counts tonnes. Money is only what the user gave:
///   a contract's price and steps   of bins whose limit it names; what lies in those bins and what left them this
///   season
///                                  for a buyer who kept it counts towards its tonnes
///   without a contract             the lowest price of a contract for that purpose stands in; for food where only feed
///                                  is sold, the highest of feed; nothing for feed and other bins nobody buys from
///   wrong_acceptance_per_t         of the costs table, else 0
/// What stands in is ours and is said in `assumed`.
/// @param notes  gets what of the contracts is left aside, and why
std::optional<models::PlanPrices> prices_of_bins(const SeasonData& data, const std::vector<models::BinForPlan>& bins,
                                                 const models::BinLedger& ledger, std::vector<std::string>& notes);

}  // namespace app
