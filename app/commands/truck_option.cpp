#include "app/commands/truck_option.h"

#include <charconv>

#include <nlohmann/json.hpp>

#include "models/error.h"

namespace app::commands {

void TruckOption::declare(Options& options) {
    options.option(truck, "--truck", "TONNES",
                   "beside each field's mean, the chance of one truck of so many tonnes from it: 25 or 25t");
    options.option(yield_t_per_ha, "--yield", "T_PER_HA",
                   "for --truck, --zones and --split: yield of the fields that do not say theirs, t/ha");
}

std::optional<TruckSettings> TruckOption::settings(bool yield_serves) const {
    if (!truck) {
        if (yield_t_per_ha && !yield_serves)
            throw models::Error("a yield says how much ground fills a truck, and none is asked for", "--yield",
                                "add --truck 25");
        return std::nullopt;
    }
    TruckSettings settings;
    settings.yield_t_per_ha = yield_t_per_ha;
    std::string number = *truck;
    while (!number.empty() && (number.back() == 't' || number.back() == ' ')) number.pop_back();
    const auto [end, problem] = std::from_chars(number.data(), number.data() + number.size(), settings.tonnes);
    if (problem != std::errc() || end != number.data() + number.size())
        throw models::Error("\"" + *truck + "\" is no number of tonnes", "--truck",
                            "give the tonnes of one delivery, as in --truck 25 or --truck 25t");
    return settings;
}

nlohmann::ordered_json truck_json(const TrucksFromFields& trucks) {
    return {{"tonnes", trucks.tonnes},
            {"by_structure_within_fields", trucks.by_structure},
            {"rests_on", trucks.rests_on},
            {"notes", trucks.notes}};
}

nlohmann::ordered_json truck_json(const TruckFromField& truck) {
    using Json = nlohmann::ordered_json;
    const auto number = [&](double models::Content::*member) {
        return truck.content ? Json((*truck.content).*member) : Json(nullptr);
    };
    const auto known = [&](double value) { return truck.content ? Json(value) : Json(nullptr); };
    return {{"median_mg_per_kg", number(&models::Content::median)},
            {"mean_mg_per_kg", number(&models::Content::mean)},
            {"low90_mg_per_kg", number(&models::Content::low90)},
            {"high90_mg_per_kg", number(&models::Content::high90)},
            {"low50_mg_per_kg", number(&models::Content::low50)},
            {"high50_mg_per_kg", number(&models::Content::high50)},
            {"exceedance", truck.exceedance ? Json(*truck.exceedance) : Json(nullptr)},
            {"ground_ha", known(truck.truck_ha)},
            {"field_ha", known(truck.field_ha)},
            {"yield_t_per_ha", known(truck.yield_t_per_ha)},
            {"yield_assumed", truck.yield_assumed},
            {"note", truck.note}};
}

}  // namespace app::commands
