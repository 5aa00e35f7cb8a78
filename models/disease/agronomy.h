#pragma once

#include <string>
#include <vector>

#include "models/disease/disease_model.h"

namespace models {

/// What a crop record says of resistance, wheat type and maize residue. Nothing is guessed unseen: where the record is
/// silent the reference class of the data stands in, all classes it could be are listed, and a sentence says so.
struct AgronomyReading {
    Agronomy taken;                  ///< what the value is computed with
    std::vector<Agronomy> possible;  ///< every combination that the record leaves open; `taken` is among them
    std::vector<std::string> missing, notes;
};

/// Maize residue is there where the previous crop was maize and the residue is not said to be none.
AgronomyReading read_agronomy(const CropRecord& crop);

bool names_maize(const std::string& crop);  ///< "maize", "silage maize", "corn"
bool names_wheat(const std::string& crop);  ///< "wheat", "winter wheat", "durum"; not buckwheat

}  // namespace models
