#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include <Eigen/Core>

#include "models/decision/bin_content.h"
#include "models/records.h"

namespace models {

/// Contents of sources, draw by draw. mg/kg on one basis.
struct SourceDraws {
    std::vector<std::string> sources;
    Eigen::MatrixXd mg_per_kg;  ///< n_draws x sources
    /// Share of a tonne of each source that counts for its mean: dry matter per tonne where contents are on dry
    /// matter; empty: all 1.
    Eigen::VectorXd weight_per_t;
};

/// Draws for what lay in the bins before the first move: lognormal with the bin's mean and standard deviation, drawn
/// independently of everything else. A bin without opening mass has none; one with mass but no mean is left out (its
/// content is not known), one without a standard deviation is taken to be that mean exactly in every draw.
SourceDraws opening_draws(const std::vector<Bin>& bins, Eigen::Index n_draws, std::uint64_t seed);
/// The two side by side. @throws Error  numbers of draws differ, a source in both
SourceDraws joined(const SourceDraws& a, const SourceDraws& b);

/// Mean content of grain, draw by draw: sum of mass x weight x content over sum of mass x weight.
/// nullopt where there is no grain, or some of it has no draws (its content is not known).
std::optional<Eigen::VectorXd> mean_content(const std::vector<GrainPortion>& portions, const SourceDraws& draws);
/// The sources among the portions that have no draws: why the mean is not known.
std::vector<std::string> sources_without_draws(const std::vector<GrainPortion>& portions, const SourceDraws& draws);

}  // namespace models
