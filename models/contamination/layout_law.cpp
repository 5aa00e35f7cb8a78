#include <algorithm>
#include <cmath>
#include <map>

#include "models/contamination/layout.h"

namespace models::contamination {

Eigen::VectorXd Layout::column_scale(const Parameters& p) const {
    Eigen::VectorXd scale(static_cast<Eigen::Index>(columns_.size()));
    for (std::size_t c = 0; c < columns_.size(); ++c) {
        double& s = scale[static_cast<Eigen::Index>(c)];
        switch (columns_[c].kind) {
            case ColumnKind::level:
                s = priors_.flat_coefficients ? 1.0 : priors_.level_sd;
                break;
            case ColumnKind::slope:
                // Of one risk in all fields a flat slope is part of the level.
                s = !priors_.flat_coefficients ? priors_.slope_sd : risks_differ() ? 1.0 : 0.0;
                break;
            case ColumnKind::season:
                s = p.season_sd;
                break;
            case ColumnKind::lot:
                s = p.lot_sd;
                break;
            case ColumnKind::standing:
                s = priors_.standing_offset_sd;
                break;
            case ColumnKind::outside:
                s = priors_.outside_choice_sd;
                break;
            case ColumnKind::ratio:
                s = input_.ratios[static_cast<std::size_t>(columns_[c].which)].sd;
                break;
        }
    }
    return scale;
}

bool Layout::risks_differ() const {
    return std::any_of(risk_.begin(), risk_.end(), [&](double risk) { return risk != risk_.front(); });
}

double Layout::field_mean(std::size_t field_season) const {
    const double ratios = of_ratios(field_season).mean;
    if (priors_.flat_coefficients) return ratios;
    return priors_.level_mean + priors_.slope_mean * (risk_[field_season] + 1.0) + ratios;
}

Layout::OfRatios Layout::of_ratios(std::size_t field_season) const {
    OfRatios sum;
    for (const std::size_t r : input_.field_seasons[field_season].ratios) {
        sum.mean += input_.ratios[r].log_ratio;
        sum.variance += input_.ratios[r].sd * input_.ratios[r].sd;
    }
    return sum;
}

Eigen::MatrixXd Layout::local_covariance(const std::vector<int>& a, const std::vector<int>& b, const Parameters& p,
                                         const Linearisation& at, const Joined& joined) const {
    Eigen::MatrixXd covariance =
        Eigen::MatrixXd::Zero(static_cast<Eigen::Index>(a.size()), static_cast<Eigen::Index>(b.size()));
    if (p.region_sd > 0.0) {
        const auto places_of = [&](const std::vector<int>& locals) {
            std::vector<RegionPlace> places;
            for (const int local : locals) places.push_back(region_place(local, joined));
            return places;
        };
        const std::vector<RegionPlace> places = places_of(a);
        covariance = &a == &b ? regional_covariance(places, places, p.region_sd, p.range_m)
                              : regional_covariance(places, places_of(b), p.region_sd, p.range_m);
    }
    std::vector<int> place_in_a(locals_.size(), -1);
    for (std::size_t i = 0; i < a.size(); ++i) place_in_a[static_cast<std::size_t>(a[i])] = static_cast<int>(i);
    for (std::size_t j = 0; j < b.size(); ++j)
        if (const int i = place_in_a[static_cast<std::size_t>(b[j])]; i >= 0)
            covariance(i, static_cast<Eigen::Index>(j)) =
                local_variance(locals_[static_cast<std::size_t>(b[j])], p, at);
    return covariance;
}

double Layout::load_variance(const Parameters& p) const {
    return variance_of_mean_of(priors_.load_places, p.within_sd);
}

double Layout::local_variance(const Local& local, const Parameters& p, const Linearisation& at) const {
    const auto index = static_cast<std::size_t>(local.index);
    switch (local.kind) {
        case LocalKind::field:
            return p.field_sd * p.field_sd + at.slope_squared * risk_sd_[index] * risk_sd_[index] +
                   p.region_sd * p.region_sd;
        case LocalKind::load:
            return load_variance(p) + at.loads[index].residual;
        case LocalKind::bought:
            break;
    }
    return priors_.bought_sd * priors_.bought_sd;
}

double Layout::composite_variance(const GrainSample& sample, const Parameters& p) const {
    if (sample.from == SampledGrain::control)
        return std::log1p(std::pow(sample.control_standard_uncertainty_mg_per_kg / sample.control_mg_per_kg, 2));
    const int increments =
        sample.kind == SampleKind::point ? 1 : sample.increments.value_or(priors_.assumed_increments);
    if (sample.from == SampledGrain::load)
        return std::log1p(priors_.within_load_cv * priors_.within_load_cv / increments);
    return variance_of_mean_of(increments, p.within_sd);
}

GaussianLaw Layout::law(const Parameters& p, const Linearisation& at, const Joined& joined) const {
    const auto n = static_cast<Eigen::Index>(sites_.size());
    const auto r = static_cast<Eigen::Index>(columns_.size());
    GaussianLaw law;
    law.mean = Eigen::VectorXd::Zero(n);
    law.design = RowMatrix::Zero(n, r);
    law.column_precision = Eigen::VectorXd::Ones(r);
    if (priors_.flat_coefficients) {
        law.column_precision[0] = 0.0;
        law.column_precision[1] = risks_differ() ? 0.0 : 1.0;
    }
    const Eigen::VectorXd scale = column_scale(p);
    law.own_variance = Eigen::VectorXd::Zero(n);
    std::vector<Terms> loading(sites_.size());
    for (std::size_t s = 0; s < sites_.size(); ++s) {
        const Site& site = sites_[s];
        const auto row = static_cast<Eigen::Index>(s);
        const auto sample_index = static_cast<std::size_t>(site.sample);
        const GrainSample& sample = input_.samples[sample_index];
        const auto add_field = [&](std::size_t field_season, double slope) {
            law.mean[row] += slope * field_mean(field_season);
            for (const auto& [column, value] : field_columns_[field_season])
                law.design(row, column) += slope * value * scale[column];
        };
        for (const auto& [column, value] : site.columns) law.design(row, column) += value * scale[column];
        loading[s] = site.locals;
        if (sample.from == SampledGrain::field_season) add_field(sample.index, 1.0);
        if (sample.from == SampledGrain::control) law.mean[row] += std::log(sample.control_mg_per_kg);
        if (sample.from == SampledGrain::load) {
            const LoadMix& mix = at.loads[sample.index];
            const GrainLoad& load = input_.loads[sample.index];
            law.mean[row] += mix.offset - 0.5 * load_variance(p);
            for (std::size_t k = 0; k < load.parts.size(); ++k) add_field(load.parts[k].field_season, mix.slope[k]);
            if (mix.slope.size() > load.parts.size()) law.mean[row] += mix.slope.back() * priors_.bought_mean;
            for (std::size_t k = 0; k < mix.slope.size(); ++k) loading[s][k].second = mix.slope[k];
        }
        law.own_variance[row] =
            composite_variance(sample, p) + at.sample_variance[sample_index] + disagreement_[sample_index];
        law.mean[row] -= 0.5 * law.own_variance[row];
    }
    if (p.free_share > 0.0) {
        law.free = free_fields_;
        law.free.share = p.free_share;
    }
    std::vector<int> place(locals_.size(), -1);
    for (const Block& laid : joined.blocks) {
        LatentBlock& block = law.blocks.emplace_back();
        block.locals = laid.locals;
        for (std::size_t k = 0; k < block.locals.size(); ++k)
            place[static_cast<std::size_t>(block.locals[k])] = static_cast<int>(k);
        for (const Block::Bundle& laid_bundle : laid.bundles) {
            SiteBundle& bundle = block.bundles.emplace_back();
            bundle.sites = laid_bundle.sites;
            for (const auto& [local, slope] : loading[static_cast<std::size_t>(bundle.sites.front())])
                bundle.loading.push_back({place[static_cast<std::size_t>(local)], slope});
        }
        const Eigen::MatrixXd local = local_covariance(block.locals, block.locals, p, at, joined);
        const auto size = static_cast<Eigen::Index>(block.bundles.size());
        block.covariance.resize(size, size);
        for (Eigen::Index j = 0; j < size; ++j)
            for (Eigen::Index i = 0; i <= j; ++i) {
                double sum = 0.0;
                for (const auto& [k, of_i] : block.bundles[static_cast<std::size_t>(i)].loading)
                    for (const auto& [l, of_j] : block.bundles[static_cast<std::size_t>(j)].loading)
                        sum += of_i * local(k, l) * of_j;
                block.covariance(i, j) = block.covariance(j, i) = sum;
            }
        add_shared_samples(laid, law.own_variance, block.covariance);
    }
    return law;
}

/// The deviation of a sample that several bundles share is theirs together.
void Layout::add_shared_samples(const Block& laid, Eigen::VectorXd& own_variance, Eigen::MatrixXd& covariance) const {
    std::map<int, double> of_sample;
    for (const Block::Bundle& bundle : laid.bundles)
        if (bundle.shares_sample) {
            const int site = bundle.sites.front();
            of_sample[sites_[static_cast<std::size_t>(site)].sample] = own_variance[site];
            own_variance[site] = 0.0;
        }
    for (std::size_t j = 0; j < laid.bundles.size() && !of_sample.empty(); ++j)
        for (std::size_t i = 0; i < laid.bundles.size(); ++i) {
            if (!laid.bundles[i].shares_sample || !laid.bundles[j].shares_sample) continue;
            const int sample = sites_[static_cast<std::size_t>(laid.bundles[i].sites.front())].sample;
            if (sample == sites_[static_cast<std::size_t>(laid.bundles[j].sites.front())].sample)
                covariance(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(j)) += of_sample[sample];
        }
}

Linearisation Layout::first_linearisation() const {
    Linearisation at;
    for (std::size_t l = 0; l < input_.loads.size(); ++l) {
        LoadMix& mix = at.loads.emplace_back();
        for (const GrainShare& part : input_.loads[l].parts) mix.slope.push_back(part.share);
        if (bought_share(l) > 0.0) mix.slope.push_back(bought_share(l));
        // Shares that are 1 but for rounding.
        if (mix.slope.size() == 1) mix.slope[0] = 1.0;
    }
    at.sample_variance.assign(input_.samples.size(), 0.0);
    for (std::size_t s = 0; s < sites_.size(); ++s) {
        double& variance = at.sample_variance[static_cast<std::size_t>(sites_[s].sample)];
        variance = std::max(variance, outside_log_variance(site_samples_[s], 1.0));
    }
    at.slope_squared =
        priors_.flat_coefficients ? 0.0 : priors_.slope_mean * priors_.slope_mean + priors_.slope_sd * priors_.slope_sd;
    return at;
}

}  // namespace models::contamination
