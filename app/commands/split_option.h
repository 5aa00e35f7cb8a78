#pragma once

#include <optional>
#include <string>

#include "app/command_line.h"
#include "app/split_files.h"
#include "app/stages/split_stage.h"

namespace app::commands {

/// --split and what goes with it: fields cut in zones along lines that a combine drives.
struct SplitOption {
    std::optional<std::string> split, format;
    std::optional<double> header_m, heading_deg, line_cost, upper_cap_pct;
    std::optional<int> least_headers, most_zones;

    void declare(Options& options);
    /// Where a split is asked for.
    /// @throws models::Error  one of the others without --split
    std::optional<SplitSettings> settings() const;
    ZoneFormat zone_format() const;  ///< @throws models::Error  an unknown word
};

}  // namespace app::commands
