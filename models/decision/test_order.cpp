#include "models/decision/test_order.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numeric>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "models/contamination/counter_random.h"
#include "models/contamination/parallel.h"
#include "models/decision/expected.h"
#include "models/decision/normal_value.h"
#include "models/error.h"

namespace models {

namespace test_order_parts {

using Index = Eigen::Index;

/// Classes of a field's draws: fine where that is cheap, coarser where thousands of fields are asked about.
Index most_classes(Index unsure_fields) {
    return unsure_fields <= 256 ? 128 : 64;
}

/// Why the decision on a field can no longer be changed by a test; empty while it is open.
std::string closed_because(const FieldToTest& field, const TestOrderProblem& problem) {
    if (field.status == FieldStatus::delivered) return "Delivered: test its loads instead";
    if (field.status == FieldStatus::cut) return "Already cut: test its loads instead";
    if (!field.expected_cut_date || !problem.today) return "";
    const LocalDay result = *problem.today + std::chrono::days(problem.days_to_result);
    if (*field.expected_cut_date >= result) return "";
    if (*field.expected_cut_date < *problem.today) {
        return fmt::format("Was to be cut on {}: test its loads instead", to_short_text(*field.expected_cut_date));
    }
    return fmt::format("Cut on {}, before a result on {}: test its loads instead",
                       to_short_text(*field.expected_cut_date), to_short_text(result));
}

void check(const TestOrderProblem& problem) {
    std::set<std::string> names;
    for (const FieldToTest& field : problem.fields) {
        if (!names.insert(field.field).second) throw Error("the field is listed twice", "field " + field.field);
        if (!(field.tonnes > 0.0) || !std::isfinite(field.tonnes)) {
            throw Error(fmt::format("{} t cannot be delivered from it", field.tonnes), "field " + field.field,
                        "give its area and yield, or its tonnes");
        }
    }
    const auto& costs = problem.costs;
    if (costs.wrong_acceptance_per_t.has_value() != costs.wrong_rejection_per_t.has_value()) {
        throw Error("only one of the two costs of a wrong decision is given", "costs",
                    "give both wrong_acceptance_per_t and wrong_rejection_per_t, or neither");
    }
    for (const auto& cost :
         {costs.wrong_acceptance_per_t, costs.wrong_rejection_per_t, costs.test, costs.sample, costs.hour}) {
        if (cost && !(*cost >= 0.0 && std::isfinite(*cost))) {
            throw Error(fmt::format("a cost of {} is none", *cost), "costs", "write 0 or more");
        }
    }
    if (!(costs.hours_per_test >= 0.0 && std::isfinite(costs.hours_per_test))) {
        throw Error(fmt::format("a test does not take {} hours", costs.hours_per_test), "", "write 0 or more");
    }
    if (problem.tests < 0) throw Error(fmt::format("{} tests cannot be placed", problem.tests));
    if (problem.draws_mg_per_kg.size() == 0) return;
    if (problem.draws_mg_per_kg.cols() != static_cast<Index>(problem.fields.size())) {
        throw Error(fmt::format("there are draws of {} fields for {} fields", problem.draws_mg_per_kg.cols(),
                                problem.fields.size()));
    }
    if (!(problem.draws_mg_per_kg.array() >= 0.0).all() || !problem.draws_mg_per_kg.allFinite()) {
        throw Error("a content that is drawn is not a number of 0 or more");
    }
}

/// Expected losses of a wrong decision about each field, and who is still open to one.
struct Stakes {
    Eigen::VectorXd accepted, rejected;  ///< A and R; 0 where the decision is closed
    std::vector<std::string> closed;     ///< why; empty: open
    bool money = false;
};

Stakes stakes_of(const TestOrderProblem& problem) {
    Stakes stakes;
    const auto n = static_cast<Index>(problem.fields.size());
    stakes.accepted = stakes.rejected = Eigen::VectorXd::Zero(n);
    stakes.money = problem.costs.wrong_acceptance_per_t.has_value();
    for (Index f = 0; f < n; ++f) {
        const FieldToTest& field = problem.fields[static_cast<std::size_t>(f)];
        stakes.closed.push_back(closed_because(field, problem));
        if (!stakes.closed.back().empty()) continue;
        stakes.accepted[f] =
            std::max(field.tonnes, problem.outbound_lot_t) * problem.costs.wrong_acceptance_per_t.value_or(1.0);
        stakes.rejected[f] = field.tonnes * problem.costs.wrong_rejection_per_t.value_or(1.0);
    }
    return stakes;
}

/// What one more test of a field brings, on the field itself and on the others.
struct Gain {
    double itself = 0.0, others = 0.0;
    int others_informed = 0;
    double all() const { return itself + others; }
};

/// The joint draws, made ready for asking "what if this field were tested".
class Draws {
 public:
    Draws(const TestOrderProblem& problem, const Stakes& stakes)
        : problem_(problem), stakes_(stakes), n_(problem.draws_mg_per_kg.rows()) {
        const BreakingPoint point = breaking_point(problem.limit);
        const Index fields = problem.draws_mg_per_kg.cols();
        draws_ = problem.draws_mg_per_kg;
        for (Index f = 0; f < fields; ++f) {
            // Grain without any DON reads like the least content that is drawn of the field: below the range.
            double least = 1.0;
            for (const double content : draws_.col(f))
                if (content > 0.0) least = std::min(least, content);
            draws_.col(f) = draws_.col(f).cwiseMax(least);
        }
        log_draws_ = draws_.array().log();
        exceedance_ = Eigen::VectorXd::Zero(fields);
        for (Index f = 0; f < fields; ++f)
            exceedance_[f] = exceedance_of_draws(problem.draws_mg_per_kg.col(f), problem.limit);
        for (Index f = 0; f < fields; ++f) {
            const bool unsure = exceedance_[f] > 0.0 && exceedance_[f] < 1.0;
            if (unsure && stakes.closed[static_cast<std::size_t>(f)].empty()) unsure_.push_back(f);
        }
        over_.resize(n_, static_cast<Index>(unsure_.size()));
        for (std::size_t c = 0; c < unsure_.size(); ++c) {
            for (Index s = 0; s < n_; ++s) {
                over_(s, static_cast<Index>(c)) = point.breaks(problem.draws_mg_per_kg(s, unsure_[c])) ? 1.0F : 0.0F;
            }
        }
        over_sd_.resize(over_.cols());
        for (Index c = 0; c < over_.cols(); ++c) {
            const double p = exceedance_[unsure_[static_cast<std::size_t>(c)]];
            over_sd_[c] = std::sqrt(p * (1.0 - p));
        }
    }

    const Eigen::VectorXd& exceedance() const { return exceedance_; }
    const Eigen::MatrixXd& log_draws() const { return log_draws_; }

    double loss_now() const {
        double sum = 0.0;
        for (const Index f : unsure_) sum += loss(f, exceedance_[f], 1.0);
        return sum;
    }

    Gain gain_of(Index field) const {
        const auto [edges, order] = classes_of(field);
        const auto classes = static_cast<Index>(edges.size()) - 1;

        // Draws in each class, draws of each unsure field that break the limit in each class, and the class's content.
        RowMajor counts = RowMajor::Zero(classes, over_.cols());
        Eigen::VectorXd size(classes), centre(classes);
        for (Index b = 0; b < classes; ++b) {
            double sum = 0.0;
            for (Index i = edges[static_cast<std::size_t>(b)]; i < edges[static_cast<std::size_t>(b) + 1]; ++i) {
                const Index draw = order[static_cast<std::size_t>(i)];
                counts.row(b) += over_.row(draw);
                sum += log_draws_(draw, field);
            }
            size[b] = static_cast<double>(edges[static_cast<std::size_t>(b) + 1] - edges[static_cast<std::size_t>(b)]);
            centre[b] = sum / size[b];
        }

        const std::vector<Index> informed = informed_by(field, counts, size, centre);
        if (informed.empty()) return {};
        Eigen::MatrixXf breaking(classes, static_cast<Index>(informed.size()));
        for (std::size_t c = 0; c < informed.size(); ++c) {
            breaking.col(static_cast<Index>(c)) = counts.col(informed[c]) / static_cast<float>(n_);
        }
        const Eigen::MatrixXd weights = outcome_weights(field, order, size, centre);
        const Eigen::VectorXd chance = weights * size / static_cast<double>(n_);
        // The one product that grows with the square of the fields; seven digits are far more than the draws know.
        const Eigen::MatrixXf joint = weights.cast<float>() * breaking;

        Gain gain;
        for (std::size_t c = 0; c < informed.size(); ++c) {
            const Index f = unsure_[static_cast<std::size_t>(informed[c])];
            double after = 0.0;
            for (Index k = 0; k < joint.rows(); ++k) {
                after += loss(f, static_cast<double>(joint(k, static_cast<Index>(c))), chance[k]);
            }
            const double fall = std::max(0.0, loss(f, exceedance_[f], 1.0) - after);
            if (f == field) {
                gain.itself = fall;
            } else {
                gain.others += fall;
                const double stake = std::min(stakes_.accepted[f], stakes_.rejected[f]);
                if (fall > 0.01 * stake) ++gain.others_informed;
            }
        }
        return gain;
    }

    /// Fisher information of one reading about the log content at the field's median, turned over: what the reading is
    /// worth as a normal error variance, results outside the working range included.
    double error_variance(Index field) const {
        const Eigen::VectorXd column = draws_.col(field);
        const double content = quantile_of_draws(column, 0.5);
        constexpr double step = 0.1;
        Eigen::ArrayXd contents(3);
        contents << content * std::exp(-step), content, content * std::exp(step);
        constexpr int readings = 32;
        double information = 0.0;
        for (int k = 0; k < readings; ++k) {
            const auto [u, v] = spread(k);
            const Eigen::ArrayXd density = problem_.law.log_density(problem_.law.sample(content, u, v), contents);
            const double bend = density[0] - 2.0 * density[1] + density[2];
            if (std::isfinite(bend)) information -= bend / (step * step) / readings;
        }
        return 1.0 / std::max(information, 1e-6);
    }

 private:
    using RowMajor = Eigen::Matrix<float, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

    /// The better decision's loss where breaking the limit has this part of a chance: min(A p, R (chance - p)).
    double loss(Index field, double breaking, double chance) const {
        return std::min(stakes_.accepted[field] * breaking, stakes_.rejected[field] * (chance - breaking));
    }

    /// Draws of a field in ascending order and where classes begin in it; the limit is always between two classes.
    std::pair<std::vector<Index>, std::vector<Index>> classes_of(Index field) const {
        std::vector<Index> order(static_cast<std::size_t>(n_));
        std::iota(order.begin(), order.end(), Index{0});
        std::stable_sort(order.begin(), order.end(),
                         [&](Index a, Index b) { return log_draws_(a, field) < log_draws_(b, field); });
        std::set<Index> edges;
        const Index classes = std::min(n_, most_classes(over_.cols()));
        for (Index b = 0; b <= classes; ++b) edges.insert(b * n_ / classes);
        edges.insert(n_ - static_cast<Index>(std::llround(exceedance_[field] * static_cast<double>(n_))));
        return {{edges.begin(), edges.end()}, std::move(order)};
    }

    /// Columns of `over_` that the field's content says something about, itself included where it is unsure.
    std::vector<Index> informed_by(Index field, const RowMajor& counts, const Eigen::VectorXd& size,
                                   const Eigen::VectorXd& centre) const {
        std::vector<Index> informed;
        const double n = static_cast<double>(n_);
        const double mean = size.dot(centre) / n;
        const Eigen::VectorXd from_mean = centre.array() - mean;
        const double sd = std::sqrt(size.dot(from_mean.cwiseAbs2()) / n);
        if (!(sd > 0.0)) return informed;
        const Eigen::VectorXd covariance = counts.transpose().cast<double>() * from_mean / n;
        for (Index c = 0; c < over_.cols(); ++c) {
            const bool itself = unsure_[static_cast<std::size_t>(c)] == field;
            if (itself || std::abs(covariance[c]) / (sd * over_sd_[c]) > 3.0 / std::sqrt(n)) informed.push_back(c);
        }
        return informed;
    }

    std::pair<double, double> spread(int k) const {
        // Kronecker sequence of the plastic number: even in the square for every count (Niederreiter 1992, ch. 3).
        const auto fraction = [](double x) { return std::clamp(x - std::floor(x), 1e-9, 1.0 - 1e-9); };
        return {fraction(contamination::counter_uniform(problem_.seed, 0, 0) + 0.7548776662466927 * k),
                fraction(contamination::counter_uniform(problem_.seed, 0, 1) + 0.5698402909980532 * k)};
    }

    /// outcomes x classes: P(outcome k | class), each column summing to one, so that the chances after the test average
    /// to those before it. Outcomes are readings drawn from the predictive law, each worth density over predictive
    /// density.
    Eigen::MatrixXd outcome_weights(Index field, const std::vector<Index>& order, const Eigen::VectorXd& size,
                                    const Eigen::VectorXd& centre) const {
        const Index outcomes = std::max(2, problem_.outcomes);
        const Eigen::ArrayXd contents = centre.array().exp();
        Eigen::MatrixXd weights(outcomes, centre.size());
        for (Index k = 0; k < outcomes; ++k) {
            const Index rank = (2 * k + 1) * n_ / (2 * outcomes);
            const Index draw = order[static_cast<std::size_t>(rank)];
            const auto [u, v] = spread(static_cast<int>(k));
            const PossibleReading reading = problem_.law.sample(draws_(draw, field), u, v);
            Eigen::ArrayXd density = problem_.law.log_density(reading, contents);
            if (!(density.maxCoeff() > -std::numeric_limits<double>::infinity())) {
                weights.row(k).setZero();  // a reading that no content at all explains
                continue;
            }
            density = (density - density.maxCoeff()).exp();
            weights.row(k) = (density / (density * size.array()).sum()).matrix().transpose();
        }
        for (Index b = 0; b < weights.cols(); ++b) {
            const double sum = weights.col(b).sum();
            // A class that no reading tried could come from learns nothing: it is spread over all outcomes.
            if (sum > 0.0) {
                weights.col(b) /= sum;
            } else {
                weights.col(b).setConstant(1.0 / static_cast<double>(outcomes));
            }
        }
        return weights;
    }

    const TestOrderProblem& problem_;
    const Stakes& stakes_;
    Index n_;
    Eigen::MatrixXd draws_, log_draws_;  ///< above 0
    Eigen::VectorXd exceedance_;
    std::vector<Index> unsure_;  ///< fields whose decision is open and not settled in all draws
    RowMajor over_;              ///< n_draws x unsure fields
    Eigen::VectorXd over_sd_;
};

/// Correlations that cannot be told from chance are none, as in the gains themselves.
Eigen::MatrixXd covariance_of(const Eigen::MatrixXd& log_draws, const std::vector<Index>& fields,
                              Eigen::VectorXd& mean) {
    const auto count = static_cast<Index>(fields.size());
    const Index n = log_draws.rows();
    Eigen::MatrixXd centred(n, count);
    for (Index c = 0; c < count; ++c) centred.col(c) = log_draws.col(fields[static_cast<std::size_t>(c)]);
    mean = centred.colwise().mean();
    centred.rowwise() -= mean.transpose();
    Eigen::MatrixXd covariance = centred.transpose() * centred / static_cast<double>(n);
    for (Index i = 0; i < count; ++i) {
        for (Index j = 0; j < count; ++j) {
            if (i == j) continue;
            const double scale = std::sqrt(covariance(i, i) * covariance(j, j));
            if (std::abs(covariance(i, j)) <= 3.0 / std::sqrt(static_cast<double>(n)) * scale) covariance(i, j) = 0.0;
        }
    }
    return covariance;
}

/// To two digits: an expectation is no account.
std::string amount(double value) {
    if (!(value > 0.0)) return "0";
    const double step = std::pow(10.0, std::floor(std::log10(value)) - 1.0);
    const double rounded = std::round(value / step) * step;
    return value >= 9.95 ? fmt::format("{:.0f}", rounded) : content_in_words(rounded);
}

/// Fields count as told about where the chance of a wrong decision falls by a hundredth or more.
std::string other_fields(int count) {
    if (count == 0) return "on the other fields";
    return count == 1 ? std::string("on 1 other field") : fmt::format("on {} other fields", count);
}

/// What a test of the field is good for, in one short sentence; its chance of being over stands beside it.
std::string why(const FieldToTest& field, const Gain& gain, double share, bool money, bool others_before,
                std::optional<double> test_cost) {
    const double itself = share * gain.itself;
    const double others = share * gain.others;
    const double all = itself + others;
    if (all < 1e-3 * field.tonnes) {
        return others_before && share < 0.5 ? "The tests above already tell about it"
                                            : "Hardly any result here would change what is done";
    }
    // What is saved is said before what the test costs, in every row; the gain beside it is the difference.
    std::string text = money ? fmt::format("A test here saves about {}", amount(all))
                             : fmt::format("A test here keeps about {} t from a wrong decision", amount(all));
    const std::string cost = test_cost ? " and costs " + amount(*test_cost) : "";
    if (test_cost && all <= *test_cost) return text + cost;
    const std::size_t plain = text.size();
    if (itself <= 0.05 * all) {
        text += ", all of it " + other_fields(gain.others_informed);
    } else if (others > 0.05 * all) {
        text += fmt::format(", {:.0f} % of it {}", 100.0 * others / all, other_fields(gain.others_informed));
    }
    if (!cost.empty()) text += (text.size() > plain ? "," : "") + cost;
    if (field.expected_cut_date) text += fmt::format("; cut on {}", to_short_text(*field.expected_cut_date));
    return text;
}

RankedField plain_row(const FieldToTest& field) {
    RankedField row;
    row.field = field.field;
    row.tonnes = field.tonnes;
    row.tests_so_far = field.tests_so_far;
    row.risk = field.risk;
    return row;
}

void number(TestOrder& order) {
    int rank = 0;
    for (RankedField& field : order.fields) field.rank = ++rank;
}

TestOrder by_risk(const TestOrderProblem& problem) {
    TestOrder order;
    order.unit = GainUnit::none;
    std::vector<std::pair<bool, RankedField>> rows;
    for (const FieldToTest& field : problem.fields) {
        if (field.tests_so_far > 0 && !problem.repeat) continue;
        RankedField row = plain_row(field);
        const std::string closed = closed_because(field, problem);
        if (!closed.empty()) {
            row.why = closed;
            row.test_its_loads = true;
        } else if (field.risk) {
            row.why = fmt::format("Disease risk {:.2f}; this is not a chance of being over the limit", *field.risk);
        } else {
            row.why = "Its disease risk is not known";
        }
        rows.emplace_back(!closed.empty(), std::move(row));
    }
    std::stable_sort(rows.begin(), rows.end(), [](const auto& a, const auto& b) {
        if (a.first != b.first) return b.first;
        const double risk_a = a.second.risk.value_or(-1.0), risk_b = b.second.risk.value_or(-1.0);
        return risk_a != risk_b ? risk_a > risk_b : a.second.field < b.second.field;
    });
    for (auto& [closed, row] : rows) order.fields.push_back(std::move(row));
    number(order);
    return order;
}

/// ", one more test 27.5 (test 13, sample 7, 0.3 hours at 25)"
std::string cost_of_a_test(const TestCosts& costs) {
    std::string parts;
    const auto part = [&parts](const std::string& text) { parts += (parts.empty() ? "" : ", ") + text; };
    if (costs.test) part("test " + content_in_words(*costs.test));
    if (costs.sample) part("sample " + content_in_words(*costs.sample));
    if (costs.hour && costs.hours_per_test > 0.0) {
        part(fmt::format("{} hours at {}", costs.hours_per_test, content_in_words(*costs.hour)));
    }
    if (parts.empty()) return "";
    return fmt::format(", one more test {} ({}); the gain is what a test saves less what it costs",
                       content_in_words(costs.of_one_test()), parts);
}

std::string assumptions(const TestOrderProblem& problem, const Stakes& stakes) {
    std::string text =
        stakes.money
            ? fmt::format("By expected loss in money: {} a tonne wrongly accepted, {} a tonne wrongly rejected",
                          content_in_words(*problem.costs.wrong_acceptance_per_t),
                          content_in_words(*problem.costs.wrong_rejection_per_t))
            : std::string(
                  "No costs of a wrong decision are given (wrong_acceptance_per_t and wrong_rejection_per_t would make "
                  "it money): by the chance of a wrong decision times tonnes, a tonne wrongly accepted counting as "
                  "much "
                  "as one wrongly rejected, and what a test costs has no part in it");
    if (problem.outbound_lot_t > 0.0) {
        text +=
            fmt::format(", a wrong acceptance costing at least an outbound lot of {:.0f} t", problem.outbound_lot_t);
    }
    if (stakes.money) text += cost_of_a_test(problem.costs);
    text += stakes.money ? ". Money is in the currency of the store's costs" : "";
    if (problem.tests > 1) text += ". From the second on, a test counts for what those above it leave open";
    return text + ".";
}

}  // namespace test_order_parts

TestOrder order_of_tests(const TestOrderProblem& problem, const Progress& progress) {
    using namespace test_order_parts;
    check(problem);
    if (problem.draws_mg_per_kg.size() == 0) {
        TestOrder order = by_risk(problem);
        order.ranking_only = true;
        order.says =
            "Ranking only: there is no DON result in the store, so fields stand in the order of their disease "
            "risk, which is not a chance of being over the limit.";
        return order;
    }
    const Stakes stakes = stakes_of(problem);
    const Draws draws(problem, stakes);

    TestOrder order;
    order.unit = stakes.money ? GainUnit::money : GainUnit::tonnes;
    order.says = assumptions(problem, stakes);
    order.expected_loss_now = draws.loss_now();
    order.expected_loss_after = order.expected_loss_now;

    std::vector<Index> candidates;
    for (std::size_t f = 0; f < problem.fields.size(); ++f) {
        const bool asked = problem.repeat || problem.fields[f].tests_so_far == 0;
        if (asked && stakes.closed[f].empty()) candidates.push_back(static_cast<Index>(f));
    }
    std::vector<Gain> gains(candidates.size());
    contamination::for_each_index(
        static_cast<int>(candidates.size()), std::max(1, problem.threads),
        [&](int c) { gains[static_cast<std::size_t>(c)] = draws.gain_of(candidates[static_cast<std::size_t>(c)]); },
        progress, "value of a test");

    // The normal law runs over all fields with an open decision, so that tests also count for fields not asked about.
    std::vector<Index> open;
    std::vector<Index> place_in_open(problem.fields.size(), -1);
    for (std::size_t f = 0; f < problem.fields.size(); ++f) {
        if (!stakes.closed[f].empty()) continue;
        place_in_open[f] = static_cast<Index>(open.size());
        open.push_back(static_cast<Index>(f));
    }
    std::optional<NormalValue> normal;
    std::vector<double> normal_alone(candidates.size(), 0.0), share(candidates.size(), 1.0);
    const auto at = [&](std::size_t c) { return place_in_open[static_cast<std::size_t>(candidates[c])]; };
    if (problem.tests > 1 && !candidates.empty()) {
        Eigen::VectorXd mean, error(open.size()), accepted(open.size()), rejected(open.size());
        const Eigen::MatrixXd covariance = covariance_of(draws.log_draws(), open, mean);
        for (std::size_t i = 0; i < open.size(); ++i) {
            const auto to = static_cast<Index>(i);
            error[to] = draws.error_variance(open[i]);
            accepted[to] = stakes.accepted[open[i]];
            rejected[to] = stakes.rejected[open[i]];
        }
        normal.emplace(mean, covariance, error, accepted, rejected, std::log(breaking_point(problem.limit).mg_per_kg));
        for (std::size_t c = 0; c < candidates.size(); ++c) normal_alone[c] = normal->gain(at(c));
    }

    std::vector<std::size_t> waiting(candidates.size());
    std::iota(waiting.begin(), waiting.end(), std::size_t{0});
    const auto better = [&](std::size_t a, std::size_t b) {
        const double gain_a = share[a] * gains[a].all(), gain_b = share[b] * gains[b].all();
        if (gain_a != gain_b) return gain_a > gain_b;
        const double unsure_a = std::abs(draws.exceedance()[candidates[a]] - 0.5);
        const double unsure_b = std::abs(draws.exceedance()[candidates[b]] - 0.5);
        if (unsure_a != unsure_b) return unsure_a < unsure_b;
        return problem.fields[static_cast<std::size_t>(candidates[a])].field <
               problem.fields[static_cast<std::size_t>(candidates[b])].field;
    };
    const double test_cost = stakes.money ? problem.costs.of_one_test() : 0.0;
    const auto row_of = [&](std::size_t c, bool others_before) {
        const auto f = static_cast<std::size_t>(candidates[c]);
        RankedField row = plain_row(problem.fields[f]);
        row.exceedance = problem.fields[static_cast<std::size_t>(candidates[c])].exceedance.value_or(
            draws.exceedance()[candidates[c]]);
        row.expected_gain = share[c] * gains[c].all() - test_cost;
        row.gain_on_itself = share[c] * gains[c].itself;
        row.why = why(problem.fields[f], gains[c], share[c], stakes.money, others_before,
                      test_cost > 0.0 ? std::optional(test_cost) : std::nullopt);
        return row;
    };

    for (int placed = 0; placed < problem.tests && !waiting.empty(); ++placed) {
        progress.step("order of tests", static_cast<double>(placed) / problem.tests);
        if (placed > 0) {
            for (const std::size_t c : waiting) {
                // A value that the normal law does not see has no share to lose.
                const bool seen = normal_alone[c] > 1e-9 * std::max(1.0, order.expected_loss_now);
                share[c] = seen ? std::clamp(normal->gain(at(c)) / normal_alone[c], 0.0, share[c]) : share[c];
            }
        }
        const auto best = std::min_element(waiting.begin(), waiting.end(), better);
        const std::size_t chosen = *best;
        waiting.erase(best);
        order.fields.push_back(row_of(chosen, placed > 0));
        order.expected_loss_after -= share[chosen] * gains[chosen].all();
        if (normal) normal->place_test(at(chosen));
    }
    order.expected_loss_after = std::max(0.0, order.expected_loss_after);
    if (normal) {
        for (const std::size_t c : waiting) {
            const bool seen = normal_alone[c] > 1e-9 * std::max(1.0, order.expected_loss_now);
            share[c] = seen ? std::clamp(normal->gain(at(c)) / normal_alone[c], 0.0, share[c]) : share[c];
        }
    }
    std::sort(waiting.begin(), waiting.end(), better);
    for (const std::size_t c : waiting) order.fields.push_back(row_of(c, normal.has_value()));
    for (std::size_t f = 0; f < problem.fields.size(); ++f) {
        if (stakes.closed[f].empty() || (problem.fields[f].tests_so_far > 0 && !problem.repeat)) continue;
        RankedField row = plain_row(problem.fields[f]);
        row.exceedance = problem.fields[f].exceedance.value_or(draws.exceedance()[static_cast<Index>(f)]);
        row.why = stakes.closed[f];
        row.test_its_loads = true;
        order.fields.push_back(std::move(row));
    }
    number(order);
    return order;
}

TestOrder plain_order(const TestOrderProblem& problem, PlainOrder by) {
    using namespace test_order_parts;
    check(problem);
    if (by == PlainOrder::risk || problem.draws_mg_per_kg.size() == 0) {
        TestOrder order = by_risk(problem);
        order.ranking_only = problem.draws_mg_per_kg.size() == 0;
        order.says = "By disease risk, which is not a chance of being over the limit.";
        return order;
    }
    TestOrder order = by_risk(problem);
    std::map<std::string, std::size_t> place;
    for (std::size_t f = 0; f < problem.fields.size(); ++f) place[problem.fields[f].field] = f;
    std::vector<bool> closed;
    for (const FieldToTest& field : problem.fields) closed.push_back(!closed_because(field, problem).empty());
    for (RankedField& row : order.fields) {
        const std::size_t f = place.at(row.field);
        row.exceedance = problem.fields[f].exceedance.value_or(
            exceedance_of_draws(problem.draws_mg_per_kg.col(static_cast<Index>(f)), problem.limit));
        if (!closed[f]) row.why = fmt::format("{} chance of being over", chance_in_words(row.exceedance));
    }
    std::stable_sort(order.fields.begin(), order.fields.end(), [&](const RankedField& a, const RankedField& b) {
        const bool closed_a = closed[place.at(a.field)], closed_b = closed[place.at(b.field)];
        return closed_a != closed_b ? closed_b : a.exceedance > b.exceedance;
    });
    order.says = "By the chance of being over the limit, the highest first.";
    number(order);
    return order;
}

}  // namespace models
