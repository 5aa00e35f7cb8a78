#pragma once

#include <optional>
#include <vector>

#include "models/calendar.h"

namespace models {

/// What says which days a season of one field takes: the season is the year of harvest.
struct SeasonDates {
    int season = 0;
    std::optional<LocalDay> sowing, heading, flowering;
};

/// The season that grain of a field belongs to on a day, by the field's crop records: the one with flowering <= day <
/// flowering + 300 days, or by heading where no flowering is written. Without such a one the year of the day, where a
/// record of that season was not sown after it; else the latest one sown 90 to 430 days before, for where wheat is cut
/// in December its grain is tested in January, too; else the year. The bounds are the project's own (common practice,
/// no source).
int season_of_day(LocalDay day, const std::vector<SeasonDates>& seasons);

}  // namespace models
