#include "models/decision/test_order.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "models/contamination/normal.h"
#include "models/contamination/parallel.h"
#include "models/decision/expected.h"
#include "models/decision/joint_scores.h"
#include "models/decision/normal_value.h"
#include "models/error.h"
#include "models/spoken.h"

namespace models {

namespace test_order_parts {

using Index = Eigen::Index;

/// Why the decision on a field can no longer be changed by a test; empty while it is open.
std::string closed_because(const FieldToTest& field, const TestOrderProblem& problem) {
    if (field.status == FieldStatus::delivered) return phrase("Delivered: test its loads instead");
    if (field.status == FieldStatus::cut) return phrase("Already cut: test its loads instead");
    if (!field.expected_cut_date || !problem.today) return "";
    const LocalDay result = *problem.today + std::chrono::days(problem.days_to_result);
    if (*field.expected_cut_date >= result) return "";
    if (*field.expected_cut_date < *problem.today) {
        return phrase("Was to be cut on {}: test its loads instead", to_short_text(*field.expected_cut_date));
    }
    return phrase("Cut on {}, before a result on {}: test its loads instead", to_short_text(*field.expected_cut_date),
                  to_short_text(result));
}

void check(const TestOrderProblem& problem) {
    std::set<std::string> names;
    for (const FieldToTest& field : problem.fields) {
        if (!names.insert(field.field).second) throw Error("the field is listed twice", "field " + field.field);
        if (!(field.tonnes > 0.0) || !std::isfinite(field.tonnes)) {
            throw Error(fmt::format("{} t cannot be delivered from it", field.tonnes), "field " + field.field,
                        "give its area and yield, or its tonnes");
        }
        if (field.exceedance && !(*field.exceedance >= 0.0 && *field.exceedance <= 1.0)) {
            throw Error(fmt::format("{} is no chance of being over the limit", *field.exceedance),
                        "field " + field.field, "give 0 to 1, or none");
        }
    }
    const auto& costs = problem.costs;
    if (costs.wrong_acceptance_per_t.has_value() != costs.wrong_rejection_per_t.has_value()) {
        throw Error(phrase("only one of the two costs of a wrong decision is given"), "costs",
                    phrase("give both wrong_acceptance_per_t and wrong_rejection_per_t, or neither"));
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

/// All fields whose decision is open under one normal law, so that tests also count for fields not asked about.
class OpenFields {
 public:
    OpenFields(const TestOrderProblem& problem, const Stakes& stakes, const Progress& progress) {
        place_.assign(problem.fields.size(), -1);
        ScoresQuestion question;
        question.limit = problem.limit;
        question.law = problem.law;
        question.seed = problem.seed;
        question.outcomes = problem.outcomes;
        question.threads = problem.threads;
        for (std::size_t f = 0; f < problem.fields.size(); ++f) {
            if (!stakes.closed[f].empty()) continue;
            place_[f] = static_cast<Index>(question.columns.size());
            question.columns.push_back(static_cast<Index>(f));
            question.asked.push_back(problem.repeat || problem.fields[f].tests_so_far == 0);
        }
        const auto count = static_cast<Index>(question.columns.size());
        JointScores joint = joint_scores(problem.draws_mg_per_kg, question, progress);
        Eigen::VectorXd mean(count), accepted(count), rejected(count);
        for (Index i = 0; i < count; ++i) {
            const Index f = question.columns[static_cast<std::size_t>(i)];
            const double over = problem.fields[static_cast<std::size_t>(f)].exceedance.value_or(joint.over[i]);
            constexpr double never = std::numeric_limits<double>::infinity();
            mean[i] = over <= 0.0 ? -never : over >= 1.0 ? never : normal::quantile(over);
            accepted[i] = stakes.accepted[f];
            rejected[i] = stakes.rejected[f];
        }
        // Scores have variance 1 and the limit lies at 0.
        value_.emplace(mean, std::move(joint.correlation), std::move(joint.error_variance), accepted, rejected, 0.0);
    }

    NormalValue::Gain gain(std::size_t field) const { return value_->gain(place_[field]); }
    double at_stake(std::size_t field) const { return value_->expected_loss(place_[field]); }
    double expected_loss() const { return value_->expected_loss(); }
    void place_test(std::size_t field) { value_->place_test(place_[field]); }

 private:
    std::vector<Index> place_;  ///< of a field among the open ones
    std::optional<NormalValue> value_;
};

/// To two digits: an expectation is no account.
std::string amount(double value) {
    if (!(value > 0.0)) return "0";
    const double step = std::pow(10.0, std::floor(std::log10(value)) - 1.0);
    const double rounded = std::round(value / step) * step;
    return value >= 9.95 ? fmt::format("{:.0f}", rounded) : content_in_words(rounded);
}

/// Two amounts with as many decimals as it takes for them to differ; of equal ones with six.
std::pair<std::string, std::string> told_apart(double a, double b) {
    std::pair<std::string, std::string> texts;
    for (int decimals = 0; decimals <= 6; ++decimals) {
        texts = {said(fmt::format("{:.{}f}", a, decimals)), said(fmt::format("{:.{}f}", b, decimals))};
        if (texts.first != texts.second) break;
    }
    return texts;
}

/// Fields count as told about where the chance of a wrong decision falls by a hundredth or more.
std::string other_fields(int count) {
    if (count == 0) return phrase("on the other fields");
    return count == 1 ? phrase("on 1 other field") : phrase("on {} other fields", count);
}

/// What a test of the field is good for, in one short sentence; its chance of being over stands beside it.
/// @param gain  with the tests above it in;  @param alone  without them;  @param stake  min(A, R) of the field
std::string why(const FieldToTest& field, const NormalValue::Gain& gain, const NormalValue::Gain& alone, double stake,
                bool money, std::optional<double> test_cost) {
    const double all = gain.all();
    if (all <= 1e-3 * stake) {
        return all < 0.5 * alone.all() && alone.all() > 1e-3 * stake ? phrase("The tests above already tell about it")
                                                                     : phrase(
                                                                           "Hardly any result here would change "
                                                                           "what is done");
    }
    // What is saved is said before what the test costs, in every row; the gain beside it is the difference.
    std::string text = money ? phrase("A test here saves about {}", amount(all))
                             : phrase("A test here keeps about {} t from a wrong decision", amount(all));
    if (test_cost && all <= *test_cost) {
        // To two digits both may be the same number, which would not say why it is not worth it.
        if (amount(all) == amount(*test_cost)) {
            const auto [saves, costs] = told_apart(all, *test_cost);
            return phrase("A test here saves {}, a little less than the {} it costs", saves, costs);
        }
        return text + phrase(" and costs {}", amount(*test_cost));
    }
    const std::string cost =
        test_cost ? phrase(" and costs {}: gain {}", amount(*test_cost), amount(all - *test_cost)) : "";
    const std::size_t plain = text.size();
    if (gain.itself <= 0.05 * all) {
        text += phrase(", all of it {}", other_fields(gain.others_informed));
    } else if (gain.others > 0.05 * all) {
        text += phrase(", {:.0f} % of it {}", 100.0 * gain.others / all, other_fields(gain.others_informed));
    }
    if (!cost.empty()) text += (text.size() > plain ? "," : "") + cost;
    if (field.expected_cut_date) text += phrase("; cut on {}", to_short_text(*field.expected_cut_date));
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

double chance_over(const TestOrderProblem& problem, std::size_t field) {
    if (problem.fields[field].exceedance) return *problem.fields[field].exceedance;
    return exceedance_of_draws(problem.draws_mg_per_kg.col(static_cast<Index>(field)), problem.limit);
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
            row.why = phrase("Disease risk {:.2f}; this is not a chance of being over the limit", *field.risk);
        } else {
            row.why = phrase("Its disease risk is not known");
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
    if (costs.test) part(phrase("test {}", content_in_words(*costs.test)));
    if (costs.sample) part(phrase("sample {}", content_in_words(*costs.sample)));
    if (costs.hour && costs.hours_per_test > 0.0) {
        part(phrase("{} hours at {}", costs.hours_per_test, content_in_words(*costs.hour)));
    }
    if (parts.empty()) return "";
    return phrase(", one more test {} ({}); the gain is what a test saves less what it costs",
                  content_in_words(costs.of_one_test()), parts);
}

std::string assumptions(const TestOrderProblem& problem, const Stakes& stakes) {
    std::string text =
        stakes.money
            ? phrase("By expected loss in money: {} a tonne wrongly accepted, {} a tonne wrongly rejected",
                     content_in_words(*problem.costs.wrong_acceptance_per_t),
                     content_in_words(*problem.costs.wrong_rejection_per_t))
            : phrase(
                  "No costs of a wrong decision are given (wrong_acceptance_per_t and wrong_rejection_per_t would make "
                  "it money): by the chance of a wrong decision times tonnes, a tonne wrongly accepted counting as "
                  "much "
                  "as one wrongly rejected, and what a test costs has no part in it");
    if (problem.outbound_lot_t > 0.0) {
        text += phrase(", a wrong acceptance costing at least an outbound lot of {:.0f} t", problem.outbound_lot_t);
    }
    if (stakes.money) text += cost_of_a_test(problem.costs);
    if (stakes.money) text += phrase(". Money is in the currency of the store's costs");
    if (problem.tests > 1) text += phrase(". From the second on, a test counts for what those above it leave open");
    return text + ".";
}

}  // namespace test_order_parts

TestOrder order_of_tests(const TestOrderProblem& problem, const Progress& progress) {
    using namespace test_order_parts;
    check(problem);
    if (problem.draws_mg_per_kg.size() == 0) {
        TestOrder order = by_risk(problem);
        order.ranking_only = true;
        order.says = phrase(
            "Ranking only: there is no DON result in the store, so fields stand in the order of their disease "
            "risk, which is not a chance of being over the limit.");
        return order;
    }
    const Stakes stakes = stakes_of(problem);
    OpenFields open(problem, stakes, progress);

    TestOrder order;
    order.unit = stakes.money ? GainUnit::money : GainUnit::tonnes;
    order.says = assumptions(problem, stakes);
    order.expected_loss_now = open.expected_loss();

    struct Candidate {
        std::size_t field = 0;
        NormalValue::Gain alone, gain;  ///< without the tests placed so far, with them
    };
    std::vector<Candidate> waiting;
    for (std::size_t f = 0; f < problem.fields.size(); ++f) {
        const bool asked = problem.repeat || problem.fields[f].tests_so_far == 0;
        if (asked && stakes.closed[f].empty()) waiting.push_back({f, {}, {}});
    }
    const auto weigh = [&] {
        // Starting threads takes longer than a hundred fields.
        const int threads = waiting.size() < 500 ? 1 : std::max(1, problem.threads);
        contamination::for_each_index(static_cast<int>(waiting.size()), threads, [&](int c) {
            Candidate& candidate = waiting[static_cast<std::size_t>(c)];
            candidate.gain = open.gain(candidate.field);
        });
    };
    weigh();
    for (Candidate& candidate : waiting) candidate.alone = candidate.gain;
    const auto better = [&](const Candidate& a, const Candidate& b) {
        const double gain_a = a.gain.all(), gain_b = b.gain.all();
        if (gain_a != gain_b) return gain_a > gain_b;
        const double stake_a = open.at_stake(a.field), stake_b = open.at_stake(b.field);
        return stake_a != stake_b ? stake_a > stake_b : problem.fields[a.field].field < problem.fields[b.field].field;
    };
    const double test_cost = stakes.money ? problem.costs.of_one_test() : 0.0;
    const auto row_of = [&](const Candidate& candidate) {
        const FieldToTest& field = problem.fields[candidate.field];
        const auto f = static_cast<Index>(candidate.field);
        RankedField row = plain_row(field);
        row.exceedance = chance_over(problem, candidate.field);
        row.expected_gain = candidate.gain.all() - test_cost;
        row.gain_on_itself = candidate.gain.itself;
        row.why = why(field, candidate.gain, candidate.alone, std::min(stakes.accepted[f], stakes.rejected[f]),
                      stakes.money, test_cost > 0.0 ? std::optional(test_cost) : std::nullopt);
        return row;
    };

    double saved = 0.0, saved_worth = 0.0;
    std::optional<OpenFields> without;  // as things stand with the tests worth making, while others are tried beyond
    std::vector<Candidate> tried;       // these, in the order in which they were tried
    for (int placed = 0; placed < problem.tests && !waiting.empty(); ++placed) {
        progress.step(phrase("order of tests"), static_cast<double>(placed) / problem.tests);
        const auto best = std::min_element(waiting.begin(), waiting.end(), better);
        const Candidate chosen = *best;
        if (!(chosen.gain.all() > test_cost) && !without) without = open;
        waiting.erase(best);
        order.fields.push_back(row_of(chosen));
        tried.push_back(chosen);
        saved += chosen.gain.all();
        if (const auto made = static_cast<int>(order.fields.size());
            saved - made * test_cost > saved_worth - order.worth_making * test_cost) {
            order.worth_making = made;
            saved_worth = saved;
            without.reset();
            tried.clear();
        }
        // Where one test is asked about, the rest say what it would bring if it were made there instead.
        if (problem.tests == 1) break;
        open.place_test(chosen.field);
        weigh();
    }
    order.expected_loss_after = std::max(0.0, order.expected_loss_now - saved_worth);
    if (without) {
        // What is not worth it is not made, and tells the others nothing.
        open = std::move(*without);
        order.fields.resize(static_cast<std::size_t>(order.worth_making));
        waiting.insert(waiting.end(), tried.begin(), tried.end());
        weigh();
    }
    const auto before = [&](const Candidate& a, const Candidate& b) {
        const bool worth_a = a.gain.all() > test_cost, worth_b = b.gain.all() > test_cost;
        if (worth_a != worth_b) return worth_a;
        if (worth_a || a.alone.all() == b.alone.all()) return better(a, b);
        return a.alone.all() > b.alone.all();
    };
    std::sort(waiting.begin(), waiting.end(), before);
    for (const Candidate& candidate : waiting) order.fields.push_back(row_of(candidate));
    for (std::size_t f = 0; f < problem.fields.size(); ++f) {
        if (stakes.closed[f].empty() || (problem.fields[f].tests_so_far > 0 && !problem.repeat)) continue;
        RankedField row = plain_row(problem.fields[f]);
        row.exceedance = chance_over(problem, f);
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
        row.exceedance = chance_over(problem, f);
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
