#include "app/stages/season_risks.h"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "models/counted.h"
#include "models/spatial/parallel.h"
#include "models/spoken.h"

namespace app {

namespace {

/// Another source that has no value either is taken where it covers so much more of the hours (ours).
constexpr double clearly_more = 0.05;

std::string told_as_passed_over(const FieldRisk& before) {
    int hours_missing = 0;
    for (const models::TermValue& term : before.risk.terms) {
        hours_missing = std::max(hours_missing, term.weather.coverage.hours_missing());
    }
    return fmt::format("{}, {:.1f} km, passed over: {}", before.station, before.station_distance_m / 1000.0,
                       before.risk.date.most_likely ? models::counted(hours_missing, "hour") + " missing"
                                                    : "its temperatures do not reach from sowing to flowering");
}

}  // namespace

/// What the days of one source say, worked out once for all fields that take it.
class SeasonRisks::DaysOfSource {
 public:
    DaysOfSource(const std::vector<const models::DiseaseModel*>& by, SourceDays of_source)
        : of_source_(std::move(of_source)), known_{&of_source_.days, std::nullopt} {
        for (const models::DiseaseModel* model : by) by_date_.emplace_back(*model, known_);
    }
    DaysOfSource(const DaysOfSource&) = delete;
    DaysOfSource& operator=(const DaysOfSource&) = delete;

    models::WeatherByDate& by_date(std::size_t model) { return by_date_[model]; }
    /// How much of a window is forecast; empty where none is.
    std::string forecast_hours(const models::DayWindow& window) const {
        return of_source_.forecasts ? models::note_of_forecast_hours(*of_source_.forecasts, window) : "";
    }
    const std::vector<std::string>& notes() const { return of_source_.notes; }
    const models::TemperatureDays& temperatures() {
        if (!temperatures_) temperatures_ = models::TemperatureDays::from_hours(known_);
        return *temperatures_;
    }

 private:
    SourceDays of_source_;
    models::KnownWeather known_;  ///< all of it: what was not known yet is not in the days
    std::vector<models::WeatherByDate> by_date_;
    std::optional<models::TemperatureDays> temperatures_;
};

SeasonRisks::SeasonRisks(const SeasonData& data, const std::vector<const models::DiseaseModel*>& by,
                         const FieldWeather& weather, const RiskSettings& settings)
    : data_(data), models_(by), weather_(weather), threads_(settings.threads), sentences_(settings.sentences) {
    for (const models::DiseaseModel* model : models_) {
        const auto known =
            std::find_if(dates_.begin(), dates_.end(), [&](const FieldDates& dates) { return dates.serve(*model); });
        dates_of_model_.push_back(static_cast<std::size_t>(known - dates_.begin()));
        if (known != dates_.end()) continue;
        dates_.emplace_back(data, *model, DateSettings{settings.as_of, settings.include_unconfirmed});
    }
}

void SeasonRisks::ask(const std::vector<std::size_t>& crops) {
    const bool of_weather = std::any_of(models_.begin(), models_.end(),
                                        [](const models::DiseaseModel* model) { return !model->weather.empty(); });
    asked_.resize(crops.size());
    constexpr std::size_t in_a_block = 250;
    models::parallel_blocks(static_cast<long long>((crops.size() + in_a_block - 1) / in_a_block),
                            models::threads_to_use(threads_), [&](long long block) {
                                const std::size_t first = static_cast<std::size_t>(block) * in_a_block;
                                const std::size_t last = std::min(first + in_a_block, crops.size());
                                for (std::size_t a = first; a < last; ++a) {
                                    Asked& asked = asked_[a];
                                    asked.crop = crops[a];
                                    const models::CropRecord& crop = crop_of(a);
                                    asked.outline = outline_of(data_, crop.field, crop.part);
                                    for (const FieldDates& dates : dates_)
                                        asked.dates.push_back(dates.of(crop, nullptr));
                                    if (of_weather) asked.choice = weather_.choice_for(crop);
                                }
                            });
    for (std::size_t a = 0; a < asked_.size(); ++a) {
        const Asked& asked = asked_[a];
        if (!asked.choice.source) {
            without_.push_back(a);
            continue;
        }
        Stretch& stretch =
            own_.try_emplace(asked.choice.source->index, Stretch{*asked.choice.source, {}, {}}).first->second;
        stretch.asked.push_back(a);
        for (std::size_t m = 0; m < models_.size(); ++m) {
            if (models_[m]->weather.empty()) continue;
            models::widen(stretch.window, dates_of(m).weather_for(*models_[m], crop_of(a), date_of(a, m)));
        }
    }
}

void SeasonRisks::answer(const models::Progress& progress, const RiskTold& tell) {
    for (const std::size_t a : without_) answer_all_models(a, nullptr, tell);
    std::vector<const Stretch*> stretches;
    for (const auto& [index, stretch] : own_) stretches.push_back(&stretch);
    models::parallel_blocks(
        static_cast<long long>(stretches.size()), models::threads_to_use(threads_),
        [&](long long block) {
            const Stretch& stretch = *stretches[static_cast<std::size_t>(block)];
            std::optional<DaysOfSource> days;
            if (stretch.window) days.emplace(models_, weather_.days(stretch.source, *stretch.window));
            for (const std::size_t a : stretch.asked) answer_all_models(a, days ? &*days : nullptr, tell);
        },
        progress, models::phrase("disease risk"));
    ask_the_others(tell);
}

FieldRisk SeasonRisks::answer_from(std::size_t model, std::size_t asked, DaysOfSource* days,
                                   const HoursSource* source) const {
    const models::CropRecord& crop = crop_of(asked);
    FieldRisk answer;
    answer.crop = asked_[asked].crop;
    if (models_[model]->weather.empty()) {
        days = nullptr;
        source = nullptr;
    }
    if (source != nullptr) {
        answer.station = source->name;
        answer.station_distance_m = source->distance_m;
        answer.source = source->kind;
        answer.places = source->places;
    }
    const FieldDate* date = &date_of(asked, model);
    FieldDate by_temperature;
    if (date->wants_temperatures && days != nullptr) {
        by_temperature = dates_of(model).of(crop, &days->temperatures());
        date = &by_temperature;
    }
    models::RiskOptions options;
    options.sentences = sentences_;
    options.no_station_because = asked_[asked].choice.none_because;
    if (const models::Field* outline = asked_[asked].outline) {
        options.longitude_deg = outline->longitude_deg;
        options.latitude_deg = outline->latitude_deg;
    }
    answer.flowering = date->flowering;
    answer.risk = models::disease_risk(*models_[model], crop, date->day_zero,
                                       days != nullptr ? &days->by_date(model) : nullptr, options);
    if (days == nullptr) return answer;
    std::string forecast;
    if (const auto window = models::weather_needed(*models_[model], date->day_zero, options)) {
        forecast = days->forecast_hours(*window);
        answer.forecast = !forecast.empty();
    }
    if (!sentences_) return answer;
    if (source != nullptr && !source->note.empty()) answer.weather_notes.push_back(source->note);
    const std::vector<std::string>& notes = days->notes();
    answer.weather_notes.insert(answer.weather_notes.end(), notes.begin(), notes.end());
    if (answer.forecast) answer.weather_notes.push_back(std::move(forecast));
    answer.risk.notes.insert(answer.risk.notes.end(), answer.weather_notes.begin(), answer.weather_notes.end());
    return answer;
}

void SeasonRisks::answer_all_models(std::size_t a, DaysOfSource* days, const RiskTold& tell) {
    Asked& asked = asked_[a];
    for (std::size_t m = 0; m < models_.size(); ++m) {
        FieldRisk answer = answer_from(m, a, days, asked.choice.source ? &*asked.choice.source : nullptr);
        const models::DiseaseRisk& risk = answer.risk;
        const bool hours_lack = risk.date.most_likely && risk.coverage < 1.0;
        const bool date_lacks = date_of(a, m).wants_temperatures && !risk.date.most_likely;
        const bool has_days = days != nullptr && !models_[m]->weather.empty();
        if (has_days && !risk.value && (hours_lack || date_lacks)) {
            asked.open.emplace(m, std::move(answer));
        } else {
            tell(m, a, std::move(answer));
        }
    }
}

/// What a field's own source could not answer: the first other one that can, else the one that covers most of it.
void SeasonRisks::ask_the_others(const RiskTold& tell) {
    std::optional<models::DayWindow> window;
    for (std::size_t a = 0; a < asked_.size(); ++a) {
        for (const auto& [m, answer] : asked_[a].open)
            models::widen(window, dates_of(m).weather_for(*models_[m], crop_of(a), date_of(a, m)));
    }
    std::map<std::size_t, DaysOfSource> further;
    for (std::size_t a = 0; a < asked_.size(); ++a) {
        std::map<std::size_t, FieldRisk>& open = asked_[a].open;
        if (open.empty()) continue;
        const std::vector<HoursSource> others = weather_.others_for(crop_of(a));
        for (auto& [m, own] : open) {
            std::optional<FieldRisk> best;
            for (const HoursSource& other : others) {
                const double covered = best ? best->risk.coverage : own.risk.coverage;
                if (other.only_where_silent && covered > 0.0) continue;
                auto found = further.find(other.index);
                if (found == further.end()) {
                    found = further.try_emplace(other.index, models_, weather_.days(other, *window)).first;
                }
                FieldRisk answer = answer_from(m, a, &found->second, &other);
                if (!answer.risk.value && answer.risk.coverage < covered + clearly_more) continue;
                best = std::move(answer);
                if (best->risk.value) break;
            }
            if (!best) {
                tell(m, a, std::move(own));
                continue;
            }
            best->passed_over = told_as_passed_over(own);
            if (sentences_) best->risk.notes.push_back(best->passed_over);
            tell(m, a, std::move(*best));
        }
        open.clear();
    }
}

}  // namespace app
