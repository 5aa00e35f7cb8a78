#include "models/disease/index_2003.h"

#include <algorithm>

#include "models/spoken.h"

namespace models {

DiseaseModel card_of_index_2003() {
    DiseaseModel model;
    model.source =
        "De Wolf, Madden & Lipps (2003), Risk assessment models for wheat Fusarium head blight epidemics based on "
        "within-season weather data, Phytopathology 93:428-435; the coefficients by way of a public working note, the "
        "scale of the hours is not theirs";
    // A rectangle of our own around the four states that the earliest rows of the public data come from.
    model.region = {word("four states of the USA (Ohio, Kansas, North Dakota, Missouri), before 2000").original, -104.1,
                    -80.5, 36.0, 49.0};
    model.kind = RiskKind::index;
    model.skill.fields = 55;
    model.skill.how = "55 early field-years with weather from near by";
    model.skill.other =
        "The equation for the warm and wet hours alone was right for 60 to 64 % of 55 early "
        "field-years with weather from near by, whatever the scale; its authors report 62 to 85 % on their own 50.";
    return model;
}

double share_of_scale_2003(double hours, double scale) {
    return std::clamp(hours / scale, 0.0, 1.2);
}

}  // namespace models
