#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "models/records.h"

namespace models {

/// What one reading says about a limit, before any model is asked.
enum class LimitOutcome { meets, breaks, undecided };

/// The smallest number that breaks a limit, after its rounding: every number above breaks it, none below does, and
/// `itself_breaks` says which side the number itself is on.
///   comparison over,       step r: the first whole multiple k r with k r > limit,  from (k - 1/2) r on
///   comparison at_or_over, step r: the first whole multiple k r with k r >= limit, from (k - 1/2) r on
///   no step: the limit itself, which breaks with at_or_over and meets with over
/// Results are rounded half up, as a printed result is (common practice, no source). With a limit of 2.0 and a step of
/// 0.1 this is 2.05: 2.04 is written 2.0 and meets the limit.
struct BreakingPoint {
    double mg_per_kg = 0.0;
    bool itself_breaks = false;
    bool breaks(double value_mg_per_kg) const {
        return itself_breaks ? value_mg_per_kg >= mg_per_kg : value_mg_per_kg > mg_per_kg;
    }
};
/// @throws Error  limit not a positive finite number; rounding step not a positive finite number
BreakingPoint breaking_point(const Limit& limit);

/// The value as a certificate would print it: to the nearest whole multiple of the step, halves up. 2.05 is 2.1 at a
/// step of 0.1 although the binary number lies a hair below; hence a slack of 1e-9 steps.
double rounded_to_step(double value_mg_per_kg, double step_mg_per_kg);

/// Whether a value on the limit's own basis breaks the limit, rounding and comparison included.
bool breaks_limit(double value_mg_per_kg, const Limit& limit);

/// What a reading on the limit's own basis says:
///   a value          meets or breaks, by breaks_limit
///   below x          meets where x <= limit (and x is not past the breaking point), else undecided
///   above x          breaks where x >= limit (or x is at or past the breaking point), else undecided
///   invalid          undecided: a void test says nothing
/// The end of a range is not a result, so it is not rounded.
/// @param guard_mg_per_kg  >= 0: a value that meets but lies nearer to the breaking point than this is undecided
///   (guarded acceptance, JCGM 106:2012, 8.3.2; 0 is simple acceptance). Never makes a value over.
LimitOutcome outcome_of(Reading reading, double don_mg_per_kg, const Limit& limit, double guard_mg_per_kg = 0.0);

/// Chance that the true content is under the limit, from a result x with standard uncertainty u and no other
/// knowledge: F((limit - x) / u), F the standard normal distribution. JCGM 106:2012, 7.5.
/// @throws Error  u not positive
double conformity_probability(double value_mg_per_kg, double standard_uncertainty_mg_per_kg, double limit_mg_per_kg);

/// What official control in the European Union would conclude: over only where result - U > limit, U the expanded
/// uncertainty (k = 2) of the analysis alone. Shown as information; never our clearance. Regulation (EU) 2023/2782,
/// Annex II: acceptance of a lot.
bool official_control_rejects(double value_mg_per_kg, double expanded_uncertainty_mg_per_kg, double limit_mg_per_kg);

/// Whether the limit holds on that day: from and to are both included; a side without a day is open.
bool holds_on(const Limit& limit, LocalDay day);

/// Which limit is asked for. What is empty or not set is not asked about; words are compared without upper case.
struct LimitQuestion {
    std::string commodity = {};  ///< as the limits write it: "wheat"
    std::optional<Purpose> purpose = std::nullopt;
    std::string stage = {}, jurisdiction = {};
    std::optional<LocalDay> day = std::nullopt;
};

/// The one limit that fits.
/// @throws Error  none fits (the commodities or dates that there are, are named); several fit (all are named)
Limit choose_limit(const std::vector<Limit>& limits, const LimitQuestion& question);

/// A limit as a user writes it: the limit_id of one in the table, or a bare number in mg/kg ("1.25"), which becomes a
/// limit `over` that number, as is, without rounding, mixing not addressed, source "given by hand".
/// @param day  where given, a limit of the table must hold on it
/// @throws Error  no such limit_id (the nearest is named), not a positive number, a decimal comma, not in force
Limit limit_from_text(std::string_view text, const std::vector<Limit>& limits, std::optional<LocalDay> day = {});

/// "over 1.25 mg/kg", "2.0 mg/kg and more, rounded to 0.1": the rule in words, for reasons and reports.
std::string in_words(const Limit& limit);

/// The limit's number for a sentence: "1.0", "1.25".
std::string number_in_words(const Limit& limit);
/// A content for a sentence: "0.04", "1.3", "12.0": at most three significant digits, more only where it would else
/// read like the number it is compared with.
std::string content_in_words(double mg_per_kg, std::optional<double> compared_with = {});
/// As an estimate is said: "0.07", "0.72", "2.1", "12".
std::string estimate_in_words(double mg_per_kg);
/// A chance for a sentence: "under 1 %", "12 %", "over 99 %"; one more digit where it would else read like the chance
/// it is compared with.
std::string chance_in_words(double chance, std::optional<double> compared_with = {});

}  // namespace models
