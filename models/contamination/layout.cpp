#include "models/contamination/layout.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <set>

#include <fmt/format.h>

#include "models/contamination/normal.h"
#include "models/contamination/parallel.h"
#include "models/counted.h"
#include "models/error.h"

namespace models::contamination {

std::string field_season_name(const FieldSeason& f) {
    return fmt::format("field {}{}{}, season {}", f.field, f.part.empty() ? "" : " part ", f.part, f.season);
}

namespace {

/// "1 sample has", "2 samples have".
std::string how_many_have(int count, const char* thing) {
    return fmt::format("{} {}{}", count, thing, count == 1 ? " has" : "s have");
}

bool outside_the_model(ChosenBecause why) {
    return why == ChosenBecause::looked_bad || why == ChosenBecause::asked || why == ChosenBecause::unknown;
}

void require(bool holds, const std::string& what, const std::string& where, const std::string& mend) {
    if (!holds) throw Error(what, where, mend);
}

bool positive(double x) {
    return x > 0.0 && std::isfinite(x);
}

/// Readings of samples that no lot separates, by sample and lot.
struct SiteKey {
    std::size_t sample;
    int lot;
    auto operator<=>(const SiteKey&) const = default;
};

}  // namespace

Parameters Parameters::at(const Eigen::RowVectorXd& standard, const ContaminationPriors& priors) {
    const auto half_normal = [](double x, double scale) {
        // |N(0, scale)| at the same probability: its quantile at Phi(x).
        const double p = normal::cdf(x);
        return scale * normal::quantile(std::min(0.5 + 0.5 * p, 1.0 - 1e-16));
    };
    const auto lognormal = [](double x, double median, double spread) { return median * std::exp(spread * x); };
    return {half_normal(standard[0], priors.season_sd_scale),
            lognormal(standard[1], priors.field_sd_median, priors.field_sd_spread),
            lognormal(standard[2], priors.within_sd_median, priors.within_sd_spread),
            half_normal(standard[3], priors.lot_sd_scale)};
}

Parameters Parameters::fixed(const ContaminationPriors& priors) {
    return {priors.fixed.season_sd, priors.fixed.field_sd, priors.fixed.within_sd, priors.fixed.lot_sd};
}

double variance_of_mean_of(double places, double sd) {
    return std::log1p(std::expm1(sd * sd) / places);
}

Layout::Layout(ContaminationInput input, const ContaminationPriors& priors, const ContaminationSettings& settings)
    : input_(std::move(input)), priors_(priors), settings_(settings) {
    check_input();
    std::set<int> seasons;
    for (const FieldSeason& f : input_.field_seasons) seasons.insert(f.season);
    seasons_.assign(seasons.begin(), seasons.end());
    for (const FieldSeason& f : input_.field_seasons)
        season_of_.push_back(
            static_cast<int>(std::lower_bound(seasons_.begin(), seasons_.end(), f.season) - seasons_.begin()));
    std::erase_if(input_.results, [](const AssayResult& r) { return r.reading == Reading::invalid; });
    fill_risks();
    flag_outside_choices();
    lay_columns();
    lay_sites();
    lay_blocks();
    tabulate();
    widen_where_samples_disagree();
}

void Layout::check_input() const {
    std::set<std::tuple<std::string, std::string, int>> seen;
    for (const FieldSeason& f : input_.field_seasons) {
        require(seen.insert({f.field, f.part, f.season}).second, "the same field-season stands twice in the model",
                field_season_name(f), "give each field or part once a season");
        require(!f.risk_logit || std::isfinite(*f.risk_logit), "the disease risk is 0 or 1 and has no finite logit",
                field_season_name(f), "give a risk between 0 and 1, or none");
        require(f.risk_logit_sd >= 0.0 && std::isfinite(f.risk_logit_sd), "the spread of the disease risk is negative",
                field_season_name(f), "give 0 where it is not known");
        std::set<std::size_t> once;
        for (const std::size_t r : f.ratios) {
            require(r < input_.ratios.size(), "a published ratio of the field is not in the list", field_season_name(f),
                    "put it into the list of ratios");
            require(once.insert(r).second, "a published ratio counts twice for the field", field_season_name(f),
                    "name it once");
        }
    }
    for (const PublishedRatio& ratio : input_.ratios) {
        require(std::isfinite(ratio.log_ratio) && ratio.sd >= 0.0 && std::isfinite(ratio.sd),
                "the ratio or how unsure it is is no number", ratio.what,
                "give the logarithm of a ratio above zero and a spread of 0 or more");
    }
    for (const GrainLoad& load : input_.loads) {
        double sum = 0.0;
        for (const GrainShare& part : load.parts) {
            require(part.field_season < input_.field_seasons.size(), "a part of the load is of no known field-season",
                    "load " + load.load, "leave the part out: what is left is bought grain");
            require(positive(part.share), fmt::format("a share of {} is not above zero", part.share),
                    "load " + load.load, "give shares between 0 and 1");
            sum += part.share;
        }
        require(sum <= 1.0 + 1e-9, fmt::format("the shares add up to {}", sum), "load " + load.load,
                "give shares that add up to 1 or less");
    }
    for (const GrainSample& s : input_.samples) {
        const std::string where = "sample " + s.sample;
        if (s.from == SampledGrain::field_season)
            require(s.index < input_.field_seasons.size(), "the sample is of no known field-season", where,
                    "give the field a crop record in that season");
        if (s.from == SampledGrain::load)
            require(s.index < input_.loads.size(), "the sample is of no known load", where, "record the load first");
        if (s.from == SampledGrain::control) {
            require(positive(s.control_mg_per_kg), "the control's content is not above zero", where,
                    "give the assigned content in mg/kg");
            require(s.control_standard_uncertainty_mg_per_kg >= 0.0, "the control's uncertainty is negative", where,
                    "give a standard uncertainty in mg/kg, or 0");
        }
        require(!s.increments || *s.increments >= 1, "a sample has at least one increment", where,
                "count the handfuls that went into it, or leave the number out");
        require(!s.mass_g || positive(*s.mass_g), "the sample's mass is not above zero", where,
                "give grams, or leave it out");
    }
    for (const AssayResult& r : input_.results) {
        const std::string where = "test " + r.test;
        require(r.sample < input_.samples.size(), "the test is of no known sample", where, "record the sample first");
        if (r.reading == Reading::invalid) continue;
        require(positive(r.don_mg_per_kg), fmt::format("a content of {} mg/kg has no logarithm", r.don_mg_per_kg),
                where, "give it as below the lowest content that the test can read");
        require(!r.portion_g || positive(*r.portion_g), "the portion is not above zero", where,
                "give grams, or leave it out");
        require(r.analyses >= 1, "a result is the mean of at least one analysis", where, "give 1 or more");
        require(!r.standard_uncertainty_mg_per_kg || positive(*r.standard_uncertainty_mg_per_kg),
                "the stated standard uncertainty is not above zero", where, "give mg/kg, or leave it out");
    }
}

/// Where a field has no disease risk, the mean and spread of its season's stand in; of all seasons where the season has
/// fewer than two; the documented law where there is none.
void Layout::fill_risks() {
    const auto spread = [&](int season) {
        double n = 0.0, sum = 0.0, sum2 = 0.0;
        for (std::size_t i = 0; i < input_.field_seasons.size(); ++i) {
            const std::optional<double>& l = input_.field_seasons[i].risk_logit;
            if (!l || (season >= 0 && season_of_[i] != season)) continue;
            n += 1.0;
            sum += *l;
            sum2 += *l * *l;
        }
        struct {
            bool known;
            double mean, sd;
        } s{n >= 2.0, n > 0.0 ? sum / n : 0.0, 0.0};
        if (s.known) s.sd = std::sqrt(std::max((sum2 - sum * sum / n) / (n - 1.0), 0.0));
        return s;
    };
    int unknown = 0;
    for (std::size_t i = 0; i < input_.field_seasons.size(); ++i) {
        const FieldSeason& f = input_.field_seasons[i];
        risk_.push_back(f.risk_logit.value_or(priors_.unknown_risk_mean));
        risk_sd_.push_back(f.risk_logit ? f.risk_logit_sd : priors_.unknown_risk_sd);
        if (f.risk_logit) {
            needs_linearising_ = needs_linearising_ || f.risk_logit_sd > 0.0;
            continue;
        }
        ++unknown;
        needs_linearising_ = true;
        for (const int season : {season_of_[i], -1}) {
            const auto s = spread(season);
            if (!s.known) continue;
            risk_.back() = s.mean;
            risk_sd_.back() = s.sd;
            break;
        }
    }
    if (unknown > 0)
        notes_.push_back(
            fmt::format("{} of {} field-seasons {} no disease risk: the spread of the other fields of the "
                        "season stands in for it.",
                        unknown, input_.field_seasons.size(), by_number(unknown, "has", "have")));
}

/// A field is chosen for a reason outside the model when all its composites are; a point that is, leaves the field
/// alone.
void Layout::flag_outside_choices() {
    const std::size_t n = input_.field_seasons.size();
    std::vector<int> inside(n, 0), outside(n, 0);
    std::set<std::size_t> tested;
    for (const AssayResult& r : input_.results) tested.insert(r.sample);
    int flagged = 0;
    for (const std::size_t s : tested) {
        const GrainSample& sample = input_.samples[s];
        if (sample.from != SampledGrain::field_season) continue;
        if (!outside_the_model(sample.chosen_because))
            ++inside[sample.index];
        else if (sample.kind == SampleKind::composite)
            ++outside[sample.index];
        flagged += outside_the_model(sample.chosen_because) ? 1 : 0;
    }
    chosen_outside_.resize(n);
    for (std::size_t i = 0; i < n; ++i) chosen_outside_[i] = outside[i] > 0 && inside[i] == 0;
    if (flagged > 0)
        notes_.push_back(
            fmt::format("{} taken because something looked bad, was asked for, or for no recorded reason: what {} is "
                        "widened.",
                        counted(flagged, "sample was", "samples were"), by_number(flagged, "it says", "they say")));
}

int Layout::season_of_sample(const GrainSample& sample) const {
    if (sample.from == SampledGrain::field_season) return season_of_[sample.index];
    if (sample.from == SampledGrain::load && !input_.loads[sample.index].parts.empty())
        return season_of_[input_.loads[sample.index].parts.front().field_season];
    return -1;
}

/// Which kit lot or run; -1 for a laboratory that names none and for strips that belong to no season.
int Layout::lot_of(const AssayResult& result) const {
    std::string name = result.kit_lot;
    if (name.empty()) {
        const int season = season_of_sample(input_.samples[result.sample]);
        if (result.method == Method::laboratory || season < 0) return -1;
        name = fmt::format("unnamed lot of {}", seasons_[static_cast<std::size_t>(season)]);
    }
    const auto found = std::find(lots_.begin(), lots_.end(), name);
    return found == lots_.end() ? -1 : static_cast<int>(found - lots_.begin());
}

int Layout::add_column(ColumnKind kind, int which) {
    if (const auto there = column_of(kind, which)) return *there;
    columns_.push_back({kind, which});
    return static_cast<int>(columns_.size()) - 1;
}

std::optional<int> Layout::column_of(ColumnKind kind, int which) const {
    for (std::size_t c = 0; c < columns_.size(); ++c)
        if (columns_[c].kind == kind && columns_[c].which == which) return static_cast<int>(c);
    return std::nullopt;
}

void Layout::lay_columns() {
    add_column(ColumnKind::level, 0);
    add_column(ColumnKind::slope, 0);
    for (std::size_t y = 0; y < seasons_.size(); ++y) add_column(ColumnKind::season, static_cast<int>(y));
    for (const AssayResult& r : input_.results) {
        std::string name = r.kit_lot;
        const int season = season_of_sample(input_.samples[r.sample]);
        if (name.empty() && r.method == Method::strip && season >= 0)
            name = fmt::format("unnamed lot of {}", seasons_[static_cast<std::size_t>(season)]);
        if (!name.empty() && std::find(lots_.begin(), lots_.end(), name) == lots_.end()) lots_.push_back(name);
    }
    for (std::size_t l = 0; l < lots_.size(); ++l) add_column(ColumnKind::lot, static_cast<int>(l));
    for (std::size_t i = 0; i < input_.field_seasons.size(); ++i) {
        Terms& terms = field_columns_.emplace_back();
        terms.push_back({0, 1.0});
        terms.push_back({1, risk_[i] + 1.0});
        terms.push_back({*column_of(ColumnKind::season, season_of_[i]), 1.0});
        if (chosen_outside_[i] && priors_.outside_choice_sd > 0.0)
            terms.push_back({add_column(ColumnKind::outside, season_of_[i]), 1.0});
        for (const std::size_t r : input_.field_seasons[i].ratios)
            terms.push_back({add_column(ColumnKind::ratio, static_cast<int>(r)), 1.0});
    }
}

int Layout::add_local(LocalKind kind, std::size_t index, std::vector<int>& place) {
    if (place[index] >= 0) return place[index];
    place[index] = static_cast<int>(locals_.size());
    locals_.push_back({kind, static_cast<int>(index)});
    return place[index];
}

void Layout::lay_sites() {
    local_of_field_.assign(input_.field_seasons.size(), -1);
    local_of_load_.assign(input_.loads.size(), -1);
    local_of_bought_.assign(input_.loads.size(), -1);
    field_tests_.assign(input_.field_seasons.size(), 0);
    load_tests_.assign(input_.loads.size(), 0);
    std::map<SiteKey, std::vector<int>> groups;
    for (std::size_t i = 0; i < input_.results.size(); ++i)
        groups[{input_.results[i].sample, lot_of(input_.results[i])}].push_back(static_cast<int>(i));
    std::map<std::size_t, int> groups_of_sample;
    for (const auto& [key, results] : groups) ++groups_of_sample[key.sample];
    int without_mass = 0, without_portion = 0;
    for (const auto& [key, results] : groups) {
        const GrainSample& sample = input_.samples[key.sample];
        Site site;
        site.sample = static_cast<int>(key.sample);
        site.results = results;
        const auto field_part = [&](std::size_t field_season, double slope) {
            site.locals.push_back({add_local(LocalKind::field, field_season, local_of_field_), slope});
        };
        if (sample.from == SampledGrain::field_season) {
            field_part(sample.index, 1.0);
            field_tests_[sample.index] += static_cast<int>(results.size());
        } else if (sample.from == SampledGrain::load) {
            const GrainLoad& load = input_.loads[sample.index];
            for (const GrainShare& part : load.parts) field_part(part.field_season, part.share);
            if (bought_share(sample.index) > 0.0)
                site.locals.push_back({add_local(LocalKind::bought, sample.index, local_of_bought_), 1.0});
            site.locals.push_back({add_local(LocalKind::load, sample.index, local_of_load_), 1.0});
            load_tests_[sample.index] += static_cast<int>(results.size());
            needs_linearising_ =
                needs_linearising_ || load.parts.size() + (bought_share(sample.index) > 0.0 ? 1 : 0) > 1;
        }
        // Columns that the sample has beside those of its fields.
        if (key.lot >= 0) site.columns.push_back({*column_of(ColumnKind::lot, key.lot), 1.0});
        if (sample.from != SampledGrain::control && sample.stage == Stage::standing && priors_.standing_offset_sd > 0.0)
            site.columns.push_back({add_column(ColumnKind::standing, 0), 1.0});
        const bool field_carries_it = sample.from == SampledGrain::field_season && chosen_outside_[sample.index];
        if (sample.from == SampledGrain::field_season && outside_the_model(sample.chosen_because) &&
            !field_carries_it && sample.kind == SampleKind::point && priors_.outside_choice_sd > 0.0)
            site.columns.push_back({add_column(ColumnKind::outside, season_of_[sample.index]), 1.0});

        SiteSample& readings = site_samples_.emplace_back();
        readings.mass_g = sample.mass_g;
        if (sample.from != SampledGrain::control) {
            readings.sampling_error = &settings_.strip_error;
            readings.sampling_inside = groups_of_sample[key.sample] == 1;
            without_mass += sample.mass_g ? 0 : 1;
        }
        std::map<std::string, std::size_t> portions;
        for (const int i : results) {
            const AssayResult& r = input_.results[static_cast<std::size_t>(i)];
            const std::string name = r.portion.empty() ? fmt::format("\x01{}", i) : r.portion;
            const auto [place, fresh] = portions.try_emplace(name, readings.portions.size());
            if (fresh) readings.portions.push_back({r.portion_g, {}});
            SiteReading& reading = readings.portions[place->second].readings.emplace_back();
            reading.reading = r.reading;
            reading.don_mg_per_kg = r.don_mg_per_kg;
            reading.analyses = r.analyses;
            reading.error = r.method == Method::strip ? &settings_.strip_error : &settings_.laboratory_error;
            if (r.standard_uncertainty_mg_per_kg)
                reading.stated_relative_variance = std::pow(*r.standard_uncertainty_mg_per_kg / r.don_mg_per_kg, 2);
            else
                without_portion += r.portion_g ? 0 : 1;
        }
        sites_.push_back(std::move(site));
    }
    // A portion that readings of several lots share: its preparation error joins the sampling error outside the sites.
    std::map<std::size_t, std::map<std::string, std::set<int>>> lots_of_portion;
    for (const auto& [key, results] : groups)
        for (const int i : results)
            if (const AssayResult& r = input_.results[static_cast<std::size_t>(i)]; !r.portion.empty())
                lots_of_portion[key.sample][r.portion].insert(key.lot);
    for (std::size_t s = 0; s < sites_.size(); ++s) {
        needs_linearising_ =
            needs_linearising_ || (!site_samples_[s].sampling_inside && site_samples_[s].sampling_error);
        for (const auto& [portion, lots] : lots_of_portion[static_cast<std::size_t>(sites_[s].sample)])
            if (lots.size() > 1) {
                site_samples_[s].preparation_inside = false;
                needs_linearising_ = true;
            }
    }
    if (without_mass > 0 && !settings_.strip_error.own_sampling_cv)
        notes_.push_back(fmt::format("{} no recorded mass: {} g is assumed for the sampling error.",
                                     how_many_have(without_mass, "sample"), settings_.strip_error.assumed_mass_g));
    if (without_portion > 0 && !settings_.strip_error.own_preparation_cv)
        notes_.push_back(fmt::format("{} no recorded portion: {} g is assumed for the preparation error.",
                                     how_many_have(without_portion, "test"), settings_.strip_error.assumed_portion_g));
}

void Layout::lay_blocks() {
    const std::size_t n = sites_.size();
    std::vector<std::size_t> root(n);
    std::iota(root.begin(), root.end(), std::size_t{0});
    const auto find = [&](std::size_t i) {
        while (root[i] != i) i = root[i] = root[root[i]];
        return i;
    };
    std::map<int, std::size_t> first_of_local, first_of_sample;
    for (std::size_t i = 0; i < n; ++i) {
        const auto join = [&](std::map<int, std::size_t>& first, int key) {
            const auto [place, fresh] = first.try_emplace(key, i);
            if (!fresh) root[find(i)] = find(place->second);
        };
        join(first_of_sample, sites_[i].sample);
        for (const auto& [local, slope] : sites_[i].locals) join(first_of_local, local);
    }
    std::map<std::size_t, std::size_t> block_of_root;
    for (std::size_t i = 0; i < n; ++i) {
        const auto [place, fresh] = block_of_root.try_emplace(find(i), blocks_.size());
        if (fresh) blocks_.emplace_back();
        Block& block = blocks_[place->second];
        block.sites.push_back(static_cast<int>(i));
        for (const auto& [local, slope] : sites_[i].locals)
            if (std::find(block.locals.begin(), block.locals.end(), local) == block.locals.end())
                block.locals.push_back(local);
    }
}

void Layout::tabulate() {
    std::vector<std::optional<SiteTable>> made(site_samples_.size());
    for_each_index(static_cast<int>(made.size()), settings_.threads, [&](int i) {
        made[static_cast<std::size_t>(i)].emplace(site_samples_[static_cast<std::size_t>(i)]);
    });
    for (std::optional<SiteTable>& table : made) tables_.push_back(std::move(*table));
}

double Layout::bought_share(std::size_t load) const {
    double rest = 1.0;
    for (const GrainShare& part : input_.loads[load].parts) rest -= part.share;
    return rest > 1e-9 ? rest : 0.0;
}

Eigen::VectorXd Layout::column_scale(const Parameters& p) const {
    Eigen::VectorXd scale(static_cast<Eigen::Index>(columns_.size()));
    for (std::size_t c = 0; c < columns_.size(); ++c) {
        double& s = scale[static_cast<Eigen::Index>(c)];
        switch (columns_[c].kind) {
            case ColumnKind::level:
                s = priors_.flat_coefficients ? 1.0 : priors_.level_sd;
                break;
            case ColumnKind::slope:
                s = priors_.flat_coefficients ? 1.0 : priors_.slope_sd;
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

double Layout::load_variance(const Parameters& p) const {
    return variance_of_mean_of(priors_.load_places, p.within_sd);
}

double Layout::local_variance(const Local& local, const Parameters& p, const Linearisation& at) const {
    const auto index = static_cast<std::size_t>(local.index);
    switch (local.kind) {
        case LocalKind::field:
            return p.field_sd * p.field_sd + at.slope_squared * risk_sd_[index] * risk_sd_[index];
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

GaussianLaw Layout::law(const Parameters& p, const Linearisation& at) const {
    const auto n = static_cast<Eigen::Index>(sites_.size());
    const auto r = static_cast<Eigen::Index>(columns_.size());
    GaussianLaw law;
    law.mean = Eigen::VectorXd::Zero(n);
    law.design = RowMatrix::Zero(n, r);
    law.column_precision = Eigen::VectorXd::Ones(r);
    if (priors_.flat_coefficients) law.column_precision.head(2).setZero();
    const Eigen::VectorXd scale = column_scale(p);
    std::vector<double> own(sites_.size());
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
        own[s] = composite_variance(sample, p) + at.sample_variance[sample_index] + disagreement_[sample_index];
        law.mean[row] -= 0.5 * own[s];
    }
    law.blocks.resize(blocks_.size());
    for (std::size_t b = 0; b < blocks_.size(); ++b) {
        LatentBlock& block = law.blocks[b];
        block.sites = blocks_[b].sites;
        block.locals = blocks_[b].locals;
        const auto size = static_cast<Eigen::Index>(block.sites.size());
        const auto count = static_cast<Eigen::Index>(block.locals.size());
        block.loading = Eigen::MatrixXd::Zero(size, count);
        block.local = Eigen::MatrixXd::Zero(count, count);
        block.own.resize(size, size);
        for (Eigen::Index k = 0; k < count; ++k)
            block.local(k, k) =
                local_variance(locals_[static_cast<std::size_t>(block.locals[static_cast<std::size_t>(k)])], p, at);
        for (Eigen::Index i = 0; i < size; ++i) {
            const auto site = static_cast<std::size_t>(block.sites[static_cast<std::size_t>(i)]);
            for (const auto& [local, slope] : loading[site]) {
                const auto place = std::find(block.locals.begin(), block.locals.end(), local) - block.locals.begin();
                block.loading(i, place) += slope;
            }
            for (Eigen::Index j = 0; j < size; ++j) {
                const auto other = static_cast<std::size_t>(block.sites[static_cast<std::size_t>(j)]);
                block.own(i, j) = sites_[site].sample == sites_[other].sample ? own[site] : 0.0;
            }
        }
    }
    return law;
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
