#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/stages/bins_stage.h"
#include "models/decision/outbound_lot.h"

namespace app {

/// What somebody wants to know before grain is sold: lots of how many tonnes, and how the buyer tests them.
struct OutboundAsked {
    double lot_t = 0.0;
    std::string from;   ///< one bin; empty: all that hold grain
    std::string limit;  ///< the buyer's: a limit_id or a number; empty: each bin's own
    models::BuyersTest buyer;
    int threads = 0;  ///< 0: as many as there are processors; the answer is the same
};

/// One bin sold in lots.
struct BinSold {
    std::string bin;
    double content_t = 0.0;
    models::DrawOff rule = models::DrawOff::unknown;  ///< the bin's own
    std::optional<models::Limit> limit;
    /// One, or three where the way of drawing off is not known.
    std::vector<models::BinOutbound> ways;
    std::size_t worst = 0;  ///< of the ways, by the expected number of rejected lots
    std::string why_not;    ///< no chances: why; empty where there are
    std::string closed;     ///< nothing may leave it before a person has decided; empty where it may
};
struct OutboundView {
    std::vector<BinSold> bins;  ///< those that hold grain, in the order of the table
    std::vector<std::string> notes;
};

/// @param bins  with draws of all loads that lie in them
/// @throws models::Error  no such bin (the nearest is named); an unknown limit; a lot or plan that is none
OutboundView outbound_of_bins(const SeasonData& data, const BinsView& bins, int season, const OutboundAsked& asked);

/// A buyer's plan from words: "increments=40,mass_g=3000,portion_g=50,analyses=2", and samples, portions.
/// @throws models::Error  an unknown or empty part, a number that is none
models::SamplingPlan buyer_plan_from_text(const std::string& text, models::SamplingPlan otherwise);

}  // namespace app
