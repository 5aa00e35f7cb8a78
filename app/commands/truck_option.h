#pragma once

#include <optional>
#include <string>

#include <nlohmann/json_fwd.hpp>

#include "app/command_line.h"
#include "app/stages/truck_stage.h"

namespace app::commands {

/// --truck and --yield, for commands that tell of one truck beside its field.
struct TruckOption {
    std::optional<std::string> truck;
    std::optional<double> yield_t_per_ha;

    void declare(Options& options);
    /// Where a truck is asked for. @throws models::Error  its tonnes are no number; a yield without a truck
    std::optional<TruckSettings> settings() const;
};

nlohmann::ordered_json truck_json(const TrucksFromFields& trucks);
nlohmann::ordered_json truck_json(const TruckFromField& truck);

}  // namespace app::commands
