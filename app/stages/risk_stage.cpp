#include "app/stages/risk_stage.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "geo/store/store.h"
#include "models/counted.h"
#include "models/disease/catalogue.h"
#include "models/weather/nearest_station.h"

namespace app {

namespace {

/// The nearest station of a crop record's outline.
std::optional<models::StationAt> station_of(const SeasonData& data, const models::CropRecord& crop) {
    const models::Field* outline = outline_of(data, crop.field, crop.part);
    if (outline == nullptr) return std::nullopt;
    return models::nearest_station(outline->centroid_m, data.stations);
}

double logit_of(double p) {
    return std::log(p) - std::log1p(-p);
}

/// Standard deviation of something that lies anywhere between two logits.
double spread_of(const models::RiskSpread& spread) {
    if (!spread.low || !spread.high || *spread.low <= 0.0 || *spread.high >= 1.0) return 0.0;
    return (logit_of(*spread.high) - logit_of(*spread.low)) / std::sqrt(12.0);
}

}  // namespace

std::vector<FieldRisk> risks_of_season(const geo::Store& store, const SeasonData& data, int season,
                                       const RiskSettings& settings, const models::Progress& progress) {
    const models::DiseaseModel& model = settings.model.empty()
                                            ? models::default_model()
                                            : models::find_model(settings.model, settings.include_unconfirmed);
    models::RiskOptions options;
    options.as_of = settings.as_of;

    // First which days of which station are asked for, season by season; then each stretch is read once.
    struct Wanted {
        std::optional<models::DayWindow> window;
        std::vector<std::size_t> risks;
    };
    std::map<std::pair<std::size_t, int>, Wanted> wanted;
    std::vector<FieldRisk> risks;
    std::map<std::size_t, std::string> too_far;  // of which risk the nearest station is
    for (std::size_t c = 0; c < data.crops.size(); ++c) {
        const models::CropRecord& crop = data.crops[c];
        if (settings.all_seasons ? crop.season > season : crop.season != season) continue;
        FieldRisk entry;
        entry.crop = c;
        auto station = model.weather.empty() ? std::nullopt : station_of(data, crop);
        if (station && station->distance_m > settings.farthest_station_m) {
            too_far[risks.size()] = fmt::format(
                "the nearest station, {}, stands {:.0f} km away, and weather from more than {:.0f} km away is none of "
                "this field's",
                data.stations[station->index].station, station->distance_m / 1000.0,
                settings.farthest_station_m / 1000.0);
            station.reset();
        }
        if (station) {
            entry.station = data.stations[station->index].station;
            entry.station_distance_m = station->distance_m;
        }
        Wanted& stretch = wanted[{station ? station->index : data.stations.size(), crop.season}];
        if (const auto day_zero = models::day_zero_of(model, crop); station && day_zero) {
            const models::DayWindow window = models::weather_needed(model, *day_zero, options);
            if (!stretch.window) stretch.window = window;
            stretch.window->first = std::min(stretch.window->first, window.first);
            stretch.window->last = std::max(stretch.window->last, window.last);
        }
        stretch.risks.push_back(risks.size());
        risks.push_back(std::move(entry));
    }

    const auto risk_from = [&](const models::CropRecord& crop, const models::StationDays* days) {
        models::RiskOptions here = options;
        if (const models::Field* outline = outline_of(data, crop.field, crop.part)) {
            here.longitude_deg = outline->longitude_deg;
            here.latitude_deg = outline->latitude_deg;
        }
        return models::disease_risk(model, crop, days, here);
    };
    std::size_t done = 0;
    std::vector<std::size_t> uncovered;
    for (const auto& [key, stretch] : wanted) {
        std::optional<models::StationDays> days;
        if (stretch.window) {
            days.emplace(store.weather(data.stations[key.first].station, stretch.window->first, stretch.window->last));
        }
        for (const std::size_t r : stretch.risks) {
            const models::CropRecord& crop = data.crops[risks[r].crop];
            risks[r].risk = risk_from(crop, days ? &*days : nullptr);
            if (const auto far = too_far.find(r); far != too_far.end()) {
                std::erase(risks[r].risk.missing, "a weather station");  // there is one, and it does not count
                risks[r].risk.missing.insert(risks[r].risk.missing.begin(), far->second);
            } else if (days && risks[r].station_distance_m > settings.told_from_m) {
                risks[r].risk.notes.push_back(
                    fmt::format("weather from {:.0f} km away", risks[r].station_distance_m / 1000.0));
            }
            if (days && !risks[r].risk.value && models::day_zero_of(model, crop) && risks[r].risk.coverage < 1.0) {
                uncovered.push_back(r);
            }
        }
        progress.step("disease risk", 0.9 * static_cast<double>(++done) / static_cast<double>(wanted.size()));
    }
    // What the nearest station could not answer, asked of the next ones.
    std::map<std::pair<std::size_t, int>, models::StationDays> further;
    for (const std::size_t r : uncovered) {
        const models::CropRecord& crop = data.crops[risks[r].crop];
        const models::Field* outline = outline_of(data, crop.field, crop.part);
        if (outline == nullptr) continue;
        const auto near =
            models::stations_by_distance(outline->centroid_m, data.stations, settings.other_station_within_m);
        for (std::size_t k = 1; k < near.size() && k < 4 && !risks[r].risk.value; ++k) {
            auto found = further.find({near[k].index, crop.season});
            if (found == further.end()) {
                std::optional<models::DayWindow> window;
                for (const std::size_t other : uncovered) {
                    const models::CropRecord& asking = data.crops[risks[other].crop];
                    if (asking.season != crop.season) continue;
                    const models::DayWindow needed =
                        models::weather_needed(model, *models::day_zero_of(model, asking), options);
                    if (!window) window = needed;
                    window->first = std::min(window->first, needed.first);
                    window->last = std::max(window->last, needed.last);
                }
                const std::string& name = data.stations[near[k].index].station;
                found = further
                            .emplace(std::pair{near[k].index, crop.season},
                                     models::StationDays(store.weather(name, window->first, window->last)))
                            .first;
            }
            models::DiseaseRisk risk = risk_from(crop, &found->second);
            if (!risk.value) continue;
            int hours_missing = 0;
            for (const models::TermValue& term : risks[r].risk.terms) {
                hours_missing = std::max(hours_missing, term.weather.coverage.hours_missing());
            }
            risks[r].passed_over =
                fmt::format("{}, {:.1f} km, passed over: {} missing", risks[r].station,
                            risks[r].station_distance_m / 1000.0, models::counted(hours_missing, "hour"));
            risk.notes.push_back(risks[r].passed_over);
            risks[r].risk = std::move(risk);
            risks[r].station = data.stations[near[k].index].station;
            risks[r].station_distance_m = near[k].distance_m;
        }
    }
    progress.step("disease risk", 1.0);
    return risks;
}

std::shared_ptr<const models::StationDays> days_around_flowering(const geo::Store& store, const SeasonData& data,
                                                                 const FieldRisk& risk, int from_day, int to_day) {
    const auto flowering = models::flowering_day(data.crops[risk.crop]);
    if (risk.station.empty() || !flowering) return nullptr;
    const models::DayWindow window = models::window_around(*flowering, from_day, to_day);
    return std::make_shared<const models::StationDays>(store.weather(risk.station, window.first, window.last));
}

std::optional<RiskLogit> risk_logit(const models::DiseaseRisk& risk, const models::CropRecord& crop) {
    if (risk.kind != models::RiskKind::probability) return std::nullopt;
    RiskLogit out;
    double variance = 0.0;
    if (risk.logit) {
        out.logit = *risk.logit;
        variance = std::pow(spread_of(risk.missing_hours), 2);
    } else if (risk.missing_hours.low && risk.missing_hours.high && *risk.missing_hours.low > 0.0 &&
               *risk.missing_hours.high < 1.0) {
        // Too little weather for one number, but enough to say between which two it lies.
        out.logit = (logit_of(*risk.missing_hours.low) + logit_of(*risk.missing_hours.high)) / 2.0;
        variance = std::pow(spread_of(risk.missing_hours), 2);
    } else {
        return std::nullopt;
    }
    variance += std::pow(spread_of(risk.unknown_agronomy), 2);
    if (crop.flowering_source != models::FloweringSource::observed) {
        double sum = 0.0, squares = 0.0;
        int n = 0;
        for (const models::RiskAtDate& at : risk.by_date) {
            if (!at.value || *at.value <= 0.0 || *at.value >= 1.0) continue;
            const double logit = logit_of(*at.value);
            sum += logit;
            squares += logit * logit;
            ++n;
        }
        if (n > 1) variance += std::max(0.0, squares / n - (sum / n) * (sum / n));
    }
    out.sd = std::sqrt(variance);
    return out;
}

}  // namespace app
