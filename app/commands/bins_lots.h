#pragma once

#include <optional>
#include <string>

#include "app/command_line.h"
#include "app/stages/outbound_stage.h"
#include "app/workflow.h"

namespace app::commands {

/// `bins --outbound M`: what a buyer's test makes of each bin in lots of M tonnes.
struct OutboundOptions {
    std::optional<double> lot_t, bias_pct;
    std::optional<std::string> from, plan, limit;
    bool lots = false;

    void declare(Options& options);
    /// @throws models::Error  one of the others without --outbound
    bool asked() const;
    OutboundAsked to_ask() const;  ///< @throws models::Error  a lot, plan or bias that is none
};

void print_outbound(const SeasonView& view, const OutboundOptions& options, bool json, int threads);

}  // namespace app::commands
