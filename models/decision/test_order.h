#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include <Eigen/Core>

#include "models/decision/reading_law.h"
#include "models/progress.h"
#include "models/records.h"

namespace models {

/// What the order of tests has to know of one field.
struct FieldToTest {
    std::string field;
    double tonnes = 0.0;   ///< what is going to be delivered from it; > 0
    int tests_so_far = 0;  ///< of this season
    FieldStatus status = FieldStatus::standing;
    std::optional<LocalDay> expected_cut_date = std::nullopt;
    std::optional<double> risk = std::nullopt;  ///< disease risk, 0 to 1 or an index: for the plain order only
    /// Chance of being over as the model states it, for tables and sentences; none: the share of the draws. The order
    /// itself rests on the draws.
    std::optional<double> exceedance = std::nullopt;
};

/// Money. None is shipped; what is not given is not used.
struct TestCosts {
    std::optional<double> wrong_acceptance_per_t = std::nullopt;  ///< grain over the limit taken for good
    std::optional<double> wrong_rejection_per_t = std::nullopt;   ///< good grain taken for grain over
    // Of one more test, only where both of the above are given: the strip or the laboratory, taking its sample, and an
    // hour of work, of which a test takes `hours_per_test`.
    std::optional<double> test = std::nullopt, sample = std::nullopt, hour = std::nullopt;
    double hours_per_test = 0.0;

    /// test + sample + hour x hours_per_test; what is not given counts nothing.
    double of_one_test() const {
        return test.value_or(0.0) + sample.value_or(0.0) + hour.value_or(0.0) * hours_per_test;
    }
};

struct TestOrderProblem {
    std::vector<FieldToTest> fields;
    Eigen::MatrixXd draws_mg_per_kg;  ///< n_draws x fields: joint draws of the field means. Empty: ranking only
    Limit limit;
    ReadingLaw law;  ///< of one more test of a field's mean
    TestCosts costs;
    double outbound_lot_t = 0.0;  ///< a wrong acceptance costs the whole outbound lot: at least so many tonnes
    std::optional<LocalDay> today = std::nullopt;
    int days_to_result = 0;  ///< a result is in hand so many days after the test is taken
    int tests = 1;           ///< how many are going to be placed
    bool repeat = false;     ///< rank fields that have a test this season again
    std::uint64_t seed = 1;
    int outcomes = 64;  ///< readings tried per field, spread evenly over what it may give
    int threads = 1;    ///< results do not depend on it; the law is then asked from several at once
};

struct RankedField {
    int rank = 0;  ///< 1 is tested first
    std::string field;
    double exceedance = 0.0;      ///< chance that the field's mean is over the limit; 0 where ranking only
    double expected_gain = 0.0;   ///< fall of the expected loss over all fields, those above it in the list tested
    double gain_on_itself = 0.0;  ///< the part of it that falls on the field itself
    double tonnes = 0.0;
    int tests_so_far = 0;
    std::optional<double> risk = std::nullopt;
    bool test_its_loads = false;  ///< it is cut, or will be before a result: its loads can still be tested
    std::string why;              ///< one short sentence: "A test here saves about 800; cut on 18 Jul"
};

enum class GainUnit { tonnes, money, none };

struct TestOrder {
    std::vector<RankedField> fields;  ///< all of them: first the tests chosen, then the rest by what they would add
    GainUnit unit = GainUnit::tonnes;
    bool ranking_only = false;         ///< no DON result at all in the store: by disease risk, and labelled so
    double expected_loss_now = 0.0;    ///< over all fields whose decision is open
    double expected_loss_after = 0.0;  ///< once the chosen tests are in
    std::string says;                  ///< what the order is by, in one sentence, with what it assumes
};

/// Which field first: the fall of the expected loss, over all fields, that one more test of a field brings.
///
/// Each field is taken (accepted) or kept apart (rejected), whichever loses less on what is known:
///   loss = sum_f min( A_f p_f, R_f (1 - p_f) ),   p_f = P(mean of f breaks the limit)
///   A_f = wrong_acceptance_per_t * max(tonnes_f, outbound_lot_t),  R_f = wrong_rejection_per_t * tonnes_f
/// without costs A_f = R_f = tonnes_f: chance of a wrong decision times tonnes. A test of field j gives a reading y,
/// which changes every p_f:
///   gain_j = loss - E_y sum_f min( A_f p_f(y), R_f (1 - p_f(y)) ) - cost of one test,   p_f(y) = sum_s w_s(y) [draw s
///   of f breaks]
/// with importance weights w_s(y) proportional to the density of y given draw s of field j. A field that is cut, or cut
/// before a result would be in, has no decision left and is worth nothing; so is a test that turns no decision.
///
/// Readings are tried at evenly spread draws and probabilities (the same for all fields), so the order does not jitter,
/// and weighted so that the chances after them average to the chance before.
/// What is approximated: (1) draws of field j are gathered in up to 128 classes of equal count (64 where more than 256
/// decisions are open), split at the limit, and weighed by the density at the class's geometric mean; (2) a field
/// counts as informed by the test of another only where the correlation between its breaking the limit and the other's
/// log content is beyond 3 / sqrt(n_draws): less cannot be told from chance; (3) from the second test on, a field's
/// gain is multiplied by the share of it that remains once the earlier tests are in, at most all of it. That share is
/// computed with the outcomes of the earlier tests averaged out under the joint normal law that has the draws' log
/// means and covariances (class NormalValue). Expected value of sample information: Raiffa & Schlaifer (1961), Applied
/// Statistical Decision Theory, ch. 4.
///
/// @throws Error  shapes differ; a draw is not a positive number; a field twice; tonnes not positive; only one of the
///   two wrong-decision costs is given; a cost is negative
TestOrder order_of_tests(const TestOrderProblem& problem, const Progress& progress = {});

enum class PlainOrder { exceedance, risk };
/// The habits, for comparison: the most suspect field first. Same refusals; expected_gain is left at 0.
TestOrder plain_order(const TestOrderProblem& problem, PlainOrder order);

}  // namespace models
