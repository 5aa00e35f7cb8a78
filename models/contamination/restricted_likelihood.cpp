#include "models/contamination/restricted_likelihood.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include <Eigen/Eigenvalues>
#include <fmt/format.h>

#include "models/error.h"

namespace models::contamination {

namespace {

constexpr int range_at = 5;  ///< in the order of Parameters
constexpr double rough_difference = 0.15, fine_difference = 0.01;
constexpr double least_gain = 1e-7;     ///< of a log likelihood: less is the error of the propagation
constexpr double level_within = 1e-6;   ///< it says nothing of a parameter that moves it by less
constexpr double hardly_curved = 0.05;  ///< a standard error of 4.5 logs

const double log_of_zero = -INFINITY;

class RestrictedSearch {
 public:
    RestrictedSearch(const RestrictedSpace& space,
                     const std::function<Eigen::VectorXd(const Eigen::MatrixXd&)>& log_likelihood)
        : space_(space), log_likelihood_(log_likelihood), d_(static_cast<int>(space.start.size())) {}

    RestrictedMaximum take() {
        begin();
        double h = rough_difference;
        for (; found_.steps < most_steps; ++found_.steps) {
            look_about(h);
            const bool moved = move();
            const double settled_step = h == fine_difference ? 0.002 : 0.02;
            if (moved && step_.cwiseAbs().maxCoeff() >= settled_step) continue;
            if (h == fine_difference) {
                found_.settled = step_.cwiseAbs().maxCoeff() < 0.02;
                break;
            }
            h = fine_difference;
        }
        tell();
        found_.at = at_;
        found_.log_likelihood = value_;
        return std::move(found_);
    }

 private:
    static constexpr int most_steps = 80;

    bool is_zero(int i) const { return at_[i] == log_of_zero; }
    bool may_be_zero(int i) const { return i != range_at; }

    void begin() {
        std::vector<Eigen::RowVectorXd> starts;
        for (const double size : {1.0, 0.4, 2.0}) {
            Eigen::RowVectorXd start = space_.start;
            start.head(std::min(d_, range_at)).array() += std::log(size);
            if (d_ <= range_at) {
                starts.push_back(start);
                continue;
            }
            for (int k = 0; k <= 7; ++k) {
                if (k > 0)
                    start[range_at] = space_.low[range_at] + (k / 8.0) * (space_.high[range_at] - space_.low[range_at]);
                starts.push_back(start);
            }
        }
        const Eigen::VectorXd value = values(starts);
        Eigen::Index best = 0;
        value_ = value.maxCoeff(&best);
        if (!(value_ > -1e200))
            throw Error("the restricted likelihood of these results cannot be worked out", "",
                        "ask for the most probable or the integrated parameters, which have priors");
        at_ = starts[static_cast<std::size_t>(best)].cwiseMax(space_.low).cwiseMin(space_.high);
    }

    Eigen::VectorXd values(const std::vector<Eigen::RowVectorXd>& rows) const {
        Eigen::MatrixXd points(static_cast<Eigen::Index>(rows.size()), d_);
        for (std::size_t i = 0; i < rows.size(); ++i)
            points.row(static_cast<Eigen::Index>(i)) =
                rows[i].cwiseMin(space_.high);  // steps to 0 are under every bound
        return log_likelihood_(points);
    }

    /// Gradient and curvature of those that are not at 0, and the best of what else lies near: one at 0, or off it.
    void look_about(double h) {
        free_.clear();
        for (int i = 0; i < d_; ++i)
            if (!is_zero(i) && !(i == range_at && is_zero(range_at - 1))) free_.push_back(i);
        std::vector<Eigen::RowVectorXd> rows = {at_};
        const auto add = [&](int i, double by, int j, double and_by) {
            Eigen::RowVectorXd row = at_;
            row[i] += by;
            if (j >= 0) row[j] += and_by;
            rows.push_back(row);
        };
        // Away from the upper bound, so that nothing is looked at beyond it.
        const auto forward = [&](int i) { return at_[i] + h > space_.high[i] ? -h : h; };
        for (const int i : free_) {
            add(i, forward(i), -1, 0.0);
            add(i, at_[i] + h > space_.high[i] ? -2.0 * h : -h, -1, 0.0);
        }
        for (std::size_t a = 0; a < free_.size(); ++a)
            for (std::size_t b = 0; b < a; ++b) add(free_[a], forward(free_[a]), free_[b], forward(free_[b]));
        const std::size_t jumps = rows.size();
        for (int i = 0; i < d_; ++i) {
            if (!may_be_zero(i)) continue;
            Eigen::RowVectorXd row = at_;
            if (!is_zero(i)) {
                row[i] = log_of_zero;
                rows.push_back(row);
                continue;
            }
            for (const double sd : {0.01, 0.03, 0.1, 0.3}) {
                row[i] = std::log(sd);
                rows.push_back(row);
            }
        }
        const Eigen::VectorXd f = values(rows);
        value_ = f[0];
        const auto k = static_cast<Eigen::Index>(free_.size());
        gradient_ = Eigen::VectorXd(k);
        curvature_ = Eigen::MatrixXd(k, k);
        moves_ = Eigen::VectorXd(k);
        Eigen::Index row = 1 + 2 * k;
        for (Eigen::Index a = 0; a < k; ++a) {
            const int i = free_[static_cast<std::size_t>(a)];
            const double first = f[1 + 2 * a], second = f[2 + 2 * a];
            if (forward(i) > 0.0) {
                gradient_[a] = (first - second) / (2.0 * h);
                curvature_(a, a) = (first - 2.0 * f[0] + second) / (h * h);
            } else {
                gradient_[a] = (3.0 * f[0] - 4.0 * first + second) / (2.0 * h);
                curvature_(a, a) = (f[0] - 2.0 * first + second) / (h * h);
            }
            moves_[a] = std::max(std::abs(first - f[0]), std::abs(second - f[0]));
            for (Eigen::Index b = 0; b < a; ++b, ++row) {
                const int j = free_[static_cast<std::size_t>(b)];
                curvature_(a, b) = curvature_(b, a) =
                    (f[row] - first - f[1 + 2 * b] + f[0]) / (forward(i) * forward(j));
            }
        }
        jump_.reset();
        jump_value_ = value_ + least_gain;
        for (std::size_t r = jumps; r < rows.size(); ++r)
            if (f[static_cast<Eigen::Index>(r)] > jump_value_) {
                jump_value_ = f[static_cast<Eigen::Index>(r)];
                jump_ = rows[r];
            }
    }

    /// Newton's step or the jump, whichever leads higher. @return false: nothing does
    bool move() {
        step_ = Eigen::RowVectorXd::Zero(d_);
        // Those at a bound that the likelihood rises towards stay there.
        std::vector<Eigen::Index> moving;
        for (std::size_t a = 0; a < free_.size(); ++a) {
            const int i = free_[a];
            const double g = gradient_[static_cast<Eigen::Index>(a)];
            const bool held = (at_[i] >= space_.high[i] && g > 0.0) || (at_[i] <= space_.low[i] && g < 0.0);
            if (!held) moving.push_back(static_cast<Eigen::Index>(a));
        }
        if (!moving.empty()) {
            const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> own(-curvature_(moving, moving));
            const Eigen::VectorXd along = own.eigenvectors().transpose() * gradient_(moving);
            Eigen::VectorXd step =
                own.eigenvectors() * (along.array() / own.eigenvalues().array().cwiseMax(hardly_curved)).matrix();
            if (!step.allFinite()) step.setZero();
            if (step.norm() > 1.5) step *= 1.5 / step.norm();
            for (std::size_t m = 0; m < moving.size(); ++m)
                step_[free_[static_cast<std::size_t>(moving[m])]] = step[static_cast<Eigen::Index>(m)];
        }
        std::vector<Eigen::RowVectorXd> rows;
        double share = 1.0;
        for (int k = 0; k < 5; ++k, share *= 0.4) {
            Eigen::RowVectorXd row = at_ + share * step_;
            for (const int i : free_) row[i] = std::clamp(row[i], space_.low[i], space_.high[i]);
            rows.push_back(row);
        }
        const Eigen::VectorXd f = values(rows);
        Eigen::Index best = 0;
        const double highest = f.maxCoeff(&best);
        if (jump_ && jump_value_ > highest) {
            step_ = Eigen::RowVectorXd::Ones(d_);
            at_ = *jump_;
            value_ = jump_value_;
            return true;
        }
        if (!(highest > value_)) return false;
        step_ = rows[static_cast<std::size_t>(best)] - at_;
        for (int i = 0; i < d_; ++i)
            if (is_zero(i)) step_[i] = 0.0;
        at_ = rows[static_cast<std::size_t>(best)];
        value_ = highest;
        return true;
    }

    void tell() {
        look_about(rough_difference);
        found_.told.assign(static_cast<std::size_t>(d_), ParameterTold::nothing);
        std::vector<Eigen::Index> inside;
        for (std::size_t a = 0; a < free_.size(); ++a) {
            const int i = free_[a];
            const auto row = static_cast<Eigen::Index>(a);
            ParameterTold& told = found_.told[static_cast<std::size_t>(i)];
            if (moves_[row] < level_within)
                at_[i] = space_.start[i];  // where its prior has it
            else if (at_[i] >= space_.high[i] - 1e-9)
                told = ParameterTold::high;
            else if (at_[i] <= space_.low[i] + 1e-9)
                told = ParameterTold::low;
            else {
                told = ParameterTold::inside;
                inside.push_back(row);
            }
        }
        for (int i = 0; i < d_; ++i)
            if (is_zero(i)) found_.told[static_cast<std::size_t>(i)] = ParameterTold::zero;
        if (d_ > range_at && is_zero(range_at - 1)) at_[range_at] = space_.start[range_at];  // of nothing
        if (inside.size() < 2) return;
        const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> own(-curvature_(inside, inside));
        for (Eigen::Index k = 0; k < own.eigenvalues().size(); ++k) {
            if (own.eigenvalues()[k] > hardly_curved) continue;
            std::vector<int> together;
            for (Eigen::Index m = 0; m < own.eigenvalues().size(); ++m)
                if (std::abs(own.eigenvectors()(m, k)) > 0.2)
                    together.push_back(free_[static_cast<std::size_t>(inside[static_cast<std::size_t>(m)])]);
            found_.told_together.push_back(std::move(together));
        }
    }

    const RestrictedSpace& space_;
    const std::function<Eigen::VectorXd(const Eigen::MatrixXd&)>& log_likelihood_;
    int d_;
    Eigen::RowVectorXd at_, step_;
    double value_ = 0.0;
    std::vector<int> free_;
    Eigen::VectorXd gradient_, moves_;
    Eigen::MatrixXd curvature_;
    std::optional<Eigen::RowVectorXd> jump_;
    double jump_value_ = 0.0;
    RestrictedMaximum found_;
};

/// "a", "a and b", "a, b and c".
std::string list_of(const std::vector<std::string>& words) {
    std::string list;
    for (std::size_t k = 0; k < words.size(); ++k)
        list += (k == 0 ? "" : k + 1 == words.size() ? " and " : ", ") + words[k];
    return list;
}

}  // namespace

RestrictedSpace restricted_space(const Layout& layout, int dimensions) {
    const Parameters middle = Parameters::at(Eigen::RowVectorXd::Zero(dimensions), layout.priors());
    const std::array<double, Parameters::count> start{middle.season_sd, middle.field_sd,  middle.within_sd,
                                                      middle.lot_sd,    middle.region_sd, middle.range_m};
    RestrictedSpace space;
    space.start = space.low = space.high = Eigen::RowVectorXd::Zero(dimensions);
    for (int i = 0; i < dimensions; ++i) {
        space.start[i] = std::log(start[static_cast<std::size_t>(i)]);
        space.low[i] = std::log(1e-4);
        space.high[i] = std::log(5.0);
    }
    if (dimensions <= range_at) return space;
    double least = INFINITY, largest = 0.0;
    std::vector<int> read;
    for (std::size_t k = 0; k < layout.locals().size(); ++k)
        if (layout.region_place(static_cast<int>(k)).group >= 0) read.push_back(static_cast<int>(k));
    for (std::size_t a = 0; a < read.size(); ++a)
        for (std::size_t b = 0; b < a; ++b) {
            const RegionPlace p = layout.region_place(read[a]), q = layout.region_place(read[b]);
            if (p.group != q.group) continue;
            const double apart = distance_m(p.at_m, q.at_m);
            if (apart > 0.0) least = std::min(least, apart);
            largest = std::max(largest, apart);
        }
    if (!(largest > 0.0)) least = largest = middle.range_m;
    space.low[range_at] = std::log(least / 3.0);
    space.high[range_at] = std::log(10.0 * largest);
    space.start[range_at] = std::clamp(space.start[range_at], space.low[range_at], space.high[range_at]);
    return space;
}

Parameters parameters_of_logs(const Eigen::RowVectorXd& logs, const ContaminationPriors& priors) {
    const bool region = logs.size() > Parameters::without_region;
    return {std::exp(logs[0]),
            std::exp(logs[1]),
            std::exp(logs[2]),
            std::exp(logs[3]),
            region ? std::exp(logs[4]) : 0.0,
            region ? std::exp(logs[range_at]) : priors.range_median_m};
}

RestrictedMaximum restricted_maximum(const RestrictedSpace& space,
                                     const std::function<Eigen::VectorXd(const Eigen::MatrixXd&)>& log_likelihood) {
    return RestrictedSearch(space, log_likelihood).take();
}

std::vector<std::string> notes_of(const RestrictedMaximum& maximum) {
    const std::array<const char*, Parameters::count> names{
        "seasons", "fields", "places within a field", "kit lots and runs", "regions within a season", "the range"};
    std::vector<std::string> zero, at_bound, untold, notes;
    for (std::size_t i = 0; i < maximum.told.size(); ++i) {
        const double value = std::exp(maximum.at[static_cast<Eigen::Index>(i)]);
        const bool range = static_cast<int>(i) == range_at;
        const std::string valued =
            range ? fmt::format("the range ({:.3g} km)", value / 1000.0) : fmt::format("{} ({:.2g})", names[i], value);
        if (maximum.told[i] == ParameterTold::zero) zero.push_back(names[i]);
        if (maximum.told[i] == ParameterTold::low || maximum.told[i] == ParameterTold::high) at_bound.push_back(valued);
        const bool of_nothing = range && maximum.told[range_at - 1] == ParameterTold::zero;
        if (maximum.told[i] == ParameterTold::nothing && !of_nothing) untold.push_back(valued);
    }
    if (!zero.empty())
        notes.push_back(
            fmt::format("The restricted likelihood is highest at a standard deviation of 0 of {}: at its "
                        "bound, which is a result, but few results often lead there.",
                        list_of(zero)));
    if (!at_bound.empty())
        notes.push_back(
            fmt::format("The restricted likelihood rises to the bound of {} and ends there: it has no "
                        "maximum inside.",
                        list_of(at_bound)));
    if (!untold.empty())
        notes.push_back(
            fmt::format("The restricted likelihood is the same whatever {} may be: left at the middle of "
                        "the prior.",
                        list_of(untold)));
    for (const std::vector<int>& together : maximum.told_together) {
        std::vector<std::string> words;
        for (const int i : together) words.push_back(names[static_cast<std::size_t>(i)]);
        notes.push_back(
            words.size() > 1
                ? fmt::format("These results hardly tell {} apart: another share of one and the other is "
                              "as likely.",
                              list_of(words))
                : fmt::format("These results hardly tell the standard deviation or range of {}.", list_of(words)));
    }
    if (!maximum.settled) notes.push_back("The search for the maximum of the restricted likelihood did not settle.");
    return notes;
}

}  // namespace models::contamination
