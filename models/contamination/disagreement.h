#pragma once

#include <optional>
#include <vector>

#include "models/contamination/assay_site.h"

namespace models::contamination {

/// One sample: what its readings say about ln of its content, and the variance of that about ln of the content of what
/// it was taken from.
struct SampleOfSame {
    std::vector<const SiteTable*> tables;
    double variance = 0.0;
};

/// What speaks of one content: samples of it, or (with a variance) samples of something whose ln content differs from
/// it by N(-variance/2, variance), such as a load of the field.
struct Witness {
    std::vector<SampleOfSame> samples;
    double variance = 0.0;
};

/// Variance to add to each sample so that all witnesses of one content can be explained together; 0 where they agree.
///
/// G = 2 (sum of the witnesses' largest log-likelihoods - the largest of their sum when all share one content) is about
/// a chi-square on one less degrees of freedom than witnesses; up to its 99 % quantile they agree. Beyond, the ground
/// between them varies more than anywhere else (or a strip or a name was mixed up), and the least variance that brings
/// G back to the quantile is added: the samples count for less and the interval is wider, and no side is chosen. (To
/// bring it down to its mean, as Birge does, would leave the field to its season: a higher reading could then make it
/// look cleaner.)
/// Source: Birge (1932), Phys. Rev. 40, 207-227, whose ratio this is for readings that may be bounds; quantile after
/// Wilson & Hilferty (1931), PNAS 17, 684-688. The threshold is ours.
double variance_of_disagreement(const std::vector<Witness>& witnesses);
/// The same of samples of one thing, each a witness.
double variance_of_disagreement(const std::vector<SampleOfSame>& samples);

/// A part of a load: what is said of its content, or where nothing is what is believed of it.
struct PartOfMix {
    double share = 1.0;
    std::vector<Witness> said;
    double believed_mean = 0.0, believed_sd = 1.0;  ///< of ln content; counts only where nothing is said
};

/// The same where a load speaks and its content is the mean of its parts' by their shares: G on one degree of freedom,
/// between the load and the best that its parts can be together.
double variance_of_disagreement(const Witness& load, const std::vector<PartOfMix>& parts);

}  // namespace models::contamination
