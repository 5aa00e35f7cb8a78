#include "app/stages/evidence_stage.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "models/assay/error_variance.h"
#include "models/contamination/region_verdict.h"
#include "models/spoken.h"

namespace app {

namespace evidence_stage_parts {

/// A value that makes pairs with those of its group.
struct PairedValue {
    int group = 0;
    models::PointM place;
    double log_value = 0.0, error_variance = 0.0;
};

long long pairs_of(long long n) {
    return n * (n - 1) / 2;
}

std::map<int, std::vector<const PairedValue*>> by_group(const std::vector<PairedValue>& values) {
    std::map<int, std::vector<const PairedValue*>> groups;
    for (const PairedValue& value : values) groups[value.group].push_back(&value);
    return groups;
}

/// Right edges of classes of about as many pairs each, out to half the greatest distance.
std::vector<double> edges_of(const std::map<int, std::vector<const PairedValue*>>& groups) {
    constexpr std::size_t most_classes = 10;
    std::vector<double> distances;
    for (const auto& [group, values] : groups)
        for (std::size_t i = 0; i < values.size(); ++i)
            for (std::size_t j = 0; j < i; ++j)
                distances.push_back(models::distance_m(values[i]->place, values[j]->place));
    std::sort(distances.begin(), distances.end());
    if (distances.empty()) return {};
    const double reach = 0.5 * distances.back();
    const auto near =
        static_cast<std::size_t>(std::upper_bound(distances.begin(), distances.end(), reach) - distances.begin());
    const std::size_t classes = std::clamp<std::size_t>(near / pairs_wanted, 1, most_classes);
    std::vector<double> edges;
    for (std::size_t c = 1; c < classes; ++c) {
        const double edge = distances[near * c / classes];
        if (edge > 0.0 && (edges.empty() || edge > edges.back()) && edge < reach) edges.push_back(edge);
    }
    edges.push_back(std::max(reach, 1e-3));
    return edges;
}

/// Classes of all groups together: groups are laid so far from one another that no pair reaches across.
void fill_classes(const std::vector<PairedValue>& values, PairsByDistance& out) {
    const auto groups = by_group(values);
    out.values = static_cast<int>(values.size());
    long long largest = 0;
    for (const auto& [group, members] : groups) {
        const auto n = static_cast<long long>(members.size());
        out.pairs += pairs_of(n);
        largest = std::max(largest, n);
    }
    for (const PairedValue& value : values)
        out.error_variance += value.error_variance / static_cast<double>(values.size());
    while (out.pairs - pairs_of(largest) + pairs_of(largest + out.values_needed) < pairs_wanted) ++out.values_needed;
    if (out.values_needed > 0) return;
    models::VariogramSettings settings;
    settings.boundaries_m = edges_of(groups);
    double span = settings.boundaries_m.back();
    for (const PairedValue& value : values)
        span = std::max({span, std::abs(value.place.x_m), std::abs(value.place.y_m)});
    Eigen::MatrixX2d places(static_cast<Eigen::Index>(values.size()), 2);
    Eigen::VectorXd logs(places.rows());
    std::map<int, int> number;
    for (const auto& [group, members] : groups) number.emplace(group, static_cast<int>(number.size()));
    for (Eigen::Index i = 0; i < places.rows(); ++i) {
        const PairedValue& value = values[static_cast<std::size_t>(i)];
        places.row(i) << value.place.x_m + 8.0 * span * number[value.group], value.place.y_m;
        logs[i] = value.log_value;
    }
    out.classes = models::experimental_variogram(places, logs, settings);
}

double learnt_mean(const models::Learnt& learnt, const char* name) {
    for (const models::Learnt::Parameter& parameter : learnt.parameters)
        if (parameter.name == name) return parameter.mean;
    return 0.0;
}

/// What the model foretells of a field's ln content by its risk and how it was kept; its season's level is left out,
/// which pairs of one season share.
std::optional<double> foretold_log(const models::ContaminationInput& input, const models::Learnt& learnt,
                                   const models::FieldSeason& field) {
    if (!field.risk_logit) return std::nullopt;
    double log_content = learnt_mean(learnt, "slope") * (*field.risk_logit + 1.0);
    for (const std::size_t r : field.ratios)
        for (const models::Learnt::Ratio& ratio : learnt.ratios)
            if (ratio.what == input.ratios[r].what) log_content += std::log(ratio.factor);
    return log_content;
}

PairsByDistance between_fields(const SeasonView& view) {
    const models::ContaminationInput& input = view.contamination.input;
    const models::Learnt& learnt = view.contamination.model->learnt();
    const double within_sd = learnt_mean(learnt, "within_sd");
    struct OfSample {
        double log_sum = 0.0, testing = 0.0, sampling = 0.0;
        int values = 0;
    };
    std::map<std::size_t, std::map<std::size_t, OfSample>> by_field;
    std::map<std::size_t, int> bounds;
    for (const models::AssayResult& result : input.results) {
        const models::GrainSample& sample = input.samples[result.sample];
        if (sample.from != models::SampledGrain::field_season) continue;
        if (result.reading != models::Reading::value) {
            ++bounds[sample.index];
            continue;
        }
        OfSample& of = by_field[sample.index][result.sample];
        const models::ErrorModel& model = result.method == models::Method::laboratory
                                              ? view.contamination.laboratory_error
                                              : view.contamination.strip_error;
        models::AssayProcedure procedure;
        procedure.sample_mass_g = sample.mass_g;
        procedure.portion_g = result.portion_g;
        procedure.analyses = result.analyses;
        const models::LogVariance error = models::log_variance(result.don_mg_per_kg, procedure, model);
        of.log_sum += std::log(result.don_mg_per_kg);
        of.testing += error.preparation + error.analysis + result.curve_log_variance;
        // The grain of the sample's places stands for the field.
        const double places = sample.kind == models::SampleKind::point ? 1.0 : sample.increments.value_or(10);
        of.sampling = error.sampling + std::log1p(std::expm1(within_sd * within_sd) / places);
        ++of.values;
    }
    PairsByDistance out;
    std::vector<PairedValue> values;
    for (const auto& [field, samples] : by_field) {
        bounds.erase(field);
        const models::FieldSeason& told = input.field_seasons[field];
        const auto foretold = foretold_log(input, learnt, told);
        if (!told.place_m || !foretold) continue;
        PairedValue value;
        value.group = told.season;
        value.place = *told.place_m;
        const auto n = static_cast<double>(samples.size());
        for (const auto& [sample, of] : samples) {
            value.log_value += of.log_sum / of.values / n;
            value.error_variance += (of.sampling + of.testing / (of.values * of.values)) / (n * n);
        }
        value.log_value -= *foretold;
        values.push_back(value);
    }
    out.bounds = static_cast<int>(bounds.size());
    fill_classes(values, out);
    const double field_sd = learnt_mean(learnt, "field_sd"), region_sd = learnt_mean(learnt, "region_sd");
    const double range_m = learnt_mean(learnt, "range_m");
    out.believed = PairsByDistance::Believed{field_sd * field_sd, region_sd * region_sd, std::max(range_m, 1.0)};
    if (learnt.region) out.verdict = models::contamination::sentence_of(*learnt.region);
    return out;
}

PairsByDistance within_fields(const SeasonView& view, bool own_duplicates) {
    ContaminationSettings how;
    how.season = view.season;
    how.own_duplicates = own_duplicates;
    if (view.limit) how.basis = view.limit->basis;
    PairsByDistance out;
    std::vector<PairedValue> values;
    for (const models::PlacedResult& result : placed_results(view.data, how).results) {
        if (result.reading != models::Reading::value) {
            ++out.bounds;
            continue;
        }
        values.push_back(
            {static_cast<int>(result.field), result.place, std::log(result.don_mg_per_kg), result.log_error_variance});
    }
    fill_classes(values, out);
    out.verdict = view.structure.reason;
    if (!view.evidence || view.evidence->by_field.empty()) return out;
    const models::WithinFieldStructure& told = *view.evidence;
    const double variance = told.sd.median * told.sd.median;
    const double share = told.supported ? told.structured_share.median : 0.0;
    out.believed = PairsByDistance::Believed{variance * (1.0 - share), variance * share,
                                             std::max(told.supported ? told.range_m.median : 1.0, 1e-3)};
    return out;
}

std::string grain_of(const models::ContaminationInput& input, const models::GrainSample& sample) {
    if (sample.from == models::SampledGrain::load) return models::phrase("load {}", input.loads[sample.index].load);
    const models::FieldSeason& field = input.field_seasons[sample.index];
    return ground_name(field.field, field.part);
}

}  // namespace evidence_stage_parts

double PairsByDistance::Believed::at(double distance_m) const {
    return local - shared * std::expm1(-distance_m / range_m);
}

SeasonEvidence evidence_of_season(const SeasonView& view, bool own_duplicates) {
    SeasonEvidence out;
    if (view.contamination.ranking_only()) {
        evidence_stage_parts::fill_classes({}, out.between);
        evidence_stage_parts::fill_classes({}, out.within);
        return out;
    }
    out.between = evidence_stage_parts::between_fields(view);
    out.within = evidence_stage_parts::within_fields(view, own_duplicates);
    const models::ContaminationInput& input = view.contamination.input;
    double squares = 0.0;
    for (const models::Learnt::LeftOut& one : view.contamination.model->learnt().left_out) {
        const models::GrainSample& sample = input.samples[one.sample];
        out.foretold.push_back({sample.sample, evidence_stage_parts::grain_of(input, sample), one.reading,
                                one.read_mg_per_kg, one.median, one.low90, one.high90});
        if (one.reading != models::Reading::value) continue;
        ++out.numbers;
        out.inside += one.read_mg_per_kg >= one.low90 && one.read_mg_per_kg <= one.high90 ? 1 : 0;
        squares += std::pow(std::log(one.read_mg_per_kg / one.median), 2);
    }
    if (out.numbers > 0) out.typical_factor = std::exp(std::sqrt(squares / out.numbers));
    return out;
}

}  // namespace app
