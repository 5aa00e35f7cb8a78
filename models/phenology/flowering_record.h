#pragma once

#include "models/phenology/flowering.h"

namespace models {

/// "crops, field F7, part west, season 2022"
std::string place_of_record(const CropRecord& crop);
/// Refuses dates that contradict each other, and options that are none.
/// @throws Error  see estimate_flowering
void check_flowering_record(const CropRecord& crop, const FloweringOptions& options);
/// The crop record without the dates that were not yet known on that day.
CropRecord as_known(CropRecord crop, const std::optional<LocalDay>& as_of);

}  // namespace models
