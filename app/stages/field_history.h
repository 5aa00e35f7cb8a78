#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/workflow.h"
#include "models/records.h"

namespace app {

/// What a test of a field's own grain read.
struct FieldReading {
    std::string test, sample;
    models::Reading reading = models::Reading::value;
    double don_mg_per_kg = 0.0;  ///< value or bound, on the basis that all contents of the view stand on
};
/// Two readings of one sample that lie further apart than once in a hundred such pairs, by the errors of their portions
/// and readings at the content in the middle (the threshold is that of the counter's conclusion).
struct ReadingsApart {
    FieldReading low, high;
    bool nearer_low = false;  ///< the field's content lies nearer the lower one, by their logarithms
};

/// One crop record of a field: what was known of it and what came of it.
struct FieldYear {
    int season = 0;
    std::string part;  ///< empty: the whole field
    models::Crop crop = models::Crop::wheat;
    std::string cultivar;
    std::optional<models::LocalDay> flowering;
    bool flowering_observed = false;
    std::optional<double> risk, risk_low, risk_high;
    std::optional<models::Content> content;  ///< by all results up to the last season that is asked for
    std::optional<double> exceedance;        ///< with a limit
    int tests = 0, load_tests = 0;           ///< valid ones of its own samples, and of its loads
    std::vector<FieldReading> readings;      ///< of its own samples
    std::optional<ReadingsApart> apart;      ///< the two of one sample that lie furthest apart, where that is too far
    std::optional<double> severity_pct;      ///< of the visit that counts
    std::optional<models::LocalDay> scouted;
};

struct FieldHistory {
    std::string field, name, grower;
    std::optional<double> area_ha;
    std::string model;  ///< the disease model
    models::RiskKind kind = models::RiskKind::probability;
    int known_up_to = 0;           ///< the season up to which results are known
    std::vector<FieldYear> years;  ///< by season, then part
};

/// @param view      of the last season, with risks and contents of all seasons before it (Upto::contamination)
/// @param first     the first season to tell
/// @throws models::Error  the store knows no such field (the nearest are named), or it has no crop record in them
FieldHistory history_of_field(const SeasonView& view, const std::vector<models::Scouting>& scouting,
                              const std::string& field, int first);

/// The readings of a field-season's own samples that its content rests on. @param field_season  of the model
std::vector<FieldReading> readings_of_field(const ContaminationView& contamination, std::size_t field_season);
/// Two of them of one sample that cannot both be right. The model widens nothing for these: it looks for contradictions
/// between samples, so whoever reads the field's number has to be told.
std::optional<ReadingsApart> readings_apart(const ContaminationView& contamination, std::size_t field_season,
                                            double median_mg_per_kg);

}  // namespace app
