#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/stages/contamination_stage.h"
#include "models/decision/bin_content.h"
#include "models/decision/bin_plan.h"

namespace app {

struct BinsSettings {
    int season = 0;
    std::optional<std::string> next;  ///< advice for this load alone
    int draws = 4000;
    std::uint64_t seed = 1;
};

/// What is where and what goes where.
struct BinsView {
    models::BinLedger ledger;   ///< from the moves
    models::SourceDraws draws;  ///< of all loads that the model knows, and of the opening contents
    models::BinPlan plan;       ///< for the loads that wait
    std::vector<std::string> waiting;
    std::vector<std::string> notes;  ///< results that came after dumping, limits converted, what is not known
};

/// @throws models::Error  the store has no bins; a bin names a limit that is not there; the named load is unknown or
///                        has been dumped already
BinsView bins_of_season(const SeasonData& data, const ContaminationView& view, const BinsSettings& settings,
                        const models::Progress& progress = {});

}  // namespace app
