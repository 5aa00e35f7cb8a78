#include "app/stages/kit_lot_stage.h"

#include <cmath>
#include <optional>
#include <vector>

#include "app/stages/test_content.h"

namespace app {

namespace kit_lot_parts {

/// The mean of a laboratory's results of one sample: its log and how sure that is.
struct LaboratoryMean {
    double log_sum = 0.0, variance_sum = 0.0;
    int results = 0;
    std::string name;
};

/// Log variance of a reading of a portion, the sample taken as it is: what a strip and a laboratory do not share.
double of_the_reading(double content_mg_per_kg, const models::AssayProcedure& procedure,
                      const models::ErrorModel& error) {
    models::RelativeVariance v = models::relative_variance(content_mg_per_kg, procedure, error);
    v.sampling = 0.0;
    return models::log_variance(v).total();
}

std::map<std::size_t, LaboratoryMean> laboratory_means(const SeasonData& data, const models::ErrorModel& error) {
    std::map<std::size_t, LaboratoryMean> means;
    for (const models::Test& test : data.tests) {
        if (test.method != models::Method::laboratory) continue;
        const auto s = sample_index(data, test.sample);
        if (!s) continue;
        const TestContent content = content_on(models::Basis::as_is, test, data.samples[*s]);
        if (content.reading != models::Reading::value || !content.converted || !(content.don_mg_per_kg > 0.0)) continue;
        double variance = of_the_reading(content.don_mg_per_kg, content.procedure, error);
        if (content.standard_uncertainty_mg_per_kg)
            variance = std::log1p(std::pow(*content.standard_uncertainty_mg_per_kg / content.don_mg_per_kg, 2));
        LaboratoryMean& mean = means[taken_sample(data, *s)];
        mean.log_sum += std::log(content.don_mg_per_kg) + 0.5 * variance;
        mean.variance_sum += variance;
        ++mean.results;
        mean.name += (mean.name.empty() ? "laboratory test " : " and ") + test.test;
    }
    return means;
}

const models::ControlMaterial* control_of(const SeasonData& data, const models::Sample& sample) {
    if (sample.stage != models::Stage::control) return nullptr;
    for (const models::ControlMaterial& control : data.controls) {
        if (control.control == sample.sample && control.assigned_mg_per_kg > 0.0) return &control;
    }
    return nullptr;
}

}  // namespace kit_lot_parts

std::map<std::string, models::KitLotEffect> kit_lot_effects(const SeasonData& data, const models::ErrorModel& strips,
                                                            const models::ErrorModel& laboratories, double prior_sd) {
    using namespace kit_lot_parts;
    const auto means = laboratory_means(data, laboratories);
    std::map<std::string, std::vector<models::KitLotComparison>> by_lot;
    for (const models::Test& test : data.tests) {
        if (test.method != models::Method::strip || test.kit_lot.empty()) continue;
        std::vector<models::KitLotComparison>& of_lot = by_lot[test.kit_lot];
        const auto s = sample_index(data, test.sample);
        if (!s || test.reading != models::Reading::value) continue;
        const models::Sample& sample = data.samples[*s];
        models::KitLotComparison one;
        TestContent content = content_on(models::Basis::as_is, test, sample);
        if (content.reading != models::Reading::value) continue;
        if (const models::ControlMaterial* control = control_of(data, sample)) {
            one.against = "control " + control->control;
            one.strip_mg_per_kg = models::on_basis_of_control(*control, test, sample);
            one.reference_mg_per_kg = control->assigned_mg_per_kg;
            if (const auto u = control->standard_uncertainty_mg_per_kg)
                one.reference_log_variance = std::log1p(std::pow(*u / control->assigned_mg_per_kg, 2));
            // A control is known by its assigned content, which is no lognormal mean: p/2 is not to be added.
            one.reference_mg_per_kg *= std::exp(-0.5 * one.reference_log_variance);
        } else {
            const auto mean = means.find(taken_sample(data, *s));
            if (mean == means.end() || !content.converted) continue;
            one.against = mean->second.name;
            one.laboratory = true;
            one.strip_mg_per_kg = content.don_mg_per_kg;
            const double n = mean->second.results;
            one.reference_log_variance = mean->second.variance_sum / (n * n);
            one.reference_mg_per_kg = std::exp(mean->second.log_sum / n - 0.5 * one.reference_log_variance);
        }
        one.strip_log_variance = of_the_reading(one.reference_mg_per_kg, content.procedure, strips);
        const auto by_curve = data.strips.find(test.test);
        if (by_curve != data.strips.end() && by_curve->second.variance)
            one.strip_log_variance += by_curve->second.variance->total();
        of_lot.push_back(std::move(one));
    }
    std::map<std::string, models::KitLotEffect> effects;
    for (const auto& [lot, comparisons] : by_lot) effects[lot] = models::kit_lot_effect(lot, comparisons, prior_sd);
    return effects;
}

}  // namespace app
