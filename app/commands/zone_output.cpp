#include "app/commands/zone_output.h"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/drawing/numbers.h"
#include "app/table_text.h"

namespace app::commands {

std::string zones_text(const ZonesOfSeason& zones) {
    TextTable table({"zone", ">ha", ">t", ">median", ">from", ">to", ">chance over", "field", "note"});
    for (const ZoneContent& zone : zones.zones) {
        const auto number = [&](double models::Content::*member) {
            return zone.content ? drawing::number_text((*zone.content).*member) : std::string("–");
        };
        std::string fields;
        for (const ZoneContent::OfField& part : zone.fields)
            fields += fmt::format("{}{} {}", fields.empty() ? "" : ", ", part.field,
                                  drawing::percent_text(part.share_of_field));
        table.row({zone.zone, fmt::format("{:.1f}", zone.area_ha),
                   zone.tonnes ? fmt::format("{:.0f}", *zone.tonnes) : "–", number(&models::Content::median),
                   number(&models::Content::low90), number(&models::Content::high90),
                   zone.exceedance ? drawing::percent_text(*zone.exceedance) : "–", fields, zone.note});
    }
    std::string text = "Zones:\n" + table.text();
    if (!text.empty() && text.back() != '\n') text += '\n';
    return text +
           wrapped_text(
               "zones: DON of the mean of each zone's grain, mg/kg, with the shares of its fields that lie in it; " +
               zones.rests_on + ".");
}

nlohmann::ordered_json zones_json(const ZonesOfSeason& zones) {
    using Json = nlohmann::ordered_json;
    Json out;
    out["by_structure_within_fields"] = zones.by_structure;
    out["rests_on"] = zones.rests_on;
    out["zones"] = Json::array();
    for (const ZoneContent& zone : zones.zones) {
        const auto number = [&](double models::Content::*member) {
            return zone.content ? Json((*zone.content).*member) : Json(nullptr);
        };
        Json fields = Json::array();
        for (const ZoneContent::OfField& part : zone.fields)
            fields.push_back({{"field", part.field}, {"share_of_field", part.share_of_field}});
        out["zones"].push_back({{"zone", zone.zone},
                                {"fields", std::move(fields)},
                                {"area_ha", zone.area_ha},
                                {"in_fields_ha", zone.covered_ha},
                                {"tonnes", zone.tonnes ? Json(*zone.tonnes) : Json(nullptr)},
                                {"median_mg_per_kg", number(&models::Content::median)},
                                {"mean_mg_per_kg", number(&models::Content::mean)},
                                {"low90_mg_per_kg", number(&models::Content::low90)},
                                {"high90_mg_per_kg", number(&models::Content::high90)},
                                {"low50_mg_per_kg", number(&models::Content::low50)},
                                {"high50_mg_per_kg", number(&models::Content::high50)},
                                {"exceedance", zone.exceedance ? Json(*zone.exceedance) : Json(nullptr)},
                                {"note", zone.note}});
    }
    return out;
}

}  // namespace app::commands
