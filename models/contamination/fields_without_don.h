#pragma once

#include "models/contamination/point_posterior.h"

namespace models::contamination {

/// Fields that may hold no DON at all, at one value of the parameters: the chance that they hold none, and their law
/// where they hold some. The law of the posterior mixes both (of grain without DON nothing was read), so that the sites
/// of such a field are exchanged for what they are where there is DON: exact for one site of a field, as far as the
/// rest is Gaussian. Of several, their law given DON is propagated once more by itself, with what all else says of
/// them.
/// @param law  at the point; the point has its covariances
void tell_maybe_free(const Layout& layout, const GaussianLaw& law, const FreeFound& found, PointPosterior& point);

/// Chance that a field-season holds no DON: the share for one without results, 0 for one with a value.
double chance_without_don(const Layout& layout, const PointPosterior& point, std::size_t field_season);

ToGivenDon to_given_don(const Layout& layout, const PointPosterior& point, std::size_t field_season);
/// The same of a tested load that is all of one field.
ToGivenDon load_to_given_don(const Layout& layout, const PointPosterior& point, std::size_t load);

/// Takes the fields of a joint law to their laws given DON; how they go together is kept.
void give_don(const Layout& layout, const PointPosterior& point, const std::vector<Item>& items, JointLaw& law);

}  // namespace models::contamination
