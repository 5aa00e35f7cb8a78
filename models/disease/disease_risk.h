#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "models/disease/day_zero.h"
#include "models/disease/weather_by_date.h"
#include "models/records.h"
#include "models/weather/station_days.h"

namespace models {

struct RiskOptions {
    int date_spread_days = 3;       ///< how far a date that is not averaged over may be wrong, either way
    std::optional<LocalDay> as_of;  ///< only weather up to the end of this day is known (of a station's days)
    std::optional<double> longitude_deg,
        latitude_deg;                ///< of the field: to say when it lies outside the model's region
    std::string no_station_because;  ///< why there is no station, where there is one that does not count
    bool sentences =
        true;  ///< false: numbers only, for a table of very many; `outside`, `missing` and `notes` are empty
};

/// From, to; empty where nothing can be said.
struct RiskSpread {
    std::optional<double> low, high;
};

/// What the model would say had the field flowered `days_later` than the date given, or the most likely one.
struct RiskAtDate {
    int days_later = 0;
    std::optional<double> value;  ///< only where the weather covers that window too
    double chance = 0.0;          ///< of that day; 0 where none is known
};

struct TermValue {
    std::string_view name, title, unit;  ///< the model's own, which outlives this
    DayWindow window;
    WindowValue weather;
    bool extrapolated = false;  ///< outside the data that the model was made from
};

/// Disease risk of one crop record: P(field severity >= 10 %), never a chance of exceeding a DON limit.
/// Every number 0 to 1, but mg/kg where `kind` is a content. `value` is there only where flowering date, crop and
/// weather allow one; the intercept of an equation is never passed off as an answer.
struct DiseaseRisk {
    std::string field, part;
    int season = 0;
    std::string model;
    RiskKind kind = RiskKind::probability;
    bool unconfirmed = false;  ///< of the model; the notes say why
    std::optional<double> value;
    std::optional<double> low, high;  ///< the envelope of the spreads below
    std::optional<double> logit;      ///< of value, where that is no content
    DayZeroDate date;                 ///< what it counts from
    RiskSpread missing_hours;         ///< whatever the missing hours were, at the date as given or over the dates
    RiskSpread flowering_date;        ///< over by_date: its extremes, or its 5 % and 95 % points where it has chances
    std::optional<double> sd_over_dates;  ///< where the value is averaged over them
    RiskSpread unknown_agronomy;          ///< over the classes of what was not said; equal to value where all was said
    std::vector<RiskAtDate> by_date;      ///< -3 to +3 days, or every day that has a chance; ascending
    double dates_covered = 0.0;           ///< 0 to 1: the chance of those days of by_date that have a value
    double coverage = 0.0;             ///< 0 to 1: share of the hours seen, of the worst weather term; over the dates
    std::vector<TermValue> terms;      ///< at the date given, or the most likely one
    bool extrapolated = false;         ///< weather, crop or region that the model's data do not hold
    std::vector<std::string> outside;  ///< what those are, in words that are the same for every field they hold for
    std::vector<std::string> missing;  ///< what would be needed, or would narrow the answer: sentences
    std::vector<std::string> notes;    ///< what was assumed and where the model is weak: sentences
};

/// Applies a model to a crop record, the weather of a station near by and what is known of the date.
///
/// An observed date: the value is the model's at that date; low and high go over the missing hours there, over the
/// dates -3 to +3 days, and over the classes of resistance, wheat type and maize residue that the crop record leaves
/// open. Any other date is a chance w_d for each day d, and with the model's number r_d:
///   value = sum w_d r_d / sum w_d over the days whose weather is known, where those have a chance of 90 % together;
///   logit = ln(sum w_d p_d / sum w_d (1 - p_d));      sd_over_dates^2 = sum w_d (r_d - value)^2 / sum w_d;
///   missing hours: the same mean of the lowest and of the highest numbers that they allow;
///   low, high: the 5 % point over the dates of the lowest numbers and the 95 % point of the highest (missing hours and
///   open classes in them), widened where the value lies outside.
/// For the value itself what is left open is taken as the reference class of the data (susceptible, winter wheat, no
/// maize residue), and the notes say so. Maize residue: the previous crop is maize and the residue is not said to be
/// none. A model without weather needs neither date nor station. Durum is counted as wheat and marked as extrapolated,
/// as is an irrigated field; for other crops there is no model and no value.
/// @param weather  of that model; what it knew, it knew as of its own day. nullptr where no station is near: no value
DiseaseRisk disease_risk(const DiseaseModel& model, const CropRecord& crop, const DayZeroDate& date,
                         WeatherByDate* weather, const RiskOptions& options = {});

/// The same at the date of the crop record as it stands, whoever wrote it down: the flowering date, or the first day of
/// flowering where only that is known; of a model that counts from heading, the heading date. Threads: any number at
/// once.
/// @param station  nullptr where no station is near: no value
DiseaseRisk disease_risk(const DiseaseModel& model, const CropRecord& crop, const StationDays* station,
                         const RiskOptions& options = {});

/// Wheat and durum.
bool has_disease_model(Crop crop);
/// Whether one of `missing` speaks of hours that the weather lacks.
bool speaks_of_hours(const DiseaseRisk& risk, const std::string& missing);

/// A value is named where the dates that have one hold this chance.
inline constexpr double least_chance_of_dates = 0.90;

/// The local days that a model may ask for, for a crop whose day 0 is that: to load weather by.
DayWindow weather_needed(const DiseaseModel& model, LocalDay day_zero, const RiskOptions& options = {});
/// For all days that a date may be; nullopt where it is not known at all.
std::optional<DayWindow> weather_needed(const DiseaseModel& model, const DayZeroDate& date,
                                        const RiskOptions& options = {});
/// The day of flowering of a crop record; nullopt where it has none.
std::optional<LocalDay> flowering_day(const CropRecord& crop);
/// The day that a model counts from: flowering or heading.
std::optional<LocalDay> day_zero_of(const DiseaseModel& model, const CropRecord& crop);

}  // namespace models
