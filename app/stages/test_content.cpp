#include "app/stages/test_content.h"

#include "models/assay/basis.h"

namespace app {

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
