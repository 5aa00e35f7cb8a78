#pragma once

#include <optional>
#include <string>
#include <vector>

namespace models {

/// How a number came about, as far as somebody wrote it down.
struct AssayProcedure {
    std::optional<double> sample_mass_g;  ///< grain taken, all increments together
    std::optional<double> portion_g;      ///< ground grain that was extracted
    int analyses = 1;                     ///< readings of one extract whose mean is the result
};

/// How far a result lies from the truth, as a share of the truth, and where that comes from: which kernels got into the
/// sample (sampling), which particles into the portion (preparation), how the extract was read (analysis).
///
/// With C the TRUE content in mg/kg (never the reading) the variances of the result, in (mg/kg)^2, are
///   sampling     (454 / sample mass) 0.026 C^0.833
///   preparation  (25 / portion)      0.066 C^0.833
///   analysis     (1 / analyses)      0.026 C^0.833
/// and a squared coefficient of variation is a variance over C^2. Below `lowest_content_mg_per_kg` the coefficient of
/// variation stays what it is there; the paper has no such lots and the power law would run away.
/// Source: Whitaker, Hagler, Giesbrecht & Johansson (2000), J AOAC Int 83, 1285-1292: at 5 mg/kg 6.3, 10.0, 6.3 and in
/// all 13.4 %. The coefficients give these four figures; the exponent is unconfirmed. For portions under 25 g it is an
/// extrapolation, and on the safe side of what is documented for finely ground grain.
struct ErrorModel {
    double sampling_coefficient = 0.026;
    double preparation_coefficient = 0.066;
    double analysis_coefficient = 0.026;
    double exponent = 0.833;
    double reference_mass_g = 454.0;
    double reference_portion_g = 25.0;
    double assumed_mass_g = 454.0;    ///< where no sample mass is recorded
    double assumed_portion_g = 25.0;  ///< where no portion is recorded
    double lowest_content_mg_per_kg = 0.05;
    /// The user's own measured coefficients of variation, from duplicate grinds and duplicate readings; each replaces
    /// its line above at every content.
    std::optional<double> own_sampling_cv = std::nullopt, own_preparation_cv = std::nullopt,
                          own_analysis_cv = std::nullopt;
    /// The mass and the portion at which the first two were measured. From there the variance goes with 1 / mass, as
    /// the published ones do (Gy 1998, Sampling for Analytical Purposes; Whitaker et al. 2000):
    ///   sampling CV^2 (own mass / sample mass),   preparation CV^2 (own portion / portion)
    /// Not known: the coefficient of variation is taken as it is, whatever the mass.
    std::optional<double> own_sampling_mass_g = std::nullopt, own_portion_g = std::nullopt;

    /// As above, the analysis by Horwitz & Thompson: relative standard deviation 0.02 c^-0.1505 of the mass fraction c,
    /// 0.22 below 1.2e-7. For a laboratory that states no uncertainty. Source: Thompson (2000), Analyst 125, 385-386.
    bool analysis_by_horwitz = false;

    bool operator==(const ErrorModel&) const = default;
};

/// Squared coefficients of variation of the three steps; they add up.
struct RelativeVariance {
    double sampling = 0.0, preparation = 0.0, analysis = 0.0;
    double total() const { return sampling + preparation + analysis; }
};

/// The same on the log scale: a result is lognormal about the truth with mean C, so its log has the variance
/// q = ln(1 + CV^2). The parts are steps of one total: sampling ln(1 + CV_s^2), preparation what ln(1 + CV_s^2 +
/// CV_p^2) adds to it, analysis the rest; they add up to ln(1 + CV^2) exactly.
struct LogVariance {
    double sampling = 0.0, preparation = 0.0, analysis = 0.0;
    double total() const { return sampling + preparation + analysis; }
};

/// @param content_mg_per_kg  the true content, > 0
/// @throws Error             content, mass, portion or number of analyses is not above zero, the own ones included
RelativeVariance relative_variance(double content_mg_per_kg, const AssayProcedure&, const ErrorModel& = {});
LogVariance log_variance(const RelativeVariance&);
inline LogVariance log_variance(double content_mg_per_kg, const AssayProcedure& procedure,
                                const ErrorModel& model = {}) {
    return log_variance(relative_variance(content_mg_per_kg, procedure, model));
}

/// What had to be assumed for this procedure, one sentence each: "the sample's mass is not recorded: 454 g is assumed".
std::vector<std::string> assumptions(const AssayProcedure&, const ErrorModel& = {});
/// The model in words with its source, one sentence a line.
std::vector<std::string> describe(const ErrorModel&);

}  // namespace models
