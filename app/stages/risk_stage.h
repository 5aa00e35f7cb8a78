#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "app/stages/field_dates.h"
#include "app/stages/field_weather.h"
#include "app/stages/interpolated_weather.h"
#include "app/stages/season_data.h"
#include "models/disease/disease_risk.h"
#include "models/progress.h"
#include "models/weather/weather_source.h"

namespace app {

/// Disease risk of one crop record, and which station's weather it rests on.
struct FieldRisk {
    std::size_t crop = 0;  ///< index into SeasonData::crops
    models::DiseaseRisk risk;
    std::string station;  ///< empty where none is in the store
    double station_distance_m = 0.0;
    std::string passed_over;  ///< "Umbrath, 0.6 km, passed over: 144 hours missing"; empty where the nearest served
    std::vector<std::string>
        weather_notes;  ///< what to know of its weather: from far away, of several stations, forecast
    models::WeatherSource source = models::WeatherSource::on_site;  ///< of its hours, where `station` is not empty
    int places = 1;                                                 ///< stations or cells that its hours are made of
    bool forecast = false;                                          ///< some of the hours it rests on are forecast
    FloweringDay flowering;  ///< written down, else the most likely day by what is known
};

struct RiskSettings {
    std::string model;                 ///< empty: the default one
    bool include_unconfirmed = false;  ///< a model whose numbers nobody confirmed may be named too, and a flowering
                                       ///< date may rest on such numbers
    std::optional<models::LocalDay> as_of;  ///< only weather up to the end of this day, and dates written by then
    bool all_seasons = false;               ///< of every season up to the asked one: past seasons teach
    StationDistances stations;
    models::InterpolationSettings weather;  ///< how stations become a field's weather; the nearest by default
    bool sentences = true;                  ///< false: numbers only, which is quicker where they are very many
    int threads = 0;                        ///< 0: as many as there are processors; the answer is the same
};

/// The risk of every crop record of the season, in the order of the records, from the weather that field_weather.h
/// gives it and the date that field_dates.h gives it. Where the hours of its own station do not cover the window, the
/// first of the others that does answers, and that is said. Hours of several stations are never mixed. A model without
/// weather has no station. Each station's days are summarised once, however many fields ask.
std::vector<FieldRisk> risks_of_season(const geo::Store& store, const SeasonData& data, int season,
                                       const RiskSettings& settings, const models::Progress& progress = {});
/// Indices into SeasonData::crops.
/// @param first, last  seasons, both included
std::vector<std::size_t> records_of_seasons(const SeasonData& data, int first, int last);
/// A risk as soon as it is known, by the places of its model and of its crop record among those asked for. Told once
/// each, from several threads at a time.
using RiskTold = std::function<void(std::size_t model, std::size_t record, FieldRisk&& risk)>;
/// The same by several models, whatever model the settings name, from one reading of the weather, each saying what it
/// says alone. Nothing is kept: for tables of many seasons.
void tell_risks(const geo::Store& store, const SeasonData& data, const std::vector<std::size_t>& records,
                const RiskSettings& settings, const std::vector<const models::DiseaseModel*>& by, const RiskTold& tell,
                const models::Progress& progress = {});
/// All of them: [model][record].
std::vector<std::vector<FieldRisk>> risks_by_models(const geo::Store& store, const SeasonData& data, int season,
                                                    const RiskSettings& settings,
                                                    const std::vector<const models::DiseaseModel*>& by,
                                                    const models::Progress& progress = {});

/// The hours around flowering, or around the most likely day where that is estimated, that a risk rests on, for a
/// chart; null without weather or date.
/// @param settings  with which the risk was worked out
std::shared_ptr<const models::StationDays> days_around_flowering(const geo::Store& store, const SeasonData& data,
                                                                 const FieldRisk& risk, const RiskSettings& settings,
                                                                 int from_day, int to_day);

/// Where the weather of risks comes from, season by season, for models::note_of_changed_source.
std::vector<models::SourceOfSeason> weather_sources(const std::vector<FieldRisk>& risks);

/// What the contamination model takes of a risk: its logit, and how unsure that logit is. nullopt: nothing is known.
///   of an observed date: the risk's own logit; of any other: the mean sum w_d l_d over its days, w_d the chance of a
///   day, and their variance sum w_d (l_d - mean)^2 in sd^2;
///   sd^2 also holds a uniform law between the bounds that missing hours leave, and one over the classes that the crop
///   record leaves open: (l_high - l_low)^2 / 12 each.
struct RiskLogit {
    double logit = 0.0;
    double sd = 0.0;
};
std::optional<RiskLogit> risk_logit(const models::DiseaseRisk& risk);

}  // namespace app
