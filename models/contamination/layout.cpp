#include "models/contamination/layout.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <set>

#include <fmt/format.h>

#include "models/contamination/normal.h"
#include "models/counted.h"
#include "models/error.h"

namespace models::contamination {

bool outside_the_model(ChosenBecause why) {
    return why == ChosenBecause::looked_bad || why == ChosenBecause::asked || why == ChosenBecause::unknown;
}

std::string field_season_name(const FieldSeason& f) {
    return fmt::format("field {}{}{}, season {}", f.field, f.part.empty() ? "" : " part ", f.part, f.season);
}

namespace {

/// "1 sample has", "2 samples have".
std::string how_many_have(int count, const char* thing) {
    return fmt::format("{} {}{}", count, thing, count == 1 ? " has" : "s have");
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
    const bool regional = standard.size() >= count, free = standard.size() % 2 == 1;
    const double odds = priors.free_share_median / (1.0 - priors.free_share_median);
    return {half_normal(standard[0], priors.season_sd_scale),
            lognormal(standard[1], priors.field_sd_median, priors.field_sd_spread),
            lognormal(standard[2], priors.within_sd_median, priors.within_sd_spread),
            half_normal(standard[3], priors.lot_sd_scale),
            regional ? half_normal(standard[4], priors.region_sd_scale) : 0.0,
            regional ? lognormal(standard[5], priors.range_median_m, priors.range_spread) : priors.range_median_m,
            free ? 1.0 / (1.0 + 1.0 / lognormal(standard[standard.size() - 1], odds, priors.free_share_spread)) : 0.0};
}

Parameters Layout::fixed_parameters() const {
    const ContaminationPriors::Fixed& fixed = priors_.fixed;
    return {fixed.season_sd, fixed.field_sd,  fixed.within_sd, fixed.lot_sd, regional_ ? fixed.region_sd : 0.0,
            fixed.range_m,   fixed.free_share};
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
    place_fields();
    lay_columns();
    lay_sites();
    find_maybe_free();
    std::vector<int> group = group_fields();
    add_followers();
    apart_ = join(std::vector<int>(places_.size(), -1));
    joined_ = regional_ ? join(std::move(group)) : apart_;
    tabulate();
    widen_where_samples_disagree();
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
            reading.curve_log_variance = r.curve_log_variance;
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
    // Without a prior of the slope only results say what a risk that is not known exactly adds to a variance.
    const bool unsure = std::any_of(risk_sd_.begin(), risk_sd_.end(), [](double sd) { return sd > 0.0; });
    needs_linearising_ = needs_linearising_ || (priors_.flat_coefficients && unsure);
    for (std::size_t s = 0; s < sites_.size(); ++s) {
        needs_linearising_ =
            needs_linearising_ || (!site_samples_[s].sampling_inside && site_samples_[s].sampling_error);
        for (const auto& [portion, lots] : lots_of_portion[static_cast<std::size_t>(sites_[s].sample)])
            if (lots.size() > 1) {
                site_samples_[s].preparation_inside = false;
                needs_linearising_ = true;
            }
    }
    const ErrorModel& error = settings_.strip_error;
    if (without_mass > 0 && (!error.own_sampling_cv || error.own_sampling_mass_g))
        notes_.push_back(fmt::format("{} no recorded mass: {} g is assumed for the sampling error.",
                                     how_many_have(without_mass, "sample"), error.assumed_mass_g));
    if (without_portion > 0 && (!error.own_preparation_cv || error.own_portion_g))
        notes_.push_back(fmt::format("{} no recorded portion: {} g is assumed for the preparation error.",
                                     how_many_have(without_portion, "test"), error.assumed_portion_g));
}

/// Sites that share a sample, a local or (joined) the regional effect of a season. Those that hang on the same locals
/// are a bundle; a sample that has several sites has a deviation in common with them and no bundle.
std::vector<Layout::Block> Layout::lay_blocks(const Joined& joined) const {
    const std::size_t n = sites_.size();
    std::vector<std::size_t> root(n);
    std::iota(root.begin(), root.end(), std::size_t{0});
    const auto find = [&](std::size_t i) {
        while (root[i] != i) i = root[i] = root[root[i]];
        return i;
    };
    std::map<int, std::size_t> first_of_local, first_of_sample, first_of_group;
    for (std::size_t i = 0; i < n; ++i) {
        const auto join = [&](std::map<int, std::size_t>& first, int key) {
            const auto [place, fresh] = first.try_emplace(key, i);
            if (!fresh) root[find(i)] = find(place->second);
        };
        join(first_of_sample, sites_[i].sample);
        for (const auto& [local, slope] : sites_[i].locals) {
            join(first_of_local, local);
            const int group = region_place(local, joined).group;
            if (group >= 0) join(first_of_group, group);
        }
    }
    std::map<int, int> sites_of_sample;
    for (const Site& site : sites_) ++sites_of_sample[site.sample];
    std::vector<Block> blocks;
    std::map<std::size_t, std::size_t> block_of_root;
    std::map<std::vector<int>, std::size_t> bundle_of_locals;  // they are in one block only
    std::vector<bool> taken(locals_.size(), false);
    for (std::size_t i = 0; i < n; ++i) {
        const auto [place, fresh] = block_of_root.try_emplace(find(i), blocks.size());
        if (fresh) blocks.emplace_back();
        Block& block = blocks[place->second];
        std::vector<int> locals;
        for (const auto& [local, slope] : sites_[i].locals) {
            locals.push_back(local);
            if (taken[static_cast<std::size_t>(local)]) continue;
            taken[static_cast<std::size_t>(local)] = true;
            block.locals.push_back(local);
        }
        const bool shares_sample = sites_of_sample[sites_[i].sample] > 1;
        if (shares_sample || locals.empty()) {
            block.bundles.push_back({{static_cast<int>(i)}, shares_sample});
            continue;
        }
        const auto [bundle, first] = bundle_of_locals.try_emplace(locals, block.bundles.size());
        if (first) block.bundles.emplace_back();
        block.bundles[bundle->second].sites.push_back(static_cast<int>(i));
    }
    return blocks;
}

/// Fields without a reading that lie among others: what is read of those may move them.
void Layout::add_followers() {
    for (std::size_t f = 0; f < places_.size(); ++f)
        if (places_[f].group >= 0) add_local(LocalKind::field, f, local_of_field_);
}

/// Fields without a reading follow in the block of their group, or have one without a site.
Layout::Joined Layout::join(std::vector<int> group) const {
    Joined joined{std::move(group), {}};
    joined.blocks = lay_blocks(joined);
    std::map<int, std::size_t> block_of_group;
    std::vector<bool> read(locals_.size(), false);
    for (std::size_t b = 0; b < joined.blocks.size(); ++b)
        for (const int local : joined.blocks[b].locals) {
            read[static_cast<std::size_t>(local)] = true;
            if (const int of = region_place(local, joined).group; of >= 0) block_of_group[of] = b;
        }
    for (std::size_t f = 0; f < places_.size(); ++f) {
        const int local = local_of_field_[f];
        if (local < 0 || read[static_cast<std::size_t>(local)]) continue;
        std::size_t block = joined.blocks.size();
        if (joined.group[f] >= 0) block = block_of_group.try_emplace(joined.group[f], block).first->second;
        if (block == joined.blocks.size()) joined.blocks.emplace_back();
        joined.blocks[block].followers.push_back(local);
    }
    return joined;
}

/// Regions count where at least two fields of one season have a place, and their deviation is not held at 0.
void Layout::place_fields() {
    places_.resize(input_.field_seasons.size());
    std::map<int, int> placed;
    int without = 0;
    for (std::size_t i = 0; i < places_.size(); ++i) {
        const std::optional<PointM>& place = input_.field_seasons[i].place_m;
        if (place)
            regional_ = ++placed[season_of_[i]] > 1 || regional_;
        else
            ++without;
    }
    regional_ = regional_ && (priors_.fixed.active ? priors_.fixed.region_sd : priors_.region_sd_scale) > 0.0;
    if (!regional_) return;
    for (std::size_t i = 0; i < places_.size(); ++i)
        if (const std::optional<PointM>& place = input_.field_seasons[i].place_m) places_[i] = {season_of_[i], *place};
    if (without > 0)
        notes_.push_back(fmt::format("{} of {} field-seasons {} no place: results of near fields do not count for {}.",
                                     without, places_.size(), by_number(without, "has", "have"),
                                     by_number(without, "it", "them")));
}

RegionPlace Layout::region_place(int local, const Joined& joined) const {
    const Local& of = locals_[static_cast<std::size_t>(local)];
    if (of.kind != LocalKind::field) return {};
    const auto field_season = static_cast<std::size_t>(of.index);
    return {joined.group[field_season], places_[field_season].at_m};
}

/// Loads of one field are its grain; what a load of several fields holds tells of no field that it holds nothing.
void Layout::find_maybe_free() {
    maybe_free_of_.assign(input_.field_seasons.size(), untested);
    free_fields_.group.assign(sites_.size(), -1);
    for (std::size_t s = 0; s < sites_.size(); ++s) {
        const GrainSample& sample = input_.samples[static_cast<std::size_t>(sites_[s].sample)];
        std::size_t field = sample.index;
        if (sample.from == SampledGrain::control) continue;
        if (sample.from == SampledGrain::load) {
            if (input_.loads[sample.index].parts.size() != 1 || bought_share(sample.index) > 0.0) continue;
            field = input_.loads[sample.index].parts.front().field_season;
        }
        int& group = maybe_free_of_[field];
        const bool below = std::all_of(sites_[s].results.begin(), sites_[s].results.end(), [&](int r) {
            return input_.results[static_cast<std::size_t>(r)].reading == Reading::below;
        });
        if (!below) group = holds_don;
        if (group == holds_don) continue;
        if (group == untested) {
            group = static_cast<int>(maybe_free_.size());
            maybe_free_.push_back({field, {}, {}});
        }
        MaybeFree& found = maybe_free_[static_cast<std::size_t>(group)];
        found.sites.push_back(static_cast<int>(s));
        if (sample.from == SampledGrain::load &&
            std::find(found.loads.begin(), found.loads.end(), sample.index) == found.loads.end())
            found.loads.push_back(sample.index);
    }
    // A value after results below leaves its field no doubt.
    std::erase_if(maybe_free_, [&](const MaybeFree& f) { return maybe_free_of_[f.field_season] == holds_don; });
    for (std::size_t g = 0; g < maybe_free_.size(); ++g) {
        maybe_free_of_[maybe_free_[g].field_season] = static_cast<int>(g);
        for (const int s : maybe_free_[g].sites) free_fields_.group[static_cast<std::size_t>(s)] = static_cast<int>(g);
    }
    free_fields_.groups = static_cast<int>(maybe_free_.size());
    free_fields_.with_don = static_cast<int>(std::count(maybe_free_of_.begin(), maybe_free_of_.end(), holds_don));
    // Without priors nothing holds the share: it is left at 0.
    const bool has_prior = settings_.parameters != ParametersBy::restricted_likelihood;
    learns_free_share_ = has_prior && !priors_.fixed.active && priors_.free_share_median > 0.0 && !maybe_free_.empty();
}

void Layout::tabulate() {
    tables_ = tables_of(site_samples_, settings_.threads);
}

double Layout::bought_share(std::size_t load) const {
    double rest = 1.0;
    for (const GrainShare& part : input_.loads[load].parts) rest -= part.share;
    return rest > 1e-9 ? rest : 0.0;
}

}  // namespace models::contamination
