#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>

#include "app/stages/within_fields_stage.h"
#include "app/workflow.h"
#include "models/contamination/grain_of_field.h"

namespace app {

/// How contents differ inside each field of a season, for whatever is cut from it: by the structure that placed results
/// support, in a field with places of its own given these; else as patches.
class FieldSpreads {
 public:
    /// @param own_duplicates  as the season was looked at
    FieldSpreads(const SeasonView& view, bool own_duplicates);
    /// @param evidence  of structure within the season's fields; none: not asked for. It must outlive this.
    /// @param how       results were taken by
    FieldSpreads(const SeasonData& data, const std::optional<models::WithinFieldStructure>& evidence,
                 const ContaminationSettings& how);

    bool by_structure() const { return supported_; }
    models::SpreadInField of(const models::CropRecord& crop) const;
    std::string in_words() const;  ///< one sentence without its full stop

 private:
    const std::optional<models::WithinFieldStructure>& evidence_;
    bool supported_ = false;
    models::SpreadInField pooled_;  ///< of a field without placed results
    PlacedResults placed_;
};

/// For the draws of one field, zone or truck: the same for its name whatever others there are.
std::uint64_t seed_of_name(const std::string& name);

/// Yields of the season: what a crop record says, else what is given for all, else the median of the season's records
/// of its crop.
class SeasonYields {
 public:
    SeasonYields(const SeasonView& view, std::optional<double> given_t_per_ha);
    struct Yield {
        double t_per_ha = 0.0;
        bool assumed = false;
    };
    std::optional<Yield> of(const models::CropRecord& crop) const;
    bool none_known() const { return usual_.empty() && !given_; }

 private:
    std::optional<double> given_;
    std::map<models::Crop, double> usual_;
};

}  // namespace app
