#pragma once

#include "models/disease/disease_model.h"

namespace models {

/// What the two indices of De Wolf, Madden & Lipps (2003) have in common: source, region, and what is known of them.
DiseaseModel card_of_index_2003();

/// x of their equations: a share of the scale, held between 0 and 1.2 because beyond it nothing was seen.
double share_of_scale_2003(double hours, double scale);

}  // namespace models
