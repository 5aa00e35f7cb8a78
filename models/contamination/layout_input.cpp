#include <cmath>
#include <set>
#include <tuple>

#include <fmt/format.h>

#include "models/contamination/layout.h"
#include "models/counted.h"
#include "models/error.h"

namespace models::contamination {

namespace {

void require(bool holds, const std::string& what, const std::string& where, const std::string& mend) {
    if (!holds) throw Error(what, where, mend);
}

bool positive(double x) {
    return x > 0.0 && std::isfinite(x);
}

}  // namespace

void Layout::check_input() const {
    require(priors_.fixed.active ? priors_.fixed.region_sd >= 0.0 && positive(priors_.fixed.range_m)
                                 : priors_.region_sd_scale >= 0.0 && positive(priors_.range_median_m),
            "the range of regions is not above zero, or their deviation below it", "",
            "give a range in metres, and a deviation of 0 where there are no regions");
    const double free_share = priors_.fixed.active ? priors_.fixed.free_share : priors_.free_share_median;
    require(free_share >= 0.0 && free_share < 1.0 && priors_.free_share_spread >= 0.0 &&
                std::isfinite(priors_.free_share_spread),
            fmt::format("a share of {} of the fields without DON is out of its range", free_share), "",
            "give a share from 0 (none) to less than 1, and a spread of 0 or more");
    std::set<std::tuple<std::string, std::string, int>> seen;
    for (const FieldSeason& f : input_.field_seasons) {
        require(seen.insert({f.field, f.part, f.season}).second, "the same field-season stands twice in the model",
                field_season_name(f), "give each field or part once a season");
        require(!f.risk_logit || std::isfinite(*f.risk_logit), "the disease risk is 0 or 1 and has no finite logit",
                field_season_name(f), "give a risk between 0 and 1, or none");
        require(f.risk_logit_sd >= 0.0 && std::isfinite(f.risk_logit_sd), "the spread of the disease risk is negative",
                field_season_name(f), "give 0 where it is not known");
        require(!f.place_m || (std::isfinite(f.place_m->x_m) && std::isfinite(f.place_m->y_m)),
                "the place of the field is no number", field_season_name(f), "give metres, or leave it out");
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
        require(r.curve_log_variance >= 0.0 && std::isfinite(r.curve_log_variance),
                "the variance of the strip's curve is below zero", where, "give 0 where it is not known");
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

}  // namespace models::contamination
