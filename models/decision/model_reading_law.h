#pragma once

#include "models/contamination/contamination.h"
#include "models/decision/reading_law.h"

namespace models {

/// The law of a test by that design as the contamination model knows it: what a composite of a field (or of a lot) of
/// that mean content would read, kit lot and stage included. Answers for any bound, the ends of the design's working
/// range and others ("what is the chance that it reads over the limit").
ReadingLaw reading_law_of(const ContaminationModel& model, const TestDesign& design);

}  // namespace models
