#include "app/stages/load_evidence.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "app/stages/test_content.h"
#include "models/decision/expected.h"
#include "models/decision/limit_rule.h"
#include "models/spoken.h"

namespace app {

namespace {

/// What was read of one sort of grain, as is.
struct Readings {
    std::vector<double> contents;
    double middle() const {
        std::vector<double> sorted = contents;
        std::sort(sorted.begin(), sorted.end());
        const std::size_t n = sorted.size();
        return n % 2 == 1 ? sorted[n / 2] : 0.5 * (sorted[n / 2 - 1] + sorted[n / 2]);
    }
    std::string median() const { return two_digits(middle()); }
    static std::string two_digits(double content) {
        return content >= 9.95    ? fmt::format("{:.0f}", content)
               : content >= 0.995 ? fmt::format("{:.1f}", content)
                                  : fmt::format("{:.2f}", content);
    }
};

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
        if (content.converted) all.contents.push_back(content.don_mg_per_kg);
    }
    return all;
}

std::string fields_of(const models::Load& load) {
    std::vector<std::string> names;
    for (const models::LoadPart& part : load.parts)
        if (!part.field.empty() && std::find(names.begin(), names.end(), part.field) == names.end())
            names.push_back(part.field);
    std::string all;
    for (const std::string& name : names) all += (all.empty() ? "" : ", ") + name;
    return all;
}

std::string own_in_words(const std::vector<models::OwnResult>& own, const Readings& readings) {
    if (own.size() > 1) return models::phrase("its {} results read {} in the middle", own.size(), readings.median());
    const models::OwnResult& one = own.front();
    const std::string number = models::content_in_words(readings.contents.front());
    const std::string read = one.reading == models::Reading::above   ? models::phrase("above {}", number)
                             : one.reading == models::Reading::below ? models::phrase("below {}", number)
                                                                     : number;
    return one.method == models::Method::strip ? models::phrase("its strip reads {}", read)
                                               : models::phrase("its laboratory result is {}", read);
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
    const std::string estimate =
        models::phrase("{} ({} to {}) mg/kg", Readings::two_digits(*out.median_mg_per_kg),
                       Readings::two_digits(*out.low90_mg_per_kg), Readings::two_digits(*out.high90_mg_per_kg));
    Readings of_load;
    for (const models::OwnResult& result : own)
        of_load.contents.push_back(models::on_basis(result, models::Basis::as_is).don_mg_per_kg);
    const Readings of_fields = readings_of_fields(data, load);
    out.own_results = static_cast<int>(own.size());
    out.field_results = static_cast<int>(of_fields.contents.size());
    const std::string fields = fields_of(load);
    const bool several = std::count(fields.begin(), fields.end(), ',') > 0;
    std::string beside;
    if (out.field_results == 1)
        beside = several ? models::phrase("another result of its fields {} reads {}", fields, of_fields.median())
                         : models::phrase("another result of its field {} reads {}", fields, of_fields.median());
    else if (out.field_results > 1)
        beside = several ? models::phrase("{} other results of its fields {} read about {}", out.field_results, fields,
                                          of_fields.median())
                         : models::phrase("{} other results of its field {} read about {}", out.field_results, fields,
                                          of_fields.median());
    if (!own.empty() && !beside.empty()) {
        const double a = of_load.middle(), b = of_fields.middle(), lower = std::min(a, b);
        const bool apart = std::max(a, b) > 1.2 * lower;
        out.says = apart ? models::phrase("{}, but {}: together {}", own_in_words(own, of_load), beside, estimate)
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
