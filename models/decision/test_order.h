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
    /// Chance of being over as the model states it; none: the share of the draws. Losses and gains take it too, so that
    /// rare ones do not hang on a few draws; how fields hang together is the draws' own.
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
    double exceedance = 0.0;  ///< chance that the field's mean is over the limit; 0 where ranking only
    /// Fall of the expected loss over all fields, those chosen above it tested, less the cost of the test.
    double expected_gain = 0.0;
    double gain_on_itself = 0.0;  ///< the part of the fall that is on the field itself
    double tonnes = 0.0;
    int tests_so_far = 0;
    std::optional<double> risk = std::nullopt;
    bool test_its_loads = false;  ///< it is cut, or will be before a result: its loads can still be tested
    std::string why;              ///< one short sentence: "A test here saves about 800; cut on 18 Jul"
};

enum class GainUnit { tonnes, money, none };

struct TestOrder {
    /// All of them: first the tests worth making, then the rest by what they would add, then those not worth one by
    /// what a test of them alone would save, so that they keep their order however many tests are asked about.
    std::vector<RankedField> fields;
    GainUnit unit = GainUnit::tonnes;
    bool ranking_only = false;       ///< no DON result at all in the store: by disease risk, and labelled so
    double expected_loss_now = 0.0;  ///< over all fields whose decision is open
    /// How many of the tests asked about are worth making: the first so many of the order, where their gains together
    /// are largest.
    int worth_making = 0;
    double expected_loss_after = 0.0;  ///< once these are in; what they cost is not in it
    std::string says;                  ///< what the order is by, in one sentence, with what it assumes
};

/// Which field first: the fall of the expected loss, over all fields, that one more test of a field brings.
///
/// Each field is taken (accepted) or kept apart (rejected), whichever loses less on what is known:
///   loss = sum_f min( A_f p_f, R_f (1 - p_f) ),   p_f = P(mean of f breaks the limit)
///   A_f = wrong_acceptance_per_t * max(tonnes_f, outbound_lot_t),  R_f = wrong_rejection_per_t * tonnes_f
/// without costs A_f = R_f = tonnes_f: chance of a wrong decision times tonnes. A test gives a reading, which changes
/// every p_f; tests of a set S of fields are worth the fall of the loss that is expected once their readings y are in:
///   value(S) = loss - E_y sum_f min( A_f p_f(y), R_f (1 - p_f(y)) )
/// Fields are chosen one by one, each time the one that adds most to the value of those above it; what it adds is its
/// gain, so the gains of the chosen tests add up to the fall of the loss, and the order of the first five of twenty is
/// that of five. Tests asked about beyond those that are worth their cost are not made: the loss afterwards is that of
/// the first so many whose gains less costs add up to most. A gain is never below 0 before the test's own cost. Down
/// the list gains fall, except where two tests together tell what neither does alone. Fields after the chosen ones have
/// the gain of one more test, or, where one test is asked about, that of making it there instead. A field that is cut,
/// or cut before a result would be in, has no decision left and is worth nothing; so is a test that turns no decision.
///
/// What is approximated: outcomes of tests are averaged out under a joint normal law (class NormalValue) that has each
/// field's own chance of being over, the correlations of the draws, and for each reading an error that tells as much
/// about being over as readings tried on the draws do, ends of the working range and grain without any DON included
/// (joint_scores.h). The error of a reading does not change with the content in it, and fields hang together by their
/// correlations alone: no DON in one tells nothing of others and blurs what its content would tell of them, so
/// that this is understated (two fields, the tested one without DON by a chance of 40 %: by a fifth of the gain).
/// Choosing one by one is not surely best: exchanging single tests until none helps lowered the loss of 20 in 60 fields
/// by 0.3 % on average in six simulated seasons. Expected value of sample information: Raiffa & Schlaifer (1961),
/// Applied Statistical Decision Theory, ch. 4; the choice one by one with correlated beliefs: Frazier, Powell & Dayanik
/// (2009), INFORMS Journal on Computing 21(4), 599-613.
///
/// @throws Error  shapes differ; a draw is not a positive number; a field twice; tonnes not positive; only one of the
///   two wrong-decision costs is given; a cost is negative; a stated chance is not within 0 to 1
TestOrder order_of_tests(const TestOrderProblem& problem, const Progress& progress = {});

enum class PlainOrder { exceedance, risk };
/// The habits, for comparison: the most suspect field first. Same refusals; expected_gain is left at 0.
TestOrder plain_order(const TestOrderProblem& problem, PlainOrder order);

}  // namespace models
