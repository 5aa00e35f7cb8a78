#include "models/decision/screening_cutoff.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <set>

#include <fmt/format.h>

#include "models/assay/interval_law.h"
#include "models/counted.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"

namespace models {

namespace screening {

constexpr double false_negatives = 0.05;

struct Needed {
    std::size_t each;
    int days;
};
Needed needed_for(ScreeningStudy study) {
    switch (study) {
        case ScreeningStudy::full:
            return {20, 5};
        case ScreeningStudy::new_commodity:
            return {10, 1};
        case ScreeningStudy::verification:
            return {6, 1};
    }
    return {20, 5};
}

std::string study_in_words(ScreeningStudy study) {
    switch (study) {
        case ScreeningStudy::full:
            return "a cut-off";
        case ScreeningStudy::new_commodity:
            return "a further grain";
        case ScreeningStudy::verification:
            return "a verification";
    }
    return "";
}

int days_of(const std::vector<ScreeningReading>& readings) {
    std::set<LocalDay> days;
    for (const ScreeningReading& reading : readings) days.insert(reading.day);
    return static_cast<int>(days.size());
}

void require_enough(const ScreeningData& data, ScreeningStudy study) {
    const Needed needed = needed_for(study);
    if (data.negative.size() < needed.each || data.positive.size() < needed.each) {
        std::vector<std::string> missing;
        const auto lacks = [&](std::size_t has, const char* kind) {
            if (has < needed.each) missing.push_back(fmt::format("{} more {}", needed.each - has, kind));
        };
        lacks(data.negative.size(), "negative");
        lacks(data.positive.size(), "positive at the target");
        throw Error(
            fmt::format("{} takes at least {} negative and {} positive samples; there are {} and {}",
                        study_in_words(study), needed.each, needed.each, data.negative.size(), data.positive.size()),
            "validation", "test " + fmt::format("{}", fmt::join(missing, " and ")));
    }
    const int days = std::min(days_of(data.negative), days_of(data.positive));
    if (days < needed.days) {
        throw Error(fmt::format("the samples were read on {}; {} takes {} days or more of each kind",
                                counted(days, "day"), study_in_words(study), needed.days),
                    "validation", fmt::format("read some of them on {}", counted(needed.days - days, "more day")));
    }
    for (const auto* readings : {&data.negative, &data.positive}) {
        for (std::size_t i = 0; i < readings->size(); ++i) {
            if (std::isfinite((*readings)[i].response)) continue;
            throw Error(
                fmt::format("{} sample {} has the response {}", readings == &data.negative ? "negative" : "positive",
                            i + 1, (*readings)[i].response),
                "validation", "give a finite number, or leave the sample out with its reason");
        }
    }
}

struct MeanAndSd {
    double mean = 0.0, sd = 0.0;
};
MeanAndSd mean_and_sd(const std::vector<ScreeningReading>& readings) {
    const double n = static_cast<double>(readings.size());
    MeanAndSd of;
    // Readings that are all alike have no spread, whatever the rounding of their mean.
    const bool alike = std::all_of(readings.begin(), readings.end(), [&](const ScreeningReading& reading) {
        return reading.response == readings.front().response;
    });
    if (alike) return {readings.front().response, 0.0};
    for (const ScreeningReading& reading : readings) of.mean += reading.response / n;
    double sum = 0.0;
    for (const ScreeningReading& reading : readings) sum += (reading.response - of.mean) * (reading.response - of.mean);
    of.sd = std::sqrt(sum / (n - 1.0));
    return of;
}

/// With as many significant figures as are asked for: "0.92", "0.920".
std::string written(double value, int figures) {
    if (value == 0.0) return "0";
    const int decimals = figures - 1 - static_cast<int>(std::floor(std::log10(std::abs(value)) + 1e-12));
    return fmt::format("{:.{}f}", value, std::max(decimals, 0));
}

/// "1.0" as "1.00", "1000" as "1000.0", "1e3" as "1.0e3".
std::string one_figure_more(const std::string& number) {
    const std::size_t end = std::min(number.find_first_of("eE"), number.size());
    const bool whole = number.find('.') >= end;
    return number.substr(0, end) + (whole ? ".0" : "0") + number.substr(end);
}

std::string rate_in_words(double rate) {
    if (rate < 0.001) return "under 0.1 %";
    return fmt::format("{:.1f} %", 100.0 * rate);
}

}  // namespace screening

int significant_figures_of(const std::string& number) {
    double value = 0.0;
    const auto [end, failed] = std::from_chars(number.data(), number.data() + number.size(), value);
    if (failed != std::errc() || end != number.data() + number.size() || !(value > 0.0) || !std::isfinite(value)) {
        throw Error(fmt::format("\"{}\" is no screening target", number), "target",
                    "write the limit in mg/kg as it stands, for example 1.0");
    }
    int figures = 0;
    for (const char letter : number) {
        if (letter == 'e' || letter == 'E') break;
        if (letter < '0' || letter > '9') continue;
        if (figures > 0 || letter != '0') ++figures;
    }
    return figures;
}

double rounded_to_figures(double value, int figures) {
    if (value == 0.0 || !std::isfinite(value)) return value;
    const int power = figures - 1 - static_cast<int>(std::floor(std::log10(std::abs(value))));
    // Steps of a power of ten, as a whole number where that can be exact.
    const double scale = std::pow(10.0, std::abs(power));
    return power >= 0 ? std::round(value * scale) / scale : std::round(value / scale) * scale;
}

ScreeningCutoff screening_cutoff(const ScreeningData& data) {
    using namespace screening;
    ScreeningCutoff found;
    found.significant_figures = significant_figures_of(data.target_mg_per_kg);
    require_enough(data, ScreeningStudy::full);
    found.response = data.response;
    found.positives = static_cast<int>(data.positive.size());
    found.negatives = static_cast<int>(data.negative.size());
    found.days = std::min(days_of(data.negative), days_of(data.positive));
    const MeanAndSd positive = mean_and_sd(data.positive), negative = mean_and_sd(data.negative);
    found.mean_positive = positive.mean;
    found.sd_positive = positive.sd;
    found.mean_negative = negative.mean;
    found.sd_negative = negative.sd;
    const double sign = data.response == ScreeningResponse::rising ? 1.0 : -1.0;
    if (!(sign * (positive.mean - negative.mean) > 0.0)) {
        throw Error(fmt::format("samples at the target answer with {:.4g} on average and negative ones with {:.4g}, "
                                "though the response is said to {}",
                                positive.mean, negative.mean, sign > 0.0 ? "rise with the content" : "fall with it"),
                    "validation", "check which samples are which, and whether the response rises or falls");
    }
    if (!(positive.sd > 0.0)) {
        throw Error("all samples at the target have the same response: there is no spread to set a cut-off by",
                    "validation", "give the responses with one more significant figure than the target");
    }
    found.t_value = interval_law::student_upper_quantile(false_negatives, found.positives - 1.0);
    found.before_rounding = positive.mean - sign * found.t_value * positive.sd;
    found.cut_off = rounded_to_figures(found.before_rounding, found.significant_figures);
    found.false_negative_rate =
        interval_law::student_upper_tail(sign * (positive.mean - found.cut_off) / positive.sd, found.positives - 1.0);
    const double apart = sign * (found.cut_off - negative.mean);
    // Negative samples that all answer alike (0 throughout) lie on one side of the cut-off or on the other.
    found.false_suspect_rate = negative.sd > 0.0
                                   ? interval_law::student_upper_tail(apart / negative.sd, found.negatives - 1.0)
                               : apart > 0.0 ? 0.0
                                             : 1.0;
    found.says = fmt::format(
        "Screening target {} mg/kg. Cut-off {} (before rounding to its {}: {:.6g}): mean {:.6g} {} {:.3f} times the "
        "standard deviation {:.6g} of {} samples at the target over {} days or more. A sample {} it is suspected. "
        "Grain "
        "at the target passes in {} of cases. Of samples free of DON {} are suspected all the same, from the mean "
        "{:.6g} "
        "and the standard deviation {:.6g} of {}, by Student's distribution. (EU) 2023/2782, Annex II, point 4.2.2.",
        data.target_mg_per_kg, written(found.cut_off, found.significant_figures),
        counted(found.significant_figures, "significant figure"), found.before_rounding, positive.mean,
        sign > 0.0 ? "less" : "plus", found.t_value, positive.sd, found.positives, found.days,
        sign > 0.0 ? "at or above" : "at or below", rate_in_words(found.false_negative_rate),
        rate_in_words(found.false_suspect_rate), negative.mean, negative.sd, found.negatives);
    // Only rounding can bring it over, before it is 5 % by the choice of t. Over in the digits that are told.
    if (found.false_negative_rate >= false_negatives + 0.0005)
        found.says += fmt::format(
            " Rounding the cut-off lets more than 5 % of it pass: write the target with one more figure ({}) for a "
            "finer "
            "cut-off.",
            one_figure_more(data.target_mg_per_kg));
    return found;
}

CutoffCheck check_cutoff(const ScreeningCutoff& cutoff, const ScreeningData& data, ScreeningStudy study) {
    using namespace screening;
    if (study == ScreeningStudy::full)
        throw Error("a full validation makes its own cut-off and does not check another", "validation",
                    "ask for a further grain (10 + 10) or a verification (6 + 6)");
    require_enough(data, study);
    if (data.response != cutoff.response)
        throw Error("the cut-off is of a response that goes the other way", "validation",
                    "check whether the response rises or falls with the content");
    CutoffCheck check;
    const double sign = cutoff.response == ScreeningResponse::rising ? 1.0 : -1.0;
    // "Above the cut-off" to the letter here: a positive sample that only reaches it does not show that it is found.
    for (const ScreeningReading& reading : data.positive)
        check.positives_missed += !(sign * (reading.response - cutoff.cut_off) > 0.0);
    for (const ScreeningReading& reading : data.negative)
        check.negatives_suspected += cutoff.suspects(reading.response);
    check.holds = check.positives_missed == 0;
    const std::string of = fmt::format("{} of {} samples at the target", check.positives_missed, data.positive.size());
    if (check.holds) {
        check.says = fmt::format(
            "The cut-off {} holds for {}: all {} samples at the target are beyond it; {} of {} "
            "negative ones are suspected.",
            written(cutoff.cut_off, cutoff.significant_figures),
            study == ScreeningStudy::new_commodity ? "the further grain" : "this laboratory", data.positive.size(),
            check.negatives_suspected, data.negative.size());
    } else if (study == ScreeningStudy::new_commodity) {
        check.says = fmt::format(
            "The cut-off {} does not hold for the further grain: {} are not beyond it. Validate that "
            "grain in full (20 + 20).",
            written(cutoff.cut_off, cutoff.significant_figures), of);
    } else {
        check.says = fmt::format(
            "The cut-off {} could not be verified here: {} are not beyond it. Find the cause, mend "
            "it and verify again, or validate in full (20 + 20).",
            written(cutoff.cut_off, cutoff.significant_figures), of);
    }
    return check;
}

}  // namespace models
