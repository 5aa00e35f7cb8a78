#include "app/stages/load_evidence.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "app/stages/test_content.h"
#include "models/decision/expected.h"
#include "models/decision/limit_rule.h"
#include "models/listed.h"
#include "models/spoken.h"

namespace app {

namespace {

/// What was read of one sort of grain, as is. Of a bound only one side is known, so that the median of them lies
/// between two numbers: that of their lowest and that of their highest possible contents. It is never open at both
/// ends: of two bounds, one above and one below, half the sum of their lower ends is known.
class Readings {
 public:
    void add(models::Reading reading, double mg_per_kg) {
        low_.push_back(reading == models::Reading::below ? 0.0 : mg_per_kg);
        high_.push_back(reading == models::Reading::above ? std::numeric_limits<double>::infinity() : mg_per_kg);
    }
    std::size_t size() const { return low_.size(); }
    double lowest_median() const { return median(low_); }
    double highest_median() const { return median(high_); }
    /// "0.72", "below 2.5", "above 5.0", "1.1 to 2.5"; of several with `about` before a number.
    std::string in_words(std::string (*number)(double)) const {
        const double low = lowest_median(), high = highest_median();
        if (std::isinf(high)) return models::phrase("above {}", number(low));
        if (!(low > 0.0) && high > 0.0) return models::phrase("below {}", number(high));
        if (number(low) == number(high)) return size() == 1 ? number(low) : models::phrase("about {}", number(low));
        return models::phrase("{} to {}", number(low), number(high));
    }

 private:
    static double median(std::vector<double> of) {
        std::sort(of.begin(), of.end());
        const std::size_t n = of.size();
        return n % 2 == 1 ? of[n / 2] : 0.5 * (of[n / 2 - 1] + of[n / 2]);
    }
    std::vector<double> low_, high_;
};

/// More than a fifth, whatever the bounds stand for.
bool are_apart(const Readings& a, const Readings& b) {
    return a.lowest_median() > 1.2 * b.highest_median() || b.lowest_median() > 1.2 * a.highest_median();
}

std::string exactly(double mg_per_kg) {
    return models::content_in_words(mg_per_kg);
}

bool came_from(const models::Load& load, const std::string& field) {
    return std::any_of(load.parts.begin(), load.parts.end(),
                       [&](const models::LoadPart& part) { return !field.empty() && part.field == field; });
}

/// Of the fields that a load came from, this season: samples of the field, and of other loads from it alone.
Readings readings_of_fields(const SeasonData& data, const models::Load& load) {
    Readings all;
    const int season = season_of_load(data, load);
    for (const models::Test& recorded : data.tests) {
        if (recorded.reading == models::Reading::invalid) continue;
        const auto s = sample_index(data, recorded.sample);
        if (!s) continue;
        const GrainOfSample grain = grain_of_sample(data, *s);
        std::string field = grain.field;
        if (!grain.load.empty()) {
            const models::Load* other = grain.load == load.load ? nullptr : load_named(data, grain.load);
            field = other == nullptr || other->parts.size() != 1 ? "" : other->parts.front().field;
        }
        if (!came_from(load, field) || season_of_test(data, recorded) != season) continue;
        const TestContent content =
            content_on(models::Basis::as_is, as_decided_on(recorded, data.strips), with_moisture(data, *s));
        if (content.converted) all.add(content.reading, content.don_mg_per_kg);
    }
    return all;
}

std::vector<std::string> fields_of(const models::Load& load) {
    std::vector<std::string> names;
    for (const models::LoadPart& part : load.parts)
        if (!part.field.empty() && std::find(names.begin(), names.end(), part.field) == names.end())
            names.push_back(part.field);
    return names;
}

std::string own_in_words(const std::vector<models::OwnResult>& own, const Readings& readings) {
    if (own.size() > 1)
        return models::phrase("its {} results read {}", own.size(), readings.in_words(models::estimate_in_words));
    return own.front().method == models::Method::strip
               ? models::phrase("its strip reads {}", readings.in_words(exactly))
               : models::phrase("its laboratory result is {}", readings.in_words(exactly));
}

}  // namespace

LoadEvidence evidence_of_load(const SeasonData& data, const models::Load& load,
                              const std::vector<models::OwnResult>& own, const Eigen::VectorXd& draws) {
    LoadEvidence out;
    if (draws.size() == 0) {
        out.says = models::phrase("nothing is known of what it holds");
        return out;
    }
    out.median_mg_per_kg = models::quantile_of_draws(draws, 0.5);
    out.low90_mg_per_kg = models::quantile_of_draws(draws, 0.05);
    out.high90_mg_per_kg = models::quantile_of_draws(draws, 0.95);
    const std::string estimate = models::phrase(
        "{} mg/kg (90 %: {} to {})", models::estimate_in_words(*out.median_mg_per_kg),
        models::estimate_in_words(*out.low90_mg_per_kg), models::estimate_in_words(*out.high90_mg_per_kg));
    Readings of_load;
    for (const models::OwnResult& result : own)
        of_load.add(result.reading, models::on_basis(result, models::Basis::as_is).don_mg_per_kg);
    const Readings of_fields = readings_of_fields(data, load);
    out.own_results = static_cast<int>(own.size());
    out.field_results = static_cast<int>(of_fields.size());
    const std::vector<std::string> names = fields_of(load);
    const std::string fields = models::listed(names);
    const bool several = names.size() > 1;
    std::string beside;
    if (out.field_results > 0) {
        const std::string read = of_fields.in_words(models::estimate_in_words);
        beside =
            out.field_results == 1 ? several ? models::phrase("another result of its fields {} reads {}", fields, read)
                                             : models::phrase("another result of its field {} reads {}", fields, read)
            : several ? models::phrase("{} other results of its fields {} read {}", out.field_results, fields, read)
                      : models::phrase("{} other results of its field {} read {}", out.field_results, fields, read);
    }
    if (!own.empty() && !beside.empty()) {
        out.says = are_apart(of_load, of_fields)
                       ? models::phrase("{}, but {}: together {}", own_in_words(own, of_load), beside, estimate)
                       : models::phrase("{}, and {}: together {}", own_in_words(own, of_load), beside, estimate);
    } else if (!own.empty()) {
        out.says = models::phrase("{}: with the season's other results {}", own_in_words(own, of_load), estimate);
    } else if (!beside.empty()) {
        out.says = models::phrase("it has no result of its own; {}: so it holds about {}", beside, estimate);
    } else {
        out.says =
            fields.empty()
                ? models::phrase("it has no result: by the season's others it holds about {}", estimate)
                : models::phrase("neither it nor its field has a result: by the season's others it holds about {}",
                                 estimate);
    }
    return out;
}

}  // namespace app
