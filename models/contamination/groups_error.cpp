#include "models/contamination/groups_error.h"

#include <algorithm>
#include <cmath>
#include <tuple>
#include <utility>

#include <fmt/format.h>

#include "models/contamination/parallel.h"
#include "models/counted.h"
#include "models/spoken.h"

namespace models::contamination {

namespace {

constexpr std::size_t most_checked_groups = 12;  ///< of a season
constexpr double as_far = 1e-5;                  ///< both laws are propagated
constexpr int sweeps_at_most = 40;

struct FieldDifference {
    double median = 0.0, width = 0.0;
};

class GroupsCheck {
 public:
    GroupsCheck(const Layout& layout, const Linearisation& at, const PointPosterior& point)
        : layout_(layout), at_(at), p_(point.parameters), standing_(layout.joined(p_)), sites_(point.sites) {
        tested_.resize(standing_.group.size(), false);
        for (const Site& site : layout_.sites())
            for (const auto& [local, slope] : site.locals) {
                const Local& of = layout_.locals()[static_cast<std::size_t>(local)];
                if (of.kind == LocalKind::field) tested_[static_cast<std::size_t>(of.index)] = true;
            }
        members_.resize(1 +
                        static_cast<std::size_t>(*std::max_element(standing_.group.begin(), standing_.group.end())));
        for (std::size_t f = 0; f < standing_.group.size(); ++f)
            if (standing_.group[f] >= 0) members_[static_cast<std::size_t>(standing_.group[f])].push_back(f);
        std::vector<std::size_t> all;
        for (const std::vector<int>& season : layout_.cut_seasons())
            for (const int group : season) all.insert(all.end(), members(group).begin(), members(group).end());
        known_ = laws(standing_, all);
    }

    /// The groups that are enlarged together, one of each season.
    std::vector<std::vector<int>> rounds() const {
        std::vector<std::vector<int>> rounds;
        for (const std::vector<int>& season : layout_.cut_seasons()) {
            const std::size_t checked = std::min(season.size(), most_checked_groups);
            rounds.resize(std::max(rounds.size(), checked));
            for (std::size_t r = 0; r < checked; ++r) rounds[r].push_back(season[r * season.size() / checked]);
        }
        return rounds;
    }

    std::vector<FieldDifference> differences(const std::vector<int>& enlarged) const {
        std::vector<int> group = standing_.group;
        std::vector<std::size_t> fields;
        for (const int number : enlarged) {
            fields.insert(fields.end(), members(number).begin(), members(number).end());
            for (const std::size_t f : around(number)) group[f] = number;
        }
        const std::vector<LogLaw> wider = laws(layout_.join(std::move(group)), fields);
        std::vector<FieldDifference> differences;
        for (std::size_t k = 0; k < fields.size(); ++k) {
            const LogLaw &a = known_[fields[k]], &b = wider[fields[k]];
            differences.push_back({std::abs(std::expm1(a.mean - b.mean)), std::abs(width(a) / width(b) - 1.0)});
        }
        return differences;
    }

    int tested_of(int group) const {
        return static_cast<int>(
            std::count_if(members(group).begin(), members(group).end(), [&](std::size_t f) { return tested_[f]; }));
    }

 private:
    const std::vector<std::size_t>& members(int group) const { return members_[static_cast<std::size_t>(group)]; }

    static double width(const LogLaw& law) {
        const double reach = 1.6448536269514722 * std::sqrt(law.variance);
        return std::exp(law.mean + reach) - std::exp(law.mean - reach);
    }

    PointM place(std::size_t f) const { return layout_.region_place(layout_.local_of_field(f)).at_m; }

    /// Tested fields of the season outside the group, the nearest to it first, as many as it has tested ones.
    std::vector<std::size_t> around(int group) const {
        const auto& seasons = layout_.cut_seasons();
        const auto season = std::find_if(seasons.begin(), seasons.end(), [&](const std::vector<int>& groups) {
            return std::find(groups.begin(), groups.end(), group) != groups.end();
        });
        std::vector<std::pair<double, std::size_t>> outside;
        for (const int other : *season) {
            if (other == group) continue;
            for (const std::size_t f : members(other)) {
                if (!tested_[f]) continue;
                double nearest = INFINITY;
                for (const std::size_t own : members(group))
                    if (tested_[own]) nearest = std::min(nearest, distance_m(place(f), place(own)));
                outside.push_back({nearest, f});
            }
        }
        std::sort(outside.begin(), outside.end());
        outside.resize(std::min(outside.size(), static_cast<std::size_t>(tested_of(group))));
        std::vector<std::size_t> fields;
        for (const auto& [distance, f] : outside) fields.push_back(f);
        return fields;
    }

    /// By field-season; those that are asked for.
    std::vector<LogLaw> laws(const Layout::Joined& joined, const std::vector<std::size_t>& fields) const {
        const GaussianLaw law = layout_.law(p_, at_, joined);
        const Propagation found = propagate(law, layout_.tables(), sites_, as_far, sweeps_at_most);
        const PointPosterior point =
            point_posterior(layout_, at_, p_, law, found.posterior, found.sites, joined, fields);
        std::vector<LogLaw> laws(joined.group.size());
        for (const std::size_t f : fields) laws[f] = field_law(layout_, at_, point, f);
        return laws;
    }

    const Layout& layout_;
    const Linearisation& at_;
    Parameters p_;
    const Layout::Joined& standing_;
    const GaussianSites& sites_;
    std::vector<bool> tested_;
    std::vector<std::vector<std::size_t>> members_;  ///< by group
    std::vector<LogLaw> known_;
};

/// Largest and middle of some shares.
std::pair<double, double> most_and_middle(std::vector<double> shares) {
    std::sort(shares.begin(), shares.end());
    return {shares.back(), shares[shares.size() / 2]};
}

std::string in_percent(double share) {
    return fmt::format("{:.2g} %", 100.0 * share);
}

}  // namespace

void say_what_groups_cost(ContaminationModel::State& state, const Progress& progress) {
    const Layout& layout = state.layout;
    if (layout.cut_seasons().empty()) return;
    const auto most =
        std::max_element(state.points.begin(), state.points.end(),
                         [](const PointPosterior& a, const PointPosterior& b) { return a.weight < b.weight; });
    if (most->parameters.region_sd == 0.0) return;  // nothing was joined that could be cut
    const GroupsCheck check(layout, state.linearisation, *most);
    const std::vector<std::vector<int>> rounds = check.rounds();
    std::vector<std::vector<FieldDifference>> found(rounds.size());
    for_each_index(
        static_cast<int>(rounds.size()), layout.settings().threads,
        [&](int r) { found[static_cast<std::size_t>(r)] = check.differences(rounds[static_cast<std::size_t>(r)]); },
        progress, phrase("contamination model"));
    Learnt::Groups& told = state.learnt.groups.emplace();
    for (const std::vector<int>& season : layout.cut_seasons())
        for (const int group : season) {
            ++told.groups;
            told.largest = std::max(told.largest, check.tested_of(group));
        }
    std::vector<double> medians, widths;
    for (std::size_t r = 0; r < rounds.size(); ++r) {
        told.groups_checked += static_cast<int>(rounds[r].size());
        for (const FieldDifference& field : found[r]) {
            medians.push_back(field.median);
            widths.push_back(field.width);
        }
    }
    told.fields_checked = static_cast<int>(medians.size());
    std::tie(told.median_most, told.median_middle) = most_and_middle(std::move(medians));
    std::tie(told.width_most, told.width_middle) = most_and_middle(std::move(widths));
    const auto seasons = static_cast<long long>(layout.cut_seasons().size());
    state.learnt.notes.push_back(fmt::format(
        "{} more than {} tested fields: near ones are joined in {} groups of at most {}, and those of two groups tell "
        "nothing of one another beyond season, level and kit lots, nor are they alike in joint draws. Against {} of "
        "these groups joined with as many fields around them, at {} fields the median differs by {} at most ({} in "
        "the middle) and the width of the 90 % interval by {} ({}).",
        seasons == 1 ? std::string("A season has") : counted(seasons, "season") + " have",
        layout.settings().most_joined_fields, told.groups, told.largest, told.groups_checked, told.fields_checked,
        in_percent(told.median_most), in_percent(told.median_middle), in_percent(told.width_most),
        in_percent(told.width_middle)));
}

}  // namespace models::contamination
