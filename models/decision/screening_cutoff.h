#pragma once

#include <string>
#include <vector>

#include "models/calendar.h"

namespace models {

/// What the reader answers with: a content or a signal that rises with it, or the line of a competitive strip, which
/// falls.
enum class ScreeningResponse { rising, falling };

/// What the validation is for, and with it how many results it takes.
///   full          20 samples free of DON and 20 at the screening target, each over 5 days or more
///   new_commodity a further grain of a group that was validated: 10 and 10
///   verification  a method validated by a collaborative trial, in a laboratory of one's own: 6 and 6
enum class ScreeningStudy { full, new_commodity, verification };

struct ScreeningReading {
    LocalDay day{};
    double response = 0.0;  ///< mg/kg, or the signal as the reader gives it
};

/// Results of validation for one kind of grain and one target. A negative sample is known to hold at most a fifth of
/// the target, a positive one holds the target; the target is the limit where compliance is tested.
struct ScreeningData {
    ScreeningResponse response = ScreeningResponse::rising;
    std::string target_mg_per_kg;  ///< as it is written, "1.0": the cut-off has as many significant figures
    std::vector<ScreeningReading> negative, positive;
};

/// The response from which a sample is suspected, and how often that is wrong.
struct ScreeningCutoff {
    double cut_off = 0.0;  ///< in the unit of the response, with the target's significant figures; the one to use
    double before_rounding = 0.0;
    int significant_figures = 0;
    ScreeningResponse response = ScreeningResponse::rising;
    double mean_positive = 0.0, sd_positive = 0.0, mean_negative = 0.0, sd_negative = 0.0;
    int positives = 0, negatives = 0, days = 0;
    double t_value = 0.0;               ///< of the 5 %
    double false_negative_rate = 0.05;  ///< at `cut_off`: rounding moves it a little off 5 %
    double false_suspect_rate = 0.0;    ///< share of negative samples that the cut-off suspects
    std::string says;                   ///< for a validation report, one paragraph

    /// A response at the cut-off is suspected: the regulation says "exceeds", this is the safe side.
    bool suspects(double response_value) const {
        return response == ScreeningResponse::rising ? response_value >= cut_off : response_value <= cut_off;
    }
};

/// The cut-off from validation data, so that grain at the target passes in one of twenty cases:
///   rising   cut-off = mean_STC - t SD_STC;   falling  cut-off = mean_STC + t SD_STC
/// with t the one-tailed 5 % value of Student's distribution for n - 1 degrees of freedom, n positive results. A
/// negative sample is suspected with the upper tail of t = (cut-off - mean_negative) / SD_negative (falling: the other
/// sign), n_negative - 1 degrees of freedom.
/// Source: Commission Implementing Regulation (EU) 2023/2782, Annex II, point 4.2.2 and table 3.
/// @throws Error  fewer than 20 + 20 results, or either over fewer than 5 days (what is missing is said); a response
///   that is no finite number; no spread; a target that is no number above 0; positive results on the wrong side of the
///   negative ones
ScreeningCutoff screening_cutoff(const ScreeningData& data);

/// Whether a cut-off that stands holds for a further grain (10 + 10) or in another laboratory (6 + 6): every positive
/// result has to be on the suspected side.
struct CutoffCheck {
    bool holds = false;
    int positives_missed = 0;
    int negatives_suspected = 0;
    std::string says;  ///< one sentence: what follows
};
/// Source: as above. @throws Error  too few results (what is missing is said); a response that is no finite number;
///   a full study, which makes a cut-off of its own
CutoffCheck check_cutoff(const ScreeningCutoff& cutoff, const ScreeningData& data, ScreeningStudy study);

/// Significant figures of a number as it is written: "1.0" has 2, "1.25" 3, "1000" 4 (a bare whole number counts in
/// full). @throws Error  no number above 0
int significant_figures_of(const std::string& number);
/// To that many figures, halves away from zero; 0.916873 to 2 is 0.92.
double rounded_to_figures(double value, int figures);

}  // namespace models
