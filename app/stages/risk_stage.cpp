#include "app/stages/risk_stage.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "geo/store/store.h"
#include "models/counted.h"
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

void widen(std::optional<models::DayWindow>& window, const std::optional<models::DayWindow>& by) {
    if (!by) return;
    if (!window) window = by;
    window->first = std::min(window->first, by->first);
    window->last = std::max(window->last, by->last);
}

/// What the days of one source say, worked out once for all fields that take it.
class DaysOfSource {
 public:
    DaysOfSource(const models::DiseaseModel& model, SourceDays of_source)
        : of_source_(std::move(of_source)), known_{&of_source_.days, std::nullopt}, by_date_(model, known_) {}
    DaysOfSource(const DaysOfSource&) = delete;
    DaysOfSource& operator=(const DaysOfSource&) = delete;

    models::WeatherByDate& by_date() { return by_date_; }
    /// How much of a window is forecast; empty where none is.
    std::string forecast_hours(const models::DayWindow& window) const {
        return of_source_.forecasts ? models::note_of_forecast_hours(*of_source_.forecasts, window) : "";
    }
    const models::TemperatureDays& temperatures() {
        if (!temperatures_) temperatures_ = models::TemperatureDays::from_hours(known_);
        return *temperatures_;
    }

 private:
    SourceDays of_source_;
    models::KnownWeather known_;  ///< all of it: what was not known yet is not in the days
    models::WeatherByDate by_date_;
    std::optional<models::TemperatureDays> temperatures_;
};

/// The risks of one season's crop records: which days of which source they ask for, then each stretch of days once.
class RisksOfOneSeason {
 public:
    RisksOfOneSeason(const SeasonData& data, const models::DiseaseModel& model, const FieldWeather& weather,
                     const RiskSettings& settings)
        : data_(data),
          model_(model),
          weather_(weather),
          dates_(data, model, {settings.as_of, settings.include_unconfirmed}) {}

    void ask(std::size_t crop_index) {
        const models::CropRecord& crop = data_.crops[crop_index];
        Asked asked{crop_index, {}, dates_.of(crop, nullptr), {}};
        if (!model_.weather.empty()) asked.choice = weather_.choice_for(crop);
        if (asked.choice.source) {
            Stretch& stretch = own_[asked.choice.source->index];
            if (!stretch.source) stretch.source = asked.choice.source;
            widen(stretch.window, dates_.weather_for(crop, asked.date));
            stretch.asked.push_back(asked_.size());
        } else {
            without_.push_back(asked_.size());
        }
        asked_.push_back(std::move(asked));
    }

    /// One entry a record asked for, in the order of asking.
    std::vector<FieldRisk> answer(const std::function<void(double share)>& so_far) {
        answers_.resize(asked_.size());
        for (const std::size_t a : without_) answer_one(a, nullptr);
        double done = 0.0;
        for (const auto& [index, stretch] : own_) {
            std::optional<DaysOfSource> days;
            if (stretch.window) days.emplace(model_, weather_.days(*stretch.source, *stretch.window));
            for (const std::size_t a : stretch.asked) answer_one(a, days ? &*days : nullptr);
            so_far(++done / static_cast<double>(own_.size()));
        }
        ask_the_others();
        return std::move(answers_);
    }

 private:
    struct Asked {
        std::size_t crop = 0;
        WeatherChoice choice;
        FieldDate date;
        bool open = false;  ///< its own source could not answer, another one may
    };
    struct Stretch {
        std::optional<WeatherSource> source;
        std::optional<models::DayWindow> window;
        std::vector<std::size_t> asked;
    };

    const models::CropRecord& crop_of(std::size_t asked) const { return data_.crops[asked_[asked].crop]; }

    FieldRisk answer_from(std::size_t asked, DaysOfSource* days, const std::optional<WeatherSource>& source) const {
        const models::CropRecord& crop = crop_of(asked);
        FieldRisk answer;
        answer.crop = asked_[asked].crop;
        if (source) {
            answer.station = source->name;
            answer.station_distance_m = source->distance_m;
        }
        const FieldDate& known = asked_[asked].date;
        const bool by_temperature = known.wants_temperatures && days != nullptr;
        const FieldDate date = by_temperature ? dates_.of(crop, &days->temperatures()) : known;
        models::RiskOptions options;
        options.no_station_because = asked_[asked].choice.none_because;
        if (const models::Field* outline = outline_of(data_, crop.field, crop.part)) {
            options.longitude_deg = outline->longitude_deg;
            options.latitude_deg = outline->latitude_deg;
        }
        answer.flowering = date.flowering;
        answer.risk =
            models::disease_risk(model_, crop, date.day_zero, days != nullptr ? &days->by_date() : nullptr, options);
        if (days == nullptr) return answer;
        if (source && !source->note.empty()) answer.weather_notes.push_back(source->note);
        answer.forecast = source && source->forecast;
        if (const auto window = models::weather_needed(model_, date.day_zero, options)) {
            if (std::string forecast = days->forecast_hours(*window); !forecast.empty()) {
                answer.weather_notes.push_back(std::move(forecast));
                answer.forecast = true;
            }
        }
        answer.risk.notes.insert(answer.risk.notes.end(), answer.weather_notes.begin(), answer.weather_notes.end());
        return answer;
    }

    void answer_one(std::size_t a, DaysOfSource* days) {
        answers_[a] = answer_from(a, days, asked_[a].choice.source);
        const models::DiseaseRisk& risk = answers_[a].risk;
        const bool hours_lack = risk.date.most_likely && risk.coverage < 1.0;
        const bool date_lacks = asked_[a].date.wants_temperatures && !risk.date.most_likely;
        asked_[a].open = days != nullptr && !risk.value && (hours_lack || date_lacks);
    }

    /// What a field's own source could not answer.
    void ask_the_others() {
        std::optional<models::DayWindow> window;
        for (std::size_t a = 0; a < asked_.size(); ++a) {
            if (asked_[a].open) widen(window, dates_.weather_for(crop_of(a), asked_[a].date));
        }
        std::map<std::size_t, DaysOfSource> further;
        for (std::size_t a = 0; a < asked_.size(); ++a) {
            if (!asked_[a].open) continue;
            for (const WeatherSource& other : weather_.others_for(crop_of(a))) {
                auto found = further.find(other.index);
                if (found == further.end()) {
                    found = further.try_emplace(other.index, model_, weather_.days(other, *window)).first;
                }
                FieldRisk answer = answer_from(a, &found->second, other);
                if (!answer.risk.value) continue;
                answer.passed_over = passed_over(answers_[a]);
                answer.risk.notes.push_back(answer.passed_over);
                answers_[a] = std::move(answer);
                break;
            }
        }
    }

    static std::string passed_over(const FieldRisk& before) {
        int hours_missing = 0;
        for (const models::TermValue& term : before.risk.terms) {
            hours_missing = std::max(hours_missing, term.weather.coverage.hours_missing());
        }
        return fmt::format("{}, {:.1f} km, passed over: {}", before.station, before.station_distance_m / 1000.0,
                           before.risk.date.most_likely ? models::counted(hours_missing, "hour") + " missing"
                                                        : "its temperatures do not reach from sowing to flowering");
    }

    const SeasonData& data_;
    const models::DiseaseModel& model_;
    const FieldWeather& weather_;
    FieldDates dates_;
    std::vector<Asked> asked_;
    std::map<std::size_t, Stretch> own_;  ///< by the index of the source
    std::vector<std::size_t> without_;    ///< those that have no source
    std::vector<FieldRisk> answers_;
};

}  // namespace

std::vector<FieldRisk> risks_of_season(const geo::Store& store, const SeasonData& data, int season,
                                       const RiskSettings& settings, const models::Progress& progress) {
    const models::DiseaseModel& model = settings.model.empty()
                                            ? models::default_model()
                                            : models::find_model(settings.model, settings.include_unconfirmed);
    const std::unique_ptr<FieldWeather> weather =
        settings.weather.way == models::WeatherWay::nearest
            ? nearest_stations(store, data, settings.stations, settings.as_of)
            : interpolated_weather(store, data, settings.weather, settings.as_of);
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
    std::vector<FieldRisk> risks(asked);
    double done = 0.0;
    for (const int one : seasons) {
        RisksOfOneSeason of_season(data, model, *weather, settings);
        for (std::size_t c = 0; c < data.crops.size(); ++c) {
            if (data.crops[c].season == one) of_season.ask(c);
        }
        const auto so_far = [&](double share) {
            progress.step("disease risk", (done + share) / static_cast<double>(seasons.size()));
        };
        for (FieldRisk& risk : of_season.answer(so_far)) risks[place[risk.crop]] = std::move(risk);
        so_far(1.0);
        done += 1.0;
    }
    progress.step("disease risk", 1.0);
    return risks;
}

std::shared_ptr<const models::StationDays> days_around_flowering(const geo::Store& store, const FieldRisk& risk,
                                                                 int from_day, int to_day) {
    if (risk.station.empty() || !risk.flowering.day) return nullptr;
    const models::DayWindow window = models::window_around(*risk.flowering.day, from_day, to_day);
    return std::make_shared<const models::StationDays>(store.weather(risk.station, window.first, window.last));
}

std::vector<models::SourceOfSeason> weather_sources(const SeasonData& data, const std::vector<FieldRisk>& risks) {
    std::map<std::string, models::WeatherSource> source_of;
    for (const models::Station& station : data.stations) source_of[station.station] = station.source;
    std::vector<models::SourceOfSeason> sources;
    for (const FieldRisk& risk : risks) {
        const auto found = source_of.find(risk.station);
        if (found != source_of.end() && risk.risk.value) sources.push_back({risk.risk.season, found->second});
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
