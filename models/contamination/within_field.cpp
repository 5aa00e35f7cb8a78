#include "models/contamination/within_field.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

#include <fmt/format.h>

#include "models/contamination/normal.h"
#include "models/contamination/parallel.h"
#include "models/contamination/parameter_points.h"
#include "models/contamination/within_field_law.h"
#include "models/contamination/within_field_words.h"
#include "models/error.h"
#include "models/spoken.h"

namespace models {

namespace con = contamination;

namespace {

constexpr int map_points = 12;  ///< of the structured case, for maps
constexpr int left_out_points = 64;
/// Of the mean squared error within a field among several: less, and it would be drawn on the word of the others alone.
constexpr double least_skill_beside_others = 0.05;
constexpr double sought_share = 0.7;
/// What not knowing share, range and sd costs the log evidence beside the likelihood of the truth, found by simulation
/// (tests/bench/structure_within_fields.cpp).
constexpr double cost_of_not_knowing = 0.5;

void check_placed(const PlacedResult& result, std::size_t index) {
    const auto refuse = [&](const char* what, const char* mend) {
        throw Error(what, fmt::format("placed result {}", index + 1), mend);
    };
    if (result.reading == Reading::invalid) refuse("a void reading tells nothing", "leave it out");
    if (!std::isfinite(result.place.x_m) || !std::isfinite(result.place.y_m))
        refuse("the place is not a number", "give metres east and north");
    if (!std::isfinite(result.don_mg_per_kg) || !(result.don_mg_per_kg > 0.0))
        refuse("the content is not above zero", "give what was read, or the bound that it fell below");
    if (!std::isfinite(result.log_error_variance) || !(result.log_error_variance >= 0.0))
        refuse("the error variance is not a number from 0", "give the variance of the log of the reading");
}

con::FieldOfPlaces placed_field(const std::vector<PlacedResult>& results, std::size_t field,
                                std::vector<std::size_t> indices, const WithinFieldSettings& settings) {
    std::stable_partition(indices.begin(), indices.end(),
                          [&](std::size_t i) { return results[i].reading == Reading::value; });
    con::FieldOfPlaces out;
    out.field = field;
    const auto n = static_cast<Eigen::Index>(indices.size());
    out.log_content.resize(n);
    out.error_variance.resize(n);
    out.side.resize(n);
    out.distance_m.resize(n, n);
    for (Eigen::Index i = 0; i < n; ++i) {
        const PlacedResult& r = results[indices[static_cast<std::size_t>(i)]];
        out.log_content[i] = std::log(r.don_mg_per_kg) + 0.5 * r.log_error_variance;
        out.error_variance[i] = r.log_error_variance;
        out.side[i] = r.reading == Reading::value ? 0.0 : r.reading == Reading::below ? -1.0 : 1.0;
        out.values += r.reading == Reading::value ? 1 : 0;
        bool new_place = true;
        for (Eigen::Index j = 0; j <= i; ++j) {
            const double d = distance_m(r.place, results[indices[static_cast<std::size_t>(j)]].place);
            out.distance_m(i, j) = out.distance_m(j, i) = d;
            if (j == i || d > 0.0) continue;
            out.same_place.emplace_back(i, j);
            new_place = false;
        }
        out.places += new_place ? 1 : 0;
    }
    out.result = std::move(indices);
    if (!settings.known_means.empty()) {
        if (field >= settings.known_means.size())
            throw Error(fmt::format("no mean is given for field number {}", field), "",
                        "give one for every field, or none");
        const KnownFieldMean& known = settings.known_means[field];
        if (!std::isfinite(known.log_content) || !(known.variance >= 0.0))
            throw Error(fmt::format("the mean of field number {} is not a number with a variance", field), "",
                        "give ln mg/kg and a variance from 0");
        out.flat_mean = false;
        out.known_mean = known.log_content;
        out.known_mean_variance = known.variance;
    }
    return out;
}

/// Fields in the order of their numbers; those that can tell of scatter, or all.
std::vector<con::FieldOfPlaces> placed_fields(const std::vector<PlacedResult>& results,
                                              const WithinFieldSettings& settings, bool all) {
    std::map<std::size_t, std::vector<std::size_t>> by_field;
    for (std::size_t i = 0; i < results.size(); ++i) {
        check_placed(results[i], i);
        by_field[results[i].field].push_back(i);
    }
    std::vector<con::FieldOfPlaces> fields;
    for (auto& [field, indices] : by_field) {
        con::FieldOfPlaces readied = placed_field(results, field, std::move(indices), settings);
        if (readied.values > 0 && (all || readied.places > 1)) fields.push_back(std::move(readied));
    }
    return fields;
}

/// Median distance to the nearest other place, and half the widest field; the second at least twice the first.
struct RangesSought {
    double log_low = 0.0, log_high = 0.0;
    explicit RangesSought(const std::vector<con::FieldOfPlaces>& fields) {
        std::vector<double> nearest;
        double widest = 0.0;
        for (const con::FieldOfPlaces& field : fields) {
            widest = std::max(widest, field.distance_m.maxCoeff());
            for (Eigen::Index i = 0; i < field.size(); ++i) {
                double near = 0.0;
                for (Eigen::Index j = 0; j < field.size(); ++j) {
                    const double d = field.distance_m(i, j);
                    if (d > 0.0 && (near == 0.0 || d < near)) near = d;
                }
                nearest.push_back(near);
            }
        }
        const auto middle = nearest.begin() + static_cast<std::ptrdiff_t>(nearest.size() / 2);
        std::nth_element(nearest.begin(), middle, nearest.end());
        log_low = std::log(*middle);
        log_high = std::max(std::log(0.5 * widest), log_low + std::log(2.0));
    }
    double at(double share) const { return std::exp(log_low + share * (log_high - log_low)); }
};

/// The posterior of one case, without structure or with it: points with their weights within the case.
struct StructureCase {
    std::vector<WithinFieldParameters> parameters;
    Eigen::VectorXd weight;
    Eigen::MatrixXd chance;  ///< points x fields: of structure in this field
    double log_evidence = 0.0, effective = 0.0;
};

double log_of_two(double a, double b) {
    const double top = std::max(a, b);
    return top + std::log(std::exp(a - top) + std::exp(b - top));
}

class StructureFinding {
 public:
    StructureFinding(const std::vector<PlacedResult>& results, const WithinFieldSettings& settings,
                     const Progress& progress)
        : settings_(settings), fields_(placed_fields(results, settings, false)) {
        for (const con::FieldOfPlaces& field : fields_) {
            out_.results += static_cast<int>(field.size());
            out_.bounds += static_cast<int>(field.size() - field.values);
        }
        out_.fields = static_cast<int>(fields_.size());
        if (out_.results - out_.bounds - out_.fields < 2) {
            out_.reason = con::words_of_structure(out_, settings_.least_ratio);
            return;
        }
        const RangesSought ranges(fields_);
        plain_ = integrate(1, std::max(24, settings.points / 4), ranges, progress);
        structured_ = integrate(3, settings.points, ranges, progress);
        out_.log_evidence_plain = plain_.log_evidence;
        out_.log_evidence_structured = structured_.log_evidence;
        const double log_ratio = structured_.log_evidence - plain_.log_evidence;
        out_.evidence_ratio = std::exp(std::min(log_ratio, 690.0));
        out_.chance_structured = 1.0 / (1.0 + std::exp(-log_ratio));
        out_.effective_points = structured_.effective;
        say_parameters();
        describe_fields(progress);
        foresee(ranges);
        decide();
    }
    WithinFieldStructure take() { return std::move(out_); }

 private:
    StructureCase integrate(int dimensions, int points, const RangesSought& ranges, const Progress& progress) const {
        const auto parameters_at = [&](const Eigen::RowVectorXd& standard) {
            WithinFieldParameters p;
            p.sd = settings_.sd_median * std::exp(settings_.sd_spread * standard[0]);
            if (dimensions == 1) return p;
            p.structured_share = std::clamp(normal::cdf(standard[1]), 1e-12, 1.0);
            p.range_m = ranges.at(normal::cdf(standard[2]));
            return p;
        };
        const auto count = static_cast<Eigen::Index>(fields_.size());
        Eigen::MatrixXd chance;  // of the last round, whose points are those that count
        const con::WeightedPoints found = con::integrate_parameters(
            points, dimensions, settings_.enough_effective * points / settings_.points, 1,
            [&](const Eigen::MatrixXd& at, const con::WeightedPoints&) {
                Eigen::VectorXd log_evidence(at.rows());
                chance.setConstant(at.rows(), count, dimensions == 1 ? 0.0 : 1.0);
                con::for_each_index(
                    static_cast<int>(at.rows()), settings_.threads,
                    [&](int i) {
                        const WithinFieldParameters p = parameters_at(at.row(i));
                        log_evidence[i] = dimensions > 1 && count > 1 ? of_all_or_some(p, i, chance) : of_all(p);
                    },
                    progress, phrase("structure within fields"));
                return log_evidence;
            });
        StructureCase one;
        // Points without weight would only cost time from here on.
        const double least = 1e-6 * found.weight.maxCoeff();
        std::vector<Eigen::Index> kept;
        for (Eigen::Index i = 0; i < found.weight.size(); ++i)
            if (found.weight[i] >= least) kept.push_back(i);
        for (const Eigen::Index i : kept) one.parameters.push_back(parameters_at(found.points.row(i)));
        one.weight = found.weight(kept);
        one.weight /= one.weight.sum();
        one.chance = chance(kept, Eigen::all);
        one.log_evidence = found.log_evidence;
        one.effective = found.effective;
        return one;
    }

    double of_all(const WithinFieldParameters& p) const {
        double sum = 0.0;
        for (const con::FieldOfPlaces& field : fields_) sum += con::field_at(field, p).log_likelihood;
        return sum;
    }

    /// Structure in all fields, or in some share of them; into `chance` the chance of each field at this point.
    double of_all_or_some(const WithinFieldParameters& p, Eigen::Index row, Eigen::MatrixXd& chance) const {
        constexpr int parts = 8;  // of the share of fields that have it, uniform
        WithinFieldParameters without = p;
        without.structured_share = 0.0;
        const auto count = static_cast<Eigen::Index>(fields_.size());
        Eigen::ArrayXd log_odds(count), plain(count);
        for (Eigen::Index f = 0; f < count; ++f) {
            plain[f] = con::field_at(fields_[static_cast<std::size_t>(f)], without).log_likelihood;
            log_odds[f] = con::field_at(fields_[static_cast<std::size_t>(f)], p).log_likelihood - plain[f];
        }
        // Ratios over no structure in any field: of all fields, then of each share.
        Eigen::ArrayXd log_ratio(1 + parts);
        Eigen::ArrayXXd of_field = Eigen::ArrayXXd::Ones(1 + parts, count);
        log_ratio[0] = log_odds.sum();
        for (int k = 0; k < parts; ++k) {
            const double share = (k + 0.5) / parts;
            log_ratio[1 + k] = -std::log(static_cast<double>(parts));
            for (Eigen::Index f = 0; f < count; ++f) {
                const double with_it = std::log(share) + log_odds[f], without_it = std::log1p(-share);
                log_ratio[1 + k] += log_of_two(with_it, without_it);
                of_field(1 + k, f) = 1.0 / (1.0 + std::exp(without_it - with_it));
            }
        }
        const double top = log_ratio.maxCoeff();
        const Eigen::ArrayXd weight = (log_ratio - top).exp();
        chance.row(row) = (of_field.colwise() * weight).colwise().sum() / weight.sum();
        return plain.sum() + top + std::log(0.5 * weight.sum());
    }

    static LikelyRange range_of(std::vector<std::pair<double, double>> value_and_weight) {
        std::sort(value_and_weight.begin(), value_and_weight.end());
        const auto quantile = [&](double p) {
            double sum = 0.0;
            for (const auto& [value, weight] : value_and_weight) {
                sum += weight;
                if (sum >= p) return value;
            }
            return value_and_weight.back().first;
        };
        return {quantile(0.5), quantile(0.05), quantile(0.95)};
    }

    void say_parameters() {
        std::vector<std::pair<double, double>> sd, share, range;
        const double chance = out_.chance_structured;
        for (std::size_t i = 0; i < plain_.parameters.size(); ++i)
            sd.emplace_back(plain_.parameters[i].sd, (1.0 - chance) * plain_.weight[static_cast<Eigen::Index>(i)]);
        for (std::size_t i = 0; i < structured_.parameters.size(); ++i) {
            const double weight = structured_.weight[static_cast<Eigen::Index>(i)];
            sd.emplace_back(structured_.parameters[i].sd, chance * weight);
            share.emplace_back(structured_.parameters[i].structured_share, weight);
            range.emplace_back(structured_.parameters[i].range_m, weight);
        }
        out_.sd = range_of(std::move(sd));
        out_.structured_share = range_of(std::move(share));
        out_.range_m = range_of(std::move(range));
    }

    /// At most so many points of equal weight instead of all, taken evenly in the order of their ranges (of their sd
    /// without structure), and how many times each.
    static std::vector<std::pair<std::size_t, int>> representatives(const StructureCase& one, int count) {
        std::vector<std::size_t> order(one.parameters.size());
        std::iota(order.begin(), order.end(), std::size_t{0});
        std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
            const WithinFieldParameters &p = one.parameters[a], &q = one.parameters[b];
            return p.range_m != q.range_m ? p.range_m < q.range_m : p.sd < q.sd;
        });
        std::vector<std::pair<std::size_t, int>> taken;
        double sum = 0.0;
        int all = 0;
        for (const std::size_t i : order) {
            sum += one.weight[static_cast<Eigen::Index>(i)];
            int times = 0;
            for (; all < count && (sum >= (all + 0.5) / count || i == order.back()); ++all) ++times;
            if (times > 0) taken.emplace_back(i, times);
        }
        return taken;
    }

    /// Of one case: predictions of each value left out, and how well the case foresees it.
    struct LeftOutOfField {
        Eigen::VectorXd mean, log_density;  ///< log density within the case
    };

    LeftOutOfField left_out_of(const con::FieldOfPlaces& field, const StructureCase& one) const {
        const auto chosen = representatives(one, left_out_points);
        const auto points = static_cast<int>(chosen.size());
        Eigen::ArrayXd share(points);
        for (Eigen::Index k = 0; k < points; ++k)
            share[k] = static_cast<double>(chosen[static_cast<std::size_t>(k)].second) / left_out_points;
        Eigen::MatrixXd mean(field.values, points), log_density(field.values, points);
        con::for_each_index(points, settings_.threads, [&](int k) {
            const WithinFieldParameters& p = one.parameters[chosen[static_cast<std::size_t>(k)].first];
            const con::FieldAtParameters at = con::field_at(field, p);
            const con::FieldLeftOut left = con::left_out(field, p, at);
            mean.col(k) = left.mean;
            log_density.col(k) =
                -0.5 * ((field.log_content.head(field.values) - left.mean).array().square() / left.variance.array() +
                        left.variance.array().log());
        });
        LeftOutOfField out;
        out.mean.resize(field.values);
        out.log_density.resize(field.values);
        for (Eigen::Index i = 0; i < field.values; ++i) {
            // Weights of the posterior without this value: w / p(value | others); their sum is 1 / p(value) of the
            // case.
            const double least = log_density.row(i).minCoeff();
            const Eigen::ArrayXd weight = share * (least - log_density.row(i).transpose().array()).exp();
            out.mean[i] = (weight * mean.row(i).transpose().array()).sum() / weight.sum();
            out.log_density[i] = least - std::log(weight.sum());
        }
        return out;
    }

    /// What all results say of one field: points with structure in it, and points without.
    struct OfField {
        StructureCase structured, plain;
        double chance = 0.0;  ///< of structure in it
    };

    OfField of_field(std::size_t f) const {
        OfField out;
        const double world = out_.chance_structured;
        const Eigen::VectorXd chance = structured_.chance.col(static_cast<Eigen::Index>(f));
        out.structured.parameters = structured_.parameters;
        out.structured.weight = structured_.weight.cwiseProduct(chance);
        const double share = out.structured.weight.sum();
        out.chance = std::min(world * share, 1.0);
        out.structured.weight /= share;
        out.plain = plain_;
        out.plain.weight *= 1.0 - world;
        if (fields_.size() > 1) {
            const Eigen::Index before = out.plain.weight.size(), more = structured_.weight.size();
            out.plain.weight.conservativeResize(before + more);
            out.plain.weight.tail(more) = world * structured_.weight.array() * (1.0 - chance.array());
            for (WithinFieldParameters p : structured_.parameters) {
                p.structured_share = 0.0;
                out.plain.parameters.push_back(p);
            }
        }
        const double rest = out.plain.weight.sum();
        if (rest > 0.0) out.plain.weight /= rest;
        return out;
    }

    void describe_fields(const Progress& progress) {
        double all_plain = 0.0, all_averaged = 0.0;
        for (std::size_t f = 0; f < fields_.size(); ++f) {
            progress.step(phrase("structure within fields"), 1.0);
            const con::FieldOfPlaces& field = fields_[f];
            WithinFieldStructure::Field& told = out_.by_field.emplace_back();
            told.field = field.field;
            told.results = field.result;
            told.places = static_cast<int>(field.places);
            told.bounds = static_cast<int>(field.size() - field.values);
            const OfField known = of_field(f);
            told.chance_structured = known.chance;
            keep_points(field, known, told);
            if (field.values < 2 && field.flat_mean) continue;  // nothing is left to predict it from
            const LeftOutOfField by_mean = left_out_of(field, plain_), plain = left_out_of(field, known.plain),
                                 structured = left_out_of(field, known.structured);
            double from_mean = 0.0, averaged = 0.0;
            for (Eigen::Index i = 0; i < field.values; ++i) {
                // The chance of structure without this value.
                const double log_odds = std::log(known.chance) - std::log1p(-known.chance) - structured.log_density[i] +
                                        plain.log_density[i];
                const double chance = 1.0 / (1.0 + std::exp(-log_odds));
                const double predicted = chance * structured.mean[i] + (1.0 - chance) * plain.mean[i];
                from_mean += std::pow(field.log_content[i] - by_mean.mean[i], 2);
                averaged += std::pow(field.log_content[i] - predicted, 2);
            }
            told.leave_one_out_skill = from_mean > 0.0 ? 1.0 - averaged / from_mean : 0.0;
            all_plain += from_mean;
            all_averaged += averaged;
        }
        out_.leave_one_out_skill = all_plain > 0.0 ? 1.0 - all_averaged / all_plain : 0.0;
    }

    /// For a map: the case without structure as one point, the other as a few.
    void keep_points(const con::FieldOfPlaces& field, const OfField& known, WithinFieldStructure::Field& told) const {
        const bool plain_too = known.chance < 0.999;
        if (plain_too) {
            double variance = 0.0;
            for (std::size_t i = 0; i < known.plain.parameters.size(); ++i)
                variance +=
                    known.plain.weight[static_cast<Eigen::Index>(i)] * std::pow(known.plain.parameters[i].sd, 2);
            add_point(field, 1.0 - known.chance, {std::sqrt(variance), 0.0, 1.0}, told);
        }
        const double each = (plain_too ? known.chance : 1.0) / map_points;
        for (const auto& [i, times] : representatives(known.structured, map_points))
            add_point(field, times * each, known.structured.parameters[i], told);
    }

    static void add_point(const con::FieldOfPlaces& field, double weight, const WithinFieldParameters& parameters,
                          WithinFieldStructure::Field& told) {
        const con::FieldAtParameters at = con::field_at(field, parameters);
        told.points.push_back({weight, parameters, std::vector<double>(at.log_content.begin(), at.log_content.end()),
                               std::vector<double>(at.error_variance.begin(), at.error_variance.end())});
    }

    /// How likely these places would have shown a structure of the middle range that is looked for.
    void foresee(const RangesSought& ranges) {
        out_.sought = {out_.sd.median, sought_share, ranges.at(0.5)};
        con::RatioMoments all;
        for (const con::FieldOfPlaces& field : fields_) {
            const con::RatioMoments one = con::ratio_under(field, out_.sought);
            all.mean += one.mean;
            all.variance += one.variance;
        }
        if (!(all.variance > 0.0)) return;
        const double needed =
            cost_of_not_knowing + std::log(settings_.least_ratio) + (fields_.size() > 1 ? std::log(2.0) : 0.0);
        out_.power = normal::cdf((all.mean - needed) / std::sqrt(all.variance));
    }

    void decide() {
        out_.supported = out_.evidence_ratio >= settings_.least_ratio && out_.leave_one_out_skill > 0.0;
        const double least_chance = settings_.least_ratio / (1.0 + settings_.least_ratio);
        const double least_skill = fields_.size() > 1 ? least_skill_beside_others : 0.0;
        for (WithinFieldStructure::Field& field : out_.by_field)
            field.mapped = out_.supported && field.places >= fewest_places_of_a_surface &&
                           field.chance_structured >= least_chance && field.leave_one_out_skill > least_skill;
        out_.reason = con::words_of_structure(out_, settings_.least_ratio);
    }

    const WithinFieldSettings& settings_;
    std::vector<con::FieldOfPlaces> fields_;
    StructureCase plain_, structured_;
    WithinFieldStructure out_;
};

}  // namespace

WithinFieldStructure within_field_structure(const std::vector<PlacedResult>& results,
                                            const WithinFieldSettings& settings, const Progress& progress) {
    if (!(settings.least_ratio >= 2.0)) throw Error("an evidence ratio under 2 cries wolf", "", "ask for at least 2");
    return StructureFinding(results, settings, progress).take();
}

double within_field_log_likelihood(const std::vector<PlacedResult>& results, const WithinFieldParameters& parameters,
                                   const WithinFieldSettings& settings) {
    double sum = 0.0;
    for (const con::FieldOfPlaces& field : placed_fields(results, settings, true))
        sum += con::field_at(field, parameters).log_likelihood;
    return sum;
}

}  // namespace models
