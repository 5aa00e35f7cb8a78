#pragma once

#include <string>
#include <vector>

#include <Eigen/Core>

#include "app/stages/contamination_stage.h"
#include "app/stages/season_data.h"
#include "geo/contours.h"
#include "models/contamination/within_field.h"
#include "models/geometry.h"

namespace app {

/// A field with placed results, and its surface where structure is supported: log DON kriged within the field, averaged
/// over what the results of all fields say of the covariance, no structure among it.
struct WithinField {
    std::string field, part;
    int points = 0;          ///< places with a result, below and above the range included
    bool supported = false;  ///< this field has a surface
    std::string reason;      ///< "supported: ..." or "not supported: ...", one sentence without its full stop
    // Only where supported, row 0 the northernmost, NaN outside the outline:
    models::GridM grid;
    Eigen::MatrixXd median_mg_per_kg, mean_mg_per_kg, low90_mg_per_kg, high90_mg_per_kg;
    Eigen::MatrixXd log_sd;      ///< of ln DON at a place, which is normal about the log of the median
    Eigen::MatrixXd exceedance;  ///< empty until a limit is given
};

/// The verdict on structure within the fields of a season, and what follows for each of them.
struct WithinFields {
    models::WithinFieldStructure structure;
    std::vector<WithinField> fields;  ///< with more than one placed result, by name
};

/// Of all results of the season from a single place in an outlined field. No limit has a part in it.
WithinFields maps_within_fields(const SeasonData& data, const ContaminationSettings& settings,
                                const models::Progress& progress = {});
/// Those results, each with what it says of its place, and which field each number of `PlacedResult::field` is: a
/// field's points in `WithinFieldStructure` count them as they stand here.
struct PlacedResults {
    std::vector<models::PlacedResult> results;
    std::vector<std::string> fields;
};
PlacedResults placed_results(const SeasonData& data, const ContaminationSettings& settings);
/// The chance of each place of a supported field to be over the limit.
void give_exceedance(WithinField& within, const models::Limit& limit);
/// Lines of equal median content inside a field; none where no surface is supported.
std::vector<geo::ContourLine> lines_of_equal_content(const WithinField& within,
                                                     const std::vector<double>& levels_mg_per_kg);

/// What is said of structure within the season's fields: the verdict with its evidence ratio and leave-one-out skill,
/// and which fields are drawn as a surface.
struct StructureSentence {
    bool supported = false;
    std::string reason;
};
StructureSentence structure_of(const WithinFields& within);

}  // namespace app
