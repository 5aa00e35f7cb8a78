#include "models/disease/disease_risk.h"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "models/counted.h"
#include "models/disease/agronomy.h"
#include "models/words.h"

namespace models {

namespace {

using Weather = std::vector<double>;  // one value a term

void widen(RiskSpread& spread, double value) {
    spread.low = spread.low ? std::min(*spread.low, value) : value;
    spread.high = spread.high ? std::max(*spread.high, value) : value;
}

std::vector<WindowValue> measure(const DiseaseModel& model, const KnownWeather& weather, LocalDay day_zero) {
    std::vector<WindowValue> values;
    values.reserve(model.weather.size());
    for (const WeatherTerm& term : model.weather) {
        values.push_back(term.measure(weather, window_around(day_zero, term.from_day, term.to_day)));
    }
    return values;
}

/// The terms' values; none where one of them has none.
std::optional<Weather> values_of(const std::vector<WindowValue>& terms) {
    Weather values;
    for (const WindowValue& term : terms) {
        if (!term.value) return std::nullopt;
        values.push_back(*term.value);
    }
    return values;
}

/// Where a model is to be tried to find its extremes over a term: at both bounds, and where it may turn between them at
/// every whole number too.
std::vector<double> tried_of(const WindowValue& value, const WeatherTerm& term) {
    std::vector<double> tried = {*value.lower, *value.upper};
    if (!term.every_whole_number) return tried;
    for (double whole = *value.lower + 1.0; whole < *value.upper; whole += 1.0) tried.push_back(whole);
    return tried;
}

/// Every combination of the terms' bounds: the extremes of the model are among them. Empty where a term is not bounded
/// or nothing at all was seen of it.
std::vector<Weather> corners_of(const DiseaseModel& model, const std::vector<WindowValue>& terms) {
    std::vector<Weather> corners = {{}};
    for (std::size_t i = 0; i < terms.size(); ++i) {
        if (!terms[i].lower || !terms[i].upper || terms[i].coverage.hours_seen == 0) return {};
        std::vector<Weather> grown;
        for (const Weather& corner : corners) {
            for (const double tried : tried_of(terms[i], model.weather[i])) {
                grown.push_back(corner);
                grown.back().push_back(tried);
            }
        }
        corners = std::move(grown);
    }
    return corners;
}

std::string days_of(const DayWindow& window) {
    return fmt::format("{} to {}", to_short_text(window.first), to_short_text(window.last));
}

/// What the weather of one term lacks, as a sentence; empty where it lacks nothing.
std::string lack_of(const TermValue& term) {
    const Coverage& coverage = term.weather.coverage;
    const std::string what = fmt::format("{}, {}", term.title, days_of(term.window));
    if (coverage.hours_seen == 0) return fmt::format("{}: no weather that can be used", what);
    if (coverage.hours_missing() == 0) return "";
    std::string text =
        fmt::format("{}: {} of {} {} missing", what, coverage.hours_missing(), counted(coverage.hours_expected, "hour"),
                    by_number(coverage.hours_missing(), "is", "are"));
    if (term.weather.days_refused > 0) {
        text += fmt::format(", {} not usable", counted(term.weather.days_refused, "day is", "days are"));
    }
    if (!term.weather.value) text += "; for a value 90 % of all hours and 75 % of each quarter of the day are needed";
    return text;
}

void note_term(const TermValue& term, const WeatherTerm& of_model, DiseaseRisk& risk) {
    if (std::string lack = lack_of(term); !lack.empty()) risk.missing.push_back(std::move(lack));
    if (term.weather.at_least && term.weather.value) {
        risk.notes.push_back(fmt::format("{}: at least {:.1f} {}, the missing hours may have brought more", term.title,
                                         *term.weather.value, term.unit));
    }
    if (!term.extrapolated) return;
    risk.extrapolated = true;
    risk.outside.push_back(fmt::format("{} outside what the model was made from ({:g} to {:g} {})", term.title,
                                       of_model.data_low, of_model.data_high, of_model.unit));
    risk.notes.push_back(fmt::format("{} is {:.1f} {}, outside what the model was made from ({:g} to {:g} {})",
                                     term.title, *term.weather.value, term.unit, of_model.data_low, of_model.data_high,
                                     term.unit));
}

void note_crop(const DiseaseModel& model, const CropRecord& crop, DiseaseRisk& risk) {
    if (crop.crop == Crop::durum) {
        risk.extrapolated = true;
        risk.outside.emplace_back("durum, and the model's data hold common wheat");
        risk.notes.emplace_back("durum is counted as wheat; the model's data hold common wheat");
    }
    if (model.wheat_type && crop.wheat_type && *model.wheat_type != *crop.wheat_type) {
        risk.extrapolated = true;
        risk.outside.push_back(fmt::format("the model's data hold {} wheat only",
                                           *model.wheat_type == WheatType::spring ? "spring" : "winter"));
        risk.notes.push_back(risk.outside.back());
    }
    if (crop.irrigated.value_or(false)) {
        risk.extrapolated = true;
        risk.outside.emplace_back("irrigated, and the model's data do not tell irrigated fields apart");
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
    risk.outside.push_back(fmt::format("outside the region of the model's data ({})", region.words));
    risk.notes.push_back(fmt::format("the field lies outside the region of the model's data ({})", region.words));
}

/// Fills in the value, the spreads and their envelope.
class Evaluation {
 public:
    Evaluation(const DiseaseModel& model, const AgronomyReading& agronomy, DiseaseRisk& risk)
        : model_(model), agronomy_(agronomy), risk_(risk) {}

    void at_given_date(const std::vector<WindowValue>& terms) {
        if (const auto values = values_of(terms)) {
            if (model_.logit) risk_.logit = model_.logit(*values, agronomy_.taken);
            risk_.value = taken(*values);
            for (const Agronomy& agronomy : agronomy_.possible) {
                widen(risk_.unknown_agronomy, model_.value(*values, agronomy));
            }
            widen(risk_.missing_hours, *risk_.value);
            widen_envelope(*values);
        }
        for (const Weather& corner : corners_of(model_, terms)) {
            widen(risk_.missing_hours, taken(corner));
            widen_envelope(corner);
        }
    }

    void at_other_date(int days_later, const std::vector<WindowValue>& terms) {
        const auto values = values_of(terms);
        RiskAtDate& at = risk_.by_date.emplace_back();
        at.days_later = days_later;
        if (!values) return;
        at.value = taken(*values);
        widen(risk_.flowering_date, *at.value);
        widen_envelope(*values);
    }

    void finish() {
        risk_.low = envelope_.low;
        risk_.high = envelope_.high;
    }

 private:
    double taken(const Weather& weather) const { return model_.value(weather, agronomy_.taken); }
    void widen_envelope(const Weather& weather) {
        for (const Agronomy& agronomy : agronomy_.possible) {
            widen(envelope_, model_.value(weather, agronomy));
        }
    }

    const DiseaseModel& model_;
    const AgronomyReading& agronomy_;
    DiseaseRisk& risk_;
    RiskSpread envelope_;
};

void note_dates(const DiseaseModel& model, DiseaseRisk& risk) {
    const auto unknown =
        std::count_if(risk.by_date.begin(), risk.by_date.end(), [](const auto& at) { return !at.value; });
    if (unknown == 0 || !risk.value) return;
    risk.notes.push_back(fmt::format("the weather does not reach as far as {} of the {} {} dates tried", unknown,
                                     risk.by_date.size(),
                                     model.day_zero == DayZero::heading ? "heading" : "flowering"));
}

AgronomyReading agronomy_for(const DiseaseModel& model, const CropRecord& crop) {
    if (model.uses_agronomy) return read_agronomy(crop);
    AgronomyReading nothing;
    nothing.possible.push_back(nothing.taken);
    return nothing;
}

}  // namespace

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

DiseaseRisk disease_risk(const DiseaseModel& model, const CropRecord& crop, const StationDays* station,
                         const RiskOptions& options) {
    DiseaseRisk risk;
    risk.field = crop.field;
    risk.part = crop.part;
    risk.season = crop.season;
    risk.model = model.name;
    risk.kind = model.kind;
    risk.unconfirmed = model.unconfirmed;
    if (crop.crop != Crop::wheat && crop.crop != Crop::durum) {
        risk.notes.push_back(fmt::format("there is no model for {}", in_words(crop.crop)));
        return risk;
    }
    if (model.unconfirmed) risk.notes.push_back("the model's coefficients are " + model.label);
    const auto day_zero = day_zero_of(model, crop);
    if (!day_zero && !model.weather.empty()) {
        risk.missing.emplace_back(model.day_zero == DayZero::heading ? "the heading date" : "the flowering date");
        return risk;
    }
    const AgronomyReading agronomy = agronomy_for(model, crop);
    risk.missing = agronomy.missing;
    risk.notes.insert(risk.notes.end(), agronomy.notes.begin(), agronomy.notes.end());
    note_crop(model, crop, risk);
    note_region(model, options, risk);
    Evaluation evaluation(model, agronomy, risk);
    if (model.weather.empty()) {  // no date and no hour could change it
        risk.coverage = 1.0;
        evaluation.at_given_date({});
        evaluation.finish();
        return risk;
    }
    if (!station) {
        risk.missing.emplace_back(options.no_station_because.empty() ? "a weather station"
                                                                     : options.no_station_because);
        return risk;
    }

    const KnownWeather weather{station, options.as_of};
    const std::vector<WindowValue> terms = measure(model, weather, *day_zero);
    risk.coverage = 1.0;
    for (std::size_t i = 0; i < terms.size(); ++i) {
        const WeatherTerm& of_model = model.weather[i];
        const auto& value = terms[i].value;
        const bool beyond = value && (*value < of_model.data_low || *value > of_model.data_high);
        risk.terms.push_back({of_model.name, of_model.title, of_model.unit,
                              window_around(*day_zero, of_model.from_day, of_model.to_day), terms[i], beyond});
        risk.coverage = std::min(risk.coverage, terms[i].coverage.share());
        note_term(risk.terms.back(), of_model, risk);
    }
    evaluation.at_given_date(terms);
    for (int later = -options.date_spread_days; later <= options.date_spread_days; ++later) {
        evaluation.at_other_date(later,
                                 later == 0 ? terms : measure(model, weather, *day_zero + std::chrono::days(later)));
    }
    if (risk.value || risk.missing_hours.low) evaluation.finish();
    note_dates(model, risk);
    return risk;
}

}  // namespace models
