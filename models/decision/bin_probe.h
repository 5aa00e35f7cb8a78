#pragma once

#include <optional>
#include <string>
#include <vector>

#include "models/assay/error_variance.h"
#include "models/decision/bin_content.h"
#include "models/decision/source_draws.h"

namespace models {

/// A probe of a bin: grain taken from several loads that lie together, and what its test read. It speaks of all of them
/// at once, of what else came from their fields, and of grain of which nothing but an opening content is known.
struct BinProbe {
    std::string sample, bin;
    std::vector<std::string> tests;   ///< of the sample: their mean counts
    std::vector<GrainPortion> grain;  ///< what lay in the bin when it was taken
    bool layered = true;              ///< its loads lay one above the other, and not mixed
    Reading reading = Reading::value;
    double don_mg_per_kg = 0.0;  ///< as is; the mean of values, or a bound
    int readings = 1;            ///< portions of the sample that were read
    int increments = 10;
    AssayProcedure procedure;  ///< of one portion
    ErrorModel error;
    std::optional<double> stated_cv;  ///< a laboratory's, of preparation and analysis together
    double kit_lot_sd = 0.0;          ///< of ln readings between kit lots
    double within_load_cv = 0.25;     ///< of handfuls of one load's grain
};

/// What became of one probe.
struct ProbeNews {
    enum class What { counted, empty_bin, unknown_grain, contradicts };
    std::string sample, bin;
    What what = What::counted;
    double before_mg_per_kg = 0.0, before_low90 = 0.0, before_high90 = 0.0;  ///< the bin as it lay then, as is
    double after_mg_per_kg = 0.0, after_low90 = 0.0, after_high90 = 0.0;     ///< as before where it does not count
    double surprise = 1.0;             ///< chance of a reading as far out as this, by what was known before it
    std::vector<std::string> unknown;  ///< sources without draws
};

struct ProbedDraws {
    SourceDraws draws;
    std::vector<ProbeNews> news;       ///< in the order of the probes
    double effective_draws = 0.0;      ///< that the draws are worth now
    std::vector<Eigen::Index> chosen;  ///< rows of the draws before; empty: they are as they were
};

/// As many draws as there are, each as often as its weight says, evenly spaced and in the order in which they stood.
/// @param weights  they add up to 1
std::vector<Eigen::Index> chosen_by(const Eigen::VectorXd& weights);

/// Draws of contents once probes of bins have spoken. Each draw is a world: in it the probed grain has the mean c by
/// mass and its loads lie h (CV) about it, and the probe reads y with
///   ln y ~ N(ln c - q/2, q),   q = ln(1 + CV^2),
///   CV^2 = sampling + (within_load_cv^2 + h^2) / increments + (preparation + analysis) / readings + kit_lot_sd^2
/// the first three by `error` at c (h is 0 in mixed grain). The draw counts in proportion to this likelihood, below and
/// above the range by the probability of that side; then as many draws as before are taken by these weights, evenly
/// spaced, so that everything that is made from draws goes on as it was.
/// A probe so far out that readings like it have a chance under 1 in 1000 by all that was known before does not count:
/// it contradicts its loads, and a person has to look (a mix-up, another bin, hot grain).
/// Sources: Smith & Gelfand (1992), The American Statistician 46(2), 84-88 (posterior from prior draws by weights);
/// Kitagawa (1996), J Comput Graph Stat 5(1), 1-25 (evenly spaced choice); Box (1980), J R Stat Soc A 143(4), 383-430
/// (a reading against what was foretold of it).
/// @param probes  in the order in which they were taken
/// @throws Error  a reading that is no number above 0; fewer than 1 increment or reading
ProbedDraws draws_after_probes(SourceDraws draws, const std::vector<BinProbe>& probes);

}  // namespace models
