#pragma once

#include <vector>

#include "models/contamination/layout.h"
#include "models/contamination/parameter_integral.h"

namespace models::contamination {

/// A sample's reading as the others foretell it: where it lies in the law that they give it, 0 to 1. A value is a point
/// of it, a bound the stretch below or above.
struct Foretold {
    int site = 0;
    int season = 0;  ///< index into Layout::seasons; -1: of no field
    SiteSays says = SiteSays::value;
    double low = 0.0, high = 1.0;
    double under_common_bound = 0.0;  ///< chance of reading under the bound that most samples share
    int is_under = -1;                ///< whether it did: 0, 1; -1: its own bound leaves that open
    /// Of one more reading of it, mg/kg, by all others; 0 of samples of earlier seasons, which nobody draws.
    double median = 0.0, low90 = 0.0, high90 = 0.0;

    double middle() const { return 0.5 * (low + high); }
    /// On the scale of a standard normal law, which these numbers have where the model holds. A bound has a place in
    /// its stretch by a number that depends on the sample's own number alone: the middle of it would heap the many
    /// bounds of clean fields up about one place, and what is heaped up looks like long tails elsewhere (measured: a
    /// check at 5 % then spoke in 20 % of seasons that are as assumed). Source: Dunn & Smyth (1996), J Comput Graph
    /// Stat 5, 236-244.
    double as_normal() const;
};

struct LeftOut {
    std::vector<Foretold> readings;
    double common_bound_mg_per_kg = 0.0;  ///< 0: no sample is under any
};

/// Every sample foretold by all other samples, in the propagation's own law of that (the cavity): averaged over the
/// covariance parameters, whose weights are divided by what the sample itself says of them,
///   w_k' = w_k / p_k(y_i | the others), no ratio above sqrt(number of points) times their mean;
/// samples with values and bounds at once, and controls, are left out.
/// Source: Opper & Winther (2000), Neural Computation 12, 2655-2684 (the cavity is the law of a sample left out);
/// Gelfand, Dey & Chang (1992), Bayesian Statistics 4, 147-167 (weights); Ionides (2008), J Comput Graph Stat 17,
/// 295-311 (their bound).
LeftOut foretell_each(const Layout& layout, const ParameterIntegral& found);

/// Those of the newest season, as they are told.
std::vector<Learnt::LeftOut> told_of_newest(const Layout& layout, const LeftOut& left);

}  // namespace models::contamination
