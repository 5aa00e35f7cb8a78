#pragma once

#include <string>
#include <vector>

#include "demo-data/farming.h"
#include "demo-data/landscape.h"
#include "demo-data/sky.h"
#include "demo-data/smooth_field.h"

namespace demo {

/// The law that the scenario follows, on the log of the mean DON of a crop of wheat or durum (mg/kg):
///   level + slope (risk logit + 1) + season + region + field + field in its season + ploughed + sprayed
/// The risk logit is that of mean dew-point depression over flowering -10 to +10 days, cultivar and maize residue
/// (coefficients of the refit to 999 fields of Shah et al., doi 10.5061/dryad.fn2z34trv), with the weather as it
/// truly was at the field.
struct Law {
    double level = -0.55;
    double slope = 0.85;
    double season_2024 = 0.10, season_2025 = 0.20, season_2026 = 0.05;
    double sd_region = 0.20, region_range_m = 2500.0;  ///< new in every season
    double sd_field_always = 0.20;
    double sd_field_season = 0.36;
    double share_with_disease = 0.5;  ///< correlation of the field-season effect with severity beyond the risk
    double ploughed = -0.20;
    double sprayed = -0.60;
    double sd_log_within = 0.34, structured_share_within = 0.30, range_within_m = 110.0;
    double combine = -0.12, truck = -0.15, bin = -0.15;  ///< the fan blows light kernels out
};
constexpr Law law;

/// What is true of one crop of wheat.
struct CropTruth {
    std::size_t crop = 0;  ///< index into the crop rows
    double depression_degc = 0.0, risk_logit = 0.0, risk = 0.0;
    double season_effect = 0.0, region_effect = 0.0, field_effect = 0.0, field_season_effect = 0.0;
    double ploughed_effect = 0.0, sprayed_effect = 0.0;
    double mean_mg_per_kg = 0.0;  ///< of the standing crop, over the whole outline
    double severity_pct = 0.0;    ///< diseased spikelets over all heads at dough stage
    WithinCrop within;
    models::OutlineM outline_m;  ///< of the field or the part
};

std::vector<CropTruth> make_truth(const Landscape& landscape, const std::vector<CropRow>& crops,
                                  const std::vector<StationSeason>& weather);

/// The truth of a field in a season, by part where it has parts; null where it bore no wheat.
const CropTruth* truth_of(const std::vector<CropTruth>& truths, const std::vector<CropRow>& crops, std::size_t field,
                          const std::string& part, int season);
/// The truth of the crop that stands at a place of a field; null where it bore no wheat.
const CropTruth* truth_at(const std::vector<CropTruth>& truths, const std::vector<CropRow>& crops, std::size_t field,
                          int season, const models::PointM& place);

}  // namespace demo
