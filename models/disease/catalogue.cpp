#include "models/disease/catalogue.h"

#include "models/disease/cultivar_and_residue.h"
#include "models/disease/dew_point_depression.h"
#include "models/disease/dew_point_depression_after_flowering.h"
#include "models/disease/humid_days.h"
#include "models/disease/humidity_around_flowering.h"
#include "models/disease/humidity_before_flowering.h"
#include "models/disease/night_warmth_and_rain.h"
#include "models/disease/rain_around_heading.h"
#include "models/disease/rain_before_heading.h"
#include "models/disease/warm_then_wet_hours.h"
#include "models/disease/warm_then_wet_hours_index.h"
#include "models/disease/warm_wet_hours.h"
#include "models/disease/warm_wet_hours_index.h"
#include "models/error.h"

namespace models {

namespace {

/// One line a model; the first is the default one.
std::vector<DiseaseModel> every_disease_model() {
    return {
        dew_point_depression(),         humidity_around_flowering(),
        humid_days_and_warmth_before(), dew_point_depression_after_flowering(),
        humidity_before_flowering(),    warm_wet_hours_after_flowering(),
        warm_then_wet_hours(),          cultivar_and_residue(),
        night_warmth_and_rain(),        warm_wet_hours_index(),
        warm_then_wet_hours_index(),    rain_before_heading(),
        rain_around_heading(),
    };
}

}  // namespace

const std::vector<DiseaseModel>& disease_models(bool include_unconfirmed) {
    static const std::vector<DiseaseModel> all = every_disease_model();
    static const std::vector<DiseaseModel> confirmed = [] {
        std::vector<DiseaseModel> kept;
        for (const DiseaseModel& model : all) {
            if (!model.unconfirmed) kept.push_back(model);
        }
        return kept;
    }();
    return include_unconfirmed ? all : confirmed;
}

std::vector<std::string> model_names(bool include_unconfirmed) {
    std::vector<std::string> names;
    for (const DiseaseModel& model : disease_models(include_unconfirmed)) names.push_back(model.name);
    return names;
}

const DiseaseModel& default_model() {
    return disease_models().front();
}

const DiseaseModel& find_model(std::string_view name, bool include_unconfirmed) {
    for (const DiseaseModel& model : disease_models(include_unconfirmed)) {
        if (model.name == name) return model;
    }
    for (const DiseaseModel& model : disease_models(true)) {
        if (model.name != name) continue;
        throw Error("the disease model \"" + model.name + "\" is unconfirmed", "",
                    "with --include-unconfirmed it is there all the same, and the word stands beside its numbers");
    }
    const std::vector<std::string> names = model_names(include_unconfirmed);
    const std::string nearest = nearest_name(name, names);
    std::string how = "write one of ";
    for (const std::string& known : names) how += (known == names.front() ? "" : ", ") + known;
    if (!nearest.empty()) how = "did you mean \"" + nearest + "\"?";
    throw Error("there is no disease model \"" + std::string(name) + "\"", "", how);
}

}  // namespace models
