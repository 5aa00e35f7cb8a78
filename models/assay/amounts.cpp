#include "models/assay/amounts.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "models/error.h"

namespace models {

namespace amounts {

void require_above_zero(double number, const char* what, const char* unit) {
    if (number > 0.0 && std::isfinite(number)) return;
    throw Error(fmt::format("the {} is {:.6g} {}, which is not above zero", what, number, unit), "",
                "give a number above zero");
}

void require_dilution(double factor, const char* what) {
    if (factor >= 1.0 && std::isfinite(factor)) return;
    throw Error(fmt::format("the {} is {:.6g}, which thins nothing", what, factor), "",
                "1 is none; 5 is one part in five");
}

void require_range(const WorkingRange& range) {
    if (range.low_mg_per_kg >= 0.0 && range.low_mg_per_kg < range.high_mg_per_kg && std::isfinite(range.high_mg_per_kg))
        return;
    throw Error(
        fmt::format("a working range of {:.6g} to {:.6g} mg/kg is empty", range.low_mg_per_kg, range.high_mg_per_kg),
        "", "check its two ends");
}

DilutionStep step_of(double take_ml, double factor, double before, bool of_the_lot) {
    DilutionStep step;
    step.what = before > 1.0 ? "thinned extract" : "extract";
    step.take_ml = take_ml;
    step.add_ml = take_ml * (factor - 1.0);
    step.factor = factor;
    step.factor_so_far = before * factor;
    step.of_the_lot = of_the_lot;
    return step;
}

}  // namespace amounts

ExtractRatio common_practice_ratio() {
    return {5.0, "one gram to five millilitres: common practice, no source"};
}

Amounts amounts_for(const AmountsQuestion& question) {
    amounts::require_above_zero(question.portion_g, "portion", "g");
    amounts::require_above_zero(question.ratio.ml_per_g, "ratio of extractant to grain", "ml/g");
    amounts::require_above_zero(question.step_volume_ml, "volume that is thinned", "ml");
    amounts::require_dilution(question.dilution, "lot's dilution");
    amounts::require_dilution(question.extra_dilution, "extra dilution");
    amounts::require_range(question.range);
    if (question.ratio.source.empty())
        throw Error("the ratio of extractant to grain does not say where it comes from", "",
                    "take it from the kit lot, or say who gives it");
    if (question.sample_mass_g && question.portion_g > *question.sample_mass_g)
        throw Error(fmt::format("a portion of {:.6g} g is larger than the sample of {:.6g} g that it is taken from",
                                question.portion_g, *question.sample_mass_g),
                    "", "take a smaller portion, or a larger sample");

    Amounts out;
    out.portion_g = question.portion_g;
    out.ratio = question.ratio;
    out.extractant_ml = question.portion_g * question.ratio.ml_per_g;
    out.extra_dilution = question.extra_dilution;
    out.range = question.range.thinned(question.extra_dilution);
    double so_far = 1.0;
    if (question.extra_dilution > 1.0) {
        constexpr double most = 10.0;
        int steps = 1;
        while (std::pow(question.extra_dilution, 1.0 / steps) > most * (1.0 + 1e-12)) ++steps;
        const double factor = std::pow(question.extra_dilution, 1.0 / steps);
        for (int i = 0; i < steps; ++i) {
            out.steps.push_back(amounts::step_of(question.step_volume_ml, factor, so_far, false));
            so_far = out.steps.back().factor_so_far;
        }
        out.notes.push_back(fmt::format(
            "write extra_dilution {:.6g} with the test: the content is the curve's times {:.6g}, and the lot's own "
            "dilution is not applied again",
            question.extra_dilution, question.extra_dilution));
    }
    if (question.dilution > 1.0)
        out.steps.push_back(amounts::step_of(question.step_volume_ml, question.dilution, so_far, true));
    if (question.usual_portion_g && question.portion_g < *question.usual_portion_g) {
        out.notes.push_back(fmt::format(
            "the lot's procedure extracts {:.6g} g: {:.6g} g holds fewer particles, and the result scatters more",
            *question.usual_portion_g, question.portion_g));
    }
    return out;
}

double extra_dilution_for(double content_mg_per_kg, const WorkingRange& range) {
    amounts::require_above_zero(content_mg_per_kg, "content", "mg/kg");
    amounts::require_range(range);
    if (content_mg_per_kg < range.low_mg_per_kg)
        throw Error(fmt::format("a content of {:.6g} mg/kg lies below the range, which begins at {:.6g} mg/kg",
                                content_mg_per_kg, range.low_mg_per_kg),
                    "", "no dilution helps; a strip tells only that it lies below");
    constexpr double room = 1.5;  // of the expected content, at the upper end
    double factor = std::max(1.0, std::ceil(room * content_mg_per_kg / range.high_mg_per_kg * (1.0 - 1e-12)));
    while (factor > 1.0 && content_mg_per_kg < range.low_mg_per_kg * factor &&
           content_mg_per_kg <= range.high_mg_per_kg * (factor - 1.0)) {
        factor -= 1.0;
    }
    if (content_mg_per_kg < range.low_mg_per_kg * factor)
        throw Error(fmt::format("no whole dilution brings {:.6g} mg/kg into a range of {:.6g} to {:.6g} mg/kg",
                                content_mg_per_kg, range.low_mg_per_kg, range.high_mg_per_kg),
                    "", "give the extra dilution yourself");
    return factor;
}

}  // namespace models
