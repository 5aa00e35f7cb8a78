#include "models/contamination/grain_of_field.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include <Eigen/Cholesky>
#include <fmt/format.h>

#include "models/contamination/counter_random.h"
#include "models/contamination/mixture_content.h"
#include "models/error.h"

namespace models {

namespace con = contamination;

struct GrainLaw::Mixture {
    con::NormalMixture law;
};

namespace grain_parts {

constexpr std::uint64_t stream_range = std::uint64_t{1} << 32;  // of counters, one for each kind of number
constexpr int least_draws_at_a_point = 8;

/// Bits of a number in reverse: of any first part of the draws these lie evenly between 0 and 1.
double radical_inverse(std::uint32_t i) {
    std::uint32_t reversed = 0;
    for (int bit = 0; bit < 32; ++bit, i >>= 1) reversed = (reversed << 1) | (i & 1u);
    return static_cast<double>(reversed) * 0x1p-32;
}

/// Steps of the golden section lie evenly too, and go their own way beside the above (Niederreiter 1992, Random Number
/// Generation and Quasi-Monte Carlo Methods, section 3.1).
double golden_step(std::uint32_t i) {
    return std::fmod(0.6180339887498949 * i, 1.0);
}

/// For each draw which of the weighted things it takes, evenly.
std::vector<int> taken_evenly(const std::vector<double>& weights, Eigen::Index draws, double shift,
                              double (*even)(std::uint32_t)) {
    std::vector<double> up_to;
    double sum = 0.0;
    for (const double w : weights) up_to.push_back(sum += w);
    std::vector<int> taken(static_cast<std::size_t>(draws));
    for (std::size_t i = 0; i < taken.size(); ++i) {
        const double u = std::fmod(even(static_cast<std::uint32_t>(i)) + shift, 1.0) * sum;
        taken[i] = static_cast<int>(std::upper_bound(up_to.begin(), up_to.end() - 1, u) - up_to.begin());
    }
    return taken;
}

/// Pattern of the cells at one value of share and range: N(mean, factor factor'), the factor times the sd of what is
/// shared unless the field's own results stand in it.
struct CellPattern {
    Eigen::VectorXd mean;
    Eigen::MatrixXd factor;
};

/// exp(-h / range) averaged over the places of two cells that lie so many columns and rows apart: 4 x 4 places in each,
/// so that differences come as often as a triangle says.
class CellCorrelation {
 public:
    CellCorrelation(const GroundCells& ground, double range_m) : ground_(ground), range_m_(range_m) {}
    double operator()(const GroundCells::Cell& a, const GroundCells::Cell& b) {
        const std::pair<int, int> apart{std::abs(a.column - b.column), std::abs(a.row - b.row)};
        const auto [found, fresh] = known_.try_emplace(apart, 0.0);
        if (fresh) {
            double sum = 0.0;
            for (int i = -3; i <= 3; ++i)
                for (int j = -3; j <= 3; ++j)
                    sum += (4 - std::abs(i)) * (4 - std::abs(j)) *
                           std::exp(-std::hypot(ground_.length_m * (apart.first + 0.25 * i),
                                                ground_.width_m * (apart.second + 0.25 * j)) /
                                    range_m_);
            found->second = sum / 256.0;
        }
        return found->second;
    }

 private:
    const GroundCells& ground_;
    double range_m_;
    std::map<std::pair<int, int>, double> known_;
};

Eigen::MatrixXd factor_of(Eigen::MatrixXd covariance) {
    const double top = std::max(covariance.diagonal().maxCoeff(), 1e-300);
    covariance.diagonal().array() += 1e-9 * top;
    Eigen::LLT<Eigen::MatrixXd> factor(covariance);
    for (double more = 1e-8; factor.info() != Eigen::Success && more < 0.1; more *= 10.0) {
        covariance.diagonal().array() += more * top;
        factor.compute(covariance);
    }
    if (factor.info() != Eigen::Success) throw Error("the covariances of the field's cells are not numbers");
    return factor.matrixL();
}

Eigen::MatrixXd cell_correlations(const GroundCells& ground, double range_m) {
    const auto n = static_cast<Eigen::Index>(ground.cells.size());
    CellCorrelation correlation(ground, range_m);
    Eigen::MatrixXd all(n, n);
    for (Eigen::Index j = 0; j < n; ++j)
        for (Eigen::Index i = 0; i <= j; ++i)
            all(i, j) = all(j, i) =
                correlation(ground.cells[static_cast<std::size_t>(i)], ground.cells[static_cast<std::size_t>(j)]);
    return all;
}

/// What the field's own placed results leave: kriging with a flat mean, of cells.
CellPattern pattern_given_results(const GroundCells& ground, const std::vector<PointM>& places,
                                  const WithinFieldPoint& point) {
    const WithinFieldParameters& p = point.parameters;
    const double variance = p.sd * p.sd, shared = p.structured_share * variance;
    const auto n = static_cast<Eigen::Index>(ground.cells.size()), count = static_cast<Eigen::Index>(places.size());
    Eigen::MatrixXd among(count, count), between(count, n);
    for (Eigen::Index i = 0; i < count; ++i) {
        for (Eigen::Index j = 0; j < count; ++j) {
            const double d = distance_m(places[static_cast<std::size_t>(i)], places[static_cast<std::size_t>(j)]);
            among(i, j) = shared * std::exp(-d / p.range_m) + (d > 0.0 ? 0.0 : variance - shared);
        }
        among(i, i) += point.error_variance[static_cast<std::size_t>(i)];
        const PointM& place = places[static_cast<std::size_t>(i)];
        for (Eigen::Index c = 0; c < n; ++c) {
            const PointM& centre = ground.cells[static_cast<std::size_t>(c)].centre;
            double sum = 0.0;
            for (int k = 0; k < 16; ++k) {
                const double along = ground.length_m * (k % 4 - 1.5) / 4.0;
                const double across = ground.width_m * (static_cast<double>(k / 4) - 1.5) / 4.0;
                const PointM at{centre.x_m + along * ground.along.x_m - across * ground.along.y_m,
                                centre.y_m + along * ground.along.y_m + across * ground.along.x_m};
                sum += std::exp(-distance_m(place, at) / p.range_m);
            }
            between(i, c) = shared * sum / 16.0;
        }
    }
    const Eigen::LLT<Eigen::MatrixXd> factor(among + 1e-12 * variance * Eigen::MatrixXd::Identity(count, count));
    if (factor.info() != Eigen::Success)
        throw Error("two results without error stand at one place", "", "give the errors of the results");
    const Eigen::VectorXd y = Eigen::Map<const Eigen::VectorXd>(point.log_content.data(), count);
    const Eigen::VectorXd ones = Eigen::VectorXd::Ones(count), pull = factor.solve(ones);
    const double level_precision = pull.sum(), level = pull.dot(y) / level_precision;
    CellPattern pattern;
    pattern.mean = between.transpose() * factor.solve(y - level * ones);
    const Eigen::MatrixXd half = factor.matrixL().solve(between);
    const Eigen::VectorXd open = Eigen::VectorXd::Ones(n) - between.transpose() * pull;
    pattern.factor = factor_of(shared * cell_correlations(ground, p.range_m) - half.transpose() * half +
                               open * open.transpose() / level_precision);
    return pattern;
}

/// ln of what the places without anything in common leave in each piece of ground: pieces are cells, or patches of
/// several cells. A lognormal mean of so many places about its own mean.
class LoosePlaces {
 public:
    LoosePlaces(const GroundCells& ground, double place_ha) {
        const double side = std::sqrt(std::max(place_ha, 0.0) * 1e4);
        const double cell_m2 = ground.length_m * ground.width_m;
        if (side * side <= cell_m2) {
            places_ = cell_m2 / (side * side);
            for (std::size_t i = 0; i < ground.cells.size(); ++i) piece_.push_back(static_cast<int>(i));
            return;
        }
        std::map<std::pair<int, int>, int> number;
        for (const GroundCells::Cell& cell : ground.cells) {
            const std::pair<int, int> at{static_cast<int>(std::floor((cell.column + 0.5) * ground.length_m / side)),
                                         static_cast<int>(std::floor((cell.row + 0.5) * ground.width_m / side))};
            piece_.push_back(number.try_emplace(at, static_cast<int>(number.size())).first->second);
        }
    }
    /// Adds to a column of ln contents.
    template <typename Column>
    void add_to(Column&& log_content, double variance, std::uint64_t seed, std::uint64_t draw) const {
        if (!(variance > 0.0)) return;
        const double v = std::log1p(std::expm1(variance) / places_), sd = std::sqrt(v);
        for (std::size_t i = 0; i < piece_.size(); ++i)
            log_content[static_cast<Eigen::Index>(i)] +=
                sd * con::counter_normal(seed, draw, stream_range + static_cast<std::uint64_t>(piece_[i])) - 0.5 * v;
    }

 private:
    double places_ = 1.0;  ///< in a piece
    std::vector<int> piece_;
};

void check_spread(const SpreadInField& spread) {
    if (!(spread.patch_ha > 0.0) || !(spread.place_ha > 0.0))
        throw Error("patches and places have a size", "", "give hectares above 0");
    for (const WithinFieldPoint& point : spread.points) {
        const WithinFieldParameters& p = point.parameters;
        if (!(p.structured_share >= 0.0 && p.structured_share <= 1.0) || !(p.range_m > 0.0) || !(p.sd >= 0.0))
            throw Error("the spread within a field is out of its range", "",
                        "give a share from 0 to 1, a range above 0 and a standard deviation from 0");
        if (!spread.places.empty() &&
            (point.log_content.size() != spread.places.size() || point.error_variance.size() != spread.places.size()))
            throw Error("the results of a field and their places are not equally many", "",
                        "give the place of each result, in the same order");
    }
}

void check_grain(const FieldsTogether& posterior, const std::vector<GrainFromField>& from) {
    if (from.empty() || posterior.points.empty()) throw Error("grain comes from at least one field");
    double whole = 0.0;
    for (const GrainFromField& one : from) {
        check_spread(one.spread);
        if (!(one.share_of_field > 0.0) || !std::isfinite(one.share_of_field))
            throw Error(fmt::format("{} of a field's grain is no share", one.share_of_field), "",
                        "give more than 0; 1 is the whole field");
        if (!(one.share > 0.0)) throw Error("a field without a share in the load", "", "leave it out");
        if (one.spread.points.empty() && !(one.field_ha > 0.0))
            throw Error("the size of the field is not known", "", "draw its outline");
        const bool drawn_inside = !one.spread.points.empty() && one.share_of_field < 1.0;  // a whole field is itself
        if (one.ground == nullptr && (one.cut || drawn_inside))
            throw Error("a cut and a structure need the field's ground", "", "give its cells");
        whole += one.share;
    }
    if (std::abs(whole - 1.0) > 1e-9)
        throw Error(fmt::format("the shares of the load add up to {}", whole), "", "give shares that add up to 1");
    for (const FieldsTogether::Point& point : posterior.points)
        if (point.mean.size() != static_cast<Eigen::Index>(from.size()))
            throw Error("the fields of the load and what is known of them are not equally many");
}

double share_cut(const GrainFromField& one) {
    return one.cut ? share_of(*one.ground, *one.cut) : std::min(one.share_of_field, 1.0);
}

/// All of a field, or all that differs is patches: the law of R in closed form.
bool without_pattern(const GrainFromField& one) {
    return one.spread.points.empty() || (!one.cut && one.share_of_field >= 1.0);
}

double patches_of(const GrainFromField& one, double within_sd) {
    if (!one.spread.points.empty()) return 0.0;  // the whole field
    return log_variance_of_patches(within_sd, one.field_ha, share_cut(one), one.spread.patch_ha);
}

double mean_over(const Eigen::Ref<const Eigen::VectorXd>& cells, const GroundCells& ground, const CutCells& cut) {
    double sum = 0.0, whole = 0.0;
    for (const auto& [cell, part] : cut) {
        const double share = part * ground.cells[static_cast<std::size_t>(cell)].share;
        sum += share * cells[cell];
        whole += share;
    }
    return sum / whole;
}

/// ln R by draw.
Eigen::VectorXd log_relative(const GrainFromField& one, const Eigen::VectorXd& within_sd, const GrainSettings& settings,
                             std::uint64_t seed) {
    Eigen::VectorXd log_r(within_sd.size());
    if (without_pattern(one)) {
        for (Eigen::Index i = 0; i < log_r.size(); ++i) {
            const double v = patches_of(one, within_sd[i]);
            log_r[i] =
                std::sqrt(v) * con::counter_normal(seed, static_cast<std::uint64_t>(i) + 1, 2 * stream_range) - 0.5 * v;
        }
        return log_r;
    }
    const Eigen::MatrixXd cells = relative_contents(*one.ground, one.spread, within_sd, seed);
    const double share = std::min(one.share_of_field, 1.0);
    const auto count = static_cast<double>(one.ground->cells.size());
    for (Eigen::Index i = 0; i < log_r.size(); ++i) {
        const double u = con::counter_uniform(seed, static_cast<std::uint64_t>(i) + 1, 3 * stream_range);
        const CutCells cut = one.cut ? *one.cut
                             : settings.cut_as == CutAs::strip
                                 ? strip_of_ground(*one.ground, u * (1.0 - share), share)
                                 : block_of_ground(*one.ground, static_cast<int>(u * count), share);
        log_r[i] = std::log(mean_over(cells.col(i), *one.ground, cut));
    }
    return log_r;
}

double chance_without_don(const FieldsTogether::Point& point, Eigen::Index field) {
    return point.without_don.size() > 0 ? point.without_don[field] : 0.0;
}

/// A mixed load given R: its least known part drawn, the others as the lognormal with their mean and variance.
/// Parts that may hold no DON are in mean and variance; that all hold none is kept apart.
void add_mix(const FieldsTogether::Point& point, const Eigen::VectorXd& log_share, double weight, double z,
             con::NormalMixture& into) {
    const Eigen::Index parts = point.mean.size();
    Eigen::VectorXd some = Eigen::VectorXd::Ones(parts);
    for (Eigen::Index k = 0; k < parts; ++k) some[k] -= chance_without_don(point, k);
    const double none = (1.0 - some.array()).prod();
    into.none += weight * none;
    if (!(none < 1.0)) return;
    Eigen::Index least_known = 0;
    const double variance = point.covariance.diagonal().maxCoeff(&least_known);
    Eigen::VectorXd along = Eigen::VectorXd::Zero(point.mean.size());
    if (variance > 0.0) along = point.covariance.col(least_known) / std::sqrt(variance);
    const Eigen::MatrixXd left = point.covariance - along * along.transpose();
    const Eigen::VectorXd centre = point.mean + log_share + z * along;
    const double top = centre.maxCoeff();
    const Eigen::VectorXd content = (centre.array() - top + 0.5 * left.diagonal().array()).exp();
    const Eigen::VectorXd expected = some.cwiseProduct(content);
    const double first = expected.sum() / (1.0 - none);
    Eigen::MatrixXd products = expected * expected.transpose();
    products.diagonal() = expected.cwiseProduct(content);
    const double second = products.cwiseProduct(left.array().exp().matrix()).sum() / (1.0 - none);
    const double spread = std::max(std::log(second / (first * first)), 0.0);
    into.add(weight * (1.0 - none), top + std::log(first) - 0.5 * spread, std::sqrt(spread));
}

}  // namespace grain_parts

double log_variance_of_patches(double within_sd, double field_ha, double share_of_field, double patch_ha) {
    const double field = std::max(field_ha / patch_ha, 1.0);
    const double cut = std::clamp(share_of_field * field_ha / patch_ha, 1.0, field);
    if (share_of_field >= 1.0) return 0.0;
    return std::log1p(std::expm1(within_sd * within_sd) * (1.0 / cut - 1.0 / field));
}

Eigen::MatrixXd relative_contents(const GroundCells& ground, const SpreadInField& spread,
                                  const Eigen::VectorXd& within_sd, std::uint64_t seed) {
    grain_parts::check_spread(spread);
    const auto n = static_cast<Eigen::Index>(ground.cells.size());
    const Eigen::Index draws = within_sd.size();
    const bool own = !spread.places.empty();
    Eigen::VectorXd share(n);
    for (Eigen::Index c = 0; c < n; ++c) share[c] = ground.cells[static_cast<std::size_t>(c)].share;

    std::vector<WithinFieldPoint> points = spread.points;
    if (points.empty()) points.push_back({1.0, {0.0, 0.0, 1.0}, {}, {}});
    const grain_parts::LoosePlaces loose(ground, spread.points.empty() ? spread.patch_ha : spread.place_ha);
    std::vector<double> weights;
    for (const WithinFieldPoint& point : points) weights.push_back(point.weight);
    const std::vector<int> taken =
        grain_parts::taken_evenly(weights, draws, con::counter_uniform(seed, 0, 0), grain_parts::golden_step);

    Eigen::MatrixXd contents = Eigen::MatrixXd::Zero(n, draws);  // logs first
    for (std::size_t q = 0; q < points.size(); ++q) {
        const WithinFieldParameters& p = points[q].parameters;
        std::vector<Eigen::Index> mine;
        for (std::size_t i = 0; i < taken.size(); ++i)
            if (taken[i] == static_cast<int>(q)) mine.push_back(static_cast<Eigen::Index>(i));
        if (mine.empty()) continue;
        if (p.structured_share > 0.0) {
            const grain_parts::CellPattern pattern =
                own ? grain_parts::pattern_given_results(ground, spread.places, points[q])
                    : grain_parts::CellPattern{
                          Eigen::VectorXd::Zero(n),
                          grain_parts::factor_of(grain_parts::cell_correlations(ground, p.range_m))};
            Eigen::MatrixXd normals(n, static_cast<Eigen::Index>(mine.size()));
            for (std::size_t k = 0; k < mine.size(); ++k)
                for (Eigen::Index c = 0; c < n; ++c)
                    normals(c, static_cast<Eigen::Index>(k)) = con::counter_normal(
                        seed, static_cast<std::uint64_t>(mine[k]) + 1, static_cast<std::uint64_t>(c));
            normals = pattern.factor.triangularView<Eigen::Lower>() * normals;
            for (std::size_t k = 0; k < mine.size(); ++k) {
                const double scale = own ? 1.0 : within_sd[mine[k]] * std::sqrt(p.structured_share);
                contents.col(mine[k]) = pattern.mean + scale * normals.col(static_cast<Eigen::Index>(k));
            }
        }
        for (const Eigen::Index i : mine) {
            const double sd = own ? p.sd : within_sd[i];
            loose.add_to(contents.col(i), (1.0 - p.structured_share) * sd * sd, seed,
                         static_cast<std::uint64_t>(i) + 1);
        }
    }
    for (Eigen::Index i = 0; i < draws; ++i) {
        contents.col(i) = (contents.col(i).array() - contents.col(i).maxCoeff()).exp();
        contents.col(i) /= share.dot(contents.col(i)) / share.sum();
    }
    return contents;
}

GrainLaw law_of_grain(const FieldsTogether& posterior, const std::vector<GrainFromField>& from,
                      const GrainSettings& settings) {
    namespace parts = grain_parts;
    parts::check_grain(posterior, from);
    auto mixture = std::make_shared<GrainLaw::Mixture>();
    con::NormalMixture& law = mixture->law;
    if (from.size() == 1 && parts::without_pattern(from[0])) {
        for (const FieldsTogether::Point& point : posterior.points) {
            const double v = parts::patches_of(from[0], point.within_sd);
            const double none = parts::chance_without_don(point, 0);
            law.none += point.weight * none;
            law.add(point.weight * (1.0 - none), point.mean[0] - 0.5 * v, std::sqrt(point.covariance(0, 0) + v));
        }
        return GrainLaw(std::move(mixture));
    }
    // Draws by point, so that the law of field means keeps its weights exactly.
    std::vector<std::size_t> of_point;
    std::vector<double> weight;
    for (std::size_t k = 0; k < posterior.points.size(); ++k) {
        const double w = posterior.points[k].weight;
        const int times = std::max(parts::least_draws_at_a_point, static_cast<int>(std::ceil(w * settings.draws)));
        for (int i = 0; i < times; ++i) {
            of_point.push_back(k);
            weight.push_back(w / times);
        }
    }
    const auto draws = static_cast<Eigen::Index>(of_point.size());
    Eigen::VectorXd within_sd(draws);
    for (Eigen::Index i = 0; i < draws; ++i)
        within_sd[i] = posterior.points[of_point[static_cast<std::size_t>(i)]].within_sd;
    Eigen::MatrixXd log_share(static_cast<Eigen::Index>(from.size()), draws);
    bool anywhere = true;
    for (std::size_t p = 0; p < from.size(); ++p) {
        const std::uint64_t seed = settings.seed + 0x9e3779b97f4a7c15ull * p;
        log_share.row(static_cast<Eigen::Index>(p)) =
            (parts::log_relative(from[p], within_sd, settings, seed).array() + std::log(from[p].share)).transpose();
        anywhere = anywhere && !from[p].cut;
    }
    double expected = 0.0;
    for (const FieldsTogether::Point& point : posterior.points)
        for (std::size_t p = 0; p < from.size(); ++p) {
            const auto at = static_cast<Eigen::Index>(p);
            expected += point.weight * (1.0 - parts::chance_without_don(point, at)) * from[p].share *
                        std::exp(point.mean[at] + 0.5 * point.covariance(at, at));
        }
    for (Eigen::Index i = 0; i < draws; ++i) {
        const FieldsTogether::Point& point = posterior.points[of_point[static_cast<std::size_t>(i)]];
        const double w = weight[static_cast<std::size_t>(i)];
        if (from.size() == 1) {
            const double none = parts::chance_without_don(point, 0);
            law.none += w * none;
            law.add(w * (1.0 - none), point.mean[0] + log_share(0, i), std::sqrt(point.covariance(0, 0)));
        } else {
            parts::add_mix(
                point, log_share.col(i), w,
                con::counter_normal(settings.seed, static_cast<std::uint64_t>(i) + 1, 4 * parts::stream_range), law);
        }
    }
    if (anywhere) {  // then its mean is known: what the draws miss it by is noise of theirs
        const double off = std::log(expected / law.expectation_of_exp());
        for (double& mean : law.mean) mean += off;
    }
    return GrainLaw(std::move(mixture));
}

Content GrainLaw::content() const {
    return con::content_of(mixture_->law);
}

double GrainLaw::exceedance(double limit_mg_per_kg) const {
    return con::share_over(mixture_->law, limit_mg_per_kg);
}

Eigen::VectorXd GrainLaw::draws(int n, std::uint64_t seed) const {
    const con::NormalMixture& law = mixture_->law;
    std::vector<double> weight = law.weight;
    if (law.none > 0.0) weight.push_back(law.none);  // the last: no DON
    const std::vector<int> taken =
        grain_parts::taken_evenly(weight, n, con::counter_uniform(seed, 0, 0), grain_parts::radical_inverse);
    Eigen::VectorXd contents(n);
    for (Eigen::Index i = 0; i < contents.size(); ++i) {
        const auto k = static_cast<std::size_t>(taken[static_cast<std::size_t>(i)]);
        contents[i] = 0.0;
        if (k < law.weight.size())
            contents[i] =
                std::exp(law.mean[k] + law.sd[k] * con::counter_normal(seed, static_cast<std::uint64_t>(i) + 1, 1));
    }
    return contents;
}

Eigen::MatrixXd draws_of_cuts(const FieldsTogether& posterior, const GroundCells& ground, const SpreadInField& spread,
                              const std::vector<CutCells>& cuts, int n, std::uint64_t seed) {
    std::vector<double> weights;
    for (const FieldsTogether::Point& point : posterior.points) {
        if (point.mean.size() != 1) throw Error("cuts of one field need what is known of that field alone");
        weights.push_back(point.weight);
    }
    if (weights.empty() || cuts.empty()) throw Error("nothing is cut");
    const std::vector<int> taken =
        grain_parts::taken_evenly(weights, n, con::counter_uniform(seed, 0, 1), grain_parts::radical_inverse);
    Eigen::VectorXd within_sd(n);
    for (Eigen::Index i = 0; i < n; ++i)
        within_sd[i] = posterior.points[static_cast<std::size_t>(taken[static_cast<std::size_t>(i)])].within_sd;
    const Eigen::MatrixXd cells = relative_contents(ground, spread, within_sd, seed);
    Eigen::MatrixXd contents(n, static_cast<Eigen::Index>(cuts.size()));
    for (Eigen::Index i = 0; i < n; ++i) {
        const FieldsTogether::Point& point =
            posterior.points[static_cast<std::size_t>(taken[static_cast<std::size_t>(i)])];
        const bool none = con::counter_uniform(seed, static_cast<std::uint64_t>(i) + 1, 6 * grain_parts::stream_range) <
                          grain_parts::chance_without_don(point, 0);
        const double mean =
            none ? 0.0
                 : std::exp(point.mean[0] + std::sqrt(point.covariance(0, 0)) *
                                                con::counter_normal(seed, static_cast<std::uint64_t>(i) + 1,
                                                                    5 * grain_parts::stream_range));
        for (std::size_t k = 0; k < cuts.size(); ++k)
            contents(i, static_cast<Eigen::Index>(k)) = mean * grain_parts::mean_over(cells.col(i), ground, cuts[k]);
    }
    return contents;
}

Eigen::MatrixXd relative_contents_of_cuts(const FieldsTogether& posterior, const GroundCells& ground,
                                          const SpreadInField& spread, const std::vector<CutCells>& cuts, int n,
                                          std::uint64_t draws_seed, std::uint64_t seed) {
    std::vector<double> weights;
    for (const FieldsTogether::Point& point : posterior.points) {
        if (point.mean.size() != 1) throw Error("cuts of one field need what is known of that field alone");
        weights.push_back(point.weight);
    }
    if (weights.empty() || cuts.empty()) throw Error("nothing is cut");
    // The points of the field are those of the model, and are picked as its own draws pick them.
    const std::vector<int> taken =
        grain_parts::taken_evenly(weights, n, con::counter_uniform(draws_seed, 0, 0), grain_parts::radical_inverse);
    Eigen::VectorXd within_sd(n);
    for (Eigen::Index i = 0; i < n; ++i)
        within_sd[i] = posterior.points[static_cast<std::size_t>(taken[static_cast<std::size_t>(i)])].within_sd;
    const Eigen::MatrixXd cells = relative_contents(ground, spread, within_sd, seed);
    Eigen::MatrixXd relative(n, static_cast<Eigen::Index>(cuts.size()));
    for (Eigen::Index i = 0; i < n; ++i)
        for (std::size_t k = 0; k < cuts.size(); ++k)
            relative(i, static_cast<Eigen::Index>(k)) = grain_parts::mean_over(cells.col(i), ground, cuts[k]);
    return relative;
}

}  // namespace models
