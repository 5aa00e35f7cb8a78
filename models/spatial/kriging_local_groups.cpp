#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <limits>
#include <numbers>
#include <span>

#include "models/spatial/kriging_local.h"
#include "models/spatial/parallel.h"

namespace models {

namespace {

constexpr std::size_t targets_a_group = 256;
constexpr std::size_t most_candidates = 512;
constexpr std::size_t most_side_by_side = 128;  ///< larger systems fill a processor's vectors by themselves
constexpr int targets_at_once = 4;

}  // namespace

/// Some targets close to one another, and the data among which their neighbours are.
class LocalKriging::Group {
 public:
    Group(const LocalKriging& kriging, const Targets& targets, std::array<long long, failures>& counts)
        : local_(kriging), targets_(targets), counts_(counts), table_(kernels::kernel_table()) {}

    void krige(std::span<Eigen::Index> numbers) {
        if (numbers.empty()) return;
        const auto [x0, x1] = bounds(numbers, 0);
        const auto [y0, y1] = bounds(numbers, 1);
        std::size_t neighbours = 0;
        const bool by_sectors = local_.settings_.neighbourhood.sectors != 0;
        if (by_sectors) {
            look_around(numbers, neighbours);
        } else {
            candidates_ =
                local_.candidates(0.5 * (x0 + x1), 0.5 * (y0 + y1), 0.5 * std::hypot(x1 - x0, y1 - y0), neighbours);
        }
        const std::size_t m = candidates_.size();
        if (numbers.size() > 1 && (m > most_candidates || m * m > numbers.size() * neighbours * neighbours)) {
            // Too far apart to share anything: halves, along the longer side.
            const Eigen::Index along = x1 - x0 >= y1 - y0 ? 0 : 1;
            const auto middle = numbers.begin() + static_cast<std::ptrdiff_t>(numbers.size() / 2);
            std::nth_element(numbers.begin(), middle, numbers.end(), [&](Eigen::Index a, Eigen::Index b) {
                const double at_a = targets_.places_m(a, along), at_b = targets_.places_m(b, along);
                return at_a < at_b || (at_a == at_b && a < b);
            });
            krige(std::span(numbers.begin(), middle));
            krige(std::span(middle, numbers.end()));
            return;
        }
        gather_candidates();
        if (by_sectors) {
            number_neighbours(numbers);
        } else {
            choose_neighbours(numbers);
        }
        krige_sets();
    }

 private:
    /// Targets that have the same neighbours: members_[first] and `count` in all.
    struct Set {
        std::size_t first, count, neighbours;
    };
    struct Member {
        std::uint64_t hash;
        Eigen::Index target;
        std::size_t begin, neighbours;  ///< in chosen_
    };

    std::pair<double, double> bounds(std::span<const Eigen::Index> numbers, Eigen::Index along) const {
        double low = std::numeric_limits<double>::infinity(), high = -low;
        for (const Eigen::Index i : numbers) {
            low = std::min(low, targets_.places_m(i, along));
            high = std::max(high, targets_.places_m(i, along));
        }
        return {low, high};
    }

    void gather_candidates() {
        const std::size_t m = candidates_.size();
        x_.resize(m);
        y_.resize(m);
        squared_.resize(m);
        for (std::size_t k = 0; k < m; ++k) {
            x_[k] = local_.data_.x[candidates_[k]];
            y_[k] = local_.data_.y[candidates_[k]];
        }
        if (m > most_candidates) return;  // one target alone, whose many neighbours are worked out by themselves
        covariance_.resize(m * m);
        for (std::size_t k = 0; k < m; ++k) {
            double* row = covariance_.data() + k * m;
            table_.covariances(local_.covariance_.arrays(), x_.data(), y_.data(), static_cast<int>(k + 1), x_[k], y_[k],
                               row);
            row[k] += local_.data_.error_variances[candidates_[k]];
        }
    }

    /// Of each target the neighbours, as places among the candidates in ascending order.
    void choose_neighbours(std::span<const Eigen::Index> numbers) {
        const Neighbourhood& neighbourhood = local_.settings_.neighbourhood;
        const double infinity = std::numeric_limits<double>::infinity();
        const double farthest =
            neighbourhood.radius_m > 0.0 ? neighbourhood.radius_m * neighbourhood.radius_m : infinity;
        const std::size_t m = candidates_.size();
        const std::size_t wanted = neighbourhood.count > 0 ? static_cast<std::size_t>(neighbourhood.count) : m;
        members_.clear();
        chosen_.clear();
        std::vector<std::uint32_t> near(m + 1);
        for (const Eigen::Index target : numbers) {
            table_.squared_distances(x_.data(), y_.data(), static_cast<int>(m), targets_.places_m(target, 0),
                                     targets_.places_m(target, 1), squared_.data());
            // No farther than the farthest of the neighbours that the target before had.
            double bound = farthest;
            if (!members_.empty() && members_.back().neighbours == wanted) {
                double reach = 0.0;
                for (std::size_t k = 0; k < wanted; ++k) {
                    reach = std::max(reach, squared_[chosen_[members_.back().begin + k]]);
                }
                bound = std::min(bound, reach);
            }
            std::size_t count = 0;
            for (std::size_t k = 0; k < m; ++k) {
                near[count] = static_cast<std::uint32_t>(k);
                count += squared_[k] <= bound ? 1 : 0;
            }
            const auto nearer = [&](std::uint32_t a, std::uint32_t b) {
                return squared_[a] < squared_[b] || (squared_[a] == squared_[b] && a < b);
            };
            if (count > wanted + 8) {
                std::nth_element(near.begin(), near.begin() + static_cast<std::ptrdiff_t>(wanted),
                                 near.begin() + static_cast<std::ptrdiff_t>(count), nearer);
                count = wanted;
                std::sort(near.begin(), near.begin() + static_cast<std::ptrdiff_t>(count));
            }
            while (count > wanted) {
                const auto last = near.begin() + static_cast<std::ptrdiff_t>(count);
                near.erase(std::max_element(near.begin(), last, nearer));
                near.push_back(0);
                --count;
            }
            add_member(target, std::span(near).first(count));
        }
    }

    void add_member(Eigen::Index target, std::span<const std::uint32_t> near) {
        std::uint64_t hash = 14695981039346656037ULL;  // Fowler, Noll & Vo
        for (const std::uint32_t candidate : near) hash = (hash ^ candidate) * 1099511628211ULL;
        members_.push_back({hash, target, chosen_.size(), near.size()});
        chosen_.insert(chosen_.end(), near.begin(), near.end());
    }

    /// The neighbours of each target from their sectors, one target after another; all of them are the candidates.
    void look_around(std::span<const Eigen::Index> numbers, std::size_t& most) {
        around_.resize(numbers.size());
        candidates_.clear();
        most = 1;
        for (std::size_t k = 0; k < numbers.size(); ++k) {
            local_.nearest(targets_.places_m(numbers[k], 0), targets_.places_m(numbers[k], 1), -1, found_);
            around_[k].clear();
            for (const auto& entry : found_) around_[k].push_back(entry.second);
            std::sort(around_[k].begin(), around_[k].end());
            candidates_.insert(candidates_.end(), around_[k].begin(), around_[k].end());
            most = std::max(most, around_[k].size());
        }
        std::sort(candidates_.begin(), candidates_.end());
        candidates_.erase(std::unique(candidates_.begin(), candidates_.end()), candidates_.end());
    }

    /// The same neighbours as places among the candidates.
    void number_neighbours(std::span<const Eigen::Index> numbers) {
        members_.clear();
        chosen_.clear();
        std::vector<std::uint32_t> near;
        for (std::size_t k = 0; k < numbers.size(); ++k) {
            near.clear();
            for (const Eigen::Index datum : around_[k]) {
                const auto at = std::lower_bound(candidates_.begin(), candidates_.end(), datum);
                near.push_back(static_cast<std::uint32_t>(at - candidates_.begin()));
            }
            add_member(numbers[k], near);
        }
    }

    std::span<const std::uint32_t> neighbours_of(const Member& member) const {
        return {chosen_.data() + member.begin, member.neighbours};
    }

    void krige_sets() {
        std::sort(members_.begin(), members_.end(), [](const Member& a, const Member& b) {
            return a.hash < b.hash || (a.hash == b.hash && a.target < b.target);
        });
        std::vector<Set> sets;
        for (std::size_t k = 0; k < members_.size(); ++k) {
            const Member& here = members_[k];
            if (!sets.empty() && std::ranges::equal(neighbours_of(members_[sets.back().first]), neighbours_of(here))) {
                ++sets.back().count;
            } else {
                sets.push_back({k, 1, here.neighbours});
            }
        }
        // Systems of one size and with as many targets go side by side.
        std::sort(sets.begin(), sets.end(), [&](const Set& a, const Set& b) {
            if (a.neighbours != b.neighbours) return a.neighbours < b.neighbours;
            return a.count > b.count || (a.count == b.count && members_[a.first].target < members_[b.first].target);
        });
        std::size_t first = 0;
        while (first < sets.size() && sets[first].neighbours < static_cast<std::size_t>(local_.least_count())) {
            for_each_member(sets[first++], [&](const Member& member) { put(member.target, without(too_few)); });
        }
        const auto lanes = static_cast<std::size_t>(table_.lanes);
        while (first < sets.size() && sets[first].neighbours <= most_side_by_side) {
            std::size_t last = first;
            while (last < sets.size() && last - first < lanes && sets[last].neighbours <= most_side_by_side) ++last;
            krige_lanes(std::span(sets).subspan(first, last - first));
            first = last;
        }
        for (; first < sets.size(); ++first) {
            for_each_member(sets[first], [&](const Member& member) {
                const Eigen::Index i = member.target;
                put(i, local_.one(targets_.places_m(i, 0), targets_.places_m(i, 1), targets_.drift.row(i), -1));
            });
        }
    }

    template <typename Do>
    void for_each_member(const Set& set, const Do& act) const {
        for (std::size_t k = set.first; k < set.first + set.count; ++k) act(members_[k]);
    }

    static Found without(Failure failure) {
        constexpr double nan = std::numeric_limits<double>::quiet_NaN();
        return {nan, nan, nan, failure};
    }

    void put(Eigen::Index target, const Found& found) const {
        targets_.found.estimate[target] = found.estimate;
        if (targets_.found.variance.size() > 0) targets_.found.variance[target] = found.variance;
        if (targets_.found.lagrange.size() > 0) targets_.found.lagrange[target] = found.lagrange;
        ++counts_[static_cast<std::size_t>(found.failure)];
    }

    void krige_lanes(std::span<const Set> sets) {
        const auto lanes = static_cast<std::size_t>(table_.lanes);
        const std::size_t n = sets.back().neighbours, m = candidates_.size();
        const auto p = static_cast<std::size_t>(local_.data_.drift.cols());
        factor_.assign(n * (n + 1) / 2 * lanes, 0.0);
        inverse_.resize(n * lanes);
        right_.assign((1 + p) * n * lanes, 0.0);
        triangle_.resize(p * (p + 1) / 2 * lanes);
        coefficients_.resize(p * lanes);
        gap_.resize(p * lanes);
        std::array<double, 16> pivot_ratio{}, drift_ratio{};
        for (std::size_t lane = 0; lane < lanes; ++lane) {
            const Set& set = sets[std::min(lane, sets.size() - 1)];
            const auto chosen = neighbours_of(members_[set.first]);
            for (std::size_t i = 0; i < chosen.size(); ++i) {
                const double* row = covariance_.data() + chosen[i] * m;
                double* to = factor_.data() + i * (i + 1) / 2 * lanes + lane;
                for (std::size_t j = 0; j <= i; ++j) to[j * lanes] = row[chosen[j]];
                const Eigen::Index datum = candidates_[chosen[i]];
                right_[i * lanes + lane] = local_.data_.values[datum] - local_.settings_.known_mean.value_or(0.0);
                for (std::size_t a = 0; a < p; ++a) {
                    right_[((1 + a) * n + i) * lanes + lane] = local_.data_.drift(datum, static_cast<Eigen::Index>(a));
                }
            }
            for (std::size_t i = chosen.size(); i < n; ++i) {
                factor_[(i * (i + 1) / 2 + i) * lanes + lane] = factor_[lane];
            }
        }
        kernels::LaneSystems systems;
        systems.n = static_cast<int>(n);
        systems.p = static_cast<int>(p);
        systems.factor = factor_.data();
        systems.inverse_pivots = inverse_.data();
        systems.right = right_.data();
        systems.triangle = triangle_.data();
        systems.coefficients = coefficients_.data();
        systems.pivot_ratio = pivot_ratio.data();
        systems.drift_ratio = drift_ratio.data();
        systems.known_mean = local_.settings_.known_mean.value_or(0.0);
        systems.own_covariance = local_.own_;
        table_.factor_systems(systems);

        std::size_t most = 0;
        for (const Set& set : sets) most = std::max(most, set.count);
        for (std::size_t begin = 0; begin < most; begin += targets_at_once) {
            const std::size_t rows = std::min<std::size_t>(targets_at_once, most - begin);
            target_covariance_.assign(rows * n * lanes, 0.0);
            target_drift_.assign(rows * p * lanes, 0.0);
            estimate_.resize(rows * lanes);
            variance_.resize(rows * lanes);
            lagrange_.resize(rows * lanes);
            for (std::size_t lane = 0; lane < sets.size(); ++lane) {
                for (std::size_t row = 0; row < rows && begin + row < sets[lane].count; ++row) {
                    const Member& member = members_[sets[lane].first + begin + row];
                    gather_target(member, target_covariance_.data() + row * n * lanes + lane, lanes);
                    for (std::size_t a = 0; a < p; ++a) {
                        target_drift_[(row * p + a) * lanes + lane] =
                            targets_.drift(member.target, static_cast<Eigen::Index>(a));
                    }
                }
            }
            table_.krige_systems(systems, {static_cast<int>(rows), target_covariance_.data(), target_drift_.data(),
                                           gap_.data(), estimate_.data(), variance_.data(), lagrange_.data()});
            for (std::size_t lane = 0; lane < sets.size(); ++lane) {
                const bool told_apart = pivot_ratio[lane] > 1e-8 && (p == 0 || drift_ratio[lane] > 1e-13);
                for (std::size_t row = 0; row < rows && begin + row < sets[lane].count; ++row) {
                    const std::size_t at = row * lanes + lane;
                    put(members_[sets[lane].first + begin + row].target,
                        told_apart ? Found{estimate_[at], variance_[at], lagrange_[at], estimated} : without(singular));
                }
            }
        }
    }

    /// Covariances between a target and its neighbours, `stride` apart.
    void gather_target(const Member& member, double* to, std::size_t stride) {
        const auto chosen = neighbours_of(member);
        const auto n = static_cast<int>(chosen.size());
        std::array<double, most_side_by_side> x, y, covariance;
        for (std::size_t k = 0; k < chosen.size(); ++k) {
            x[k] = x_[chosen[k]];
            y[k] = y_[chosen[k]];
        }
        const double x0 = targets_.places_m(member.target, 0), y0 = targets_.places_m(member.target, 1);
        if (local_.block_.is_point) {
            table_.covariances(local_.covariance_.arrays(), x.data(), y.data(), n, x0, y0, covariance.data());
            for (std::size_t k = 0; k < chosen.size(); ++k) to[k * stride] = covariance[k];
            return;
        }
        kernels::CovarianceArrays structured = local_.covariance_.arrays();
        structured.nugget = 0.0;
        for (std::size_t node = 0; node < local_.block_.dx.size(); ++node) {
            table_.covariances(structured, x.data(), y.data(), n, x0 + local_.block_.dx[node],
                               y0 + local_.block_.dy[node], covariance.data());
            for (std::size_t k = 0; k < chosen.size(); ++k) {
                to[k * stride] += local_.block_.weight[node] * covariance[k];
            }
        }
    }

    const LocalKriging& local_;
    Targets targets_;
    std::array<long long, failures>& counts_;
    const kernels::KernelTable& table_;
    Numbers candidates_;
    std::vector<Numbers> around_;
    std::vector<std::pair<double, Eigen::Index>> found_;
    std::vector<double> x_, y_, squared_, covariance_;
    std::vector<Member> members_;
    std::vector<std::uint32_t> chosen_;
    std::vector<double> factor_, inverse_, right_, triangle_, coefficients_, gap_;
    std::vector<double> target_covariance_, target_drift_, estimate_, variance_, lagrange_;
};

LocalKriging::Numbers LocalKriging::candidates(double x, double y, double around_m, std::size_t& neighbours) const {
    std::vector<std::pair<double, Eigen::Index>> nearest_ones;
    nearest(x, y, -1, nearest_ones);
    neighbours = std::max<std::size_t>(1, nearest_ones.size());
    const Neighbourhood& neighbourhood = settings_.neighbourhood;
    Numbers found;
    if (around_m == 0.0) {
        for (const auto& entry : nearest_ones) found.push_back(entry.second);
        std::sort(found.begin(), found.end());
        return found;
    }
    // Whoever stands `around_m` from the centre has its neighbours no farther than the centre has them and that much
    // more, and so they lie no farther from the centre than twice that much more.
    double reach = std::numeric_limits<double>::infinity();
    if (neighbourhood.radius_m > 0.0) reach = neighbourhood.radius_m + around_m;
    if (neighbourhood.count > 0 && nearest_ones.size() == static_cast<std::size_t>(neighbourhood.count)) {
        reach = std::min(reach, std::sqrt(nearest_ones.back().first) + 2.0 * around_m);
    }
    reach *= 1.0 + 1e-9;
    const auto bin_of = [&](double from, Eigen::Index bins) {
        return static_cast<Eigen::Index>(std::clamp(std::floor(from / bin_m_), 0.0, static_cast<double>(bins - 1)));
    };
    const Eigen::Index first_column = bin_of(x - reach - x_min_, columns_);
    const Eigen::Index last_column = bin_of(x + reach - x_min_, columns_);
    const Eigen::Index first_row = bin_of(y - reach - y_min_, rows_), last_row = bin_of(y + reach - y_min_, rows_);
    for (Eigen::Index row = first_row; row <= last_row; ++row) {
        const auto begin = static_cast<std::size_t>(row * columns_ + first_column);
        const auto end = static_cast<std::size_t>(row * columns_ + last_column + 1);
        for (Eigen::Index k = begin_[begin]; k < begin_[end]; ++k) {
            const Eigen::Index i = sorted_[static_cast<std::size_t>(k)];
            const double dx = data_.x[i] - x, dy = data_.y[i] - y;
            if (dx * dx + dy * dy <= reach * reach) found.push_back(i);
        }
    }
    std::sort(found.begin(), found.end());
    return found;
}

std::vector<LocalKriging::Numbers> LocalKriging::groups(const Numbers& usable, const Eigen::MatrixX2d& places_m) const {
    std::vector<Numbers> found;
    if (usable.empty()) return found;
    double x_min = std::numeric_limits<double>::infinity(), y_min = x_min, x_max = -x_min, y_max = -x_min;
    for (const Eigen::Index i : usable) {
        x_min = std::min(x_min, places_m(i, 0));
        x_max = std::max(x_max, places_m(i, 0));
        y_min = std::min(y_min, places_m(i, 1));
        y_max = std::max(y_max, places_m(i, 1));
    }
    // Squares of about a group each, but smaller than the reach of a neighbourhood, of which data_ has about two points
    // a bin; and not many more squares than targets.
    const auto m = static_cast<double>(usable.size());
    const double width = x_max - x_min, height = y_max - y_min;
    const Neighbourhood& neighbourhood = settings_.neighbourhood;
    double reach = neighbourhood.radius_m > 0.0 ? neighbourhood.radius_m : std::numeric_limits<double>::infinity();
    if (neighbourhood.count > 0) {
        reach = std::min(reach, bin_m_ * std::sqrt(0.5 * neighbourhood.count / std::numbers::pi));
    }
    const double share = static_cast<double>(targets_a_group) / m;
    double side = std::min(std::max(std::sqrt(width * height * share), std::max(width, height) * share), 0.5 * reach);
    side = std::max({side, std::sqrt(width * height / m), std::max(width, height) / m, 1e-9});
    const auto columns = static_cast<std::size_t>(width / side) + 1, rows = static_cast<std::size_t>(height / side) + 1;
    std::vector<Numbers> squares(columns * rows);
    for (const Eigen::Index i : usable) {
        const auto column = std::min(columns - 1, static_cast<std::size_t>((places_m(i, 0) - x_min) / side));
        const auto row = std::min(rows - 1, static_cast<std::size_t>((places_m(i, 1) - y_min) / side));
        squares[row * columns + column].push_back(i);
    }
    for (const Numbers& square : squares) {
        for (std::size_t first = 0; first < square.size(); first += targets_a_group) {
            const std::size_t size = std::min(targets_a_group, square.size() - first);
            const auto begin = square.begin() + static_cast<std::ptrdiff_t>(first);
            found.emplace_back(begin, begin + static_cast<std::ptrdiff_t>(size));
        }
    }
    return found;
}

void LocalKriging::estimate(const Eigen::MatrixX2d& targets_m, const Eigen::MatrixXd& drift, KrigingEstimates& found,
                            const Progress& progress) const {
    std::array<long long, failures> total{};
    Numbers usable;
    for (Eigen::Index i = 0; i < targets_m.rows(); ++i) {
        if (!std::isfinite(targets_m(i, 0)) || !std::isfinite(targets_m(i, 1))) {
            ++total[no_place];
        } else if (!drift.row(i).allFinite()) {
            ++total[no_drift];
        } else {
            usable.push_back(i);
        }
    }
    std::vector<Numbers> parts = groups(usable, targets_m);
    std::vector<std::array<long long, failures>> counts(parts.size());
    const auto blocks = static_cast<long long>(parts.size());
    parallel_blocks(
        blocks, settings_.threads,
        [&](long long block) {
            const auto number = static_cast<std::size_t>(block);
            counts[number].fill(0);
            Group(*this, {targets_m, drift, found}, counts[number]).krige(parts[number]);
        },
        progress, "kriging");
    for (int failure = estimated + 1; failure < failures; ++failure) {
        long long places = total[static_cast<std::size_t>(failure)];
        for (const auto& part : counts) places += part[static_cast<std::size_t>(failure)];
        if (places > 0) found.not_estimated.push_back({reason_of(static_cast<Failure>(failure)), places});
    }
}

}  // namespace models
