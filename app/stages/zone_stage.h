#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/stages/drawn_zones.h"
#include "app/workflow.h"

namespace app {

struct ZoneSettings {
    std::optional<double> yield_t_per_ha;  ///< of fields that do not say theirs
    bool own_duplicates = false;           ///< as the season was looked at
    int threads = 0;
};

/// What the grain of one zone holds.
struct ZoneContent {
    std::string zone;
    struct OfField {
        std::string field;            ///< FieldView::name
        double share_of_field = 0.0;  ///< of the field's ground that lies in the zone
    };
    std::vector<OfField> fields;
    double area_ha = 0.0;                    ///< of the zone as drawn
    double covered_ha = 0.0;                 ///< of it in fields with a number
    std::optional<double> tonnes;            ///< of that ground; none where a yield is not known
    std::optional<models::Content> content;  ///< none: no field with a number lies in it
    std::optional<double> exceedance;        ///< none without a limit or a content
    std::string note;                        ///< a few words
};

struct ZonesOfSeason {
    std::vector<ZoneContent> zones;  ///< in the order of the file
    bool by_structure = false;       ///< else a zone's mean is its fields', and only less sure
    std::string rests_on;            ///< one sentence without its full stop
};

/// The mean content of each zone's grain: of its fields by yield (by area where one is not
/// known), each by the model's law of the field and,
/// where placed results of the field itself support a structure, by what they say of this very part of it
/// (models/contamination/grain_of_field.h). A zone that is the whole field has the field's number.
ZonesOfSeason contents_of_zones(const SeasonView& view, const std::vector<DrawnZone>& zones,
                                const ZoneSettings& settings);

}  // namespace app
