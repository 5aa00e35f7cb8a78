#include "app/stages/within_fields_stage.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

#include <fmt/format.h>

#include "app/stages/own_errors.h"
#include "app/stages/test_content.h"
#include "models/assay/error_variance.h"
#include "models/decision/limit_rule.h"
#include "models/spatial/kriging.h"
#include "models/spoken.h"

namespace app {

namespace {

/// A cell small enough to show the outline, and not more than some 20,000 of them.
double cell_size_m(const models::BoxM& box) {
    double cell = 5.0;
    while (box.width_m() / cell * box.height_m() / cell > 20000.0) cell *= 2.0;
    return cell;
}

/// The tests of one sample that was taken at a single place.
struct SampleAtPlace {
    std::string field;
    models::PointM place;
    std::vector<TestContent> values, bounds;
    std::vector<models::Method> methods;  ///< of the values, then of the bounds
};

std::vector<SampleAtPlace> samples_at_places(const SeasonData& data, const ContaminationSettings& settings) {
    std::map<std::size_t, SampleAtPlace> by_sample;
    for (const models::Test& test : data.tests) {
        if (test.reading == models::Reading::invalid || season_of_test(data, test) != settings.season) continue;
        const auto s = sample_index(data, test.sample);
        if (!s || *s >= data.joined.samples.size()) continue;
        const geo::SampleJoin& join = data.joined.samples[*s];
        const models::Sample& sample = data.samples[*s];
        if (join.field.empty() || !join.position_fits || !sample.place_m || sample.kind != models::SampleKind::point)
            continue;
        if (outline_of(data, join.field, "") == nullptr) continue;
        SampleAtPlace& at = by_sample[*s];
        at.field = join.field;
        at.place = *sample.place_m;
        TestContent content = content_on(settings.basis, test, with_moisture(data, *s));
        const bool is_value = content.reading == models::Reading::value;
        at.methods.insert(
            is_value ? at.methods.begin() + static_cast<std::ptrdiff_t>(at.values.size()) : at.methods.end(),
            test.method);
        (is_value ? at.values : at.bounds).push_back(std::move(content));
    }
    std::vector<SampleAtPlace> samples;
    for (auto& [s, at] : by_sample) samples.push_back(std::move(at));
    return samples;
}

/// Preparation and analysis of one test, and the sampling that all tests of its sample share.
models::LogVariance error_of(const TestContent& content, models::Method method, double content_mg_per_kg,
                             const ErrorsInUse& errors) {
    const models::ErrorModel& model = method == models::Method::laboratory ? errors.laboratory : errors.strip;
    models::RelativeVariance relative = models::relative_variance(content_mg_per_kg, content.procedure, model);
    if (content.standard_uncertainty_mg_per_kg) {
        relative.preparation = 0.0;
        relative.analysis = std::pow(*content.standard_uncertainty_mg_per_kg / content.don_mg_per_kg, 2);
    }
    return models::log_variance(relative);
}

/// What a sample says: the mean of its values, or where it has none the first of its bounds.
models::PlacedResult result_of(const SampleAtPlace& sample, double typical_mg_per_kg, const ErrorsInUse& errors) {
    models::PlacedResult result;
    result.place = sample.place;
    if (sample.values.empty()) {
        result.reading = sample.bounds[0].reading;
        result.don_mg_per_kg = sample.bounds[0].don_mg_per_kg;
        result.log_error_variance = error_of(sample.bounds[0], sample.methods[0], result.don_mg_per_kg, errors).total();
        return result;
    }
    double log_sum = 0.0, own_sum = 0.0, sampling = 0.0;
    for (std::size_t i = 0; i < sample.values.size(); ++i) {
        const models::LogVariance error = error_of(sample.values[i], sample.methods[i], typical_mg_per_kg, errors);
        log_sum += std::log(sample.values[i].don_mg_per_kg);
        own_sum += error.preparation + error.analysis;
        sampling = error.sampling;
    }
    const auto count = static_cast<double>(sample.values.size());
    result.don_mg_per_kg = std::exp(log_sum / count);
    result.log_error_variance = sampling + own_sum / (count * count);
    return result;
}

}  // namespace

PlacedResults placed_results(const SeasonData& data, const ContaminationSettings& settings) {
    const ErrorsInUse errors = errors_in_use(data, settings.own_duplicates);
    std::map<std::string, std::vector<SampleAtPlace>> by_field;
    for (SampleAtPlace& sample : samples_at_places(data, settings)) {
        std::vector<SampleAtPlace>& samples = by_field[sample.field];
        samples.push_back(std::move(sample));
    }
    PlacedResults placed;
    for (const auto& [field, samples] : by_field) {
        if (samples.size() < 2) continue;
        // The error of a result at the content it stands for, not at the reading: the field's median serves all.
        std::vector<double> contents;
        for (const SampleAtPlace& sample : samples)
            for (const TestContent& value : sample.values) contents.push_back(value.don_mg_per_kg);
        double typical = 1.0;
        if (!contents.empty()) {
            const auto middle = contents.begin() + static_cast<std::ptrdiff_t>(contents.size() / 2);
            std::nth_element(contents.begin(), middle, contents.end());
            typical = *middle;
        }
        for (const SampleAtPlace& sample : samples) {
            placed.results.push_back(result_of(sample, typical, errors));
            placed.results.back().field = placed.fields.size();
        }
        placed.fields.push_back(field);
    }
    return placed;
}

namespace {

models::VariogramModel variogram_of(const models::WithinFieldParameters& p) {
    const double variance = p.sd * p.sd, shared = p.structured_share * variance;
    std::vector<models::VariogramTerm> terms{
        {.shape = models::VariogramShape::nugget, .partial_sill = variance - shared}};
    if (shared > 0.0)
        terms.push_back({.shape = models::VariogramShape::exponential, .partial_sill = shared, .range_m = p.range_m});
    return models::VariogramModel(std::move(terms));
}

/// The field kriged at each point of the posterior and averaged: the log of the content by mean and variance, the
/// content by the mean.
void draw_surface(WithinField& within, const models::WithinFieldStructure::Field& told,
                  const std::vector<models::PlacedResult>& results, const models::OutlineM& outline,
                  const models::Progress& progress) {
    models::SpatialData data;
    const auto n = static_cast<Eigen::Index>(told.results.size());
    data.positions_m.resize(n, 2);
    data.values.resize(n);
    data.error_variances.resize(n);
    const models::BoxM box = models::bounding_box(outline);
    within.grid = models::grid_over(box, cell_size_m(box));
    const Eigen::Index cells = within.grid.cells();
    Eigen::ArrayXd log_mean = Eigen::ArrayXd::Zero(cells), log_square = log_mean, mean = log_mean;
    for (Eigen::Index i = 0; i < n; ++i) {
        const models::PointM& place = results[told.results[static_cast<std::size_t>(i)]].place;
        data.positions_m.row(i) << place.x_m, place.y_m;
    }
    for (const models::WithinFieldPoint& point : told.points) {
        data.values = Eigen::Map<const Eigen::VectorXd>(point.log_content.data(), n);
        data.error_variances = Eigen::Map<const Eigen::VectorXd>(point.error_variance.data(), n);
        const models::KrigingEstimates kriged =
            models::Kriging(data, variogram_of(point.parameters)).on_grid(within.grid, {}, progress);
        log_mean += point.weight * kriged.estimate.array();
        log_square += point.weight * (kriged.estimate.array().square() + kriged.variance.array());
        for (Eigen::Index cell = 0; cell < cells; ++cell)
            mean[cell] +=
                point.weight *
                models::lognormal_moments(kriged.estimate[cell], kriged.variance[cell], kriged.lagrange[cell]).mean;
    }
    const double nan = std::numeric_limits<double>::quiet_NaN();
    within.median_mg_per_kg.setConstant(within.grid.rows, within.grid.columns, nan);
    within.mean_mg_per_kg = within.low90_mg_per_kg = within.high90_mg_per_kg = within.log_sd = within.median_mg_per_kg;
    for (int row = 0; row < within.grid.rows; ++row) {
        for (int column = 0; column < within.grid.columns; ++column) {
            if (models::side_of(outline, within.grid.centre(row, column)) == models::Side::outside) continue;
            const Eigen::Index cell = static_cast<Eigen::Index>(row) * within.grid.columns + column;
            const double log_median = log_mean[cell];
            const double sd = std::sqrt(std::max(log_square[cell] - log_median * log_median, 0.0));
            if (!std::isfinite(log_median)) continue;
            within.median_mg_per_kg(row, column) = std::exp(log_median);
            within.mean_mg_per_kg(row, column) = mean[cell];
            within.low90_mg_per_kg(row, column) = std::exp(log_median - 1.6448536269514722 * sd);
            within.high90_mg_per_kg(row, column) = std::exp(log_median + 1.6448536269514722 * sd);
            within.log_sd(row, column) = sd;
        }
    }
}

/// Of one field under the verdict of all.
std::string reason_of(const models::WithinFieldStructure& structure, const models::WithinFieldStructure::Field& field) {
    if (!structure.supported) return structure.reason;
    if (field.mapped)
        return models::phrase("supported: chance {:.0f} %, leave-one-out skill {:.2f} in this field",
                              std::min(100.0 * field.chance_structured, 99.0), field.leave_one_out_skill);
    if (field.places < models::fewest_places_of_a_surface)
        return models::phrase("not supported here: {} places are too few for a surface", field.places);
    return models::phrase("not supported here: chance {:.0f} %, leave-one-out skill {:.2f} in this field",
                          std::min(100.0 * field.chance_structured, 99.0), field.leave_one_out_skill);
}

}  // namespace

WithinFields maps_within_fields(const SeasonData& data, const ContaminationSettings& settings,
                                const models::Progress& progress) {
    const PlacedResults placed = placed_results(data, settings);
    WithinFields out;
    models::WithinFieldSettings how;
    how.threads = settings.threads;
    out.structure = models::within_field_structure(placed.results, how, progress);
    for (std::size_t f = 0; f < placed.fields.size(); ++f) {
        WithinField& within = out.fields.emplace_back();
        within.field = placed.fields[f];
        within.points = static_cast<int>(std::count_if(placed.results.begin(), placed.results.end(),
                                                       [&](const auto& result) { return result.field == f; }));
        within.reason = models::phrase("not supported here: none of its results is a value");
        for (const models::WithinFieldStructure::Field& told : out.structure.by_field) {
            if (told.field != f) continue;
            within.supported = told.mapped;
            within.reason = reason_of(out.structure, told);
            if (told.mapped)
                draw_surface(within, told, placed.results, outline_of(data, within.field, "")->outline_m, progress);
        }
    }
    return out;
}

void give_exceedance(WithinField& within, const models::Limit& limit) {
    if (!within.supported) return;
    const double log_limit = std::log(models::breaking_point(limit).mg_per_kg);
    within.exceedance = within.median_mg_per_kg;  // NaN where nothing is known
    for (Eigen::Index i = 0; i < within.exceedance.size(); ++i) {
        double& cell = within.exceedance.data()[i];
        if (std::isnan(cell)) continue;
        const double log_median = std::log(cell), sd = within.log_sd.data()[i];
        cell = sd > 0.0 ? 0.5 * std::erfc((log_limit - log_median) / (sd * std::sqrt(2.0)))
                        : (log_median > log_limit ? 1.0 : 0.0);
    }
}

std::vector<geo::ContourLine> lines_of_equal_content(const WithinField& within,
                                                     const std::vector<double>& levels_mg_per_kg) {
    if (!within.supported) return {};
    std::vector<double> values;
    values.reserve(static_cast<std::size_t>(within.grid.cells()));
    for (int row = 0; row < within.grid.rows; ++row) {
        for (int column = 0; column < within.grid.columns; ++column)
            values.push_back(within.median_mg_per_kg(row, column));
    }
    return geo::contour_lines(within.grid, values, levels_mg_per_kg);
}

StructureSentence structure_of(const WithinFields& within) {
    StructureSentence out;
    out.supported = within.structure.supported;
    out.reason = within.structure.reason;
    std::string drawn, left;
    for (const WithinField& field : within.fields) {
        std::string& list = field.supported ? drawn : left;
        if (field.supported || field.points >= models::fewest_places_of_a_surface)
            list += (list.empty() ? "" : ", ") + models::phrase("{} ({} places)", field.field, field.points);
    }
    if (!drawn.empty()) out.reason += models::phrase("; drawn as a surface in {}", drawn);
    if (out.supported && !left.empty()) out.reason += models::phrase("; not in {}, where it does not show", left);
    out.reason += drawn.empty() ? models::phrase("; fields carry their mean")
                                : models::phrase("; all other fields carry their mean");
    return out;
}

}  // namespace app
