#pragma once

#include <string>
#include <vector>

#include "app/stages/grain_in_bins.h"
#include "app/stages/own_errors.h"
#include "models/decision/bin_probe.h"

namespace app {

/// Probes of bins with a valid result up to the end of a season, in the order in which they were taken, each with what
/// lay in its bin then. Several results of one sample count by their mean; a laboratory's stand in the strips' place.
/// @param moves       of those seasons
/// @param kit_lot_sd  of ln readings between kit lots, as the contamination model has learnt it
std::vector<models::BinProbe> probes_of_bins(const SeasonData& data, const std::vector<models::Move>& moves, int season,
                                             const ErrorsInUse& errors, double kit_lot_sd);

/// Grain that lies in a bin now and was in a probe that is over this bin's limit: as a result of the grain itself does,
/// it closes the bin, wherever the grain was brought or turned to since.
struct ProbedOver {
    std::string sample, test, probed_bin, bin;
    double mass_t = 0.0;  ///< of what was probed
};
std::vector<ProbedOver> probed_over(const SeasonData& data, const std::vector<models::BinProbe>& probes,
                                    const models::BinLedger& ledger, const std::vector<LimitOfBin>& limits);
std::string in_words(const ProbedOver& over);  ///< "its probe G7 is over (test T9)"

/// Tonnes in a bin of the sources that were in the probe.
double still_there_t(const models::BinProbe& probe, const models::BinContent& content);

/// One sentence without its full stop: what the probe made of its bin, or why it does not count.
std::string in_words(const models::ProbeNews& news);

}  // namespace app
