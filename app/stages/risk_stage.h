#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "app/stages/field_weather.h"
#include "app/stages/season_data.h"
#include "models/disease/disease_risk.h"
#include "models/progress.h"

namespace app {

/// Disease risk of one crop record, and which station's weather it rests on.
struct FieldRisk {
    std::size_t crop = 0;  ///< index into SeasonData::crops
    models::DiseaseRisk risk;
    std::string station;  ///< empty where none is in the store
    double station_distance_m = 0.0;
    std::string passed_over;  ///< "Umbrath, 0.6 km, passed over: 144 hours missing"; empty where the nearest served
};

struct RiskSettings {
    std::string model;                      ///< empty: the default one
    bool include_unconfirmed = false;       ///< a model whose numbers nobody confirmed may be named too
    std::optional<models::LocalDay> as_of;  ///< only weather up to the end of this day
    bool all_seasons = false;               ///< of every season up to the asked one: past seasons teach
    StationDistances stations;
};

/// The risk of every crop record of the season, in the order of the records, from the weather that field_weather.h
/// gives it. Where the hours of its own station do not cover the window, the first of the others that does answers, and
/// that is said. Hours of several stations are never mixed. A model without weather has no station. Each station's days
/// are summarised once, however many fields ask.
std::vector<FieldRisk> risks_of_season(const geo::Store& store, const SeasonData& data, int season,
                                       const RiskSettings& settings, const models::Progress& progress = {});

/// The days around flowering of the station that a risk rests on, for a chart; null without station or date.
std::shared_ptr<const models::StationDays> days_around_flowering(const geo::Store& store, const SeasonData& data,
                                                                 const FieldRisk& risk, int from_day, int to_day);

/// What the contamination model takes of a risk: its logit, and how unsure that logit is (over the flowering date where
/// it is only estimated, over missing hours and over what the crop record leaves open). nullopt: nothing is known.
struct RiskLogit {
    double logit = 0.0;
    double sd = 0.0;
};
std::optional<RiskLogit> risk_logit(const models::DiseaseRisk& risk, const models::CropRecord& crop);

}  // namespace app
