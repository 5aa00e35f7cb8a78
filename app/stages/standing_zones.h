#pragma once

#include <vector>

#include "app/stages/bins_stage.h"
#include "app/stages/standing_grain.h"

namespace app {

/// Fields that are still to be cut, in the zones in which they are going to be cut and delivered apart. A field with
/// zones in it gives way to them and, where ground is left, to "FIELD, rest"; the others stay as they are. A zone has
/// the tonnes of its share of the field's ground, less what loads of that zone brought, and the field's own results of
/// composite samples count for each piece, for they speak of all of it; results of single places have their say in the
/// model alone.
///   content of a piece = M R,  M the field's mean in each draw of the model, R the piece's ground against it
/// by the law of grain_of_field.h: in every draw the pieces of a field have its mean together. Where no structure
/// inside fields is supported, R tells no piece from another, and each varies about the field's mean.
/// Ground under 2 % of a field that no zone covers is taken with the nearest one (lines drawn twice are never the
/// same), and a zone under the least piece of a plan (5 t, ours) stays in the rest. A zone in no field that is still to
/// be cut is left out, and one that is a whole field is that field. Notes name each such zone.
/// @param settings  its zones, structure, draws and seed
/// @param out       takes the pieces, as `zones`, and the notes
/// @throws models::Error  a zone in two fields, or in a part whose outline is not drawn; two zones over one another, or
///                        of one name
std::vector<StandingGrain> cut_in_zones(std::vector<StandingGrain> fields, const SeasonData& data,
                                        const ContaminationView& view, const BinsSettings& settings, BinsView& out);

}  // namespace app
