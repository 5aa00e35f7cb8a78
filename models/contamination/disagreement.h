#pragma once

#include <vector>

#include "models/contamination/assay_site.h"

namespace models::contamination {

/// One sample of a field or load: what its readings say about ln of its content, and the variance of that about ln of
/// the content of the field or load.
struct SampleOfSame {
    std::vector<const SiteTable*> tables;
    double variance = 0.0;
};

/// Variance to add to each sample so that samples of one field or load can be explained together; 0 where they agree.
///
/// G = 2 (sum of the samples' largest log-likelihoods - the largest of their sum when all share one content) is about a
/// chi-square on one less degrees of freedom than samples; up to its 99 % quantile they agree. Beyond, the ground
/// between them varies more than anywhere else (or a strip or a name was mixed up), and the least variance that brings
/// G back to the quantile is added: the samples count for less and the interval is wider, and no side is chosen.
/// Source: Birge (1932), Phys. Rev. 40, 207-227, whose ratio this is for readings that may be bounds; quantile after
/// Wilson & Hilferty (1931), PNAS 17, 684-688. The threshold is ours.
double variance_of_disagreement(const std::vector<SampleOfSame>& samples);

}  // namespace models::contamination
