#include "app/stages/own_errors.h"

namespace app {

ErrorsInUse errors_in_use(const SeasonData& data, bool own_duplicates) {
    ErrorsInUse errors;
    if (!own_duplicates) return errors;
    errors.own = models::variance_components(models::duplicate_readings(data.tests, data.samples));
    errors.strip = models::own_errors(*errors.own, errors.strip);
    if (errors.own->sampling.told && errors.own->preparation.told) {
        errors.laboratory.own_sampling_cv = errors.own->sampling.cv();
        errors.laboratory.own_sampling_mass_g = errors.strip.own_sampling_mass_g;
        errors.laboratory.assumed_mass_g = errors.strip.assumed_mass_g;
    }
    for (std::string sentence : models::describe(*errors.own)) {
        sentence.pop_back();
        errors.notes.push_back("own duplicates: " + sentence);
    }
    return errors;
}

}  // namespace app
