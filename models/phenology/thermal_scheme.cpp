#include "models/phenology/thermal_scheme.h"

#include <cmath>

#include <fmt/format.h>

#include "models/error.h"

namespace models {

namespace {

DegreeDayRule phase_rule(const ThermalScheme& scheme, const ThermalPhase& phase) {
    return {scheme.method, phase.base_degc, phase.cap_degc};
}

double at_pace(const DayRange& range, Pace pace) {
    return pace == Pace::slowest ? range.low : pace == Pace::fastest ? range.high : range.likely;
}

}  // namespace

void check_scheme(const ThermalScheme& scheme) {
    const std::string where = fmt::format("degree-day scheme \"{}\"", scheme.name);
    if (scheme.phases.empty()) throw Error("it has no phase", where, "give at least one phase that leads to flowering");
    if (!(scheme.error_sd_days >= 0.0) || !std::isfinite(scheme.error_sd_days)) {
        throw Error("its error is not a number of days", where, "give a standard deviation of 0 or more days");
    }
    for (const ThermalPhase& phase : scheme.phases) {
        if (!(phase.least_degc_days > 0.0) || !(phase.most_degc_days >= phase.least_degc_days) ||
            !std::isfinite(phase.most_degc_days)) {
            throw Error(fmt::format("the phase to {} needs {} to {} degree days", phase.name, phase.least_degc_days,
                                    phase.most_degc_days),
                        where, "give what each phase needs, above 0, the lesser number first");
        }
        degree_days(phase.base_degc, phase.base_degc, phase_rule(scheme, phase));
    }
}

ThermalScheme spring_wheat_saskatchewan() {
    ThermalScheme scheme;
    scheme.name = "spring wheat, Saskatchewan";
    scheme.source =
        "Miller, Lanier & Brandt (2001), Using growing degree days to predict plant stages, Montana State University "
        "MT200103AG";
    scheme.method = DegreeDayMethod::mean_limited;
    scheme.phases = {{"flowering", 0.0, std::nullopt, 807.0, 901.0}};
    scheme.error_sd_days = 3.0;
    scheme.confirmed = false;
    scheme.region = Region{"Saskatchewan", -110.0, -101.4, 49.0, 60.0};
    return scheme;
}

ThermalCourse follow_thermal_scheme(const ThermalScheme& scheme, const TemperatureDays& temperatures, LocalDay sowing,
                                    Pace pace, double need, double warmer_degc) {
    check_scheme(scheme);
    ThermalCourse course;
    for (int n = 0; n < most_days_followed; ++n) {
        const LocalDay day = sowing + std::chrono::days(n);
        const ThermalPhase& phase = scheme.phases[course.phase_ends.size()];
        // A base lowered by as much is the same as temperatures raised, in both methods.
        DegreeDayRule rule = phase_rule(scheme, phase);
        rule.base_degc -= warmer_degc;
        if (rule.cap_degc) *rule.cap_degc -= warmer_degc;
        const auto of_day =
            temperatures.range(day, [&](std::span<const double> values) { return degree_days(values, rule); });
        if (!of_day) break;
        course.degc_days += at_pace(*of_day, pace);
        course.last_day = day;
        if (course.degc_days < phase.least_degc_days + need * (phase.most_degc_days - phase.least_degc_days)) continue;
        course.degc_days = 0.0;
        course.phase_ends.push_back(day);
        if (course.phase_ends.size() == scheme.phases.size()) {
            course.flowering = day;
            break;
        }
    }
    return course;
}

}  // namespace models
