#pragma once

#include <vector>

#include "models/assay/control_check.h"

namespace geo {

class Store;

/// The controls of the store: materials of known content, and which readings of them are accepted.
std::vector<models::ControlMaterial> control_materials(const Store& store);

}  // namespace geo
