#pragma once

#include <string>

#include "demo-data/intake.h"

namespace demo {

/// The tables as `lodicule import` takes them, one text each.
std::string fields_geojson(const Landscape& landscape);
std::string crops_csv(const Landscape& landscape, const std::vector<CropRow>& crops);
std::string scouting_csv(const Landscape& landscape, const std::vector<CropRow>& crops,
                         const std::vector<CropTruth>& truths);
std::string weather_csv(const Landscape& landscape, const std::vector<StationSeason>& weather, int season);
std::string limits_csv();
std::string contracts_csv();
std::string costs_csv();
std::string kit_lots_csv();
std::string controls_csv();
std::string loads_csv(const Intake& intake);
std::string load_parts_csv(const Intake& intake, const Landscape& landscape, const std::vector<CropRow>& crops);
std::string bins_csv(const Intake& intake);
std::string moves_csv(const Intake& intake);
std::string samples_csv(const Bench& bench);
std::string tests_csv(const Bench& bench);
/// The single places of the two closely sampled fields: tests that carry their samples' columns.
std::string survey_csv(const Bench& bench);

/// Files of truth/.
std::string law_csv();
std::string true_crops_csv(const Landscape& landscape, const std::vector<CropRow>& crops,
                           const std::vector<CropTruth>& truths);
std::string true_places_csv(const Landscape& landscape, const std::vector<CropRow>& crops,
                            const std::vector<CropTruth>& truths);
std::string true_samples_csv(const Bench& bench);
std::string true_tests_csv(const Bench& bench);
std::string true_loads_csv(const Intake& intake);
std::string true_bins_csv(const Intake& intake);

}  // namespace demo
