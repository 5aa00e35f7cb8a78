#include "models/season_of_day.h"

#include <algorithm>

namespace models {

int season_of_day(LocalDay day, const std::vector<SeasonDates>& seasons) {
    using std::chrono::days;
    constexpr days after_flowering{300}, first_grain{90}, last_grain{430};
    for (const SeasonDates& one : seasons) {
        const auto& ear = one.flowering ? one.flowering : one.heading;
        if (ear && *ear <= day && day < *ear + after_flowering) return one.season;
    }
    const int year = year_of(day);
    const bool grown_by_then = std::any_of(seasons.begin(), seasons.end(), [&](const SeasonDates& one) {
        return one.season == year && !(one.sowing && *one.sowing > day);
    });
    if (grown_by_then) return year;
    const SeasonDates* latest = nullptr;
    for (const SeasonDates& one : seasons) {
        if (!one.sowing || day < *one.sowing + first_grain || day >= *one.sowing + last_grain) continue;
        if (latest == nullptr || *latest->sowing < *one.sowing) latest = &one;
    }
    return latest == nullptr ? year : latest->season;
}

}  // namespace models
