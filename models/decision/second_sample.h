#pragma once

#include <Eigen/Core>

#include "models/assay/error_variance.h"
#include "models/decision/clearing.h"

namespace models {

/// Whether another sample of a load pays: what is expected to be lost by the decision as it stands, and by the one that
/// would be taken after the sample is read.
struct SecondSampleAsked {
    Eigen::VectorXd content_mg_per_kg;  ///< draws of the load's content, on the limit's basis
    Limit limit;
    ClearingCaps caps;
    ClearingState now = ClearingState::undecided;
    double mass_t = 0.0;
    double spoils_t = 0.0;  ///< that are lost where the load is over and goes in: itself and the bin's grain
    double wrong_acceptance_per_t = 1.0;  ///< of every tonne that is spoilt
    double wrong_rejection_per_t = 1.0;   ///< of every good tonne that goes elsewhere
    AssayProcedure procedure;             ///< of the sample that would be taken
    ErrorModel error;
    int increments = 10;
    double within_load_cv = 0.25;
    double kit_lot_sd = 0.0;
};
struct SecondSample {
    double loss_now = 0.0, loss_after = 0.0;  ///< expected, in the units of the two above times tonnes
    double clears = 0.0, over = 0.0;          ///< chances of what it leads to; what is left stays undecided
    double worth() const { return loss_now - loss_after; }
};

/// With p = P(over | what is known): a load that goes in loses wrong_acceptance_per_t spoils_t p, one that does not
/// loses wrong_rejection_per_t mass_t (1 - p). Which of the two is done is a matter of rule and not of loss: cleared
/// grain goes in, everything else does not (clearing.h). A sample reads y with ln y ~ N(ln c - q/2, q), q = ln(1 +
/// CV^2(c)); y over the limit makes the load over, else it is cleared where P(over | y) is at most the load cap.
///   loss after = mean over y of the loss of what is done then
/// over 512 readings drawn from the contents evenly, each weighing all contents; what it differs from the loss now is
/// taken under the same readings, so that a sample which changes nothing is worth exactly nothing. Since the rule
/// stands above the loss, a sample may be worth less than nothing: of a load that is cleared and hardly ever over.
/// Source: Raiffa & Schlaifer (1961), Applied Statistical Decision Theory, ch. 4 (expected value of sample
/// information).
/// @throws Error  no draws; a mass or cost below 0
SecondSample worth_of_second_sample(const SecondSampleAsked& asked);

}  // namespace models
