#include "models/disease/field_refit.h"

#include "models/spoken.h"

namespace models {

double FieldRefit::logit(double x, const Agronomy& agronomy) const {
    double sum = intercept;
    switch (agronomy.resistance) {
        case Resistance::very_susceptible:
            sum += very_susceptible;
            break;
        case Resistance::susceptible:
            break;
        case Resistance::moderately_susceptible:
            sum += moderately_susceptible;
            break;
        case Resistance::moderately_resistant:
            sum += moderately_resistant;
            break;
    }
    switch (agronomy.group) {
        case WheatGroup::winter_without_maize_residue:
            break;
        case WheatGroup::winter_with_maize_residue:
            sum += winter_with_maize_residue;
            break;
        case WheatGroup::spring:
            sum += spring;
            break;
    }
    return sum + per_unit * x;
}

std::vector<Coefficient> FieldRefit::named(const std::string& name_of_x) const {
    std::vector<Coefficient> all = {{"intercept", intercept},
                                    {"very_susceptible", very_susceptible},
                                    {"moderately_susceptible", moderately_susceptible},
                                    {"moderately_resistant", moderately_resistant},
                                    {"winter_with_maize_residue", winter_with_maize_residue},
                                    {"spring", spring}};
    if (!name_of_x.empty()) all.push_back({name_of_x, per_unit});
    return all;
}

DiseaseModel card_of_refit(RefitCard card) {
    DiseaseModel model;
    model.name = std::move(card.name);
    model.title = std::move(card.title);
    model.about = std::move(card.about);
    model.skill.auc = card.auc;
    model.skill.brier = card.brier;
    model.skill.caution = std::move(card.caution);
    model.weather = std::move(card.weather);
    model.label = "refit by this project from the public 999-field data";
    model.source =
        "own logistic regression on the data of Shah et al. (2021), PLoS Comput Biol 17(3):e1008831, at "
        "doi 10.5061/dryad.fn2z34trv; not an equation of these authors";
    // A rectangle of our own around the wheat land of the 17 states; the data name states and no coordinates.
    model.region = {word("17 states of the USA, 1982-2015").original, -105.0, -72.0, 31.0, 49.5};
    model.kind = RiskKind::probability;
    model.skill.brier_without_model = 0.1986;
    model.skill.fields = 999;
    model.skill.diseased = 273;
    model.skill.how = "leaving one year out at a time";
    model.uses_agronomy = true;
    return model;
}

}  // namespace models
