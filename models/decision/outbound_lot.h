#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "models/decision/bin_content.h"
#include "models/decision/source_draws.h"
#include "models/decision/sampling_plan.h"

namespace models {

/// What a buyer's test will make of the grain of a bin once it leaves in lots of M tonnes. The bin is drawn off lot by
/// lot by its rule, so that one bad truck is in the lot that it leaves with and in no other; in a mixed bin a little of
/// it is in every lot. Each lot is sampled and tested on its own, by the buyer's plan and with the buyer's bias.
struct BuyersTest {
    SamplingPlan plan;  ///< of one lot; `bias` is what the buyer's reader reads over what is there
    ErrorModel error;
    ReadingShape shape = ReadingShape::lognormal;
    double within_load_cv =
        0.25;  ///< of handfuls of one truck's grain about its mean, as the contamination model has it
};

/// One lot as it leaves.
struct LotToSell {
    std::vector<GrainPortion> portions;  ///< in the order in which they leave
    bool layered = false;                ///< its trucks come one after the other and not as a mixture
    std::int64_t mass_g = 0;
    double mass_t() const { return static_cast<double>(mass_g) * 1e-6; }
};
/// The whole bin in lots, the first to leave first; the last one is what is left.
/// @param drawn  first_in, last_in or mixed
/// @throws Error  not a lot size above 0; more than 2000 lots; an unknown rule, which is no way of drawing
std::vector<LotToSell> lots_of_bin(BinContent content, double lot_t, DrawOff drawn);

/// The ways in which a bin may be drawn off: its own rule; all three where that is unknown, or the order of what lies
/// in it is not known any more (an answer over them is a range, and its worst is what counts).
std::vector<DrawOff> ways_of_drawing(DrawOff rule, bool order_known);

/// What is known of one lot. On the basis of the limit.
struct LotOutlook {
    LotToSell lot;
    double mean_mg_per_kg = 0.0, low90_mg_per_kg = 0.0, high90_mg_per_kg = 0.0;
    double over = 0.0;         ///< chance that the mean content of the lot breaks the limit
    double holds_over = 0.0;   ///< chance that some truck in it breaks the limit by itself
    double rejected = 0.0;     ///< chance that the buyer's test of it reads over
    std::string worst_source;  ///< of its trucks the one with the highest expected content
};
struct BinOutbound {
    DrawOff drawn = DrawOff::mixed;
    std::vector<LotOutlook> lots;
    double rejected_lots = 0.0;  ///< expected number
    double rejected_t = 0.0;     ///< expected tonnes
    double any_rejected = 0.0;   ///< chance that at least one is
    double holding_over = 0.0;   ///< expected number of lots with a truck in them that is itself over
    std::size_t worst = 0;       ///< the lot most likely to be rejected
};

/// In each draw of the contents, with c the lot's mean (DON over what the basis counts) and h the coefficient of
/// variation of its trucks about c by mass (0 in a mixture), the mean of the buyer's readings is lognormal with
///   mean b c,  CV^2 = plan_cv^2 at c with increments_cv^2 = within_load_cv^2 + h^2
/// (normal where the plan's shape says so), and the lot is rejected where it breaks the limit, rounding and comparison
/// included. Numbers of lots are sums over the draws, so that what lots have in common is kept: P(at least one) = mean
/// over draws of 1 - product of (1 - P(rejected | draw)).
/// Sources: Whitaker (2006), Food Addit Contam 23(3), 264-270 (chance of accepting a lot of known content); Cochran
/// (1977), Sampling Techniques, 3rd ed., section 2.4 (handfuls from grain that is not mixed).
/// @param on_basis  contents on the limit's basis, and what a tonne of each source counts there
/// @returns  nullopt where the bin is empty or grain in it has no draws
/// @throws Error  as lots_of_bin and plan_cv; a bias that is no number above 0
std::optional<BinOutbound> outbound_of_bin(const BinContent& content, double lot_t, DrawOff drawn,
                                           const SourceDraws& on_basis, const Limit& limit, const BuyersTest& buyer);

/// The chance that the buyer's test rejects a lot, given its content and how its trucks differ; 0 of grain without DON.
double rejection_of_lot(double content_mg_per_kg, double trucks_cv, const Limit& limit, const BuyersTest& buyer);

}  // namespace models
