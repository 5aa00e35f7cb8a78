#include "app/stages/truck_stage.h"

#include <algorithm>

#include <fmt/format.h>

#include "app/drawing/numbers.h"
#include "app/stages/field_spread.h"
#include "models/contamination/grain_of_field.h"
#include "models/contamination/parallel.h"
#include "models/counted.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"

namespace app {

namespace truck_parts {

constexpr double largest_truck_t = 200.0;
constexpr double most_trucks = 200.0;  // a field of more is taken as one of so many: its cells would be trucks

}  // namespace truck_parts

TrucksFromFields truck_from_each_field(const SeasonView& view, const TruckSettings& settings) {
    namespace parts = truck_parts;
    if (!(settings.tonnes > 0.0) || settings.tonnes > parts::largest_truck_t)
        throw models::Error(fmt::format("a truck of {} t is none", settings.tonnes), "--truck",
                            "give the tonnes of one delivery, as in --truck 25");
    if (settings.yield_t_per_ha && !(*settings.yield_t_per_ha >= 0.1 && *settings.yield_t_per_ha <= 20.0))
        throw models::Error(fmt::format("{} t/ha is no yield of wheat", *settings.yield_t_per_ha), "--yield",
                            "give t/ha, as in --yield 7.5");
    const SeasonYields yields(view, settings.yield_t_per_ha);
    if (yields.none_known())
        throw models::Error(
            fmt::format("no field of {} has a yield, so nothing says how much ground fills a truck of {} t",
                        view.season, settings.tonnes),
            "--truck", "give one for all, as in --yield 7.5 (t/ha), or yield_t_per_ha in a crops table");

    TrucksFromFields out;
    out.tonnes = settings.tonnes;
    const FieldSpreads spreads(view, settings.own_duplicates);
    out.by_structure = spreads.by_structure();
    out.rests_on = spreads.in_words();
    out.fields.resize(view.fields.size());
    int assumed = 0;
    std::vector<std::size_t> known;
    for (std::size_t i = 0; i < view.fields.size(); ++i) {
        const FieldView& field = view.fields[i];
        TruckFromField& truck = out.fields[i];
        truck.crop = field.crop;
        if (!field.content) {
            truck.note = field.note;
            continue;
        }
        const models::CropRecord& crop = view.data.crops[field.crop];
        if (field.outline == nullptr || !(field.outline->area_ha > 0.0)) {
            truck.note = "no outline: how much of it fills a truck is not known";
            continue;
        }
        truck.field_ha = field.outline->area_ha;
        const auto yield = yields.of(crop);
        if (!yield) {
            truck.note = "its yield is not known: give --yield";
            continue;
        }
        truck.yield_t_per_ha = yield->t_per_ha;
        truck.yield_assumed = yield->assumed;
        assumed += truck.yield_assumed ? 1 : 0;
        truck.truck_ha = std::min(settings.tonnes / truck.yield_t_per_ha, truck.field_ha);
        if (truck.truck_ha >= truck.field_ha) truck.note = "it all fits into one truck";
        known.push_back(i);
    }
    if (assumed > 0)
        out.notes.push_back(fmt::format(
            "{} without a yield: {}", models::counted(assumed, "field"),
            settings.yield_t_per_ha
                ? fmt::format("{} t/ha was given for them", drawing::set_number_text(*settings.yield_t_per_ha))
                : std::string("the season's median of their crop is taken, which says how much ground fills a truck")));

    models::contamination::for_each_index(static_cast<int>(known.size()), settings.threads, [&](int k) {
        const std::size_t i = known[static_cast<std::size_t>(k)];
        const FieldView& field = view.fields[i];
        TruckFromField& truck = out.fields[i];
        const std::size_t index = *view.contamination.field_season_of[field.crop];
        models::GrainFromField from;
        from.field_ha = truck.field_ha;
        from.share_of_field = truck.truck_ha / truck.field_ha;
        from.spread = spreads.of(view.data.crops[field.crop]);
        models::GroundCells ground;
        if (!from.spread.points.empty() && from.share_of_field < 1.0) {
            if (from.share_of_field * parts::most_trucks < 1.0) {
                from.share_of_field = 1.0 / parts::most_trucks;
                from.spread.places.clear();
                ground = models::ground_cells(truck.truck_ha * parts::most_trucks, 400);
            } else {
                const int about = std::clamp(static_cast<int>(8.0 / from.share_of_field), 100, 400);
                ground = models::ground_cells(field.outline->outline_m, about);
            }
        }
        from.ground = &ground;
        models::GrainSettings how;
        how.seed = seed_of_name(field.name);
        const models::GrainLaw law =
            models::law_of_grain(view.contamination.model->fields_together({index}), {from}, how);
        truck.content = law.content();
        if (view.limit) truck.exceedance = law.exceedance(models::breaking_point(*view.limit).mg_per_kg);
    });
    return out;
}

std::string in_words(const TruckFromField& truck, double tonnes) {
    std::string text = fmt::format("one truck of {} t", drawing::set_number_text(tonnes));
    if (!truck.content) return text + ": " + truck.note;
    text += fmt::format(" ({:.1f} of its {:.1f} ha, at {:.1f} t/ha{}): {} to {} mg/kg with a chance of 90 %",
                        truck.truck_ha, truck.field_ha, truck.yield_t_per_ha, truck.yield_assumed ? " assumed" : "",
                        drawing::number_text(truck.content->low90), drawing::number_text(truck.content->high90));
    if (truck.exceedance) text += fmt::format(", {} chance over", drawing::percent_text(*truck.exceedance));
    if (!truck.note.empty()) text += "; " + truck.note;
    return text;
}

}  // namespace app
