#include "app/stages/risk_stage.h"

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

#include "app/stages/season_risks.h"
#include "geo/store/store.h"
#include "models/disease/catalogue.h"

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

std::vector<std::vector<FieldRisk>> risks_by_models(const geo::Store& store, const SeasonData& data, int season,
                                                    const RiskSettings& settings,
                                                    const std::vector<const models::DiseaseModel*>& by,
                                                    const models::Progress& progress) {
    const auto is_asked = [&](const models::CropRecord& crop) {
        return settings.all_seasons ? crop.season <= season : crop.season == season;
    };
    std::set<int> seasons;
    std::vector<std::size_t> place(data.crops.size());  // of each record asked for among the risks
    std::size_t asked = 0;
    for (std::size_t c = 0; c < data.crops.size(); ++c) {
        if (!is_asked(data.crops[c])) continue;
        seasons.insert(data.crops[c].season);
        place[c] = asked++;
    }
    std::vector<std::vector<FieldRisk>> risks(by.size(), std::vector<FieldRisk>(asked));
    double done = 0.0;
    for (const int one : seasons) {
        const std::unique_ptr<FieldWeather> weather = weather_of_season(store, data, one, settings);
        SeasonRisks of_season(data, by, *weather, settings);
        for (std::size_t c = 0; c < data.crops.size(); ++c) {
            if (data.crops[c].season == one) of_season.ask(c);
        }
        const models::Progress so_far([&](std::string_view what, double share) {
            progress.step(what, (done + share) / static_cast<double>(seasons.size()));
            return true;
        });
        std::vector<std::vector<FieldRisk>> answers = of_season.answer(so_far);
        for (std::size_t m = 0; m < by.size(); ++m) {
            for (FieldRisk& risk : answers[m]) risks[m][place[risk.crop]] = std::move(risk);
        }
        done += 1.0;
    }
    progress.step("disease risk", 1.0);
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
