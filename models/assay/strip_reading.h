#pragma once

#include <optional>
#include <string>
#include <vector>

#include "models/assay/kit_lot.h"
#include "models/records.h"

namespace models {

/// A test as it was recorded: beside what was reported, what the reader saw and how the strip was run.
struct RecordedTest {
    Test test;
    bool only_signals = false;  ///< nothing was reported: the content comes from the signals
    std::optional<double> test_signal = std::nullopt, control_signal = std::nullopt;
    std::optional<double> incubation_s = std::nullopt, temperature_degc = std::nullopt;
    std::optional<double> dilution = std::nullopt;  ///< of the extract, where the lot has curves for several
};

/// What a flag is about.
enum class StripConcern {
    lot,      ///< nothing says what range it has for this grain
    run,      ///< incubation or temperature
    range,    ///< a number that was reported outside it
    signals,  ///< the strip's own signals contradict what was reported
    expired,
};
struct StripFlag {
    StripConcern concern = StripConcern::lot;
    std::string sentence;  ///< without its full stop
};

/// A test as it counts: a number, an inequality, or void with its reason; and what is odd about it.
struct StripReading {
    Test test;
    bool by_curve = false;  ///< the content was read from the lot's curve, and was not reported
    std::optional<CurveVariance> variance = std::nullopt;  ///< of its log content, where the curve says how sure it is
    /// What the strip's own signals give, where that contradicts what was reported: a number or an end of the range.
    std::optional<ReadContent> by_signals = std::nullopt;
    bool voided = false;                ///< it was not recorded as void, and is: void_reason says why
    std::vector<StripFlag> flags = {};  ///< the number stands all the same
};

/// From a test as recorded and the kit lots to what counts. Void tests and a laboratory's stay as they are.
///
/// Void, with the reason (no number can be told):
///   - of any strip: no control line (a signal of 0), or one weaker than the lot's minimum; a line at the end of what
///     the reader sees (the lot's maximum_signal)
///   - of one that has only signals: no kit lot named, or none such in the store; no curve for this grain or dilution;
///     no control signal where the curve or the lot's minimum asks for one; a signal that no strip of the lot gives;
///     an incubation or temperature outside the lot's bounds, for its curve was made within them
/// Flagged (the number stands, for whoever reported it answers for it, and every valid result counts):
///   - a lot that was past its last day on the test's own day; controls say whether its strips still read right
///   - an incubation or temperature outside the lot's bounds, of a reported content
///   - no test line at all, which a strip that stayed dry shows, too; both lines alike to the last digit without a
///     maximum in the lot, which a reader at its end shows
///   - a reported content whose lot has no range for this grain; one that the strip's own signals contradict by more
///     than a fifth (ours): a dilution that was applied twice shows so
///   - a reported number outside the working range: it becomes the inequality that such a strip tells, and says so
/// A content of an extract thinned by an extra dilution D lies between D low and D high.
StripReading read_strip(const RecordedTest& recorded, const std::vector<KitLot>& lots);

/// "test T1 reads 1.43 mg/kg", "test T2 reads <0.2 mg/kg", "test T4 is void: no control line: its signal is 0"; by the
/// curve of its lot where that said it. Without a full stop.
std::string in_words(const StripReading& reading);

}  // namespace models
