#pragma once

#include <optional>
#include <string>
#include <vector>

#include "models/assay/error_variance.h"
#include "models/records.h"

namespace models {

/// One reading of a duplicate study. Readings are compared within a lot only: each lot has a content of its own.
struct DuplicateReading {
    std::string lot;      ///< grain of one content: a load, a field, a bin, a bag that was mixed
    std::string sample;   ///< taken from the lot; the same name in another lot is another sample
    std::string portion;  ///< ground and extracted by itself; empty: a portion that was read once
    double don_mg_per_kg = 0.0;
    std::optional<double> sample_mass_g = std::nullopt, portion_g = std::nullopt;  ///< as recorded
};

/// How far apart one step of the work brings two results, as the variance of ln mg/kg.
struct VarianceComponent {
    bool told = false;          ///< the design has duplicates of this step
    double log_variance = 0.0;  ///< never below 0
    double low90 = 0.0;         ///< 90 % interval by profile likelihood
    double high90 = 0.0;        ///< infinity where so few duplicates set no upper end
    std::string message;        ///< where it is not told, or holds another step as well: which duplicates are missing
    double cv() const;          ///< sqrt(exp(log_variance) - 1), a fraction
};

/// What one's own duplicates say of the steps between grain and number.
struct VarianceComponents {
    VarianceComponent sampling, preparation, analysis;
    int lots = 0, samples = 0, portions = 0, readings = 0;
    /// Medians of what was recorded of the samples and of the portions: where sampling and preparation were measured.
    std::optional<double> sample_mass_g = std::nullopt, portion_g = std::nullopt;
    double reml_criterion = 0.0;  ///< -2 ln of the restricted likelihood, ln mg/kg
    bool settled = true;
};

/// How many duplicates told each step: samples beyond the first of their lot, portions beyond the first of their
/// sample, readings beyond the first of their portion. Two results are one pair, three are two.
struct DuplicatePairs {
    int sampling = 0, preparation = 0, analysis = 0;
};
DuplicatePairs pairs_of(const VarianceComponents&);
/// Fewer pairs of a step tell little of it, and that is said (ours: with 8 the upper end of a 90 % interval lies at
/// some 1.7 times the standard deviation, with 3 at some 2.9).
inline constexpr int few_pairs = 8;

/// Variance components of nested duplicates, samples of a lot, portions of a sample, readings of a portion, any number
/// of each and not the same everywhere:
///   ln y = lot + sample + portion + reading,   the last three N(0, v_sampling), N(0, v_preparation), N(0, v_analysis)
/// with one fixed mean a lot, by restricted maximum likelihood, the variances held at or above 0. An interval holds the
/// variances whose profile criterion (the others free) lies within 2.7055, the 90 % point of chi-square with one degree
/// of freedom, of the least; near 0 that is an approximation on the safe side. A step without duplicates cannot be told
/// from the duplicated step above it, which then holds both; where there is none above it is part of the lots' means
/// and not known at all.
/// Sources: Patterson & Thompson (1971), Biometrika 58, 545-554; Searle, Casella & McCulloch (1992), Variance
/// Components, ch. 6; Pinheiro & Bates (2000), Mixed-Effects Models in S and S-PLUS, section 2.4.
/// @throws Error  a content is not above zero; a reading without lot or sample; no step has a duplicate; the duplicates
///                of a step agree to the last digit everywhere
VarianceComponents variance_components(const std::vector<DuplicateReading>&);

/// The duplicates among a store's records. Composites of one load, or of one field with part or bin on one local day,
/// at one stage are duplicates of that lot; a sample that was split from another (`parent`) is a portion of it and its
/// tests are readings of that portion; tests of a sample that was not split are portions of their own. Values by strip
/// only; a lot whose tests are on several bases is left out. Controls and points of a map are none.
/// @throws Error  a sample split from one that was itself split: a duplicate of a duplicate
std::vector<DuplicateReading> duplicate_readings(const std::vector<Test>&, const std::vector<Sample>&);

/// The published errors with those steps replaced that the duplicates tell, each at the mass or portion of the
/// duplicates, which is also what is assumed where a result records none. Where a step holds the one below it as well,
/// the one below is 0 and the sum belongs to no mass: only a part of it would go with 1 / mass.
ErrorModel own_errors(const VarianceComponents&, ErrorModel published = {});

/// One sentence a step: "Preparation: coefficient of variation 14.2 % from 12 pairs (90 % interval 9.8 to 22.1 %).",
/// and where there are few pairs that they tell little.
std::vector<std::string> describe(const VarianceComponents&);

}  // namespace models
