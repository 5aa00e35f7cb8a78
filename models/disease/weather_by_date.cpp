#include "models/disease/weather_by_date.h"

#include <algorithm>
#include <utility>

namespace models {

namespace {

using TermValues = std::vector<double>;  // one a term

std::optional<TermValues> values_of(const std::vector<WindowValue>& terms) {
    TermValues values;
    for (const WindowValue& term : terms) {
        if (!term.value) return std::nullopt;
        values.push_back(*term.value);
    }
    return values;
}

/// Where a model is to be tried to find its extremes over a term: at both bounds, and where it may turn between them at
/// every whole number too.
std::vector<double> tried_of(const WindowValue& value, const WeatherTerm& term) {
    std::vector<double> tried = {*value.lower};
    if (*value.upper == *value.lower) return tried;
    tried.push_back(*value.upper);
    if (!term.every_whole_number) return tried;
    for (double whole = *value.lower + 1.0; whole < *value.upper; whole += 1.0) tried.push_back(whole);
    return tried;
}

std::vector<TermValues> corners_of(const DiseaseModel& model, const std::vector<WindowValue>& terms) {
    std::vector<TermValues> corners = {{}};
    for (std::size_t i = 0; i < terms.size(); ++i) {
        if (!terms[i].lower || !terms[i].upper || terms[i].coverage.hours_seen == 0) return {};
        std::vector<TermValues> grown;
        for (const TermValues& corner : corners) {
            for (const double tried : tried_of(terms[i], model.weather[i])) {
                grown.push_back(corner);
                grown.back().push_back(tried);
            }
        }
        corners = std::move(grown);
    }
    return corners;
}

}  // namespace

const WeatherOfDate& WeatherByDate::at(LocalDay day_zero) {
    const auto [found, is_new] = measured_.try_emplace(day_zero);
    WeatherOfDate& date = found->second;
    if (!is_new) return date;
    for (const WeatherTerm& term : model_->weather) {
        date.terms.push_back(term.measure(weather_, window_around(day_zero, term.from_day, term.to_day)));
        date.coverage = std::min(date.coverage, date.terms.back().coverage.share());
    }
    date.values = values_of(date.terms);
    date.corners = corners_of(*model_, date.terms);
    return date;
}

}  // namespace models
