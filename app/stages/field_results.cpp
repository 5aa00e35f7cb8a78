#include "app/stages/field_results.h"

#include <algorithm>
#include <cmath>
#include <tuple>

#include "models/error.h"

namespace app {

namespace {

/// Where the grain of a sample grew, as far as it is one ground.
struct GroundOfSample {
    std::string field, part;
    bool of_load = false;
};

GroundOfSample ground_of_sample(const SeasonData& data, std::size_t s) {
    const GrainOfSample grain = grain_of_sample(data, s);
    if (grain.load.empty()) return {grain.field, grain.part, false};
    const models::Load* load = load_named(data, grain.load);
    if (load == nullptr || load->parts.size() != 1 || load->parts[0].share < 0.999) return {};
    return {load->parts[0].field, load->parts[0].part, true};
}

double log_variance_of_places(double sd, double places) {
    return std::log1p(std::expm1(sd * sd) / places);
}

}  // namespace

FieldResults field_results(const SeasonData& data, int season, models::Basis basis,
                           const std::optional<models::Limit>& limit) {
    FieldResults out;
    out.season = season;
    const bool any = std::any_of(data.tests.begin(), data.tests.end(), [&](const models::Test& test) {
        const auto s = sample_index(data, test.sample);
        return s && data.samples[*s].stage != models::Stage::control && season_of_test(data, test) == season;
    });
    if (!any) return out;
    ResultsSettings settings;
    settings.season = season;
    settings.basis = basis;
    settings.limit = limit;
    for (ResultRow& row : results_of_season(data, settings).rows) {
        if (row.test.reading == models::Reading::invalid) continue;
        const auto s = sample_index(data, row.test.sample);
        if (!s) continue;
        const GroundOfSample ground = ground_of_sample(data, *s);
        if (ground.field.empty()) {
            ++out.of_mixed_grain;
            continue;
        }
        const auto crop = crop_of_ground(data, ground.field, ground.part, season);
        if (!crop) {
            ++(data.crops_by_field.count(ground.field) != 0 && ground.part.empty() ? out.of_no_part
                                                                                   : out.of_mixed_grain);
            continue;
        }
        const models::Sample& sample = data.samples[*s];
        out.results.push_back({*crop, ground.of_load, sample.chosen_because, sample.kind, std::move(row)});
    }
    std::sort(out.results.begin(), out.results.end(), [](const FieldResult& a, const FieldResult& b) {
        return std::tie(a.row.test.time.utc, a.row.test.test) < std::tie(b.row.test.time.utc, b.row.test.test);
    });
    return out;
}

ReadingAboutField reading_about_field(const FieldResult& result, double content_mg_per_kg,
                                      const models::ContaminationPriors& priors) {
    const models::MeasuredResult& measured = result.row.measured;
    const double total = models::log_variance_at(measured, content_mg_per_kg);
    const double error = total - models::shared_log_variance(measured);
    ReadingAboutField about{measured.shared_log_mean - 0.5 * error, total};
    if (result.of_load) {
        about.log_variance += log_variance_of_places(priors.within_sd_median, priors.load_places);
    } else if (result.kind == models::SampleKind::point) {
        about.log_variance += log_variance_of_places(priors.within_sd_median, 1.0);
    }
    if (result.row.stage == models::Stage::standing)
        about.log_variance += priors.standing_offset_sd * priors.standing_offset_sd;
    return about;
}

}  // namespace app
