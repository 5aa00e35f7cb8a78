#pragma once

#include <string>
#include <vector>

namespace models {

/// What the contamination model believes before the first strip. Contents are ln mg/kg of the arithmetic mean of a
/// field; standard deviations are of logs. Each number can be changed; `describe` prints them with their source.
struct ContaminationPriors {
    // ln field mean = b0 + b1 (l + 1) + season + region + field, l = logit of the disease risk
    double level_mean = -0.6931471805599453;  ///< of b0: 0.5 mg/kg where l = -1
    double level_sd = 1.0;
    double slope_mean = 0.9;  ///< of b1
    double slope_sd = 0.5;

    double season_sd_scale = 0.8;                           ///< sd of seasons ~ |N(0, this)|
    double field_sd_median = 0.5, field_sd_spread = 0.5;    ///< sd of fields ~ LN(ln median, spread)
    double within_sd_median = 0.4, within_sd_spread = 0.5;  ///< sd of places within a field, the same way
    double lot_sd_scale = 0.1;                              ///< sd of kit lots and runs ~ |N(0, this)|
    double region_sd_scale = 0.6;                           ///< sd of regions within a season ~ |N(0, this)|
    double range_median_m = 10000.0, range_spread = 0.8;    ///< their range ~ LN(ln median, spread)
    /// Share of the fields of a season that hold no DON at all: its logit ~ N(logit median, spread^2); median 0: none.
    double free_share_median = 0.004, free_share_spread = 1.7;

    double standing_offset_sd = 0.2;  ///< grain threshed from standing heads against delivered grain; 0: none
    double outside_choice_sd = 0.3;   ///< fields tested for a reason outside the model, one shift a season; 0: none
    double unknown_risk_mean = -1.0;  ///< logit, where no field of any season has a disease risk
    double unknown_risk_sd = 1.5;
    double bought_mean = -0.6931471805599453;  ///< grain of unknown fields: N(mean, sd^2)
    double bought_sd = 1.5;

    int assumed_increments = 10;   ///< of a composite that does not say
    double load_places = 8.0;      ///< a load of a field varies like the mean of so many places
    double within_load_cv = 0.25;  ///< of increments within one load

    bool flat_coefficients = false;  ///< b0 and b1 without a prior (then both must be informed by results)
    /// Where set, the value instead of its prior. For checks against closed forms and for "posterior under the truth".
    struct Fixed {
        bool active = false;
        double season_sd = 0.0, field_sd = 0.0, within_sd = 0.0, lot_sd = 0.0;
        double region_sd = 0.0, range_m = 10000.0;
        double free_share = 0.0;
    } fixed;
};

/// One sentence a prior, with its source.
std::vector<std::string> describe(const ContaminationPriors&);

}  // namespace models
