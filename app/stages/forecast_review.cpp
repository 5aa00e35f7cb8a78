#include "app/stages/forecast_review.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include <fmt/format.h>

#include "app/stages/review_stage.h"
#include "app/stages/test_content.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"

namespace app {

namespace {

constexpr double reach_of_90 = 1.6448536269514722;

using ForecastGround = std::tuple<int, std::string, std::string>;  // season, field, part
ForecastGround ground_of_forecast(const geo::KeptForecast& one) {
    return {one.season, one.field, one.part};
}

bool is_of_limit(const geo::KeptForecast& one, const std::optional<models::Limit>& limit) {
    return limit && std::abs(one.limit_mg_per_kg - limit->limit_mg_per_kg) < 1e-9 &&
           one.basis.value_or(limit->basis) == limit->basis;
}

bool is_of_seasons(const geo::KeptForecast& one, const std::vector<int>& seasons) {
    return std::find(seasons.begin(), seasons.end(), one.season) != seasons.end();
}

/// Whether a reading lies in an interval; a bound where it leaves some of the interval possible.
bool lies_inside(const ForecastCheck& check, double low, double high) {
    switch (check.reading) {
        case models::Reading::below:
            return low < check.don_mg_per_kg;
        case models::Reading::above:
            return high > check.don_mg_per_kg;
        default:
            return check.don_mg_per_kg >= low && check.don_mg_per_kg <= high;
    }
}

/// What a reading would say if the forecast is right.
void hold_reading_against(ForecastCheck& check, const FieldResult& result, const models::Limit& limit) {
    const geo::KeptForecast& said = check.forecast;
    if (!said.median_mg_per_kg || !said.low90_mg_per_kg || !said.high90_mg_per_kg || !(*said.high90_mg_per_kg > 0.0))
        return;
    check.inside = lies_inside(check, *said.low90_mg_per_kg, *said.high90_mg_per_kg);
    if (!(*said.median_mg_per_kg > 0.0)) return;  // rather no DON than some: that has no logarithm
    const bool maybe_none = !(*said.low90_mg_per_kg > 0.0);
    try {
        const ReadingAboutField about = reading_about_field(result, *said.median_mg_per_kg);
        const double s = maybe_none ? std::log(*said.high90_mg_per_kg / *said.median_mg_per_kg) / reach_of_90
                                    : std::log(*said.high90_mg_per_kg / *said.low90_mg_per_kg) / (2.0 * reach_of_90);
        const double middle = std::log(*said.median_mg_per_kg) + about.log_mean;
        const double sd = std::sqrt(s * s + about.log_variance);
        check.inside_with_error = lies_inside(check, maybe_none ? 0.0 : std::exp(middle - reach_of_90 * sd),
                                              std::exp(middle + reach_of_90 * sd));
        const double over = std::log(models::breaking_point(limit).mg_per_kg);
        check.chance_read_over = 0.5 * std::erfc((over - middle) / (sd * std::sqrt(2.0)));
    } catch (const models::Error&) {
        // A mass or portion that cannot be: the reading counts as it stands, without an error of its own.
    }
}

ForecastCheck check_of(const geo::KeptForecast& forecast, const FieldResult& result, const models::Limit& limit) {
    ForecastCheck check;
    check.forecast = forecast;
    check.result = result.row.test;
    check.grain = result.row.grain;
    check.reading = result.row.measured.reading;
    check.don_mg_per_kg = result.row.measured.don_mg_per_kg;
    if (result.row.outcome && *result.row.outcome != models::LimitOutcome::undecided)
        check.over = *result.row.outcome == models::LimitOutcome::breaks;
    hold_reading_against(check, result, limit);
    return check;
}

void sum_up(ForecastClass& of, const std::vector<int>& seasons) {
    std::vector<double> as_said, as_read;
    std::vector<bool> over_as_read;
    for (const ForecastCheck& check : of.checks) {
        if (!check.over || !check.forecast.exceedance) continue;
        as_said.push_back(*check.forecast.exceedance);
        of.cases.happened.push_back(*check.over);
        of.cases.season.push_back(check.forecast.season);
        if (!check.chance_read_over) continue;
        as_read.push_back(*check.chance_read_over);
        over_as_read.push_back(*check.over);
    }
    const auto column = [](std::vector<double>& values) {
        return Eigen::Map<Eigen::VectorXd>(values.data(), static_cast<Eigen::Index>(values.size()));
    };
    of.cases.predicted = column(as_said);
    if (!as_said.empty()) {
        of.brier = models::brier_parts(of.cases.predicted, of.cases.happened, reliability_groups(as_said.size()));
        of.skill = models::skill_against_climatology(of.cases);
    }
    of.skill_over_seasons = models::over_seasons(of.cases, models::skill_against_climatology, -1e9, 1.0);
    if (!as_read.empty())
        of.brier_as_read = models::brier_parts(column(as_read), over_as_read, reliability_groups(as_read.size()));
    for (const int season : seasons) {
        ForecastSeason row;
        row.season = season;
        const models::SeasonCases here = models::only_season(of.cases, season);
        row.n = static_cast<int>(here.happened.size());
        row.over = static_cast<int>(std::count(here.happened.begin(), here.happened.end(), true));
        if (row.n > 0) row.mean_exceedance = here.predicted.mean();
        row.brier = models::brier_score(here);
        for (const ForecastCheck& check : of.checks) {
            if (check.forecast.season != season) continue;
            row.intervals += check.inside ? 1 : 0;
            row.inside += check.inside.value_or(false) ? 1 : 0;
            row.intervals_with_error += check.inside_with_error ? 1 : 0;
            row.inside_with_error += check.inside_with_error.value_or(false) ? 1 : 0;
        }
        if (row.n > 0 || row.intervals > 0) of.seasons.push_back(row);
    }
}

}  // namespace

std::optional<models::Limit> limit_of_most_forecasts(const std::vector<geo::KeptForecast>& forecasts,
                                                     const std::vector<int>& seasons,
                                                     const std::vector<models::Limit>& limits) {
    std::map<std::tuple<double, models::Basis, std::string>, int> kept;
    for (const geo::KeptForecast& one : forecasts) {
        if (is_of_seasons(one, seasons))
            ++kept[{one.limit_mg_per_kg, one.basis.value_or(models::Basis::as_is), one.limit_id}];
    }
    const auto most =
        std::max_element(kept.begin(), kept.end(), [](const auto& a, const auto& b) { return a.second < b.second; });
    if (most == kept.end()) return std::nullopt;
    const auto& [number, basis, limit_id] = most->first;
    for (const models::Limit& limit : limits) {
        if (limit.limit_id == limit_id && limit.limit_mg_per_kg == number && limit.basis == basis) return limit;
    }
    models::Limit limit = models::limit_from_text(fmt::format("{}", number), {});
    limit.basis = basis;
    return limit;
}

ForecastReview review_forecasts(const SeasonData& data, const std::vector<int>& seasons,
                                const std::vector<geo::KeptForecast>& forecasts,
                                const std::optional<models::Limit>& limit, const std::vector<FieldResults>& results) {
    ForecastReview out;
    out.limit = limit;
    std::map<ForecastGround, std::vector<const FieldResult*>> found;  // each by time
    for (const FieldResults& season : results) {
        for (const FieldResult& one : season.results) {
            const models::CropRecord& crop = data.crops[one.crop];
            found[{crop.season, crop.field, crop.part}].push_back(&one);
        }
    }
    std::map<ForecastGround, std::vector<const geo::KeptForecast*>> said;
    for (const geo::KeptForecast& one : forecasts) {
        if (!is_of_seasons(one, seasons)) continue;
        ++(is_of_limit(one, limit) ? out.kept : out.of_other_limits);
        if (!is_of_limit(one, limit)) continue;
        out.afterwards += one.as_of ? 1 : 0;
        said[ground_of_forecast(one)].push_back(&one);
    }
    for (std::size_t c = 0; c < out.classes.size(); ++c) {
        out.classes[c].own_results_known = c % 2 == 1;
        out.classes[c].made_afterwards = c >= 2;
    }
    for (auto& [ground, of_ground] : said) {
        std::stable_sort(
            of_ground.begin(), of_ground.end(),
            [](const geo::KeptForecast* a, const geo::KeptForecast* b) { return known_until(*a) < known_until(*b); });
        const auto readings = found.find(ground);
        if (readings == found.end()) continue;
        bool is_followed = false;
        for (ForecastClass& of : out.classes) {
            std::optional<ForecastCheck> last;
            for (const geo::KeptForecast* one : of_ground) {
                if ((one->results_known > 0) != of.own_results_known || one->as_of.has_value() != of.made_afterwards)
                    continue;
                const auto after = std::find_if(
                    readings->second.begin(), readings->second.end(),
                    [&](const FieldResult* result) { return geo::came_after(result->row.test.time, *one); });
                if (after != readings->second.end()) last = check_of(*one, **after, *limit);
            }
            if (!last) continue;
            is_followed = true;
            of.checks.push_back(std::move(*last));
        }
        out.followed += is_followed ? 1 : 0;
    }
    for (ForecastClass& of : out.classes) sum_up(of, seasons);
    return out;
}

std::vector<ForecastsInShort> forecasts_in_short(const ForecastReview& review) {
    std::vector<ForecastsInShort> out;
    for (const ForecastClass& of : review.classes) {
        ForecastsInShort in_short;
        in_short.own_results_known = of.own_results_known;
        in_short.made_afterwards = of.made_afterwards;
        in_short.fields = static_cast<int>(of.cases.happened.size());
        for (std::size_t i = 0; i < of.cases.happened.size(); ++i) {
            const double chance = of.cases.predicted[static_cast<Eigen::Index>(i)];
            in_short.over += of.cases.happened[i] ? 1 : 0;
            in_short.on_foretold_side += (chance >= 0.5) == of.cases.happened[i] ? 1 : 0;
            in_short.foretold_over += chance;
        }
        for (const ForecastSeason& season : of.seasons) {
            in_short.intervals += season.intervals_with_error;
            in_short.inside += season.inside_with_error;
        }
        if (of.brier && of.cases.happened.size() >= least_cases_for_parts)
            for (const models::ReliabilityRow& row : of.brier->table)
                in_short.groups.push_back({row.predicted, row.n, static_cast<int>(std::lround(row.observed * row.n))});
        if (in_short.fields > 0) out.push_back(std::move(in_short));
    }
    return out;
}

std::vector<SeasonOfStrips> strips_over_seasons(const SeasonData& data, const std::vector<int>& seasons,
                                                const std::vector<geo::KeptForecast>& forecasts,
                                                const std::optional<models::Limit>& limit, double load_cap) {
    const auto cost = [&](const char* name) -> std::optional<double> {
        for (const models::Cost& one : data.costs) {
            if (one.name == name) return one.value;
        }
        return std::nullopt;
    };
    const auto of_test = cost("test"), of_sample = cost("sample");
    std::map<int, SeasonOfStrips> by_season;
    for (const int season : seasons) by_season[season].season = season;
    std::map<int, std::set<std::string>> samples;
    for (const models::Test& test : data.tests) {
        const auto of = by_season.find(season_of_test(data, test));
        if (of == by_season.end()) continue;
        const auto s = sample_index(data, test.sample);
        const bool strip = test.method == models::Method::strip;
        if (s && data.samples[*s].stage == models::Stage::control) {
            of->second.controls += strip ? 1 : 0;
            continue;
        }
        ++(strip ? of->second.strips : of->second.laboratory);
        of->second.voids += test.reading == models::Reading::invalid ? 1 : 0;
        samples[of->first].insert(test.sample);
    }
    std::map<ForecastGround, std::pair<const geo::KeptForecast*, const geo::KeptForecast*>> ends;
    std::map<ForecastGround, int> times;
    for (const geo::KeptForecast& one : forecasts) {
        if (!is_of_limit(one, limit) || !one.exceedance || by_season.count(one.season) == 0) continue;
        auto& [first, last] = ends[ground_of_forecast(one)];
        if (first == nullptr || known_until(one) < known_until(*first)) first = &one;
        if (last == nullptr || known_until(one) >= known_until(*last)) last = &one;
        ++times[ground_of_forecast(one)];
    }
    for (const auto& [ground, both] : ends) {
        if (times[ground] < 2) continue;
        SeasonOfStrips& of = by_season[std::get<0>(ground)];
        ++of.fields;
        const bool was_within = *both.first->exceedance <= load_cap, is_within = *both.second->exceedance <= load_cap;
        if (was_within == is_within) continue;
        ++(is_within ? of.to_within : of.to_beyond);
        (is_within ? of.to_within_names : of.to_beyond_names)
            .push_back(ground_name(both.first->field, both.first->part));
        const auto crop = crop_of_ground(data, both.first->field, both.first->part, both.first->season);
        if (!crop) continue;
        const ExpectedTonnes tonnes = expected_tonnes(data, data.crops[*crop]);
        (is_within ? of.to_within_t : of.to_beyond_t) += tonnes.tonnes;
        of.tonnes_assumed = of.tonnes_assumed || tonnes.assumed;
    }
    std::vector<SeasonOfStrips> all;
    for (auto& [season, of] : by_season) {
        of.samples = static_cast<int>(samples[season].size());
        if (of_test && of_sample) of.money = (of.strips + of.controls) * *of_test + of.samples * *of_sample;
        all.push_back(of);
    }
    return all;
}

}  // namespace app
