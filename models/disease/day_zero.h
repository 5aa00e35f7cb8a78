#pragma once

#include <optional>
#include <string>
#include <vector>

#include "models/disease/disease_model.h"
#include "models/phenology/flowering.h"

namespace models {

/// What the date that a model counts from rests on.
enum class DateBasis { none, observed, estimated_by_hand, heading, flowering, sowing };
/// "observed", "estimated", "from heading", "from flowering", "from sowing"; empty for none.
std::string in_words(DateBasis basis);
DateBasis basis_of(FloweringBasis basis);

/// The day that a disease model counts from (flowering, or heading), and how well it is known.
struct DayZeroDate {
    DayZero of = DayZero::flowering;
    DateBasis basis = DateBasis::none;
    std::optional<LocalDay> most_likely;  ///< an observed date: that date
    double sd_days = 0.0;
    DayDistribution days;              ///< a chance for each day; empty where the date is taken as it stands
    std::string method;                ///< in words
    bool extrapolated = false;         ///< by a scheme away from the crop, sowing dates or region it was made for
    bool unconfirmed = false;          ///< rests on figures from memory
    std::vector<std::string> notes;    ///< what was assumed and where it is weak: sentences
    std::vector<std::string> missing;  ///< what would be needed, or would narrow the date: sentences

    /// A risk is averaged over the days, but of an observed date: that one is the day until more is known.
    bool averaged() const;
};

/// The date of the crop record as it stands, whoever wrote it down; none, and `missing` says so, where there is none.
DayZeroDate written_day_zero(const DiseaseModel& model, const CropRecord& crop);

/// The date by an estimate of the flowering date (flowering.h). A model that counts from heading takes the heading date
/// that is written down, else the days of flowering less the interval from heading to flowering, with that interval's
/// sd added to theirs: sd^2 = sd_flowering^2 + sd_interval^2. Where nothing can be said `missing` says what would help.
/// @param options  of the estimate: a heading date after `as_of` was not known, the interval is its interval
DayZeroDate estimated_day_zero(const DiseaseModel& model, const CropRecord& crop, const FloweringEstimate& estimate,
                               const FloweringOptions& options = {});

}  // namespace models
