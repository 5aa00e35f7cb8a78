#include "app/stages/risk_stage.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <utility>

#include "app/stages/season_risks.h"
#include "geo/store/store.h"
#include "models/disease/catalogue.h"
#include "models/spoken.h"

namespace app {

namespace {

double logit_of(double p) {
    return std::log(p) - std::log1p(-p);
}

/// Standard deviation of something that lies anywhere between two logits.
double spread_of(const models::RiskSpread& spread) {
    if (!spread.low || !spread.high || *spread.low <= 0.0 || *spread.high >= 1.0) return 0.0;
    return (logit_of(*spread.high) - logit_of(*spread.low)) / std::sqrt(12.0);
}

std::unique_ptr<FieldWeather> weather_of_season(const geo::Store& store, const SeasonData& data, int season,
                                                const RiskSettings& settings) {
    if (settings.weather.way == models::WeatherWay::nearest)
        return nearest_stations(store, data, season, settings.stations, settings.as_of);
    return interpolated_weather(store, data, season, settings.weather, settings.as_of);
}

}  // namespace

std::vector<FieldRisk> risks_of_season(const geo::Store& store, const SeasonData& data, int season,
                                       const RiskSettings& settings, const models::Progress& progress) {
    const models::DiseaseModel& model = settings.model.empty()
                                            ? models::default_model()
                                            : models::find_model(settings.model, settings.include_unconfirmed);
    return std::move(risks_by_models(store, data, season, settings, {&model}, progress).front());
}

std::vector<std::size_t> records_of_seasons(const SeasonData& data, int first, int last) {
    std::vector<std::size_t> records;
    for (std::size_t c = 0; c < data.crops.size(); ++c) {
        if (data.crops[c].season >= first && data.crops[c].season <= last) records.push_back(c);
    }
    return records;
}

void tell_risks(const geo::Store& store, const SeasonData& data, const std::vector<std::size_t>& records,
                const RiskSettings& settings, const std::vector<const models::DiseaseModel*>& by, const RiskTold& tell,
                const models::Progress& progress) {
    std::map<int, std::vector<std::size_t>> by_season;  // places among the records
    for (std::size_t r = 0; r < records.size(); ++r) by_season[data.crops[records[r]].season].push_back(r);
    double done = 0.0;
    for (const auto& of_one : by_season) {
        const std::unique_ptr<FieldWeather> weather = weather_of_season(store, data, of_one.first, settings);
        SeasonRisks of_season(data, by, *weather, settings);
        std::vector<std::size_t> crops;
        for (const std::size_t r : of_one.second) crops.push_back(records[r]);
        of_season.ask(crops);
        const models::Progress so_far([&](std::string_view what, double share) {
            progress.step(what, (done + share) / static_cast<double>(by_season.size()));
            return true;
        });
        of_season.answer(so_far, [&](std::size_t model, std::size_t asked, FieldRisk&& risk) {
            tell(model, of_one.second[asked], std::move(risk));
        });
        done += 1.0;
    }
    progress.step(models::phrase("disease risk"), 1.0);
}

std::vector<std::vector<FieldRisk>> risks_by_models(const geo::Store& store, const SeasonData& data, int season,
                                                    const RiskSettings& settings,
                                                    const std::vector<const models::DiseaseModel*>& by,
                                                    const models::Progress& progress) {
    const int first = settings.all_seasons ? std::numeric_limits<int>::min() : season;
    const std::vector<std::size_t> records = records_of_seasons(data, first, season);
    std::vector<std::vector<FieldRisk>> risks(by.size(), std::vector<FieldRisk>(records.size()));
    const auto keep = [&](std::size_t model, std::size_t record, FieldRisk&& risk) {
        risks[model][record] = std::move(risk);
    };
    tell_risks(store, data, records, settings, by, keep, progress);
    return risks;
}

std::shared_ptr<const models::StationDays> days_around_flowering(const geo::Store& store, const SeasonData& data,
                                                                 const FieldRisk& risk, const RiskSettings& settings,
                                                                 int from_day, int to_day) {
    if (risk.station.empty() || !risk.flowering.day) return nullptr;
    const models::CropRecord& crop = data.crops[risk.crop];
    const std::unique_ptr<FieldWeather> weather = weather_of_season(store, data, crop.season, settings);
    const WeatherChoice choice = weather->choice_for(crop);
    std::vector<HoursSource> sources = weather->others_for(crop);
    if (choice.source) sources.push_back(*choice.source);
    const auto found = std::find_if(sources.begin(), sources.end(),
                                    [&](const HoursSource& source) { return source.name == risk.station; });
    if (found == sources.end()) return nullptr;
    const models::DayWindow window = models::window_around(*risk.flowering.day, from_day, to_day);
    return std::make_shared<const models::StationDays>(std::move(weather->days(*found, window).days));
}

std::vector<models::SourceOfSeason> weather_sources(const std::vector<FieldRisk>& risks) {
    std::vector<models::SourceOfSeason> sources;
    for (const FieldRisk& risk : risks) {
        if (risk.risk.value && !risk.station.empty()) sources.push_back({risk.risk.season, risk.source});
    }
    return sources;
}

std::optional<RiskLogit> risk_logit(const models::DiseaseRisk& risk) {
    if (risk.kind != models::RiskKind::probability) return std::nullopt;
    RiskLogit out;
    if (risk.logit) {
        out.logit = *risk.logit;
    } else if (risk.missing_hours.low && risk.missing_hours.high && *risk.missing_hours.low > 0.0 &&
               *risk.missing_hours.high < 1.0) {
        // Too little weather for one number, but enough to say between which two it lies.
        out.logit = (logit_of(*risk.missing_hours.low) + logit_of(*risk.missing_hours.high)) / 2.0;
    } else {
        return std::nullopt;
    }
    double variance = std::pow(spread_of(risk.missing_hours), 2) + std::pow(spread_of(risk.unknown_agronomy), 2);
    if (risk.date.averaged()) {
        double chance = 0.0, mean = 0.0, squares = 0.0;
        for (const models::RiskAtDate& at : risk.by_date) {
            if (!at.value || *at.value <= 0.0 || *at.value >= 1.0) continue;
            const double logit = logit_of(*at.value);
            chance += at.chance;
            mean += at.chance * logit;
            squares += at.chance * logit * logit;
        }
        if (chance > 0.0) {
            mean /= chance;
            variance += std::max(0.0, squares / chance - mean * mean);
            // The mean of the logits, not the logit of the mean: that one has their spread in it already.
            if (risk.logit) out.logit = mean;
        }
    }
    out.sd = std::sqrt(variance);
    return out;
}

}  // namespace app
