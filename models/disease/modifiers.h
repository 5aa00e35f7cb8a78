#pragma once

#include <string>
#include <vector>

#include "models/disease/disease_model.h"

namespace models {

/// What the grower did that is published to change the DON of a field, beside the weather.
enum class DonFactor { maize_before, wheat_before, ploughed, resistance, spray };

/// "after wheat (Dill-Macky & Jones 2000)": what it is and who published its ratio. A word of the catalogue, in
/// English: the model knows its ratios by it.
std::string in_words(DonFactor factor);

/// One factor of one crop record, as a term of ln DON:  share x N(log_ratio, ratio_sd^2) + N(0, own_sd^2).
/// The error of a published ratio is the same in all fields; only own_sd is the field's own.
struct DonModifier {
    DonFactor factor = DonFactor::maize_before;
    double share = 0.0;      ///< 1 where the record says that it is so, 0 where it says otherwise or nothing
    double log_ratio = 0.0;  ///< ln of DON with the factor over DON without it
    double ratio_sd = 0.0;   ///< how unsure that is
    double own_sd = 0.0;   ///< of a field whose record does not say: |log_ratio| / sqrt(12), as lying anywhere between
    bool held = false;     ///< the disease model knows it already: it does not count
    std::string sentence;  ///< what it is, its size and where it comes from; or why it does not count
};

struct DonModifiers {
    /// One a factor that the record makes a difference by, or leaves open, in the order of DonFactor. Those that are
    /// held are listed so that it can be said, and are in no sum.
    std::vector<DonModifier> terms;
    double log_ratio() const;  ///< sum of share x log_ratio over those not held
    double variance() const;   ///< sum of share^2 x ratio_sd^2 + own_sd^2 over those not held: of one field alone
};

/// Whether a disease model's number moves with the factor already, so that it must not count a second time. The models
/// with resistance and residue hold the cultivar, maize before and the plough that buries it; none holds wheat before
/// or a spray. The one place for this rule.
bool holds(const DiseaseModel& model, DonFactor factor);

/// The published ratios of DON that a crop record calls for. Reference is susceptible wheat after neither maize nor
/// wheat, not ploughed, not sprayed, so that a record of the reference has no term.
///
/// Sources of the ratios. Maize before: 3 (1 / 0.33 +- 0.11) of Beyer, Klix, Klink & Verreet (2006), J Plant Dis Prot
/// 113:241-246, and 2 of Dill-Macky & Jones (2000), Plant Disease 84:71-76: the middle of their logs. Wheat before:
/// 1 / 0.75, Dill-Macky & Jones (2000), against soybean. Ploughed: 0.33 +- 0.07, Beyer et al. (2006). Moderately
/// susceptible: 0.24 +- 0.07, the same. Spray: 0.55, 0.57, 0.58, 0.77 and 0.88 for five products around flowering,
/// Paul et al. (2008), Phytopathology 98:999-1011: the middle of their logs, for the record does not name the product.
///
/// ratio_sd is the published error over the ratio and never under 0.3 of the log (ours: one study is not every farm).
/// For the cultivar it is 0.5 (ours): the odds of disease in the 999 US fields put the ratio at 0.63, times the usual
/// slope, and not at 0.24. Moderately resistant counts as moderately susceptible and very susceptible as susceptible:
/// no ratio is published for either. A spray more than 3 days before or 6 days after flowering is not counted (ours;
/// the ratios are of sprays around flowering). A maize residue that is said to be none counts neither as maize nor, a
/// second time, as ploughed. For other crops than wheat there is no term. Source of the way they are joined: sums of
/// logs, as if the factors did not help each other.
DonModifiers don_modifiers(const CropRecord& crop, const DiseaseModel& model);

}  // namespace models
