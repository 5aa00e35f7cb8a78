#include "models/assay/budget.h"

#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>

#include "models/contamination/normal.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"
#include "models/spoken.h"

namespace models {

namespace result_budget {

constexpr double end_of_90 = 1.6448536269514722;
constexpr double no_error = 1e-12;  ///< an error of nothing is one of a millionth

/// By how much a remedy divides each step.
struct Divided {
    double mass = 1.0, increments = 1.0, preparation = 1.0, analysis = 1.0, stated = 1.0;
};

void require_variance(double v, const char* what) {
    if (!(v >= 0.0) || !std::isfinite(v))
        throw Error(fmt::format("the variance of {} is {}", what, v), "", "give 0 or more");
}

void require_sound(const MeasuredResult& r) {
    if (r.reading == Reading::invalid)
        throw Error("a void test has no uncertainty", "", "leave it out; its reason stays in the record");
    if (!(r.don_mg_per_kg > 0.0) || !std::isfinite(r.don_mg_per_kg))
        throw Error(phrase("a result of {} mg/kg is not above zero", r.don_mg_per_kg), "",
                    phrase("write what reads nothing as below its limit of quantification, <0.05"));
    require_variance(r.curve_log_variance, "the curve");
    if (r.stated_relative_variance) require_variance(*r.stated_relative_variance, "the laboratory");
    for (const SharedPart& part : r.shared) require_variance(part.log_variance, part.what.c_str());
    require_variance(r.increments_cv, "increments");
    if (!std::isfinite(r.shared_log_mean))
        throw Error("the known part of shared effects is no number", "", "leave it 0");
    if (r.increments < 1)
        throw Error(fmt::format("a sample of {} increments is none", r.increments), "", "give 1 or more");
    const auto& [mass_g, portion_g, analyses] = r.procedure;
    if (mass_g && portion_g && *portion_g > *mass_g)
        throw Error(phrase("a portion of {} g is larger than the sample of {} g", *portion_g, *mass_g), "",
                    phrase("correct the portion or the sample's mass"));
}

LogVariance variance_at(const MeasuredResult& r, const Divided& by, double content) {
    RelativeVariance v = relative_variance(content, r.procedure, r.error);
    v.sampling /= by.mass;
    // Own duplicate samples have their increments in them.
    if (!r.error.own_sampling_cv) v.sampling += r.increments_cv * r.increments_cv / (r.increments * by.increments);
    if (r.stated_relative_variance) {
        v.preparation = 0.0;
        v.analysis = *r.stated_relative_variance / by.stated;
    } else {
        v.preparation /= by.preparation;
        v.analysis /= by.analysis;
    }
    return log_variance(v);
}

double shared_of(const MeasuredResult& r) {
    double sum = 0.0;
    for (const SharedPart& part : r.shared) sum += part.log_variance;
    return sum;
}

/// The standard normal of a content, given what was read.
class ContentPivot {
 public:
    ContentPivot(const std::vector<MeasuredResult>& results, const Divided& by) : results_(results), by_(by) {
        for (const MeasuredResult& r : results) log_reading_.push_back(std::log(r.don_mg_per_kg) - r.shared_log_mean);
    }
    /// As if the reading were the one that tells this content.
    void read_as(double z) { log_reading_[0] = z - 0.5 * own_variance(0, std::exp(z)); }
    double log_reading() const { return log_reading_[0]; }

    double operator()(double z) const {
        const double content = std::exp(z);
        double apart = 0.0, variance = 0.0;
        std::map<std::string, std::pair<double, double>> shared;  // variance and weight by name
        for (std::size_t i = 0; i < results_.size(); ++i) {
            const double q = own_variance(i, content);
            const double w = 1.0 / (q + results_[i].curve_log_variance);
            apart += w * (log_reading_[i] - z + 0.5 * q);
            variance += w;
            for (const SharedPart& part : results_[i].shared) {
                auto& [v, weight] = shared[part.what];
                v = part.log_variance;
                weight += w;
            }
        }
        for (const auto& [what, part] : shared) variance += part.first * part.second * part.second;
        return apart / std::sqrt(variance);
    }

    /// The content, as its log, where the pivot takes the value k, the nearest to `from`. The pivot falls with z.
    double where(double k, double from) const {
        double in = from, step = (*this)(from) > k ? 0.02 : -0.02, out = in + step;
        while (((*this)(out) > k) == (step > 0.0) && std::abs(out - from) < 60.0) {
            in = out;
            step *= 1.1;
            out += step;
        }
        for (int i = 0; i < 100 && std::abs(out - in) > 1e-13 * (1.0 + std::abs(in)); ++i) {
            const double middle = 0.5 * (in + out);
            (((*this)(middle) > k) == (step > 0.0) ? in : out) = middle;
        }
        return 0.5 * (in + out);
    }

 private:
    double own_variance(std::size_t i, double content) const {
        return std::max(variance_at(results_[i], by_, content).total(), no_error);
    }

    const std::vector<MeasuredResult>& results_;
    Divided by_;
    std::vector<double> log_reading_;
};

struct FoundContent {
    TrueContent truth;
    double log_width = 0.0;
};

FoundContent found_by(const ContentPivot& pivot, Reading reading) {
    FoundContent found;
    const double z = pivot.where(0.0, pivot.log_reading());
    const double low = pivot.where(end_of_90, z), high = pivot.where(-end_of_90, z);
    if (reading != Reading::below) found.truth.low90_mg_per_kg = std::exp(low);
    if (reading != Reading::above) found.truth.high90_mg_per_kg = std::exp(high);
    if (reading == Reading::value) found.truth.content_mg_per_kg = std::exp(z);
    found.log_width = reading == Reading::value   ? high - low
                      : reading == Reading::below ? high - pivot.log_reading()
                                                  : pivot.log_reading() - low;
    return found;
}

struct RemedyIdea {
    std::string what;
    Divided by;
    std::string basis = {};
};

Divided one_more_strip(const MeasuredResult& r) {
    const double n = r.procedure.analyses;
    return {.analysis = (n + 1.0) / n};
}

std::vector<RemedyIdea> ideas_for(const MeasuredResult& r) {
    std::vector<RemedyIdea> ideas;
    const ErrorModel& error = r.error;
    // Own duplicates may tell a step only together with those below it, which then stand at 0 (own_errors). Such a
    // sum is divided as a whole or not at all.
    const bool analysis_told = !error.own_analysis_cv || *error.own_analysis_cv > 0.0;
    const bool preparation_told = !error.own_preparation_cv || *error.own_preparation_cv > 0.0;
    if (!preparation_told && error.own_sampling_cv && !r.stated_relative_variance) {
        ideas.push_back(
            {phrase("a second sample, ground and read"), {.mass = 2.0, .preparation = 2.0, .analysis = 2.0}});
        if (analysis_told) ideas.push_back({phrase("one more strip of the same extract"), one_more_strip(r)});
        return ideas;
    }
    ideas.push_back({phrase("a sample of {:.0f} g", 2.0 * r.procedure.sample_mass_g.value_or(error.assumed_mass_g)),
                     {.mass = 2.0}});
    if (r.increments_cv > 0.0 && !error.own_sampling_cv)
        ideas.push_back({phrase("{} increments in the sample", 2 * r.increments), {.increments = 2.0}});
    if (r.stated_relative_variance) {
        ideas.push_back({phrase("a second test by the laboratory of the same sample"), {.stated = 2.0}});
        return ideas;
    }
    ideas.push_back({phrase("a second portion, extracted and read"), {.preparation = 2.0, .analysis = 2.0}});
    if (!analysis_told) return ideas;
    ideas.push_back({phrase("one more strip of the same extract"), one_more_strip(r)});
    const double portion_g = r.procedure.portion_g.value_or(error.assumed_portion_g);
    const double larger_g = portion_g < 25.0 ? 25.0 : 2.0 * portion_g;
    ideas.push_back({phrase("a portion of {:.0f} g", larger_g), {.preparation = larger_g / portion_g}});
    ideas.push_back({phrase("a grind half as coarse"),
                     {.preparation = 8.0},
                     "theory, not measured here: the variance of a portion is in proportion to the cube of the "
                     "particle size (Gy 1998)"});
    return ideas;
}

}  // namespace result_budget

ResultBudget budget_of(const MeasuredResult& result) {
    using namespace result_budget;
    require_sound(result);
    const std::vector<MeasuredResult> one = {result};
    const FoundContent found = found_by(ContentPivot(one, {}), result.reading);
    ResultBudget out;
    out.truth = found.truth;
    out.log_width = found.log_width;
    out.shared = result.shared;
    const double content = found.truth.content_mg_per_kg.value_or(result.don_mg_per_kg);
    const LogVariance q = variance_at(result, {}, content);
    out.parts = {q.sampling, q.preparation, q.analysis + result.curve_log_variance, shared_of(result)};
    for (const RemedyIdea& idea : ideas_for(result)) {
        ContentPivot pivot(one, idea.by);
        if (result.reading == Reading::value) pivot.read_as(std::log(content));
        const FoundContent better = found_by(pivot, result.reading);
        out.remedies.push_back({idea.what, better.truth, better.log_width, idea.basis});
    }
    std::stable_sort(out.remedies.begin(), out.remedies.end(),
                     [](const Remedy& a, const Remedy& b) { return a.log_width < b.log_width; });
    out.assumptions = assumptions(result.procedure, result.error);
    if (result.stated_relative_variance &&
        !result.procedure.portion_g)  // the laboratory's own portion is in its number
        std::erase_if(out.assumptions, [](const std::string& s) { return s.find("portion") != std::string::npos; });
    return out;
}

TrueContent combined_content(const std::vector<MeasuredResult>& results) {
    using namespace result_budget;
    if (results.empty()) throw Error("no result tells no content", "", "give one or more");
    for (const MeasuredResult& r : results) {
        require_sound(r);
        if (r.reading != Reading::value)
            throw Error("a result below or above the range has no number to be averaged", "",
                        "leave it to the contamination model, which takes it as what it is");
    }
    return found_by(ContentPivot(results, {}), Reading::value).truth;
}

double chance_over(const MeasuredResult& result, double limit_mg_per_kg) {
    using namespace result_budget;
    require_sound(result);
    if (!(limit_mg_per_kg > 0.0) || !std::isfinite(limit_mg_per_kg))
        throw Error(fmt::format("{} mg/kg is no limit", limit_mg_per_kg), "limit", "write a number above 0");
    const std::vector<MeasuredResult> one = {result};
    return normal::cdf(ContentPivot(one, {})(std::log(limit_mg_per_kg)));
}

double log_variance_at(const MeasuredResult& result, double content_mg_per_kg) {
    using namespace result_budget;
    require_sound(result);
    return std::max(variance_at(result, {}, content_mg_per_kg).total() + result.curve_log_variance + shared_of(result),
                    no_error);
}

double shared_log_variance(const MeasuredResult& result) {
    return result.curve_log_variance + result_budget::shared_of(result);
}

std::string in_words(const MeasuredResult& result, const TrueContent& truth) {
    const std::string bound = content_in_words(result.don_mg_per_kg);
    if (result.reading == Reading::below)
        return phrase("below {} mg/kg: the content is at most {} mg/kg, right in 95 of 100 such results", bound,
                      content_in_words(truth.high90_mg_per_kg.value_or(result.don_mg_per_kg)));
    if (result.reading == Reading::above)
        return phrase("above {} mg/kg: the content is at least {} mg/kg, right in 95 of 100 such results", bound,
                      content_in_words(truth.low90_mg_per_kg.value_or(result.don_mg_per_kg)));
    return phrase("{} mg/kg (90 % interval {} to {})", content_in_words(*truth.content_mg_per_kg),
                  content_in_words(*truth.low90_mg_per_kg), content_in_words(*truth.high90_mg_per_kg));
}

}  // namespace models
