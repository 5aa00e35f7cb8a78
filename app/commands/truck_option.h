#pragma once

#include <optional>
#include <string>

#include <nlohmann/json_fwd.hpp>

#include "app/command_line.h"
#include "app/stages/truck_stage.h"

namespace app::commands {

/// --truck and --yield, for a command that tells of one truck beside its field.
struct TruckOption {
    std::optional<std::string> truck;
    std::optional<double> yield_t_per_ha;

    void declare(Options& options);
    /// Where a truck is asked for.
    /// @param yield_serves  something else needs the yield
    /// @throws models::Error  its tonnes are no number; a yield that nothing needs
    std::optional<TruckSettings> settings(bool yield_serves = false) const;
};

nlohmann::ordered_json truck_json(const TrucksFromFields& trucks);
nlohmann::ordered_json truck_json(const TruckFromField& truck);

}  // namespace app::commands
