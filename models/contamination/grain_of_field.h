#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <vector>

#include <Eigen/Core>

#include "models/contamination/contamination.h"
#include "models/contamination/ground_cells.h"
#include "models/contamination/within_field.h"
#include "models/geometry.h"

namespace models {

/// How contents differ from place to place of a field, as far as its grain is concerned.
struct SpreadInField {
    /// What places have in common, from results of single places (`within_field_structure`): their weights and
    /// parameters. Empty: no structure is supported, and the ground is taken as patches without anything in common.
    std::vector<WithinFieldPoint> points;
    /// Where the results of the points were taken, when they are this field's own: its pattern is then known as far as
    /// they tell. Empty: the points are of other fields of the season, and their sd is left to the contamination model.
    std::vector<PointM> places;
    /// Size of a patch; ours: 25 t at 8 t/ha are then the mean of 8 patches, which the contamination model takes every
    /// load to be (ContaminationPriors::load_places).
    double patch_ha = 0.4;
    /// What has nothing in common with its neighbours though there is structure (the nugget) is the same within so much
    /// ground; ours. A truck of a hectare is the mean of 100 of them, so little of it is left.
    double place_ha = 0.01;
};

/// The shape of ground that fills a truck: what a combine cuts one swath beside the other along the field, or a compact
/// piece.
enum class CutAs { strip, block };

/// Grain from one field, or one field's part of a mixed load.
struct GrainFromField {
    const GroundCells* ground = nullptr;  ///< must outlive the call; null: no points in `spread`, or whole
    double field_ha = 0.0;
    double share_of_field = 1.0;  ///< of the field's grain, more than 0; 1: all of it
    SpreadInField spread;
    std::optional<CutCells> cut = std::nullopt;  ///< where it was cut; none: anywhere in the field
    double share = 1.0;                          ///< of the load's mass; those of a load add up to 1
};

struct GrainSettings {
    std::uint64_t seed = 1;
    int draws = 2048;  ///< of the pattern inside the fields, at least; the law of field means itself is not drawn
    CutAs cut_as = CutAs::strip;
};

/// What is known of the mean content of some grain.
class GrainLaw {
 public:
    struct Mixture;
    explicit GrainLaw(std::shared_ptr<const Mixture> mixture) : mixture_(std::move(mixture)) {}

    Content content() const;                          ///< median, mean and intervals; tests and flags are left as none
    double exceedance(double limit_mg_per_kg) const;  ///< P(content > limit), 0 to 1
    Eigen::VectorXd draws(int n,
                          std::uint64_t seed) const;  ///< mg/kg, for decisions; draw i depends on seed and i alone

 private:
    std::shared_ptr<const Mixture> mixture_;
};

/// The mean content of grain from part of a field, or of several: one truck of so many tonnes, a drawn part or zone, a
/// block, a mixed load.
///   content = sum over fields of share x M R,  ln M the field's mean as `posterior` has it,
///   R = mean of Z over the ground cut / mean of Z over the field,  ln Z(s) = w(s),
///   cov(w(s), w(t)) = sd^2 (structured_share exp(-|s - t| / range) + (1 - structured_share) [same place])
/// so that all parts of a field together have the field's mean. R is simulated on the cells of the ground (covariances
/// averaged over cells, the nugget by the places in a cell) at values of share and range taken by their weights, given
/// the field's own placed results where there are any, their mean being flat; at each value of the model's covariance
/// parameters the law of ln M given R is kept in closed form, so that only R is drawn. Without supported structure the
/// ground is patches, n = cut / patch of N = field / patch, at least 1, and no draw is needed:
///   R ~ LN(-v/2, v),  v = ln(1 + (exp(sd^2) - 1) (1/n - 1/N)),
/// which is what the contamination model says of a load where n = load_places and the field is large. Where it is not
/// known from where in the field the grain comes, its mean is the field's. A field that fits into the load is the load.
/// A field that may hold no DON holds none in all its grain. Draws come by counters: the same for a seed whatever the
/// threads.
/// Sources: Journel & Huijbregts (1978), Mining Geostatistics, II.C (mean covariances of blocks, dispersion within a
/// field); Chiles & Delfiner (2012), Geostatistics, 2nd ed., sections 3.4 (unknown mean) and 7.3 (conditional
/// simulation); Cochran (1977), Sampling Techniques, 3rd ed., section 2.6 (some of finitely many patches); Fenton
/// (1960), IRE Trans Commun Syst 8, 57-67 (sums of lognormals, the least known part drawn).
/// @param posterior  of the fields in the same order
/// @throws Error  shares out of range or not adding up to 1; no ground or size where one is needed; spreads out of
/// range
GrainLaw law_of_grain(const FieldsTogether& posterior, const std::vector<GrainFromField>& from,
                      const GrainSettings& settings = {});

/// Variance of ln R of a cut out of patches, as above.
double log_variance_of_patches(double within_sd, double field_ha, double share_of_field, double patch_ha);

/// Contents of cells against the field's mean, cells x draws: in each draw their mean by the cells' shares is 1. What
/// is cut from the cells has the mean over its cells, and everything cut in one draw belongs together.
/// @param within_sd  by draw, of the log between places far apart; not looked at where the spread has places of its own
Eigen::MatrixXd relative_contents(const GroundCells& ground, const SpreadInField& spread,
                                  const Eigen::VectorXd& within_sd, std::uint64_t seed);

/// Draws of several cuts of one field together, mg/kg: draws x cuts. For decisions on parts, zones or trucks side by
/// side.
Eigen::MatrixXd draws_of_cuts(const FieldsTogether& posterior, const GroundCells& ground, const SpreadInField& spread,
                              const std::vector<CutCells>& cuts, int n, std::uint64_t seed);

/// Contents of cuts of one field against its mean, beside draws of that mean that are there already: n x cuts. A draw
/// of the field by ContaminationModel::draws(n, draws_seed) times a column is a draw of that cut, and stands with all
/// that was drawn with the field; of cuts that make up the field the mean by their shares is 1 in every draw. Each draw
/// has the sd within fields that it was drawn with.
/// @param posterior  of that field alone
/// @param seed       of the pattern inside the field
/// @throws Error  as draws_of_cuts
Eigen::MatrixXd relative_contents_of_cuts(const FieldsTogether& posterior, const GroundCells& ground,
                                          const SpreadInField& spread, const std::vector<CutCells>& cuts, int n,
                                          std::uint64_t draws_seed, std::uint64_t seed);

}  // namespace models
