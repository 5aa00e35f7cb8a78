#include "models/disease/disease_model.h"

#include <algorithm>

namespace models {

int DiseaseModel::first_day() const {
    return std::min_element(weather.begin(), weather.end(),
                            [](const auto& a, const auto& b) { return a.from_day < b.from_day; })
        ->from_day;
}

int DiseaseModel::last_day() const {
    return std::max_element(weather.begin(), weather.end(),
                            [](const auto& a, const auto& b) { return a.to_day < b.to_day; })
        ->to_day;
}

}  // namespace models
