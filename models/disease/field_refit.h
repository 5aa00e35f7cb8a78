#pragma once

#include <span>
#include <string>
#include <utility>
#include <vector>

#include "models/disease/disease_model.h"

namespace models {

/// The part that the project's own refits share. They are ordinary logistic regressions on all rows of a public data
/// set of 999 US wheat fields of 1982-2015 (273 of them with a severity of at least 10 %), published with Shah et al.
/// (2021), PLoS Comput Biol 17(3):e1008831, at doi 10.5061/dryad.fn2z34trv:
///     logit p = intercept + resistance + group + per_unit x
/// with x one summary of the weather (one of them takes two, another none). Reference classes: susceptible; winter
/// wheat without maize residue. They are nobody's published equations. Weather came from stations near the fields, not
/// in them. With the table at hand, tests/bench/refit_field_table.R makes them anew and compares.
struct FieldRefit {
    double intercept = 0.0;
    double very_susceptible = 0.0, moderately_susceptible = 0.0, moderately_resistant = 0.0;
    double winter_with_maize_residue = 0.0, spring = 0.0;
    double per_unit = 0.0;

    double logit(double x, const Agronomy& agronomy) const;
    /// The same numbers by name.
    /// @param name_of_x  the name of `per_unit`; empty where the fit has no weather
    std::vector<Coefficient> named(const std::string& name_of_x) const;
};

/// What one of the refits has for itself.
struct RefitCard {
    std::string name, title, about;  ///< as in DiseaseModel
    double auc = 0.0, brier = 0.0;   ///< leaving one year out at a time
    std::vector<WeatherTerm> weather;
    std::string caution = {};  ///< as in ModelSkill
};
/// A model card with what all refits have in common: label, source, region, and the size of the data.
DiseaseModel card_of_refit(RefitCard card);

/// The model of a refit on one summary of the weather; `fit` holds its coefficients.
template <const FieldRefit& fit>
DiseaseModel model_of_refit(RefitCard card) {
    DiseaseModel model = card_of_refit(std::move(card));
    model.logit = [](std::span<const double> weather, const Agronomy& agronomy) {
        return fit.logit(weather[0], agronomy);
    };
    model.coefficients = fit.named(model.weather.front().name);
    return model;
}

}  // namespace models
