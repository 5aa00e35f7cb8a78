#include "app/stages/risk_stage.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "geo/store/store.h"
#include "models/counted.h"
#include "models/disease/catalogue.h"

namespace app {

namespace {

constexpr std::size_t no_source = static_cast<std::size_t>(-1);

void widen(std::optional<models::DayWindow>& window, const models::DayWindow& by) {
    if (!window) window = by;
    window->first = std::min(window->first, by.first);
    window->last = std::max(window->last, by.last);
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
    const std::unique_ptr<FieldWeather> weather = nearest_stations(store, data, settings.stations);

    // First which days of which source are asked for, season by season; then each stretch is read once.
    struct Wanted {
        std::optional<WeatherSource> source;
        std::optional<models::DayWindow> window;
        std::vector<std::size_t> risks;
    };
    std::map<std::pair<std::size_t, int>, Wanted> wanted;
    std::vector<FieldRisk> risks;
    std::vector<WeatherChoice> choices;  // one a risk
    for (std::size_t c = 0; c < data.crops.size(); ++c) {
        const models::CropRecord& crop = data.crops[c];
        if (settings.all_seasons ? crop.season > season : crop.season != season) continue;
        FieldRisk entry;
        entry.crop = c;
        WeatherChoice choice = model.weather.empty() ? WeatherChoice{} : weather->choice_for(crop);
        if (choice.source) {
            entry.station = choice.source->name;
            entry.station_distance_m = choice.source->distance_m;
        }
        Wanted& stretch = wanted[{choice.source ? choice.source->index : no_source, crop.season}];
        if (!stretch.source) stretch.source = choice.source;
        if (const auto day_zero = models::day_zero_of(model, crop); choice.source && day_zero) {
            widen(stretch.window, models::weather_needed(model, *day_zero, options));
        }
        stretch.risks.push_back(risks.size());
        risks.push_back(std::move(entry));
        choices.push_back(std::move(choice));
    }

    const auto risk_from = [&](const models::CropRecord& crop, const models::StationDays* days,
                               const std::string& no_station_because) {
        models::RiskOptions here = options;
        here.no_station_because = no_station_because;
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
        if (stretch.source && stretch.window) days = weather->days(*stretch.source, *stretch.window);
        for (const std::size_t r : stretch.risks) {
            const models::CropRecord& crop = data.crops[risks[r].crop];
            risks[r].risk = risk_from(crop, days ? &*days : nullptr, choices[r].none_because);
            if (days && !choices[r].source->note.empty()) risks[r].risk.notes.push_back(choices[r].source->note);
            if (days && !risks[r].risk.value && models::day_zero_of(model, crop) && risks[r].risk.coverage < 1.0) {
                uncovered.push_back(r);
            }
        }
        progress.step("disease risk", 0.9 * static_cast<double>(++done) / static_cast<double>(wanted.size()));
    }
    // What a field's own source could not answer, asked of the next ones.
    std::map<std::pair<std::size_t, int>, models::StationDays> further;
    for (const std::size_t r : uncovered) {
        const models::CropRecord& crop = data.crops[risks[r].crop];
        for (const WeatherSource& other : weather->others_for(crop)) {
            auto found = further.find({other.index, crop.season});
            if (found == further.end()) {
                std::optional<models::DayWindow> window;
                for (const std::size_t too : uncovered) {
                    const models::CropRecord& asking = data.crops[risks[too].crop];
                    if (asking.season != crop.season) continue;
                    widen(window, models::weather_needed(model, *models::day_zero_of(model, asking), options));
                }
                found = further.emplace(std::pair{other.index, crop.season}, weather->days(other, *window)).first;
            }
            models::DiseaseRisk risk = risk_from(crop, &found->second, "");
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
            risks[r].station = other.name;
            risks[r].station_distance_m = other.distance_m;
            break;
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
