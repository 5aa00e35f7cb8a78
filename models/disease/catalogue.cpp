#include "models/disease/catalogue.h"

#include "models/disease/dew_point_depression.h"
#include "models/disease/humidity_before_flowering.h"
#include "models/disease/night_warmth_and_rain.h"
#include "models/disease/warm_wet_hours.h"
#include "models/error.h"

namespace models {

const std::vector<DiseaseModel>& disease_models() {
    static const std::vector<DiseaseModel> models = {dew_point_depression(), humidity_before_flowering(),
                                                     warm_wet_hours_after_flowering(), night_warmth_and_rain()};
    return models;
}

std::vector<std::string> model_names() {
    std::vector<std::string> names;
    for (const DiseaseModel& model : disease_models()) names.push_back(model.name);
    return names;
}

const DiseaseModel& default_model() {
    return disease_models().front();
}

const DiseaseModel& find_model(std::string_view name) {
    for (const DiseaseModel& model : disease_models()) {
        if (model.name == name) return model;
    }
    const std::string nearest = nearest_name(name, model_names());
    std::string how = "write one of ";
    for (const std::string& known : model_names()) how += (known == model_names().front() ? "" : ", ") + known;
    if (!nearest.empty()) how = "did you mean \"" + nearest + "\"?";
    throw Error("there is no disease model \"" + std::string(name) + "\"", "", how);
}

}  // namespace models
