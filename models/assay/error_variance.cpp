#include "models/assay/error_variance.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "models/error.h"

namespace models {

namespace {

void require_above_zero(double x, const char* what) {
    if (!(x > 0.0) || !std::isfinite(x))
        throw Error(fmt::format("the {} is {}, which is not above zero", what, x), "",
                    "give a number above zero, or leave it out where it is not known");
}

/// Squared relative standard deviation between laboratories at that content.
double horwitz_squared(double content_mg_per_kg) {
    const double mass_fraction = content_mg_per_kg * 1e-6;
    const double relative = mass_fraction < 1.2e-7 ? 0.22 : 0.02 * std::pow(mass_fraction, -0.1505);
    return relative * relative;
}

}  // namespace

RelativeVariance relative_variance(double content_mg_per_kg, const AssayProcedure& procedure, const ErrorModel& model) {
    require_above_zero(content_mg_per_kg, "true content in mg/kg");
    const double mass_g = procedure.sample_mass_g.value_or(model.assumed_mass_g);
    const double portion_g = procedure.portion_g.value_or(model.assumed_portion_g);
    require_above_zero(mass_g, "sample mass in g");
    require_above_zero(portion_g, "portion in g");
    require_above_zero(procedure.analyses, "number of analyses");
    const double content = std::max(content_mg_per_kg, model.lowest_content_mg_per_kg);
    const double relative = std::pow(content, model.exponent - 2.0);
    RelativeVariance v;
    const auto own = [](double cv, const std::optional<double>& own_g, double used_g, const char* what) {
        if (own_g) require_above_zero(*own_g, what);
        return cv * cv * (own_g ? *own_g / used_g : 1.0);
    };
    v.sampling = model.own_sampling_cv ? own(*model.own_sampling_cv, model.own_sampling_mass_g, mass_g,
                                             "sample mass of the own duplicates in g")
                                       : model.reference_mass_g / mass_g * model.sampling_coefficient * relative;
    v.preparation =
        model.own_preparation_cv
            ? own(*model.own_preparation_cv, model.own_portion_g, portion_g, "portion of the own duplicates in g")
            : model.reference_portion_g / portion_g * model.preparation_coefficient * relative;
    const double one_analysis = model.own_analysis_cv       ? *model.own_analysis_cv * *model.own_analysis_cv
                                : model.analysis_by_horwitz ? horwitz_squared(content)
                                                            : model.analysis_coefficient * relative;
    v.analysis = one_analysis / procedure.analyses;
    return v;
}

LogVariance log_variance(const RelativeVariance& v) {
    LogVariance q;
    q.sampling = std::log1p(v.sampling);
    q.preparation = std::log1p(v.preparation / (1.0 + v.sampling));
    q.analysis = std::log1p(v.analysis / (1.0 + v.sampling + v.preparation));
    return q;
}

std::vector<std::string> assumptions(const AssayProcedure& procedure, const ErrorModel& model) {
    std::vector<std::string> said;
    if (!procedure.sample_mass_g && (!model.own_sampling_cv || model.own_sampling_mass_g))
        said.push_back(fmt::format("The sample's mass is not recorded: {} g is assumed for its sampling error.",
                                   model.assumed_mass_g));
    if (!procedure.portion_g && (!model.own_preparation_cv || model.own_portion_g))
        said.push_back(fmt::format("The portion is not recorded: {} g is assumed for its preparation error.",
                                   model.assumed_portion_g));
    return said;
}

std::vector<std::string> describe(const ErrorModel& model) {
    std::vector<std::string> said;
    const char* whitaker = "Whitaker et al. 2000, J AOAC Int 83, 1285";
    const auto step = [&](const char* name, const std::optional<double>& own, const std::string& own_at,
                          const std::string& share, double coefficient) {
        said.push_back(own ? fmt::format("{}: coefficient of variation {:.1f} %, the user's own duplicates{}.", name,
                                         *own * 100.0, own_at)
                           : fmt::format("{}: variance {} {} C^{} (mg/kg)^2 at the true content C ({}).", name, share,
                                         coefficient, model.exponent, whitaker));
    };
    const auto own_at = [](const std::optional<double>& own_g, const char* what) {
        return own_g ? fmt::format(" of {:.4g} g; its variance goes with 1 / {} (Gy 1998)", *own_g, what)
                     : fmt::format(", taken as the same at every {}", what);
    };
    step("Sampling", model.own_sampling_cv, own_at(model.own_sampling_mass_g, "mass"),
         fmt::format("({} g / sample mass)", model.reference_mass_g), model.sampling_coefficient);
    step("Preparation", model.own_preparation_cv, own_at(model.own_portion_g, "portion"),
         fmt::format("({} g / portion)", model.reference_portion_g), model.preparation_coefficient);
    if (model.analysis_by_horwitz && !model.own_analysis_cv)
        said.push_back(
            "Analysis: relative standard deviation 2 c^-0.1505 % of the mass fraction c, at most 22 % (Thompson 2000, "
            "Analyst 125, 385).");
    else
        step("Analysis", model.own_analysis_cv, "", "(1 / analyses)", model.analysis_coefficient);
    const bool as_in_paper =
        model.assumed_mass_g == model.reference_mass_g && model.assumed_portion_g == model.reference_portion_g;
    said.push_back(fmt::format("Where not recorded, a sample of {} g and a portion of {} g are assumed ({}).",
                               model.assumed_mass_g, model.assumed_portion_g,
                               as_in_paper ? "the paper's own" : "the paper's own, or those of the own duplicates"));
    said.push_back(fmt::format("Below {} mg/kg the coefficient of variation stays what it is there (ours).",
                               model.lowest_content_mg_per_kg));
    return said;
}

}  // namespace models
