#include "models/disease/disease_risk.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "models/counted.h"
#include "models/disease/agronomy.h"
#include "models/spoken.h"
#include "models/words.h"

namespace models {

namespace {

void widen(RiskSpread& spread, double value) {
    spread.low = spread.low ? std::min(*spread.low, value) : value;
    spread.high = spread.high ? std::max(*spread.high, value) : value;
}

/// A word of a model's card in the language that is spoken.
std::string spoken_of_card(std::string_view words) {
    return spoken(Word{std::string(words).c_str(), nullptr});
}

std::string days_of(const DayWindow& window) {
    return phrase("{} to {}", to_short_text(window.first), to_short_text(window.last));
}

/// What the weather of one term lacks, as a sentence; empty where it lacks nothing.
/// @param of_a_value  there is one all the same
std::string lack_of(const TermValue& term, bool of_a_value) {
    const Coverage& coverage = term.weather.coverage;
    const std::string what = fmt::format("{}, {}", spoken_of_card(term.title), days_of(term.window));
    if (coverage.hours_seen == 0) return phrase("{}: not an hour of it is known, so it cannot be computed", what);
    if (coverage.hours_missing() == 0) return "";
    const std::string all_hours =
        counted(coverage.hours_expected, spoken(word("of so many", "hour")), spoken(word("of so many", "hours")));
    std::string text = coverage.hours_missing() == 1
                           ? phrase("{}: {} of {} is missing", what, coverage.hours_missing(), all_hours)
                           : phrase("{}: {} of {} are missing", what, coverage.hours_missing(), all_hours);
    if (term.weather.days_refused > 0) {
        text += phrase(", {} not usable", counted(term.weather.days_refused, phrase("day is"), phrase("days are")));
    }
    if (!term.weather.value && !of_a_value)
        text += phrase("; for a value 90 % of all hours and 75 % of each quarter of the day are needed");
    return text;
}

void note_term(const TermValue& term, const WeatherTerm& of_model, bool sentences, DiseaseRisk& risk) {
    if (term.extrapolated) risk.extrapolated = true;
    if (!sentences) return;
    if (std::string lack = lack_of(term, risk.value.has_value()); !lack.empty())
        risk.missing.push_back(std::move(lack));
    if (term.weather.at_least && term.weather.value) {
        risk.notes.push_back(fmt::format("{}: at least {:.1f} {}, the missing hours may have brought more", term.title,
                                         *term.weather.value, term.unit));
    }
    if (!term.extrapolated) return;
    risk.outside.push_back(phrase("{} outside what the model was made from ({:g} to {:g} {})",
                                  spoken_of_card(term.title), of_model.data_low, of_model.data_high,
                                  spoken_of_card(of_model.unit)));
    // So many decimals that a reader sees it outside: 3.97 rather than 4.0 below 4.
    const double shown = std::round(*term.weather.value * 10.0) / 10.0;
    const bool seems_inside = shown >= of_model.data_low && shown <= of_model.data_high;
    risk.notes.push_back(fmt::format("{} is {:.{}f} {}, outside what the model was made from ({:g} to {:g} {})",
                                     term.title, *term.weather.value, seems_inside ? 2 : 1, term.unit,
                                     of_model.data_low, of_model.data_high, term.unit));
}

void note_crop(const DiseaseModel& model, const CropRecord& crop, bool sentences, DiseaseRisk& risk) {
    const bool durum = crop.crop == Crop::durum;
    const bool other_type = model.wheat_type && crop.wheat_type && *model.wheat_type != *crop.wheat_type;
    const bool irrigated = crop.irrigated.value_or(false);
    if (durum || other_type || irrigated) risk.extrapolated = true;
    if (!sentences) return;
    if (durum) {
        risk.outside.push_back(phrase("durum, and the model's data hold common wheat"));
        risk.notes.emplace_back("durum is counted as wheat; the model's data hold common wheat");
    }
    if (other_type) {
        risk.outside.push_back(*model.wheat_type == WheatType::spring
                                   ? phrase("the model's data hold spring wheat only")
                                   : phrase("the model's data hold winter wheat only"));
        risk.notes.push_back(risk.outside.back());
    }
    if (irrigated) {
        risk.outside.push_back(phrase("irrigated, and the model's data do not tell irrigated fields apart"));
        risk.notes.emplace_back(
            "the field is irrigated: no station sees that water, and the model's data do not tell "
            "irrigated fields apart");
    }
    if (!model.weather.empty() && model.day_zero == DayZero::flowering &&
        crop.flowering_source == FloweringSource::estimated) {
        risk.notes.emplace_back("the flowering date is estimated, not observed");
    }
}

void note_region(const DiseaseModel& model, const RiskOptions& options, DiseaseRisk& risk) {
    if (!options.longitude_deg || !options.latitude_deg) return;
    const Region& region = model.region;
    const bool inside = *options.longitude_deg >= region.west_deg && *options.longitude_deg <= region.east_deg &&
                        *options.latitude_deg >= region.south_deg && *options.latitude_deg <= region.north_deg;
    if (inside) return;
    risk.extrapolated = true;
    if (!options.sentences) return;
    risk.outside.push_back(phrase("outside the region of the model's data ({})", spoken_of_card(region.words)));
    risk.notes.push_back(fmt::format("the field lies outside the region of the model's data ({})", region.words));
}

/// The logit of the mean of probabilities that are given by their logits, near 0 and 1 too.
class MeanOfLogits {
 public:
    void add(double weight, double logit) {
        of_yes_ += weight / (1.0 + std::exp(-logit));
        of_no_ += weight / (1.0 + std::exp(logit));
    }
    std::optional<double> logit() const {
        const double logit = std::log(of_yes_) - std::log(of_no_);
        return std::isfinite(logit) ? std::optional(logit) : std::nullopt;
    }

 private:
    double of_yes_ = 0.0, of_no_ = 0.0;
};

/// Fills in the value, the spreads and their envelope.
class Evaluation {
 public:
    Evaluation(const DiseaseModel& model, const AgronomyReading& agronomy, DiseaseRisk& risk)
        : model_(model), agronomy_(agronomy), risk_(risk) {}

    void at_given_date(const WeatherOfDate& weather) {
        if (const auto& values = weather.values) {
            if (model_.logit) risk_.logit = model_.logit(*values, agronomy_.taken);
            risk_.value = model_.value(*values, agronomy_.taken);
            for (const Agronomy& agronomy : agronomy_.possible) {
                widen(risk_.unknown_agronomy, model_.value(*values, agronomy));
            }
            widen(risk_.missing_hours, *risk_.value);
            widen_envelope(*values);
        }
        for (const std::vector<double>& corner : weather.corners) {
            widen(risk_.missing_hours, model_.value(corner, agronomy_.taken));
            widen_envelope(corner);
        }
    }

    void at_other_date(int days_later, double chance, const WeatherOfDate& weather) {
        RiskAtDate& at = risk_.by_date.emplace_back(RiskAtDate{days_later, std::nullopt, chance});
        if (!weather.values) return;
        at.value = model_.value(*weather.values, agronomy_.taken);
        widen(risk_.flowering_date, *at.value);
        risk_.dates_covered += chance;
        widen_envelope(*weather.values);
    }

    /// @param weather  of each of the days
    void over_dates(const DayDistribution& days, LocalDay most_likely,
                    const std::vector<const WeatherOfDate*>& weather) {
        MeanOfLogits mean_of_logits;
        for (std::size_t i = 0; i < weather.size(); ++i) {
            const auto later = static_cast<int>((days.day(i) - most_likely).count());
            risk_.by_date.push_back({later, number_at(*weather[i], agronomy_.taken), days.chance[i]});
            if (model_.logit && weather[i]->values) {
                mean_of_logits.add(days.chance[i], model_.logit(*weather[i]->values, agronomy_.taken));
            }
        }
        const AveragedRisk mean = mean_over(days, weather, agronomy_.taken, &Evaluation::number_at);
        risk_.flowering_date = {mean.low, mean.high};
        risk_.dates_covered = std::min(1.0, mean.covered);
        const bool enough = mean.mean && mean.covered >= least_chance_of_dates;
        if (enough) {
            risk_.value = mean.mean;
            if (model_.logit) risk_.logit = mean_of_logits.logit();
            risk_.sd_over_dates = sd_over_dates(*mean.mean, mean.covered);
        }
        const AveragedRisk lowest = mean_over(days, weather, agronomy_.taken, &Evaluation::lowest_at),
                           highest = mean_over(days, weather, agronomy_.taken, &Evaluation::highest_at);
        if (lowest.covered >= least_chance_of_dates) risk_.missing_hours = {lowest.mean, highest.mean};
        if (enough) widen(risk_.missing_hours, *mean.mean);
        for (const Agronomy& agronomy : agronomy_.possible) {
            if (enough) {
                const double value = *mean_over(days, weather, agronomy, &Evaluation::number_at).mean;
                widen(risk_.unknown_agronomy, value);
                widen(envelope_, value);
            }
            if (lowest.covered < least_chance_of_dates) continue;
            widen(envelope_, *mean_over(days, weather, agronomy, &Evaluation::lowest_at).low);
            widen(envelope_, *mean_over(days, weather, agronomy, &Evaluation::highest_at).high);
        }
    }

    void finish() {
        risk_.low = envelope_.low;
        risk_.high = envelope_.high;
    }

 private:
    using NumberAt = std::optional<double> (Evaluation::*)(const WeatherOfDate&, const Agronomy&) const;

    std::optional<double> number_at(const WeatherOfDate& weather, const Agronomy& agronomy) const {
        if (!weather.values) return std::nullopt;
        return model_.value(*weather.values, agronomy);
    }
    RiskSpread bounds_at(const WeatherOfDate& weather, const Agronomy& agronomy) const {
        RiskSpread bounds;
        if (weather.values) widen(bounds, model_.value(*weather.values, agronomy));
        for (const std::vector<double>& corner : weather.corners) widen(bounds, model_.value(corner, agronomy));
        return bounds;
    }
    std::optional<double> lowest_at(const WeatherOfDate& weather, const Agronomy& agronomy) const {
        return bounds_at(weather, agronomy).low;
    }
    std::optional<double> highest_at(const WeatherOfDate& weather, const Agronomy& agronomy) const {
        return bounds_at(weather, agronomy).high;
    }
    AveragedRisk mean_over(const DayDistribution& days, const std::vector<const WeatherOfDate*>& weather,
                           const Agronomy& agronomy, NumberAt number) const {
        return averaged_over(days, [&](LocalDay day) {
            return (this->*number)(*weather[static_cast<std::size_t>((day - days.first).count())], agronomy);
        });
    }
    double sd_over_dates(double mean, double covered) const {
        double sum = 0.0;
        for (const RiskAtDate& at : risk_.by_date) {
            if (at.value) sum += at.chance * (*at.value - mean) * (*at.value - mean);
        }
        return std::sqrt(sum / covered);
    }
    void widen_envelope(const std::vector<double>& weather) {
        for (const Agronomy& agronomy : agronomy_.possible) widen(envelope_, model_.value(weather, agronomy));
    }

    const DiseaseModel& model_;
    const AgronomyReading& agronomy_;
    DiseaseRisk& risk_;
    RiskSpread envelope_;
};

std::string day_zero_in_words(const DiseaseModel& model) {
    return spoken(model.day_zero == DayZero::heading ? word("a day", "heading") : word("a day", "flowering"));
}

void note_dates(const DiseaseModel& model, DiseaseRisk& risk) {
    const auto unknown =
        std::count_if(risk.by_date.begin(), risk.by_date.end(), [](const auto& at) { return !at.value; });
    if (unknown == 0) return;
    if (!risk.date.averaged()) {
        if (!risk.value) return;
        risk.notes.push_back(fmt::format("the weather does not reach as far as {} of the {} {} dates tried", unknown,
                                         risk.by_date.size(), day_zero_in_words(model)));
        return;
    }
    const double reached_pct = 100.0 * risk.dates_covered;
    if (risk.value) {
        risk.notes.push_back(
            fmt::format("the weather reaches {} of the {} days that {} may have been on, which have "
                        "{:.1f} % of the chance; the risk is the mean over those",
                        risk.by_date.size() - static_cast<std::size_t>(unknown), risk.by_date.size(),
                        day_zero_in_words(model), reached_pct));
    } else {
        risk.missing.push_back(
            phrase("weather for the days that {} may have been on: what there is serves days "
                   "with {:.0f} % of the chance, and {:.0f} % are needed",
                   day_zero_in_words(model), reached_pct, 100.0 * least_chance_of_dates));
    }
}

/// What the date rests on, where the risk is a mean over the days that it may have been.
void note_averaged_date(const DiseaseModel& model, DiseaseRisk& risk) {
    const DayZeroDate& date = risk.date;
    risk.notes.push_back(fmt::format("the risk is the mean over the days that {} may have been on: {}",
                                     day_zero_in_words(model), date.method));
    risk.notes.insert(risk.notes.end(), date.notes.begin(), date.notes.end());
    risk.missing.insert(risk.missing.end(), date.missing.begin(), date.missing.end());
    if (date.extrapolated) {
        risk.extrapolated = true;
        risk.outside.push_back(
            model.day_zero == DayZero::heading
                ? phrase("the heading date is by a scheme used away from the crop, sowing dates or region that it was "
                         "made for")
                : phrase("the flowering date is by a scheme used away from the crop, sowing dates or region that it "
                         "was made for"));
    }
    if (date.unconfirmed) risk.unconfirmed = true;
}

AgronomyReading agronomy_for(const DiseaseModel& model, const CropRecord& crop) {
    if (model.uses_agronomy) return read_agronomy(crop);
    AgronomyReading nothing;
    nothing.possible.push_back(nothing.taken);
    return nothing;
}

DiseaseRisk worked_out(const DiseaseModel& model, const CropRecord& crop, const DayZeroDate& date,
                       WeatherByDate* weather, const RiskOptions& options) {
    DiseaseRisk risk;
    risk.field = crop.field;
    risk.part = crop.part;
    risk.season = crop.season;
    risk.model = model.name;
    risk.kind = model.kind;
    risk.unconfirmed = model.unconfirmed;
    risk.date.of = model.day_zero;
    if (!has_disease_model(crop.crop)) {
        risk.notes.push_back(fmt::format("there is no model for {}", in_words(crop.crop)));
        return risk;
    }
    if (model.unconfirmed) risk.notes.push_back("the model's coefficients are " + model.label);
    if (!model.weather.empty()) risk.date = date;
    if (!date.most_likely && !model.weather.empty()) {
        risk.missing = date.missing;
        return risk;
    }
    const AgronomyReading agronomy = agronomy_for(model, crop);
    risk.missing = agronomy.missing;
    risk.notes.insert(risk.notes.end(), agronomy.notes.begin(), agronomy.notes.end());
    note_crop(model, crop, options.sentences, risk);
    note_region(model, options, risk);
    Evaluation evaluation(model, agronomy, risk);
    if (model.weather.empty()) {  // no date and no hour could change it
        risk.coverage = 1.0;
        evaluation.at_given_date({{}, std::vector<double>{}, {{}}, 1.0});
        evaluation.finish();
        return risk;
    }
    if (!weather) {
        risk.missing.push_back(options.no_station_because.empty() ? phrase("a weather station")
                                                                  : options.no_station_because);
        return risk;
    }

    const LocalDay day_zero = *date.most_likely;
    const WeatherOfDate& at_day_zero = weather->at(day_zero);
    risk.coverage = at_day_zero.coverage;
    if (date.averaged()) {
        std::vector<const WeatherOfDate*> of_days;
        double unseen = 0.0;
        for (std::size_t i = 0; i < date.days.chance.size(); ++i) {
            of_days.push_back(&weather->at(date.days.day(i)));
            unseen += date.days.chance[i] * (1.0 - of_days.back()->coverage);
        }
        risk.coverage = std::max(0.0, 1.0 - unseen);
        evaluation.over_dates(date.days, day_zero, of_days);
        note_averaged_date(model, risk);
    } else {
        evaluation.at_given_date(at_day_zero);
        risk.by_date.reserve(static_cast<std::size_t>(2 * options.date_spread_days + 1));
        for (int later = -options.date_spread_days; later <= options.date_spread_days; ++later) {
            const LocalDay day = day_zero + std::chrono::days(later);
            evaluation.at_other_date(later, date.days.at(day), weather->at(day));
        }
    }
    risk.terms.reserve(at_day_zero.terms.size());
    for (std::size_t i = 0; i < at_day_zero.terms.size(); ++i) {
        const WeatherTerm& of_model = model.weather[i];
        const auto& value = at_day_zero.terms[i].value;
        const bool beyond = value && (*value < of_model.data_low || *value > of_model.data_high);
        risk.terms.push_back({of_model.name, of_model.title, of_model.unit,
                              window_around(day_zero, of_model.from_day, of_model.to_day), at_day_zero.terms[i],
                              beyond});
        note_term(risk.terms.back(), of_model, options.sentences, risk);
    }
    if (risk.value || risk.missing_hours.low) evaluation.finish();
    if (options.sentences) note_dates(model, risk);
    return risk;
}

}  // namespace

bool has_disease_model(Crop crop) {
    return crop == Crop::wheat || crop == Crop::durum;
}

bool speaks_of_hours(const DiseaseRisk& risk, const std::string& missing) {
    return std::any_of(risk.terms.begin(), risk.terms.end(),
                       [&](const TermValue& term) { return missing.starts_with(spoken_of_card(term.title) + ", "); });
}

std::optional<LocalDay> flowering_day(const CropRecord& crop) {
    return crop.flowering_date ? crop.flowering_date : crop.flowering_start;
}

std::optional<LocalDay> day_zero_of(const DiseaseModel& model, const CropRecord& crop) {
    return model.day_zero == DayZero::heading ? crop.heading_date : flowering_day(crop);
}

DayWindow weather_needed(const DiseaseModel& model, LocalDay day_zero, const RiskOptions& options) {
    return window_around(day_zero, model.first_day() - options.date_spread_days,
                         model.last_day() + options.date_spread_days);
}

std::optional<DayWindow> weather_needed(const DiseaseModel& model, const DayZeroDate& date,
                                        const RiskOptions& options) {
    if (!date.most_likely) return std::nullopt;
    if (!date.averaged()) return weather_needed(model, *date.most_likely, options);
    return DayWindow{window_around(date.days.first, model.first_day(), model.last_day()).first,
                     window_around(date.days.last(), model.first_day(), model.last_day()).last};
}

DiseaseRisk disease_risk(const DiseaseModel& model, const CropRecord& crop, const DayZeroDate& date,
                         WeatherByDate* weather, const RiskOptions& options) {
    DiseaseRisk risk = worked_out(model, crop, date, weather, options);
    if (!options.sentences) {
        risk.outside.clear();
        risk.missing.clear();
        risk.notes.clear();
    }
    return risk;
}

DiseaseRisk disease_risk(const DiseaseModel& model, const CropRecord& crop, const StationDays* station,
                         const RiskOptions& options) {
    WeatherByDate weather(model, {station, options.as_of});
    return disease_risk(model, crop, written_day_zero(model, crop), station ? &weather : nullptr, options);
}

}  // namespace models
