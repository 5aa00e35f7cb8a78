#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "app/stages/results_stage.h"
#include "app/stages/season_data.h"

namespace app {

/// A valid result of the grain of one crop record: of a sample of its field, or of a load that came from it alone.
struct FieldResult {
    std::size_t crop = 0;  ///< index into SeasonData::crops
    bool of_load = false;
    models::ChosenBecause chosen_because = models::ChosenBecause::unknown;
    models::SampleKind kind = models::SampleKind::composite;
    ResultRow row;
};

/// The results of one season by the crop record that they speak of.
struct FieldResults {
    int season = 0;
    std::vector<FieldResult> results;  ///< by the time of the test, then its name
    int of_mixed_grain = 0;            ///< valid ones of loads of several fields, of bins, of bought or unknown grain
    int of_no_part = 0;                ///< valid ones of a field that is booked in parts, and that name none
};
/// @param basis, limit  as in ResultsSettings: what the rows stand on and are held against
FieldResults field_results(const SeasonData& data, int season, models::Basis basis,
                           const std::optional<models::Limit>& limit);

/// Log variance by which such a reading lies about the mean of the grain that its crop record delivers: its own error
/// (results_of_season), what a load or a place differs from its field, and what standing heads differ from delivered
/// grain, as the map's priors have them. `log_mean` is what it lies off in the middle: what its kit lot is known to
/// add, less half the variance of the error itself, which is lognormal with the truth as its mean.
struct ReadingAboutField {
    double log_mean = 0.0, log_variance = 0.0;
};
/// @throws models::Error  as log_variance_at
ReadingAboutField reading_about_field(const FieldResult& result, double content_mg_per_kg,
                                      const models::ContaminationPriors& priors = {});

}  // namespace app
