#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/command_line.h"
#include "models/progress.h"
#include "models/spatial/experimental_variogram.h"
#include "models/spatial/kriging.h"
#include "models/spatial/variogram_fit.h"

namespace app::commands {

/// How a variogram is to be found from the data: what `variogram` and `krige` share.
struct FitChoice {
    std::optional<std::string> method, shapes, weights;
    std::optional<int> neighbours;  ///< of a likelihood: each value is taken given so many

    bool made() const { return method || shapes || weights || neighbours; }
};
void declare_fit_choice(Options& options, FitChoice& choice);

/// Whether the values themselves are fitted and not their classes of distance.
/// @throws models::Error  no such method (the nearest name is offered); weights or neighbours that the method does not
/// take
bool fits_likelihood(const FitChoice& choice);
/// By least squares through the classes, or by the likelihood of the values; where no shapes are chosen the better of
/// nugget + spherical and nugget + exponential.
/// @param classes  of the values or their residuals; not looked at by a likelihood
models::VariogramFit fit_as_chosen(const FitChoice& choice, const models::SpatialData& data,
                                   const std::vector<models::VariogramClass>& classes,
                                   const models::Progress& progress);

/// The fit as JSON text: {nugget, terms:[{shape, partial_sill, range, ..}], model, method, settled, message, ..}.
std::string fit_as_json(const models::VariogramFit& fit);

}  // namespace app::commands
