#pragma once

#include <optional>
#include <string>
#include <vector>

#include "models/assay/standard_curve.h"

namespace models {

/// Millilitres of extractant to a gram of ground grain, and where the number comes from. There is none without its
/// label: a ratio that nobody stands for would spoil every content read with it.
struct ExtractRatio {
    double ml_per_g = 0.0;
    std::string source;  ///< "kit lot K7", "given by hand", or common_practice_ratio()'s own words
};
/// One to five by mass and volume: common practice, no source.
ExtractRatio common_practice_ratio();

/// What is to be weighed, measured and thinned.
struct AmountsQuestion {
    double portion_g = 0.0;  ///< of ground grain that is extracted, > 0
    ExtractRatio ratio;
    double dilution = 1.0;                                 ///< the lot's own, which its curve has in it, >= 1
    double extra_dilution = 1.0;                           ///< beyond it, >= 1
    WorkingRange range;                                    ///< of the lot, as its leaflet has it
    std::optional<double> sample_mass_g = std::nullopt;    ///< of grain that is there
    std::optional<double> usual_portion_g = std::nullopt;  ///< that the lot's procedure extracts
    double step_volume_ml = 1.0;  ///< of what is thinned in each step of the extra dilution, > 0
};

/// One part of an extract into so many in all.
struct DilutionStep {
    std::string what;  ///< "extract", "thinned extract"
    double take_ml = 0.0, add_ml = 0.0;
    double factor = 1.0;         ///< (take + add) / take
    double factor_so_far = 1.0;  ///< of all steps up to this one
    bool of_the_lot = false;     ///< the lot's own: its curve has it in it
};

/// The amounts for one sample, and the contents that can then be told.
struct Amounts {
    double portion_g = 0.0, extractant_ml = 0.0;
    ExtractRatio ratio;
    std::vector<DilutionStep> steps;  ///< extra ones first, then the lot's own
    double extra_dilution = 1.0;      ///< what a test records: it multiplies content and range, the lot's own does not
    WorkingRange range;               ///< that results in
    std::vector<std::string> notes;   ///< one sentence each
};

/// Extractant in proportion to the grain, and the chain of dilutions:
///   extractant = portion x ratio,   range = low D to high D with D the extra dilution alone
/// An extra dilution over 10 is made in equal steps of at most 10, for a small volume is measured badly (common
/// practice, no source).
/// @throws Error  a mass, volume, ratio or dilution that cannot be; a ratio without its source; a portion larger than
///                the sample; an empty range
Amounts amounts_for(const AmountsQuestion& question);

/// The smallest whole extra dilution with which a content lies well within the range: half as much again as is expected
/// can still be told (ours; of grain of 1 mg/kg nine of ten results are at most that much higher, by the published
/// errors of one sample). Where the range is too narrow for that, the one that keeps the content inside it.
/// @throws Error  the content is below the range even undiluted, or not a number above zero; an empty range
double extra_dilution_for(double content_mg_per_kg, const WorkingRange& range);

}  // namespace models
