#include "models/contamination/worlds.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>

#include <fmt/format.h>

#include "models/contamination/counter_random.h"
#include "models/contamination/model_state.h"
#include "models/contamination/parallel.h"
#include "models/contamination/quadrature.h"
#include "models/error.h"

namespace models {

namespace con = contamination;

namespace contamination {

std::vector<std::vector<int>> draws_of_points(const ContaminationModel::State& state, int n, std::uint64_t seed) {
    std::vector<double> up_to(state.points.size());
    double sum = 0.0;
    for (std::size_t k = 0; k < state.points.size(); ++k) up_to[k] = sum += state.points[k].weight;
    std::vector<std::vector<int>> of_point(state.points.size());
    const double shift = counter_uniform(seed, 0, 0);
    for (int i = 0; i < n; ++i) {
        std::uint32_t reversed = 0;
        for (std::uint32_t bit = 0, rest = static_cast<std::uint32_t>(i); bit < 32; ++bit, rest >>= 1)
            reversed = (reversed << 1) | (rest & 1u);
        const double u = std::fmod(static_cast<double>(reversed) * 0x1p-32 + shift, 1.0) * sum;
        const auto k = std::upper_bound(up_to.begin(), up_to.end() - 1, u) - up_to.begin();
        of_point[static_cast<std::size_t>(k)].push_back(i);
    }
    return of_point;
}

}  // namespace contamination

Worlds ContaminationModel::worlds(int n, std::uint64_t seed, const std::vector<std::size_t>& field_seasons,
                                  const std::vector<std::size_t>& tested) const {
    if (ranking_only())
        throw Error("there is no DON result to draw contents from", "",
                    "import tests, or use the ranking by disease risk");
    const State& state = *state_;
    Worlds worlds;
    worlds.draws = n;
    worlds.seed = seed;
    worlds.load_variance.resize(n);
    worlds.lot_sd.resize(n);
    std::vector<std::pair<Eigen::Index, Eigen::VectorXd*>> lots;  // by column
    for (std::size_t l = 0; l < state.layout.lots().size(); ++l) {
        Eigen::VectorXd& column = worlds.lots[state.layout.lots()[l]];
        column.resize(n);
        lots.emplace_back(*state.layout.column_of(con::ColumnKind::lot, static_cast<int>(l)), &column);
    }
    for (const std::size_t f : field_seasons) worlds.fields[f].resize(n);
    for (const std::size_t l : tested) worlds.loads[l].resize(n);
    const std::vector<std::vector<int>> of_point = con::draws_of_points(state, n, seed);
    const auto first_load = static_cast<Eigen::Index>(state.layout.input().field_seasons.size());
    con::for_each_index(static_cast<int>(state.points.size()), state.layout.settings().threads, [&](int k) {
        const con::PointPosterior& point = state.points[static_cast<std::size_t>(k)];
        if (of_point[static_cast<std::size_t>(k)].empty()) return;
        const std::vector<Eigen::MatrixXd> factors =
            con::block_factors(state.loads_of_point.empty() ? point
                                                            : con::point_posterior(state.layout, state.linearisation,
                                                                                   point.parameters, point.sites));
        Eigen::VectorXd coefficients;
        const double load_variance = state.layout.load_variance(point.parameters);
        for (const int i : of_point[static_cast<std::size_t>(k)]) {
            const Eigen::VectorXd log_content =
                con::draw_contents(state.layout, state.linearisation, point, factors, seed,
                                   static_cast<std::uint64_t>(i) + 1, &tested, &coefficients);
            worlds.load_variance[i] = load_variance;
            worlds.lot_sd[i] = point.parameters.lot_sd;
            for (auto& [of, column] : lots) (*column)[i] = coefficients[of];
            for (auto& [f, column] : worlds.fields) column[i] = std::exp(log_content[static_cast<Eigen::Index>(f)]);
            for (auto& [l, column] : worlds.loads)
                column[i] = std::exp(log_content[first_load + static_cast<Eigen::Index>(l)]);
        }
    });
    return worlds;
}

Eigen::VectorXd Worlds::load(const ContaminationInput& input, std::size_t index,
                             const ContaminationPriors& priors) const {
    if (const auto tested = loads.find(index); tested != loads.end()) return tested->second;
    const GrainLoad& of = input.loads.at(index);
    Eigen::VectorXd content = Eigen::VectorXd::Zero(draws), z(draws);
    double bought = 1.0;
    for (const GrainShare& part : of.parts) {
        const auto field = fields.find(part.field_season);
        if (field == fields.end()) throw Error("a field of load " + of.load + " was not drawn");
        content += part.share * field->second;
        bought -= part.share;
    }
    const auto normals = [&](std::uint64_t stream) {
        for (Eigen::Index i = 0; i < z.size(); ++i)
            z[i] = con::counter_normal(seed, static_cast<std::uint64_t>(i) + 1, stream);
    };
    if (bought > 1e-9) {
        normals(con::stream_of_bought(index));
        content.array() += bought * (priors.bought_mean + priors.bought_sd * z.array()).exp();
    }
    normals(con::stream_of_load(index));
    content.array() *= (load_variance.array().sqrt() * z.array() - 0.5 * load_variance.array()).exp();
    return content;
}

std::string name_of_lot(const ContaminationInput& input, const AssayResult& result) {
    if (!result.kit_lot.empty() || result.method == Method::laboratory) return result.kit_lot;
    const GrainSample& sample = input.samples[result.sample];
    std::optional<std::size_t> field;
    if (sample.from == SampledGrain::field_season) field = sample.index;
    if (sample.from == SampledGrain::load && !input.loads[sample.index].parts.empty())
        field = input.loads[sample.index].parts.front().field_season;
    return field ? fmt::format("unnamed lot of {}", input.field_seasons[*field].season) : "";
}

WorldsWeighed weigh_worlds(Worlds& worlds, const ContaminationInput& input, const std::vector<std::size_t>& results,
                           const ErrorModel& strip_error, const ErrorModel& laboratory_error,
                           const ContaminationPriors& priors) {
    const Eigen::Index n = worlds.draws;
    Eigen::VectorXd log_weight = Eigen::VectorXd::Zero(n);
    WorldsWeighed weighed;
    const con::NormalRule<12>& rule = con::short_rule();
    for (const std::size_t r : results) {
        const AssayResult& result = input.results[r];
        const GrainSample& sample = input.samples[result.sample];
        const Eigen::VectorXd& content =
            worlds.loads.insert_or_assign(sample.index, worlds.load(input, sample.index, priors)).first->second;
        const std::string lot = name_of_lot(input, result);
        if (!lot.empty() && worlds.lots.count(lot) == 0) {
            std::uint64_t stream = 1469598103934665603ULL;  // by the letters of its name
            for (const char letter : lot) stream = (stream ^ static_cast<unsigned char>(letter)) * 1099511628211ULL;
            Eigen::VectorXd& effect = worlds.lots[lot];
            effect.resize(n);
            for (Eigen::Index i = 0; i < n; ++i)
                effect[i] =
                    worlds.lot_sd[i] * con::counter_normal(worlds.seed, static_cast<std::uint64_t>(i) + 1, stream);
        }
        con::SiteSample site;
        site.mass_g = sample.mass_g;
        site.sampling_error = &strip_error;
        con::SiteReading& reading =
            site.portions.emplace_back(con::SitePortion{result.portion_g, {}}).readings.emplace_back();
        reading.reading = result.reading;
        reading.don_mg_per_kg = result.don_mg_per_kg;
        reading.analyses = result.analyses;
        reading.curve_log_variance = result.curve_log_variance;
        reading.error = result.method == Method::strip ? &strip_error : &laboratory_error;
        if (result.standard_uncertainty_mg_per_kg)
            reading.stated_relative_variance =
                std::pow(*result.standard_uncertainty_mg_per_kg / result.don_mg_per_kg, 2);
        const con::SiteTable table(site);
        const int increments =
            sample.kind == SampleKind::point ? 1 : sample.increments.value_or(priors.assumed_increments);
        const double composite = std::log1p(priors.within_load_cv * priors.within_load_cv / increments);
        double at_most = 0.0;
        for (Eigen::Index i = 0; i < n; ++i) {
            if (!(content[i] > 0.0)) {  // no DON reads no value
                log_weight[i] = -std::numeric_limits<double>::infinity();
                at_most += 1.0;
                continue;
            }
            const double z = std::log(content[i]) - 0.5 * composite + (lot.empty() ? 0.0 : worlds.lots.at(lot)[i]);
            double likelihood = 0.0;
            for (std::size_t k = 0; k < rule.node.size(); ++k)
                likelihood += rule.weight[k] * std::exp(table(z + std::sqrt(composite) * rule.node[k]));
            log_weight[i] += std::log(likelihood);
            const std::size_t one = static_cast<std::size_t>(i) % rule.node.size();  // a few nodes are enough to warn
            at_most += con::chance_of_at_most(site, z + std::sqrt(composite) * rule.node[one]) * rule.weight[one] *
                       static_cast<double>(rule.node.size());
        }
        const double lower = std::clamp(at_most / static_cast<double>(n), 0.0, 1.0);
        weighed.surprise = std::min(weighed.surprise, 2.0 * std::min(lower, 1.0 - lower));
    }
    const double top = log_weight.maxCoeff();
    if (!std::isfinite(top)) return weighed;  // no world has such readings
    weighed.weight = (log_weight.array() - top).exp();
    weighed.weight /= weighed.weight.sum();
    weighed.effective = 1.0 / weighed.weight.squaredNorm();
    return weighed;
}

std::vector<std::size_t> tested_loads(const ContaminationInput& input) {
    std::set<std::size_t> tested;
    for (const AssayResult& result : input.results) {
        const GrainSample& sample = input.samples[result.sample];
        if (result.reading != Reading::invalid && sample.from == SampledGrain::load) tested.insert(sample.index);
    }
    return {tested.begin(), tested.end()};
}

}  // namespace models
