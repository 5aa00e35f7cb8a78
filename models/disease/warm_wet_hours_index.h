#pragma once

#include "models/disease/disease_model.h"

namespace models {

/// The warm and wet hours after flowering (15 to 30 degC and at least 90 %, flowering to ten days after it) as an
/// index. With x = hours / 113, held between 0 and 1.2:
///     index = 1 / (1 + exp(3.3756 - 6.8128 x))
/// It is no probability: the coefficients are quoted in public from De Wolf, Madden & Lipps (2003), Risk assessment
/// models for wheat Fusarium head blight epidemics based on within-season weather data, Phytopathology 93:428-435,
/// but what they divide the hours by is not. 113 h is inferred: where the equation gives one half, 0.49548 of the
/// scale, a public use of the paper calls the hours high from 56 h on; fitted to 55 early field-years with the
/// coefficients kept it is 117 h. On those the equation was right for 60 to 64 %, whatever the scale.
DiseaseModel warm_wet_hours_index();

}  // namespace models
