#pragma once

#include <vector>

#include "models/decision/bin_plan.h"
#include "models/decision/bin_plan_score.h"
#include "models/decision/placing.h"

namespace models {

/// The best of all ways to send grain to the bins that may take it: the mathematics of plan_bins. What may go where has
/// been decided before; here it is chosen among.
///
/// Aims, one after the other, each kept by all that follow: loads with a place; tonnes with a place; with prices the
/// value V of bin_value.h, else tonnes in food, in feed, in other bins; at last, where grain may be split, few pieces.
///
/// Without prices and without grain that may be split all ways are gone through first (placing.h); the solver is asked
/// where there are too many. Else the choice is a mixed-integer problem (mip_solver.h). With x(g,b) the share of grain
/// g in bin b, 0 or 1, or anything between where g may be split and then u(g,b) = 1 where x(g,b) > 0 and m(g) x(g,b) at
/// least `least_piece_t`:
///   sum over b of x(g,b) <= 1;   sum over g of m(g) x(g,b) <= room(b);   one tag a bin: u(g,b) <= t(b,tag of g),
///   sum over tags of t(b,tag) <= 1
///   cap of a bin: of n draws at most floor(cap n) may have its mean over the limit. In draw s, k(g) the tonnes that
///   count on the limit's basis, p its breaking point and 0 what lies there already:
///     sum over g of m(g) (c(g,s) - p k(g)) x(g,b) + m(0) (c(0,s) - p k(0)) <= M(s) z(b,s),
///     sum over s of z(b,s) <= floor(cap n)
///   Rows of draws are added when an answer breaks the cap on all draws, the worst draws first, and the solver is asked
///   again: every answer is held against all draws by the very function that judges a bin (exceedance_of_draws).
///   value: every bin is paid its best price, less (price + cost of a spoilt tonne) w(b,P) for every set P of grain
///   that is over together in a share q(P) of the draws: w(b,P) >= tonnes in b where anything of P is in it. The 40
///   most frequent sets of a bin count so (fewer where they take more than 60 rows), of the others only the tonnes of P
///   itself; beyond the contract the lower price.
/// The solver's nodes are at most `most_nodes` and 5 + 20,000 / rows; of more than 150 columns a value is sought to
/// 0.1 %. All three are ours, for a plan in a second or two.
/// Exact: clearing, room, tags, the cap on all draws, tonnes, and V of the plan that is shown. Not exact: V inside the
/// solver, which takes the best step of a price for every draw and leaves out rare sets, so that its bound is one from
/// above. Its answer is bettered by moves and exchanges of two under V itself, and the gap that is told is between that
/// V and the bound.
/// Sources: chance constraint by draws and rows added as they are broken: Luedtke & Ahmed (2008), SIAM J Optim 19(2),
/// 674-699; aims one after the other: Isermann (1982), OR Spektrum 4, 223-228; the big-M form is common practice.
struct ChosenBins {
    std::vector<Sent> sent;  ///< by grain, then bin
    bool best_of_all = true;
    PlanProof proof;
};
ChosenBins choose_bins(const BinPlanProblem& problem, const PlacingProblem& placing);

/// The same, by the solver alone and from nothing: for tests of one way against the other.
ChosenBins choose_bins_by_solver(const BinPlanProblem& problem, const PlacingProblem& placing);

}  // namespace models
