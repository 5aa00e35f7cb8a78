#include "app/commands/split_output.h"

#include <algorithm>
#include <vector>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/drawing/numbers.h"
#include "app/table_text.h"
#include "models/counted.h"
#include "models/decision/drive_lines.h"
#include "models/decision/limit_rule.h"

namespace app::commands {

namespace {

/// "34 t (12 to 60 t with a chance of 90 %)"
std::string worth_in_words(const models::SplitWorth& worth, bool in_money) {
    const char* unit = in_money ? "" : " t";
    return fmt::format("{:.0f}{} ({:.0f} to {:.0f}{} with a chance of 90 %; it pays with a chance of {})", worth.mean,
                       unit, worth.low90, worth.high90, unit, models::chance_in_words(worth.chance_it_pays));
}

std::string field_text(const FieldSplit& field, const SplitsOfSeason& splits) {
    std::string said = fmt::format("{}, ", field.field);
    if (field.by_parts)
        said += "by its parts";
    else
        said += fmt::format("driven {:.0f} degrees from north ({}), lines at multiples of {} m", field.heading_deg,
                            models::compass_word(field.heading_deg), drawing::set_number_text(field.line_step_m));
    if (field.worth)
        said += fmt::format(": to cut them apart is worth {} against one cut, which would be {}",
                            worth_in_words(*field.worth, splits.in_money), models::in_words(field.whole_use));
    TextTable table(
        {"zone", "where", ">m", ">ha", ">t", ">median", ">from", ">to", ">chance over", "state", "leans to"});
    std::string reasons;
    for (const SplitZone& zone : field.zones) {
        const auto number = [&](double models::Content::*member) {
            return zone.content.content ? drawing::number_text((*zone.content.content).*member) : std::string("–");
        };
        table.row({zone.drawn.name, zone.where, zone.width_m > 0.0 ? fmt::format("{:.0f}", zone.width_m) : "–",
                   fmt::format("{:.1f}", zone.content.area_ha),
                   zone.content.tonnes ? fmt::format("{:.0f}", *zone.content.tonnes) : "–",
                   number(&models::Content::median), number(&models::Content::low90), number(&models::Content::high90),
                   zone.content.exceedance ? drawing::percent_text(*zone.content.exceedance) : "–",
                   models::in_words(zone.clearing.state), models::in_words(zone.use)});
        reasons += wrapped_text(
            fmt::format("{} is {}: {}.", zone.drawn.name, models::in_words(zone.clearing.state), zone.clearing.reason));
    }
    std::string text = wrapped_text(said + ".") + table.text();
    if (text.back() != '\n') text += '\n';
    text += reasons;
    for (const std::string& note : field.notes) text += wrapped_text("Note: " + note + ".");
    return text;
}

}  // namespace

std::string split_text(const SplitsOfSeason& splits) {
    std::string text = "Zones to cut apart:\n";
    struct AsOne {
        std::string why, names;
    };
    std::vector<AsOne> as_one;
    std::string find_out, notes;
    for (const FieldSplit& field : splits.fields) {
        if (!field.zones.empty()) {
            text += field_text(field, splits);
            continue;
        }
        auto same =
            std::find_if(as_one.begin(), as_one.end(), [&](const AsOne& one) { return one.why == field.why_not; });
        if (same == as_one.end()) same = as_one.insert(as_one.end(), {field.why_not, ""});
        same->names += (same->names.empty() ? "" : "; ") + field.field;
        if (find_out.empty() && !field.how_to_find_out.empty())
            find_out = field.how_to_find_out + "; walks: `lodicule first --walk`";
        for (const std::string& note : field.notes) notes += wrapped_text("Note: " + field.field + ": " + note + ".");
    }
    if (std::all_of(splits.fields.begin(), splits.fields.end(), [](const FieldSplit& f) { return f.zones.empty(); }))
        text += "None.\n";
    for (const AsOne& one : as_one) text += wrapped_text(fmt::format("Cut as one, {}: {}.", one.names, one.why));
    text += notes;
    if (!find_out.empty()) text += wrapped_text(find_out + ".");
    text += wrapped_text(
        "zones: DON of the mean of each zone's grain, mg/kg. state: by the limit's rule, as for a load; only what is "
        "cleared is delivered under the limit. leans to: what is expected to lose less on what is known today. Worth "
        "is " +
        splits.costs_in_words + "; --line-cost sets what a further zone costs; " + splits.rests_on + ".");
    return text;
}

nlohmann::ordered_json split_json(const SplitsOfSeason& splits) {
    using Json = nlohmann::ordered_json;
    Json out;
    out["worth_unit"] = splits.in_money ? "money" : "tonnes";
    out["costs"] = {{"taken_over_per_t", splits.costs.taken_over_per_t},
                    {"kept_good_per_t", splits.costs.kept_good_per_t},
                    {"line", splits.costs.line}};
    out["costs_in_words"] = splits.costs_in_words;
    out["rests_on"] = splits.rests_on;
    out["fields"] = Json::array();
    for (const FieldSplit& field : splits.fields) {
        const bool lines = field.line_step_m > 0.0;
        Json row = {{"field", field.field},
                    {"split", !field.zones.empty()},
                    {"by_parts", field.by_parts},
                    {"why_not", field.why_not},
                    {"how_to_find_out", field.how_to_find_out},
                    {"heading_deg", lines ? Json(field.heading_deg) : Json(nullptr)},
                    {"line_step_m", lines ? Json(field.line_step_m) : Json(nullptr)},
                    {"as_one", field.worth ? Json(models::in_words(field.whole_use)) : Json(nullptr)}};
        row["worth"] = nullptr;
        if (field.worth)
            row["worth"] = {{"mean", field.worth->mean},
                            {"low90", field.worth->low90},
                            {"high90", field.worth->high90},
                            {"chance_it_pays", field.worth->chance_it_pays}};
        row["zones"] = Json::array();
        for (const SplitZone& zone : field.zones) {
            const auto number = [&](double models::Content::*member) {
                return zone.content.content ? Json((*zone.content.content).*member) : Json(nullptr);
            };
            row["zones"].push_back(
                {{"zone", zone.drawn.name},
                 {"part", zone.part},
                 {"where", zone.where},
                 {"width_m", zone.width_m > 0.0 ? Json(zone.width_m) : Json(nullptr)},
                 {"area_ha", zone.content.area_ha},
                 {"tonnes", zone.content.tonnes ? Json(*zone.content.tonnes) : Json(nullptr)},
                 {"median_mg_per_kg", number(&models::Content::median)},
                 {"mean_mg_per_kg", number(&models::Content::mean)},
                 {"low90_mg_per_kg", number(&models::Content::low90)},
                 {"high90_mg_per_kg", number(&models::Content::high90)},
                 {"exceedance", zone.content.exceedance ? Json(*zone.content.exceedance) : Json(nullptr)},
                 {"state", models::in_words(zone.clearing.state)},
                 {"leans_to", models::in_words(zone.use)},
                 {"reason", zone.clearing.reason},
                 {"note", zone.content.note}});
        }
        row["notes"] = field.notes;
        out["fields"].push_back(std::move(row));
    }
    return out;
}

}  // namespace app::commands
