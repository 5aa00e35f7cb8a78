#include "models/assay/duplicates.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include <fmt/format.h>

#include "models/assay/interval_law.h"
#include "models/counted.h"
#include "models/error.h"

namespace models {

namespace duplicate_pairs {

constexpr int pairs_for_a_limit = 8;

/// Tests that may stand beside each other: repeatability conditions.
using Conditions = std::tuple<std::string, Method, std::string, Basis, LocalDay>;

Conditions conditions_of(const std::string& sample, const Test& test) {
    return {sample, test.method, test.kit_lot, test.basis, test.time.local_day()};
}

void add_pair(DuplicatesFound& found, Duplicated what, const Test& first, const Test& second) {
    if (first.reading != Reading::value || second.reading != Reading::value || !(first.don_mg_per_kg > 0.0) ||
        !(second.don_mg_per_kg > 0.0)) {
        found.refused.push_back({second.test, fmt::format("tests {} and {} are no pair: a reading below or above the "
                                                          "range has no difference",
                                                          first.test, second.test)});
        return;
    }
    found.pairs.push_back({what, first.sample, first.test, second.test, first.kit_lot, second.time, first.don_mg_per_kg,
                           second.don_mg_per_kg});
}

double log_difference(const DuplicatePair& pair) {
    return std::log(pair.first_mg_per_kg) - std::log(pair.second_mg_per_kg);
}

}  // namespace duplicate_pairs

DuplicatesFound duplicates_of(const std::vector<Test>& tests, const std::vector<Sample>& samples) {
    std::map<std::string, const Sample*> named;
    for (const Sample& sample : samples) named[sample.sample] = &sample;
    std::vector<const Test*> by_time;
    for (const Test& test : tests) {
        const auto sample = named.find(test.sample);
        if (test.reading == Reading::invalid || sample == named.end()) continue;
        if (sample->second->stage != Stage::control) by_time.push_back(&test);
    }
    std::stable_sort(by_time.begin(), by_time.end(), [](const Test* a, const Test* b) {
        return std::tuple(a->time.utc, a->test) < std::tuple(b->time.utc, b->test);
    });
    DuplicatesFound found;
    std::map<duplicate_pairs::Conditions, std::vector<const Test*>> same_sample;
    for (const Test* test : by_time) {
        std::vector<const Test*>& before = same_sample[duplicate_pairs::conditions_of(test->sample, *test)];
        before.push_back(test);
        if (before.size() == 2) duplicate_pairs::add_pair(found, Duplicated::reading, *before[0], *test);
        if (before.size() > 2) {
            found.refused.push_back(
                {test->test, fmt::format("test {} is result number {} of sample {}: a duplicate of a duplicate is no "
                                         "pair, the first two are",
                                         test->test, before.size(), test->sample)});
        }
    }
    std::map<duplicate_pairs::Conditions, const Test*> split_of;  // by parent: the one child that is its duplicate
    for (const Test* test : by_time) {
        const Sample& child = *named.at(test->sample);
        const auto parent = named.find(child.parent);
        if (child.parent.empty() || parent == named.end()) continue;
        if (same_sample[duplicate_pairs::conditions_of(test->sample, *test)].front() != test) continue;
        if (!parent->second->parent.empty()) {
            found.refused.push_back(
                {test->test, fmt::format("test {} is of sample {}, split from {}, which was itself split from {}: a "
                                         "duplicate of a duplicate is no pair",
                                         test->test, child.sample, child.parent, parent->second->parent)});
            continue;
        }
        const auto conditions = duplicate_pairs::conditions_of(child.parent, *test);
        const auto first = same_sample.find(conditions);
        if (first == same_sample.end()) continue;
        const auto [earlier, fresh] = split_of.try_emplace(conditions, test);
        if (!fresh) {
            found.refused.push_back(
                {test->test, fmt::format("test {} is of sample {}, and {} was split before: its pair is test {}",
                                         test->test, child.sample, child.parent, earlier->second->test)});
            continue;
        }
        duplicate_pairs::add_pair(found, Duplicated::split, *first->second.front(), *test);
    }
    std::stable_sort(found.pairs.begin(), found.pairs.end(),
                     [](const DuplicatePair& a, const DuplicatePair& b) { return a.time.utc < b.time.utc; });
    return found;
}

double Repeatability::cv() const {
    return std::sqrt(std::expm1(log_sd * log_sd));
}
double Repeatability::relative_limit() const {
    return 2.0 * std::tanh(0.5 * log_limit());
}

Repeatability repeatability_of(const std::vector<DuplicatePair>& pairs) {
    if (pairs.empty()) throw Error("there is no pair of duplicates, so no repeatability can be told");
    double squares = 0.0;
    for (const DuplicatePair& pair : pairs) {
        if (!(pair.first_mg_per_kg > 0.0) || !(pair.second_mg_per_kg > 0.0)) {
            throw Error(
                fmt::format("the pair {}, {} has a content that is not above zero", pair.first_test, pair.second_test),
                "", "leave pairs below the range out");
        }
        squares += std::pow(duplicate_pairs::log_difference(pair), 2);
    }
    const auto n = static_cast<double>(pairs.size());
    Repeatability found;
    found.pairs = static_cast<int>(pairs.size());
    found.log_sd = std::sqrt(squares / (2.0 * n));
    found.low90 = found.log_sd * std::sqrt(n / interval_law::chi_square_quantile(0.95, n));
    found.high90 = found.log_sd * std::sqrt(n / interval_law::chi_square_quantile(0.05, n));
    return found;
}

Repeatability stated_repeatability(double cv) {
    if (!(cv > 0.0) || !std::isfinite(cv)) {
        throw Error(fmt::format("a repeatability of {} % is none", cv * 100.0), "", "give one above 0");
    }
    Repeatability stated;
    stated.log_sd = std::sqrt(std::log1p(cv * cv));
    return stated;
}

DuplicateChart duplicate_chart(const std::vector<DuplicatePair>& pairs, Duplicated what,
                               std::optional<double> stated_cv) {
    DuplicateChart chart;
    chart.what = what;
    std::vector<DuplicatePair> of_kind;
    for (const DuplicatePair& pair : pairs) {
        if (pair.what == what) of_kind.push_back(pair);
    }
    if (stated_cv) {
        chart.repeatability = stated_repeatability(*stated_cv);
    } else if (!of_kind.empty()) {
        chart.repeatability = repeatability_of(of_kind);
    }
    chart.limit_holds = chart.repeatability &&
                        (stated_cv || chart.repeatability->pairs >= duplicate_pairs::pairs_for_a_limit) &&
                        chart.repeatability->log_sd > 0.0;
    int over = 0;
    for (DuplicatePair& pair : of_kind) {
        ChartedPair charted;
        const double difference = std::abs(duplicate_pairs::log_difference(pair));
        charted.relative_difference = 2.0 * std::tanh(0.5 * difference);
        charted.over_limit = chart.limit_holds && difference > chart.repeatability->log_limit();
        over += charted.over_limit ? 1 : 0;
        charted.pair = std::move(pair);
        chart.pairs.push_back(std::move(charted));
    }
    const auto number = static_cast<long long>(chart.pairs.size());
    if (chart.pairs.empty()) {
        chart.says = fmt::format("no pair of {}", in_words(what));
    } else if (!chart.limit_holds) {
        chart.says = fmt::format("{} of {}: too few for a repeatability limit, which takes {}", counted(number, "pair"),
                                 in_words(what), duplicate_pairs::pairs_for_a_limit);
        if (number >= duplicate_pairs::pairs_for_a_limit) {
            chart.says = fmt::format("{} of {} that do not differ: no repeatability can be told",
                                     counted(number, "pair"), in_words(what));
        }
    } else {
        chart.says = fmt::format(
            "{} of {}: repeatability {:.1f} % ({}), so two results differ by more than {:.1f} % of their mean in 1 of "
            "20 cases; {} over it",
            counted(number, "pair"), in_words(what), chart.repeatability->cv() * 100.0,
            stated_cv ? std::string("stated")
                      : fmt::format("90 % interval {:.1f} to {:.1f} %",
                                    std::sqrt(std::expm1(std::pow(*chart.repeatability->low90, 2))) * 100.0,
                                    std::sqrt(std::expm1(std::pow(*chart.repeatability->high90, 2))) * 100.0),
            chart.repeatability->relative_limit() * 100.0,
            over == 0 ? std::string("none is") : std::to_string(over) + std::string(over == 1 ? " is" : " are"));
    }
    return chart;
}

std::string in_words(Duplicated what) {
    return what == Duplicated::reading ? "one sample read twice" : "one sample split and ground twice";
}

}  // namespace models
