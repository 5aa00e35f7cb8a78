#pragma once

#include <optional>
#include <string>
#include <vector>

#include "models/records.h"

namespace models {

/// What was done twice: the reading of one sample, or its splitting, grinding and all that follows.
enum class Duplicated { reading, split };

/// Two results of the same grain by one method and kit lot, on one local day and one basis: what ISO 5725 calls
/// repeatability conditions.
struct DuplicatePair {
    Duplicated what = Duplicated::reading;
    std::string sample, first_test, second_test, kit_lot;
    Stamp time;  ///< of the second
    double first_mg_per_kg = 0.0, second_mg_per_kg = 0.0;
};

struct RefusedDuplicate {
    std::string test;
    std::string why;  ///< one sentence without its full stop
};

/// The pairs among tests of grain (controls have their charts), by time.
///   reading  the first two valid results of one sample under those conditions
///   split    the first result of a sample and the first of one that was split from it (its `parent`)
/// Refused by name: a third and further result of one sample, and a sample split from one that was itself split (a
/// duplicate of a duplicate is no pair: it would count the same reading twice, and its grain was parted twice); a pair
/// of which one is only known to lie below or above the range.
/// @param tests  without those that a later one corrects
struct DuplicatesFound {
    std::vector<DuplicatePair> pairs;
    std::vector<RefusedDuplicate> refused;
};
DuplicatesFound duplicates_of(const std::vector<Test>& tests, const std::vector<Sample>& samples);

/// Repeatability from n pairs, on the logarithm, for spread grows with content. With d = ln x1 - ln x2:
///   s_r = sqrt(sum d^2 / 2n),  CV = sqrt(exp(s_r^2) - 1),
///   90 % interval s_r sqrt(n / chi2_0.95(n)) to s_r sqrt(n / chi2_0.05(n))
///   repeatability limit r = 2.8 s_r: two results differ by more in 1 of 20 cases
/// As a relative difference (of the mean of both), |d| is 2 tanh(|d|/2), so the limit is 2 tanh(r/2).
/// Source: ISO 5725-6:1994, 4.1.4 (2.8 is 1.96 sqrt 2 rounded); the interval for a variance, any textbook.
struct Repeatability {
    double log_sd = 0.0;  ///< s_r
    std::optional<double> low90, high90;
    int pairs = 0;  ///< that it was estimated from; 0: given
    double cv() const;
    double log_limit() const { return 2.8 * log_sd; }
    double relative_limit() const;  ///< fraction of the mean of both
};
/// @throws Error  no pair; a content not above zero
Repeatability repeatability_of(const std::vector<DuplicatePair>& pairs);
/// A repeatability that somebody states. @throws Error  cv not above zero
Repeatability stated_repeatability(double cv);

/// A pair on the chart.
struct ChartedPair {
    DuplicatePair pair;
    double relative_difference = 0.0;  ///< |x1 - x2| over their mean, a fraction
    bool over_limit = false;
};
struct DuplicateChart {
    Duplicated what = Duplicated::reading;
    std::optional<Repeatability> repeatability;  ///< none: no pair
    bool limit_holds = false;                    ///< stated, or from at least 8 pairs (ours)
    std::vector<ChartedPair> pairs;
    std::string says;  ///< one sentence without its full stop
};
/// The pairs of one kind against the limit: of a stated repeatability, else of their own (then the large differences
/// widen it, and the chart says how many pairs it rests on). Under 8 pairs no pair is called over.
DuplicateChart duplicate_chart(const std::vector<DuplicatePair>& pairs, Duplicated what,
                               std::optional<double> stated_cv = std::nullopt);

std::string in_words(Duplicated what);  ///< "one sample read twice", "one sample split and ground twice"

}  // namespace models
