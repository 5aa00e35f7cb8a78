#include "tests/support/simulated_input.h"

#include <string>
#include <utility>

namespace season_simulator {

namespace {

constexpr const char* season_lot = "K1";  // of the season that counts, where a control names it

void add_sample(models::ContaminationInput& input, models::GrainSample sample) {
    sample.sample = "S" + std::to_string(input.samples.size());
    sample.mass_g = 454.0;
    input.samples.push_back(std::move(sample));
}

/// Of the last sample.
void add_result(models::ContaminationInput& input, const Reading& reading, const std::string& lot) {
    models::AssayResult result;
    result.test = "T" + std::to_string(input.results.size());
    result.sample = input.samples.size() - 1;
    result.reading = reading.side < 0   ? models::Reading::below
                     : reading.side > 0 ? models::Reading::above
                                        : models::Reading::value;
    result.don_mg_per_kg = reading.mg_per_kg;
    result.portion_g = 25.0;
    result.kit_lot = lot;
    input.results.push_back(result);
}

}  // namespace

models::ContaminationInput input_of(const SimulatedSeasons& s, const WrittenDown& written) {
    models::ContaminationInput input;
    const std::size_t fields = s.place.size();
    const int last = static_cast<int>(s.risk_logit.size()) - 1;
    for (std::size_t y = 0; y < s.risk_logit.size(); ++y)
        for (std::size_t f = 0; f < fields; ++f) {
            input.field_seasons.push_back({"F" + std::to_string(f), "", static_cast<int>(y), s.risk_logit[y][f]});
            if (written.places) input.field_seasons.back().place_m = models::PointM{s.place[f].x_m, s.place[f].y_m};
            if (static_cast<int>(y) == last) input.field_seasons.back().risk_weather_km = written.risk_weather_km;
        }
    const auto lot_of = [&](const Reading& r) { return r.season == last && !s.controls.empty() ? season_lot : ""; };
    for (const Reading& r : s.readings) {
        models::GrainSample sample;
        sample.index = static_cast<std::size_t>(r.season) * fields + static_cast<std::size_t>(r.field);
        sample.increments = written.increments;
        if (r.standing) sample.stage = models::Stage::standing;
        sample.chosen_because = r.season == last ? written.chosen_because : models::ChosenBecause::random;
        add_sample(input, sample);
        add_result(input, r, lot_of(r));
    }
    if (!s.controls.empty()) {
        models::GrainSample control;
        control.from = models::SampledGrain::control;
        control.stage = models::Stage::control;
        control.control_mg_per_kg = written.control_mg_per_kg;
        control.control_standard_uncertainty_mg_per_kg = 0.03 * written.control_mg_per_kg;
        add_sample(input, control);
        for (const Reading& r : s.controls) add_result(input, r, season_lot);
    }
    return input;
}

models::ContaminationPriors truth_of(const SimulatedSeasons& s) {
    models::ContaminationPriors priors;
    priors.level_mean = s.level;
    priors.slope_mean = s.slope;
    priors.level_sd = priors.slope_sd = 1e-6;
    priors.fixed = {true, s.season_sd, s.field_sd, s.within_sd, 0.0, s.region_sd, s.region_range_m};
    return priors;
}

}  // namespace season_simulator
