#include "models/phenology/flowering.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "models/disease/disease_risk.h"
#include "models/phenology/flowering_record.h"
#include "models/phenology/winter_wheat.h"
#include "models/spoken.h"
#include "models/words.h"

namespace models {

namespace {

using std::chrono::days;

int days_from_to(LocalDay from, LocalDay to) {
    return static_cast<int>((to - from).count());
}

double sd_of_even_spread(int width) {
    return std::sqrt((static_cast<double>(width) * width - 1.0) / 12.0);
}

/// @param named  the day that the scheme names: it stands where it is as likely as the best
void conclude_flowering(FloweringEstimate& estimate, FloweringBasis basis, const DayDistribution& law, LocalDay named) {
    estimate.basis = basis;
    estimate.days = without_tails(law, negligible_tail);
    const LocalDay best = estimate.days.most_likely();
    const bool as_likely = estimate.days.at(named) > estimate.days.at(best) * (1.0 - 1e-9);
    estimate.most_likely = as_likely ? named : best;
    estimate.sd_days = estimate.days.sd_days();
}

void from_written_date(const CropRecord& crop, LocalDay day, const FloweringOptions& options,
                       FloweringEstimate& estimate) {
    const bool observed = crop.flowering_source == FloweringSource::observed;
    estimate.model_sd_days = observed ? options.observed_sd_days : options.estimated_sd_days;
    estimate.method = fmt::format("flowering written down as {} ({}), sd {:g} days",
                                  observed                ? "observed"
                                  : crop.flowering_source ? "estimated"
                                                          : "a date",
                                  crop.flowering_date ? "its date" : "its first day", estimate.model_sd_days);
    if (!crop.flowering_source) {
        estimate.missing.push_back(phrase("whether the flowering date was observed; it is taken as estimated"));
    }
    estimate.notes.push_back(fmt::format("the sd of {:g} days of {} date is customary, without a source",
                                         estimate.model_sd_days, observed ? "an observed" : "an estimated"));
    conclude_flowering(estimate, observed ? FloweringBasis::observed : FloweringBasis::estimated_by_hand,
                       normal_days(day, estimate.model_sd_days), day);
}

void from_heading(LocalDay heading, const FloweringOptions& options, FloweringEstimate& estimate) {
    estimate.model_sd_days = options.heading_interval_sd_days;
    estimate.method = fmt::format("heading on {} + {} days, sd {:g} days", to_text(heading),
                                  options.heading_to_flowering_days, options.heading_interval_sd_days);
    estimate.notes.emplace_back(
        "the days from heading to flowering are customary, without a source: 3 to 5 at about 20 degC, 7 to 10 when it "
        "is cool");
    estimate.missing.push_back(phrase("the observed flowering date"));
    const LocalDay flowering = heading + days(options.heading_to_flowering_days);
    estimate.stages = {{"heading", heading}, {"flowering", flowering}};
    conclude_flowering(estimate, FloweringBasis::heading, normal_days(flowering, estimate.model_sd_days), flowering);
}

/// What a scheme makes of one sowing day.
struct FloweringRun {
    LocalDay likely{}, earliest{}, latest{};  ///< earliest, latest: whatever the missing temperatures were
    int need_earlier = 0, need_later = 0;     ///< days by which the span of the scheme's needs moves the likely day
    std::vector<StageDay> stages;
};
/// A run, or the sentence that says why there is none.
struct RunOutcome {
    std::optional<FloweringRun> run;
    std::string reason;
};

/// The flowering day for temperatures raised by as much; nullopt where it is not reached.
using DayIfWarmer = std::function<std::optional<LocalDay>(LocalDay sowing, double warmer_degc)>;

/// A scheme that goes from sowing to flowering, as the estimate sees it.
struct SowingScheme {
    std::string words;
    double error_sd_days = 0.0;
    std::function<RunOutcome(LocalDay sowing)> run;
    DayIfWarmer day_if_warmer;
};

std::string weather_until(const TemperatureDays& temperatures) {
    return phrase("the weather ends on {}", to_text(temperatures.days().back().day));
}

SowingScheme winter_scheme(const TemperatureDays& temperatures, double latitude_deg, int heading_to_flowering_days) {
    SowingScheme scheme;
    scheme.words =
        "winter wheat by daily mean temperature, day length from sunrise to sunset (Forsythe et al. 1995) and "
        "vernalization (V. Garnica 2024, North Carolina)";
    scheme.error_sd_days = winter_wheat_error_sd_days;
    scheme.day_if_warmer = [&temperatures, latitude_deg](LocalDay sowing, double warmer_degc) {
        return follow_winter_wheat(temperatures, sowing, latitude_deg, Pace::likely, warmer_degc).flowering;
    };
    scheme.run = [&temperatures, latitude_deg, heading_to_flowering_days](LocalDay sowing) -> RunOutcome {
        const auto follow = [&](Pace pace) { return follow_winter_wheat(temperatures, sowing, latitude_deg, pace); };
        const WinterWheatCourse likely = follow(Pace::likely), slowest = follow(Pace::slowest);
        if (!likely.flowering || !slowest.flowering) {
            const WinterWheatCourse& course = likely.flowering ? slowest : likely;
            return {std::nullopt,
                    phrase("the crop sown on {} had not come to flowering by {}: development {:.0f} of {:g}, {:.0f} "
                           "days of vernalization ({:g} to begin, {:g} in full){}; {}",
                           to_text(sowing), course.last_day ? to_text(*course.last_day) : phrase("the first day"),
                           course.development, development_at_flowering, course.vernal_days, vernal_days_to_begin,
                           vernal_days_in_full,
                           likely.flowering ? phrase(", if the missing days were as slow as can be") : "",
                           weather_until(temperatures))};
        }
        FloweringRun run;
        run.likely = *likely.flowering;
        run.latest = *slowest.flowering;
        run.earliest = follow(Pace::fastest).flowering.value_or(run.likely);
        run.stages = {{"sowing", sowing},
                      {"vernalization begins to tell", likely.vernalization_begins.value_or(sowing)},
                      {"vernalization in full", likely.vernalization_in_full.value_or(run.likely)},
                      {"heading, by the usual interval", run.likely - days(heading_to_flowering_days)},
                      {"flowering", run.likely}};
        if (!likely.vernalization_in_full) run.stages.erase(run.stages.begin() + 2);
        std::stable_sort(run.stages.begin(), run.stages.end(),
                         [](const StageDay& a, const StageDay& b) { return a.day < b.day; });
        return {run, ""};
    };
    return scheme;
}

SowingScheme degree_day_scheme(const ThermalScheme& thermal, const TemperatureDays& temperatures) {
    SowingScheme scheme;
    scheme.words = fmt::format(
        "{} ({}), {}, from {}", thermal.name, thermal.source,
        in_words(DegreeDayRule{thermal.method, thermal.phases.front().base_degc, thermal.phases.front().cap_degc}),
        temperatures.of_hours() ? "hourly temperatures" : "daily minima and maxima");
    for (std::size_t i = 1; i < thermal.phases.size(); ++i) {
        scheme.words += fmt::format("{} {} above {:g} degC", i == 1 ? "; then to" : ", to", thermal.phases[i].name,
                                    thermal.phases[i].base_degc);
    }
    scheme.error_sd_days = thermal.error_sd_days;
    scheme.day_if_warmer = [&thermal, &temperatures](LocalDay sowing, double warmer_degc) {
        return follow_thermal_scheme(thermal, temperatures, sowing, Pace::likely, 0.5, warmer_degc).flowering;
    };
    scheme.run = [&thermal, &temperatures](LocalDay sowing) -> RunOutcome {
        const auto follow = [&](Pace pace, double need) {
            return follow_thermal_scheme(thermal, temperatures, sowing, pace, need);
        };
        const ThermalCourse likely = follow(Pace::likely, 0.5), slowest = follow(Pace::slowest, 0.5);
        const ThermalCourse most = follow(Pace::likely, 1.0);
        for (const ThermalCourse* course : {&likely, &slowest, &most}) {
            if (course->flowering) continue;
            return {std::nullopt,
                    phrase("the crop sown on {} may not have come to flowering by {}: phase {} of {}, {:.0f} degree "
                           "days in it; {}",
                           to_text(sowing), course->last_day ? to_text(*course->last_day) : phrase("the first day"),
                           course->phase_ends.size() + 1, thermal.phases.size(), course->degc_days,
                           weather_until(temperatures))};
        }
        FloweringRun run;
        run.likely = *likely.flowering;
        run.latest = *slowest.flowering;
        run.earliest = follow(Pace::fastest, 0.5).flowering.value_or(run.likely);
        run.need_earlier = days_from_to(follow(Pace::likely, 0.0).flowering.value_or(run.likely), run.likely);
        run.need_later = days_from_to(run.likely, *most.flowering);
        run.stages = {{"sowing", sowing}};
        for (std::size_t i = 0; i < thermal.phases.size(); ++i) {
            run.stages.push_back({thermal.phases[i].name, likely.phase_ends[i]});
        }
        return {run, ""};
    };
    return scheme;
}

/// Where a scheme is used away from what it was made for.
void note_home(const std::optional<Region>& region, const FloweringOptions& options, FloweringEstimate& estimate) {
    if (!region) return;
    if (!options.latitude_deg || !options.longitude_deg) {
        estimate.extrapolated = true;
        estimate.notes.push_back(fmt::format(
            "the field's place is not known, so it may lie outside the region of the scheme ({})", region->words));
        return;
    }
    const bool inside = *options.longitude_deg >= region->west_deg && *options.longitude_deg <= region->east_deg &&
                        *options.latitude_deg >= region->south_deg && *options.latitude_deg <= region->north_deg;
    if (inside) return;
    estimate.extrapolated = true;
    estimate.notes.push_back(fmt::format("the field lies outside the region of the scheme ({})", region->words));
}

void note_winter(const CropRecord& crop, const TemperatureDays& temperatures, const DayWindow& sowing,
                 FloweringEstimate& estimate) {
    if (crop.crop == Crop::durum) {
        estimate.extrapolated = true;
        estimate.notes.emplace_back("durum is counted as wheat; the scheme was made for soft winter wheat");
    }
    if (!winter_wheat_sowing_is_usual(sowing.first) || !winter_wheat_sowing_is_usual(sowing.last)) {
        estimate.extrapolated = true;
        estimate.notes.emplace_back("the scheme was made for sowing from 10 to 30 October");
    }
    if (!temperatures.of_hours()) {
        estimate.notes.emplace_back(
            "the day's mean is the mean of minimum and maximum; the scheme was made with means of 24 hours");
    }
    estimate.notes.push_back(fmt::format(
        "the scheme's error of {:g} days was found with gridded temperatures, on the data it was tried on; a "
        "station that reads warmer or colder than they do shifts the date",
        winter_wheat_error_sd_days));
}

/// Why the days that are seen are not enough; empty where they are.
std::string too_few_days_seen(const DayCoverage& coverage, const FloweringRun& run) {
    const std::string span = phrase("from {} to {}", to_text(run.stages.front().day), to_text(run.latest));
    if (coverage.share() < least_share_of_days) {
        return phrase("{} of {} days {} have no temperature; at least {:.0f} % of them are needed", coverage.missing,
                      coverage.days, span, 100.0 * least_share_of_days);
    }
    if (coverage.longest_gap > longest_gap_days) {
        return phrase("{} days in a row {} have no temperature; no more than {} may be missing in a row",
                      coverage.longest_gap, span, longest_gap_days);
    }
    const int open = days_from_to(run.earliest, run.latest);
    if (open > most_days_left_open) {
        return phrase("the missing temperatures {} leave {} days open; no more than {} are allowed", span, open,
                      most_days_left_open);
    }
    return "";
}

bool reach_sowing(const TemperatureDays& temperatures, LocalDay sowing, FloweringEstimate& estimate) {
    const LocalDay first = temperatures.days().front().day, last = temperatures.days().back().day;
    if (first <= sowing && sowing <= last) return true;
    estimate.missing.push_back(phrase("temperatures from sowing on {}: the weather goes from {} to {}", to_text(sowing),
                                      to_text(first), to_text(last)));
    return false;
}

void note_missing_weather(const std::vector<FloweringRun>& runs, FloweringEstimate& estimate) {
    LocalDay earliest = runs.front().earliest, latest = runs.front().latest;
    for (const FloweringRun& run : runs) {
        earliest = std::min(earliest, run.earliest);
        latest = std::max(latest, run.latest);
    }
    if (estimate.weather.missing > 0) {
        estimate.missing.push_back(
            phrase("temperatures of {} of {} days", estimate.weather.missing, estimate.weather.days));
    }
    if (estimate.weather.missing == 0 && estimate.weather_sd_days == 0.0) return;
    estimate.notes.push_back(fmt::format(
        "missing temperatures count as the mean of the days around; the coldest and the warmest of those give "
        "{} to {}",
        to_text(earliest), to_text(latest)));
}

void note_warmth(const SowingScheme& scheme, LocalDay sowing, FloweringEstimate& estimate) {
    const auto warmer = scheme.day_if_warmer(sowing, 0.5), colder = scheme.day_if_warmer(sowing, -0.5);
    if (!warmer || !colder) return;
    estimate.days_earlier_if_warmer = days_from_to(*warmer, *colder);
    estimate.notes.push_back(fmt::format("temperatures higher by 1 degC would bring it forward by {:g} days",
                                         *estimate.days_earlier_if_warmer));
}

void from_sowing(const SowingScheme& scheme, const TemperatureDays& temperatures, const DayWindow& sowing,
                 const FloweringOptions& options, FloweringEstimate& estimate) {
    if (!reach_sowing(temperatures, sowing.first, estimate) || !reach_sowing(temperatures, sowing.last, estimate))
        return;
    const double error_sd = scheme.error_sd_days * (estimate.extrapolated ? options.error_factor_away_from_home : 1.0);
    std::vector<FloweringRun> runs;
    std::vector<DayDistribution> laws, likely_days;
    double need_variance = 0.0, weather_variance = 0.0;
    for (LocalDay day = sowing.first; day <= sowing.last; day += days(1)) {
        RunOutcome outcome = scheme.run(day);
        if (!outcome.run) {
            estimate.missing.push_back(std::move(outcome.reason));
            return;
        }
        const FloweringRun& run = *outcome.run;
        const DayCoverage coverage = coverage_of(temperatures, {day, run.latest});
        if (day == sowing.first) estimate.weather = coverage;
        if (std::string lack = too_few_days_seen(coverage, run); !lack.empty()) {
            estimate.weather = coverage;
            estimate.missing.push_back(std::move(lack));
            return;
        }
        const int earlier = days_from_to(run.earliest, run.likely), later = days_from_to(run.likely, run.latest);
        const double need = sd_of_even_spread(run.need_earlier + run.need_later + 1),
                     weather = sd_of_even_spread(earlier + later + 1);
        need_variance += need * need;
        weather_variance += weather * weather;
        laws.push_back(spread_evenly(spread_evenly(normal_days(run.likely, error_sd), run.need_earlier, run.need_later),
                                     earlier, later));
        likely_days.push_back(normal_days(run.likely, 0.0));
        runs.push_back(run);
    }
    const auto tried = static_cast<double>(runs.size());
    estimate.model_sd_days = std::sqrt(error_sd * error_sd + need_variance / tried);
    estimate.weather_sd_days = std::sqrt(weather_variance / tried);
    estimate.sowing_sd_days = mixture_of(likely_days).sd_days();
    estimate.method =
        fmt::format("sowing {}; {}; error {:g} days",
                    sowing.days() == 1 ? "on " + to_text(sowing.first)
                                       : fmt::format("between {} and {}", to_text(sowing.first), to_text(sowing.last)),
                    scheme.words, error_sd);
    if (estimate.extrapolated) {
        estimate.notes.push_back(
            fmt::format("the scheme's error of {:g} days is multiplied by {:g}, a factor without a source",
                        scheme.error_sd_days, options.error_factor_away_from_home));
    }
    const std::size_t middle = (runs.size() - 1) / 2;
    estimate.stages = runs[middle].stages;
    note_missing_weather(runs, estimate);
    note_warmth(scheme, sowing.first + days(middle), estimate);
    estimate.missing.push_back(phrase("the observed flowering or heading date"));
    if (runs.size() > 1) estimate.missing.push_back(phrase("the sowing date"));
    conclude_flowering(estimate, FloweringBasis::sowing, mixture_of(laws), runs[middle].likely);
}

bool is_wheat(const CropRecord& crop) {
    return crop.crop == Crop::wheat || crop.crop == Crop::durum;
}

void try_sowing(const CropRecord& crop, const DayWindow& sowing, const TemperatureDays* temperatures,
                const FloweringOptions& options, FloweringEstimate& estimate) {
    if (!temperatures || temperatures->empty()) {
        estimate.missing.push_back(phrase("daily temperatures from sowing to flowering"));
        return;
    }
    if (!crop.wheat_type) {
        estimate.missing.push_back(phrase("whether it is winter or spring wheat"));
        return;
    }
    if (*crop.wheat_type == WheatType::winter) {
        if (!options.latitude_deg) {
            estimate.missing.push_back(phrase("the latitude of the field"));
            return;
        }
        note_home(winter_wheat_region(), options, estimate);
        note_winter(crop, *temperatures, sowing, estimate);
        from_sowing(winter_scheme(*temperatures, *options.latitude_deg, options.heading_to_flowering_days),
                    *temperatures, sowing, options, estimate);
        return;
    }
    const ThermalScheme thermal = options.scheme ? *options.scheme : spring_wheat_saskatchewan();
    if (!thermal.confirmed && !options.include_unconfirmed) {
        estimate.missing.push_back(
            phrase("degree days of your own for {} from sowing to flowering; those known here are unconfirmed and "
                   "have to be asked for",
                   crop.crop == Crop::durum ? phrase("durum") : phrase("spring wheat")));
        return;
    }
    note_home(thermal.region, options, estimate);
    if (!options.scheme && crop.crop == Crop::durum) {
        estimate.extrapolated = true;
        estimate.notes.emplace_back("durum is counted as wheat; the scheme was made for spring wheat");
    }
    estimate.unconfirmed = !thermal.confirmed;
    if (!thermal.confirmed) estimate.notes.emplace_back("the degree days of the scheme are unconfirmed");
    from_sowing(degree_day_scheme(thermal, *temperatures), *temperatures, sowing, options, estimate);
    if (!thermal.confirmed && estimate.most_likely) estimate.method += " (unconfirmed)";
}

void estimate_by_best(const CropRecord& crop, const TemperatureDays* temperatures, const FloweringOptions& options,
                      FloweringEstimate& estimate) {
    if (const auto written = flowering_day(crop)) return from_written_date(crop, *written, options, estimate);
    if (!is_wheat(crop)) {
        estimate.missing.push_back(phrase("the observed flowering date"));
        estimate.notes.push_back(fmt::format("there is no model for {}", in_words(crop.crop)));
        return;
    }
    if (crop.heading_date) return from_heading(*crop.heading_date, options, estimate);
    if (crop.sowing_date) {
        return try_sowing(crop, {*crop.sowing_date, *crop.sowing_date}, temperatures, options, estimate);
    }
    if (options.sowing_between) return try_sowing(crop, *options.sowing_between, temperatures, options, estimate);
    estimate.missing.push_back(phrase("the flowering, heading or sowing date"));
}

}  // namespace

FloweringEstimate estimate_flowering(const CropRecord& given, const TemperatureDays* temperatures,
                                     const FloweringOptions& options) {
    check_flowering_record(given, options);
    const CropRecord crop = as_known(given, options.as_of);
    FloweringEstimate estimate;
    estimate.field = crop.field;
    estimate.part = crop.part;
    estimate.season = crop.season;
    const bool reaches_past = temperatures && options.as_of && !options.temperatures_as_known &&
                              !temperatures->empty() && temperatures->days().back().day > *options.as_of;
    if (reaches_past) {
        const TemperatureDays known = temperatures->until(*options.as_of);
        estimate_by_best(crop, &known, options, estimate);
    } else {
        estimate_by_best(crop, temperatures, options, estimate);
    }
    return estimate;
}

AveragedRisk averaged_over(const FloweringEstimate& estimate,
                           const std::function<std::optional<double>(LocalDay)>& risk) {
    return averaged_over(estimate.days, risk);
}

}  // namespace models
