#pragma once

#include "models/disease/disease_model.h"

namespace models {

/// Warm nights and rain after flowering, for spring wheat in southern Brazil. With Tmin the mean of the daily minima of
/// days +2 to +10 (degC) and R the rain of days +6 to +10 (mm):
///     logit p = -8.457 + 0.579 Tmin + 0.018 R
/// Source: Carvalho & Del Ponte (2026), Plant Pathology 75:e70173, doi 10.1111/ppa.70173, model LM3, section 3.2 and
/// tables 3 and 4: 125 cases, 50 of them with a severity of at least 10 %; AUC 0.814 and Brier 0.177 by bootstrap. It
/// rises with the minimum without a bound: outside about 5 to 20 degC it extrapolates. Cultivar and residue do not
/// enter.
DiseaseModel night_warmth_and_rain();

}  // namespace models
