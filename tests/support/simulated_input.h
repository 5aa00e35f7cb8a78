#pragma once

#include <optional>

#include "models/contamination/contamination.h"
#include "tests/support/season_simulator.h"

/// Between the simulator, which knows nothing of the model, and the model.
namespace season_simulator {

/// What of the simulated seasons a user would have written down.
struct WrittenDown {
    int increments = 10;
    bool places = true;  ///< where the fields lie
    /// Why the samples of the season that counts were taken.
    models::ChosenBecause chosen_because = models::ChosenBecause::random;
    double control_mg_per_kg = 1.0;              ///< assigned to the control
    std::optional<double> risk_weather_km = {};  ///< how far from the fields that season's weather was measured
};

/// Field-seasons by season and field; the last season counts. Strips of a season share their unnamed kit lot.
models::ContaminationInput input_of(const SimulatedSeasons& s, const WrittenDown& written = {});

/// Priors that know this seed's deviations, range, slope and level: the posterior with them is as good as any can be.
models::ContaminationPriors truth_of(const SimulatedSeasons& s);

}  // namespace season_simulator
