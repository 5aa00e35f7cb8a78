#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "app/workflow.h"

namespace app {

struct TruckSettings {
    double tonnes = 25.0;
    std::optional<double> yield_t_per_ha;  ///< of fields that do not say theirs
    bool own_duplicates = false;           ///< as the season was looked at
    int threads = 0;
};

/// What one truck from a field holds, cut anywhere in it along the field: between the field's mean and what places
/// differ by.
struct TruckFromField {
    std::size_t crop = 0;                    ///< index into SeasonData::crops
    std::optional<models::Content> content;  ///< none: `note` says why
    std::optional<double> exceedance;        ///< none without a limit or a content
    double field_ha = 0.0, truck_ha = 0.0;   ///< never more than the field
    double yield_t_per_ha = 0.0;
    bool yield_assumed = false;  ///< the median of the season's records of that crop, or what was given for all
    std::string note;            ///< "it all fits into one truck", or why there is no number; a few words
};

struct TrucksFromFields {
    double tonnes = 0.0;
    std::vector<TruckFromField> fields;  ///< in the order of SeasonView::fields
    bool by_structure = false;           ///< places alike by what placed results support; else patches
    std::string rests_on;                ///< how contents inside a field are taken to differ, without its full stop
    std::vector<std::string> notes;      ///< yields that were assumed; sentences without their full stop
};

/// The content of one truck from each field of the season, by the model's own law of the field and the spread within it
/// (models/contamination/grain_of_field.h). Of the view the contamination, the verdict on structure and the limit
/// count.
/// @throws models::Error  a truck of no tonnes, or of more than 200; a yield out of range; no yield of any field is
///                        known or given
TrucksFromFields truck_from_each_field(const SeasonView& view, const TruckSettings& settings);

/// "one truck of 25 t (3.1 of its 12.4 ha, at 8.0 t/ha): 0.55 to 1.6 mg/kg, 21 % chance over", without a full stop.
std::string in_words(const TruckFromField& truck, double tonnes);

}  // namespace app
