#include "models/phenology/flowering_record.h"

#include <cmath>

#include <fmt/format.h>

#include "models/error.h"
#include "models/phenology/winter_wheat.h"

namespace models {

namespace {

constexpr int fewest_days_from_sowing = 25;

void check_dates_in_order(const CropRecord& crop, const std::optional<LocalDay>& earlier, const char* earlier_name,
                          const std::optional<LocalDay>& later, const char* later_name) {
    if (!earlier || !later || *earlier <= *later) return;
    throw Error(
        fmt::format("{} on {} comes after {} on {}", earlier_name, to_text(*earlier), later_name, to_text(*later)),
        place_of_record(crop), "check the two dates");
}

void check_near_season(const CropRecord& crop, const std::optional<LocalDay>& date, const char* name) {
    if (!date || crop.season == 0 || std::abs(year_of(*date) - crop.season) <= 1) return;
    throw Error(fmt::format("{} on {} is more than a year from the season", name, to_text(*date)),
                place_of_record(crop), "check the date, or the season (the year of harvest)");
}

void check_days_from_sowing(const CropRecord& crop, const std::optional<LocalDay>& flowering) {
    if (!crop.sowing_date || !flowering) return;
    const auto after = (*flowering - *crop.sowing_date).count();
    if (after >= fewest_days_from_sowing && after <= most_days_followed) return;
    throw Error(fmt::format("flowering on {} is {} days after sowing on {}", to_text(*flowering), after,
                            to_text(*crop.sowing_date)),
                place_of_record(crop),
                fmt::format("check the two dates: wheat flowers {} to {} days after sowing", fewest_days_from_sowing,
                            most_days_followed));
}

void check_flowering_number(double value, double least, double most, const char* name) {
    if (value >= least && value <= most) return;
    throw Error(fmt::format("{} is no {}", value, name), "flowering date",
                fmt::format("give a number from {:g} to {:g}", least, most));
}

bool is_later_than(const std::optional<LocalDay>& date, LocalDay day) {
    return date && *date > day;
}

}  // namespace

std::string place_of_record(const CropRecord& crop) {
    std::string place = "crops, field " + crop.field;
    if (!crop.part.empty()) place += ", part " + crop.part;
    return place + fmt::format(", season {}", crop.season);
}

void check_flowering_record(const CropRecord& crop, const FloweringOptions& options) {
    check_dates_in_order(crop, crop.sowing_date, "sowing", crop.heading_date, "heading");
    check_dates_in_order(crop, crop.flowering_start, "the start of flowering", crop.flowering_end,
                         "the end of flowering");
    for (const auto& flowering : {crop.flowering_date, crop.flowering_start}) {
        check_dates_in_order(crop, crop.sowing_date, "sowing", flowering, "flowering");
        check_dates_in_order(crop, crop.heading_date, "heading", flowering, "flowering");
        check_near_season(crop, flowering, "flowering");
        check_days_from_sowing(crop, flowering);
    }
    check_near_season(crop, crop.sowing_date, "sowing");
    check_near_season(crop, crop.heading_date, "heading");
    if (options.latitude_deg) check_flowering_number(*options.latitude_deg, -90.0, 90.0, "latitude");
    if (options.longitude_deg) check_flowering_number(*options.longitude_deg, -180.0, 180.0, "longitude");
    check_flowering_number(options.observed_sd_days, 0.0, 30.0, "standard deviation of an observed date");
    check_flowering_number(options.estimated_sd_days, 0.0, 30.0, "standard deviation of an estimated date");
    check_flowering_number(options.heading_interval_sd_days, 0.0, 30.0, "standard deviation of the days from heading");
    check_flowering_number(options.heading_to_flowering_days, 0.0, 30.0, "number of days from heading to flowering");
    check_flowering_number(options.error_factor_away_from_home, 1.0, 10.0, "factor on a scheme's error");
    if (options.sowing_between && options.sowing_between->last < options.sowing_between->first) {
        throw Error("the last possible day of sowing comes before the first", place_of_record(crop),
                    "swap the two days");
    }
    if (options.sowing_between && options.sowing_between->days() > 120) {
        throw Error(fmt::format("sowing between {} and {} says nothing", to_text(options.sowing_between->first),
                                to_text(options.sowing_between->last)),
                    place_of_record(crop), "name 120 days or fewer");
    }
    if (options.sowing_between && !crop.sowing_date) {
        check_near_season(crop, options.sowing_between->first, "sowing");
        check_near_season(crop, options.sowing_between->last, "sowing");
    }
    if (options.scheme) check_scheme(*options.scheme);
}

CropRecord as_known(CropRecord crop, const std::optional<LocalDay>& as_of) {
    if (!as_of) return crop;
    for (auto* date :
         {&crop.sowing_date, &crop.heading_date, &crop.flowering_date, &crop.flowering_start, &crop.flowering_end}) {
        if (is_later_than(*date, *as_of)) date->reset();
    }
    return crop;
}

}  // namespace models
