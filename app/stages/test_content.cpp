#include "app/stages/test_content.h"

#include "models/assay/basis.h"

namespace app {

models::Test as_decided_on(const models::Test& test, const std::map<std::string, models::StripReading>& strips) {
    const auto strip = strips.find(test.test);
    if (strip == strips.end() || !strip->second.by_signals || test.reading == models::Reading::invalid) return test;
    const models::ReadContent& signals = *strip->second.by_signals;
    models::Test decided = test;
    const bool higher = signals.reading != models::Reading::below && test.reading != models::Reading::above &&
                        signals.don_mg_per_kg > test.don_mg_per_kg;
    if (!higher) return decided;
    decided.reading = signals.reading;
    decided.don_mg_per_kg = signals.don_mg_per_kg;
    return decided;
}

TestContent content_on(models::Basis basis, const models::Test& test, const models::Sample& sample) {
    TestContent out;
    out.reading = test.reading;
    out.procedure = {sample.mass_g, test.portion_g, 1};
    double don = test.don_mg_per_kg;
    if (out.reading != models::Reading::invalid && !(don > 0.0)) {
        out.reading = models::Reading::below;
        out.read_nothing = true;
        don = test.loq_mg_per_kg.value_or(0.05);
    }
    const bool needs_moisture =
        test.basis != basis && (test.basis == models::Basis::as_is || basis == models::Basis::as_is);
    out.converted = !needs_moisture || sample.moisture_pct;
    const auto brought = [&](double mg_per_kg) {
        if (!out.converted) return mg_per_kg;
        return models::convert_basis(mg_per_kg, test.basis, basis, sample.moisture_pct.value_or(0.0) / 100.0);
    };
    out.don_mg_per_kg = brought(don);
    if (test.standard_uncertainty_mg_per_kg)
        out.standard_uncertainty_mg_per_kg = brought(*test.standard_uncertainty_mg_per_kg);
    return out;
}

}  // namespace app
