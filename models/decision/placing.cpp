#include "models/decision/placing.h"

#include <algorithm>
#include <array>
#include <map>
#include <numeric>
#include <optional>

#include "models/decision/bin_content.h"

namespace models {

namespace placing_parts {

constexpr double room_slack_t = 1e-9;        // below any scale's last digit; sums of tonnes are not exact in binary
constexpr std::int64_t tries_of_a_mix = 20;  // asking whether grain may lie together takes as long as so many tries
constexpr int nowhere = -1;

using Tier = BinToFill::Tier;

Standing of_one(std::int64_t mass_g, Tier tier) {
    Standing one{1, mass_g};
    if (tier == Tier::food) one.food_g = mass_g;
    if (tier == Tier::feed) one.feed_g = mass_g;
    if (tier == Tier::other) one.other_g = mass_g;
    return one;
}

/// The grains and bins of one group, while they are placed.
class Group {
 public:
    Group(const PlacingProblem& problem, std::vector<std::size_t> grain, std::vector<std::size_t> bins)
        : problem_(problem), grain_(std::move(grain)), bins_(std::move(bins)), tries_left_(problem.most_tries) {
        room_t_.resize(problem.bins.size());
        tag_.resize(problem.bins.size());
        inside_.resize(problem.bins.size());
        at_.assign(problem.grain.size(), nowhere);
        for (const std::size_t b : bins_) {
            room_t_[b] = problem.bins[b].room_t;
            if (problem.bins[b].has_tag) tag_[b] = &problem.bins[b].tag;
        }
        by_mass_ = grain_;
        std::stable_sort(by_mass_.begin(), by_mass_.end(), [&](std::size_t a, std::size_t b) {
            return problem_.grain[a].mass_t < problem_.grain[b].mass_t;
        });
        mass_g_.resize(problem.grain.size());
        for (const std::size_t g : grain_) mass_g_[g] = grams_of(problem.grain[g].mass_t);
        place_of_.resize(problem.grain.size());
        for (std::size_t i = 0; i < grain_.size(); ++i) place_of_[grain_[i]] = i;
    }

    /// Puts the best placing of the group into `placing`.
    void place(Placing& placing) {
        first_fit(grain_);
        keep_if_better();
        first_fit(by_mass_);
        keep_if_better();
        clear();
        Standing nothing;
        search(0, nothing);
        if (tries_left_ <= 0) {
            improve();
            placing.best_of_all = false;
        }
        for (const std::size_t g : grain_) placing.bin_of_grain[g] = best_at_[g];
    }

 private:
    bool takes(std::size_t b, std::size_t g) const {
        const GrainToPlace& grain = problem_.grain[g];
        return grain.mass_t <= room_t_[b] + room_slack_t && (tag_[b] == nullptr || *tag_[b] == grain.tag);
    }

    void put(std::size_t g, std::size_t b) {
        room_t_[b] -= problem_.grain[g].mass_t;
        if (tag_[b] == nullptr) tag_[b] = &problem_.grain[g].tag;
        inside_[b].push_back(g);
        at_[g] = static_cast<int>(b);
    }
    void take_out(std::size_t g) {
        const auto b = static_cast<std::size_t>(at_[g]);
        inside_[b].erase(std::find(inside_[b].begin(), inside_[b].end(), g));
        // The room is summed again, so that it does not depend on what was tried before.
        room_t_[b] = problem_.bins[b].room_t;
        for (const std::size_t other : inside_[b]) room_t_[b] -= problem_.grain[other].mass_t;
        if (inside_[b].empty() && !problem_.bins[b].has_tag) tag_[b] = nullptr;
        at_[g] = nowhere;
    }
    void clear() {
        for (const std::size_t g : grain_) {
            if (at_[g] != nowhere) take_out(g);
        }
    }

    bool may_lie(std::size_t b) {
        if (!problem_.bins[b].mix_is_asked || inside_[b].empty()) return true;
        std::vector<std::size_t> inside = inside_[b];
        std::sort(inside.begin(), inside.end());
        const auto [known, is_new] = mixes_.try_emplace({b, std::move(inside)}, false);
        if (is_new) {
            known->second = problem_.may_lie_together(b, known->first.second);
            tries_left_ -= tries_of_a_mix;
        }
        return known->second;
    }

    /// The bins that take a grain now: the best tier first, in it the one with the least room left, then by the table.
    std::vector<std::size_t> takers(std::size_t g) const {
        std::vector<std::size_t> order;
        for (const std::size_t b : problem_.grain[g].bins) {
            if (!takes(b, g)) continue;
            const auto twin = [&](std::size_t other) {
                return inside_[b].empty() && inside_[other].empty() && !problem_.bins[b].alike.empty() &&
                       problem_.bins[b].alike == problem_.bins[other].alike;
            };
            if (std::none_of(order.begin(), order.end(), twin)) order.push_back(b);
        }
        std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
            const Tier tier_a = problem_.bins[a].tier, tier_b = problem_.bins[b].tier;
            return tier_a != tier_b ? tier_a < tier_b : room_t_[a] < room_t_[b];
        });
        return order;
    }

    /// What comes first goes first.
    void first_fit(const std::vector<std::size_t>& order) {
        clear();
        for (const std::size_t g : order) {
            for (const std::size_t b : takers(g)) {
                put(g, b);
                if (may_lie(b)) break;
                take_out(g);
            }
        }
    }

    Standing standing() const {
        Standing sum;
        for (const std::size_t g : grain_) {
            if (at_[g] != nowhere) sum += of(g, static_cast<std::size_t>(at_[g]));
        }
        return sum;
    }
    Standing of(std::size_t g, std::size_t b) const { return of_one(mass_g_[g], problem_.bins[b].tier); }

    bool keep_if_better() {
        const Standing now = standing();
        if (!best_at_.empty() && now <= best_) return false;
        best_ = now;
        best_at_ = at_;
        return true;
    }

    /// No placing of the grain from `next` on, beside what lies where it lies, stands higher than this: each of its
    /// numbers is a bound by itself, so they are one in their order too.
    Standing bound(std::size_t next, const Standing& so_far) const {
        struct Share {
            std::int64_t mass_g = 0;
            double room_t = 0.0;
        };
        std::array<Share, 4> tiers;
        Share all;
        std::vector<bool> asked(problem_.bins.size(), false);
        std::vector<bool> fits(grain_.size(), false);
        for (std::size_t i = next; i < grain_.size(); ++i) {
            const std::size_t g = grain_[i];
            std::array<bool, 4> counted{};
            for (const std::size_t b : problem_.grain[g].bins) {
                if (!takes(b, g)) continue;
                fits[i] = asked[b] = true;
                const auto t = static_cast<std::size_t>(problem_.bins[b].tier);
                if (!counted[t]) tiers[t].mass_g += mass_g_[g];
                counted[t] = true;
            }
            if (fits[i]) all.mass_g += mass_g_[g];
        }
        for (const std::size_t b : bins_) {
            if (!asked[b]) continue;
            tiers[static_cast<std::size_t>(problem_.bins[b].tier)].room_t += room_t_[b];
            all.room_t += room_t_[b];
        }
        Standing bound = so_far;
        double lightest_t = 0.0;
        for (const std::size_t g : by_mass_) {
            if (place_of_[g] < next || !fits[place_of_[g]]) continue;
            lightest_t += problem_.grain[g].mass_t;
            if (lightest_t > all.room_t + room_slack_t * static_cast<double>(bins_.size())) break;
            ++bound.loads_placed;
        }
        // Rounded to grams load by load, what fills a room may stand above it by a gram a load.
        const auto grams = [&](const Share& share) {
            return std::min(share.mass_g, grams_of(share.room_t) + static_cast<std::int64_t>(grain_.size()));
        };
        bound.placed_g += grams(all);
        bound.food_g += grams(tiers[static_cast<std::size_t>(Tier::food)]);
        bound.feed_g += grams(tiers[static_cast<std::size_t>(Tier::feed)]);
        bound.other_g += grams(tiers[static_cast<std::size_t>(Tier::other)]);
        return bound;
    }

    void search(std::size_t next, const Standing& so_far) {
        if (--tries_left_ <= 0) return;
        if (next == grain_.size()) {
            if (so_far <= best_) return;
            for (const std::size_t b : bins_) {
                if (!may_lie(b)) return;
            }
            keep_if_better();
            return;
        }
        if (bound(next, so_far) <= best_) return;
        const std::size_t g = grain_[next];
        for (const std::size_t b : takers(g)) {
            Standing with = so_far;
            with += of(g, b);
            put(g, b);
            search(next + 1, with);
            take_out(g);
            if (tries_left_ <= 0) return;
        }
        search(next + 1, so_far);
    }

    /// Single moves that better the placing, until there is none.
    void improve() {
        clear();
        for (const std::size_t g : grain_) {
            if (best_at_[g] != nowhere) put(g, static_cast<std::size_t>(best_at_[g]));
        }
        for (bool again = true; again;) {
            again = false;
            for (const std::size_t g : grain_) {
                const int was = at_[g];
                if (was != nowhere) take_out(g);
                bool moved = false;
                for (const std::size_t b : takers(g)) {
                    put(g, b);
                    const bool allowed = may_lie(b) && (was == nowhere || may_lie(static_cast<std::size_t>(was)));
                    if (allowed && keep_if_better()) {
                        moved = again = true;
                        break;
                    }
                    take_out(g);
                }
                if (!moved && was != nowhere) put(g, static_cast<std::size_t>(was));
            }
        }
    }

    const PlacingProblem& problem_;
    std::vector<std::size_t> grain_, bins_, by_mass_, place_of_;
    std::int64_t tries_left_;
    std::vector<std::int64_t> mass_g_;
    std::vector<double> room_t_;
    std::vector<const std::string*> tag_;
    std::vector<std::vector<std::size_t>> inside_;
    std::vector<int> at_, best_at_;
    Standing best_;
    std::map<std::pair<std::size_t, std::vector<std::size_t>>, bool> mixes_;
};

}  // namespace placing_parts

Standing& Standing::operator+=(const Standing& more) {
    loads_placed += more.loads_placed;
    placed_g += more.placed_g;
    food_g += more.food_g;
    feed_g += more.feed_g;
    other_g += more.other_g;
    return *this;
}

Standing standing_of(const PlacingProblem& problem, const std::vector<int>& bin_of_grain) {
    Standing sum;
    for (std::size_t g = 0; g < bin_of_grain.size(); ++g) {
        if (bin_of_grain[g] < 0) continue;
        const BinToFill& bin = problem.bins[static_cast<std::size_t>(bin_of_grain[g])];
        sum += placing_parts::of_one(grams_of(problem.grain[g].mass_t), bin.tier);
    }
    return sum;
}

Placing best_placing(const PlacingProblem& problem) {
    // Bins that some load could choose between belong together, and so do the loads that may go there.
    std::vector<std::size_t> group(problem.bins.size());
    std::iota(group.begin(), group.end(), std::size_t{0});
    const auto root = [&group](std::size_t b) {
        while (group[b] != b) b = group[b];
        return b;
    };
    for (const GrainToPlace& grain : problem.grain) {
        for (const std::size_t b : grain.bins) {
            const std::size_t a = root(grain.bins.front()), c = root(b);
            group[std::max(a, c)] = std::min(a, c);
        }
    }
    Placing placing;
    placing.bin_of_grain.assign(problem.grain.size(), placing_parts::nowhere);
    for (std::size_t first = 0; first < problem.bins.size(); ++first) {
        if (root(first) != first) continue;
        std::vector<std::size_t> grain, bins;
        for (std::size_t g = 0; g < problem.grain.size(); ++g) {
            if (!problem.grain[g].bins.empty() && root(problem.grain[g].bins.front()) == first) grain.push_back(g);
        }
        for (std::size_t b = 0; b < problem.bins.size(); ++b) {
            if (root(b) == first) bins.push_back(b);
        }
        if (!grain.empty()) placing_parts::Group(problem, std::move(grain), std::move(bins)).place(placing);
    }
    return placing;
}

}  // namespace models
