#include "models/disease/day_zero.h"

#include <utility>

#include <fmt/format.h>

#include "models/disease/disease_risk.h"
#include "models/phenology/flowering_record.h"
#include "models/spoken.h"

namespace models {

namespace {

/// What is missing where there is no date, with what an estimate of it lacks.
std::vector<std::string> lacks_of_date(std::string date, const FloweringEstimate& estimate) {
    std::vector<std::string> missing = {std::move(date)};
    for (const std::string& lack : estimate.missing) missing.push_back(phrase("to estimate it: {}", lack));
    return missing;
}

DayZeroDate flowering_of(const CropRecord& known, const FloweringEstimate& estimate, const FloweringOptions& options) {
    DayZeroDate date{DayZero::flowering, basis_of(estimate.basis), estimate.most_likely,  estimate.sd_days,
                     estimate.days,      estimate.method,          estimate.extrapolated, estimate.unconfirmed,
                     estimate.notes,     estimate.missing};
    if (date.most_likely) return date;
    date.extrapolated = date.unconfirmed = false;  // there is no date that could be
    const bool nothing_to_go_by = !known.heading_date && !known.sowing_date && !options.sowing_between;
    if (!nothing_to_go_by) date.missing = lacks_of_date(phrase("the flowering date"), estimate);
    return date;
}

DayZeroDate heading_from_flowering(const FloweringEstimate& estimate, const FloweringOptions& options) {
    DayZeroDate date;
    date.of = DayZero::heading;
    if (!estimate.most_likely) {
        date.missing = lacks_of_date(phrase("the heading date"), estimate);
        return date;
    }
    const auto interval = std::chrono::days(options.heading_to_flowering_days);
    date.basis = estimate.basis == FloweringBasis::sowing ? DateBasis::sowing : DateBasis::flowering;
    date.most_likely = *estimate.most_likely - interval;
    DayDistribution days = spread_normally(estimate.days, options.heading_interval_sd_days);
    days.first -= interval;
    date.days = without_tails(days, negligible_tail);
    date.sd_days = date.days.sd_days();
    date.method = fmt::format("{} days before flowering, sd {:g} days; {}", options.heading_to_flowering_days,
                              options.heading_interval_sd_days, estimate.method);
    date.extrapolated = estimate.extrapolated;
    date.unconfirmed = estimate.unconfirmed;
    date.notes = estimate.notes;
    date.notes.emplace_back("the days from heading to flowering are customary, without a source");
    date.missing = estimate.missing;
    date.missing.push_back(phrase("the observed heading date"));
    return date;
}

}  // namespace

std::string in_words(DateBasis basis) {
    switch (basis) {
        case DateBasis::observed:
            return phrase("observed");
        case DateBasis::estimated_by_hand:
            return phrase("estimated");
        case DateBasis::heading:
            return phrase("from heading");
        case DateBasis::flowering:
            return phrase("from flowering");
        case DateBasis::sowing:
            return phrase("from sowing");
        case DateBasis::none:
            break;
    }
    return "";
}

DateBasis basis_of(FloweringBasis basis) {
    switch (basis) {
        case FloweringBasis::observed:
            return DateBasis::observed;
        case FloweringBasis::estimated_by_hand:
            return DateBasis::estimated_by_hand;
        case FloweringBasis::heading:
            return DateBasis::heading;
        case FloweringBasis::sowing:
            return DateBasis::sowing;
        case FloweringBasis::none:
            break;
    }
    return DateBasis::none;
}

bool DayZeroDate::averaged() const {
    return most_likely && basis != DateBasis::observed;
}

DayZeroDate written_day_zero(const DiseaseModel& model, const CropRecord& crop) {
    DayZeroDate date;
    date.of = model.day_zero;
    date.most_likely = day_zero_of(model, crop);
    if (date.most_likely) {
        date.basis = DateBasis::observed;
    } else {
        date.missing.push_back(model.day_zero == DayZero::heading ? phrase("the heading date")
                                                                  : phrase("the flowering date"));
    }
    return date;
}

DayZeroDate estimated_day_zero(const DiseaseModel& model, const CropRecord& crop, const FloweringEstimate& estimate,
                               const FloweringOptions& options) {
    const CropRecord known = as_known(crop, options.as_of);
    if (model.day_zero == DayZero::flowering) return flowering_of(known, estimate, options);
    if (!known.heading_date) return heading_from_flowering(estimate, options);
    DayZeroDate date;
    date.of = DayZero::heading;
    date.basis = DateBasis::observed;
    date.most_likely = known.heading_date;
    date.days = without_tails(normal_days(*known.heading_date, options.observed_sd_days), negligible_tail);
    date.sd_days = date.days.sd_days();
    date.method = fmt::format("heading written down, sd {:g} days", options.observed_sd_days);
    return date;
}

}  // namespace models
