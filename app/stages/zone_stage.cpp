#include "app/stages/zone_stage.h"

#include <algorithm>
#include <cmath>
#include <deque>
#include <set>

#include <Eigen/Core>
#include <fmt/format.h>

#include "app/stages/field_spread.h"
#include "models/contamination/grain_of_field.h"
#include "models/contamination/parallel.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"

namespace app {

namespace zone_parts {

constexpr int cells_to_measure = 2500;  // of a field, to tell how much of it lies in a zone
constexpr double whole_from = 0.999;

bool apart(const models::BoxM& a, const models::BoxM& b) {
    return a.x_max_m < b.x_min_m || b.x_max_m < a.x_min_m || a.y_max_m < b.y_min_m || b.y_max_m < a.y_min_m;
}

/// A field of the season with a number and an outline of its own.
struct ZoneField {
    const FieldView* field = nullptr;
    std::size_t field_season = 0;
    models::GroundCells cells;  ///< to measure by
    models::BoxM box;
};

std::vector<ZoneField> fields_with_ground(const SeasonView& view) {
    std::vector<ZoneField> fields;
    std::set<const models::Field*> seen;  // parts that are not drawn would stand on the field's outline
    for (const FieldView& field : view.fields) {
        if (!field.content || field.outline == nullptr || !(field.outline->area_ha > 0.0)) continue;
        if (!seen.insert(field.outline).second) continue;
        fields.push_back({&field, *view.contamination.field_season_of[field.crop],
                          models::ground_cells(field.outline->outline_m, cells_to_measure),
                          models::bounding_box(field.outline->outline_m)});
    }
    return fields;
}

double share_inside(const models::GroundCells& cells, const models::OutlineM& zone) {
    double share = 0.0;
    for (const models::GroundCells::Cell& cell : cells.cells)
        if (models::side_of(zone, cell.centre) != models::Side::outside) share += cell.share;
    return share;
}

/// The zone's part of one field; its ground is kept in `grounds` for as long as the law is made.
models::GrainFromField grain_in_zone(const ZoneField& field, double share, const models::OutlineM& zone,
                                     models::SpreadInField spread, std::deque<models::GroundCells>& grounds) {
    models::GrainFromField from;
    from.field_ha = field.field->outline->area_ha;
    from.share_of_field = share >= whole_from ? 1.0 : share;
    from.spread = std::move(spread);
    if (from.spread.points.empty() || from.share_of_field >= 1.0) return from;
    const int about = std::clamp(static_cast<int>(16.0 / share), 100, 500);
    grounds.push_back(models::ground_cells(field.field->outline->outline_m, about));
    from.ground = &grounds.back();
    from.cut = models::part_of_ground(grounds.back(), zone);
    return from;
}

}  // namespace zone_parts

ZonesOfSeason contents_of_zones(const SeasonView& view, const std::vector<DrawnZone>& zones,
                                const ZoneSettings& settings) {
    namespace parts = zone_parts;
    ZonesOfSeason out;
    const FieldSpreads spreads(view, settings.own_duplicates);
    const SeasonYields yields(view, settings.yield_t_per_ha);
    out.by_structure = spreads.by_structure();
    out.rests_on = spreads.in_words();
    out.zones.resize(zones.size());
    if (view.contamination.ranking_only()) {
        for (std::size_t z = 0; z < zones.size(); ++z) {
            out.zones[z].zone = zones[z].name;
            out.zones[z].area_ha = models::area_m2(zones[z].outline) * 1e-4;
            out.zones[z].note = "no DON result in the store: a ranking only";
        }
        return out;
    }
    const std::vector<parts::ZoneField> fields = parts::fields_with_ground(view);
    models::contamination::for_each_index(static_cast<int>(zones.size()), settings.threads, [&](int index) {
        const DrawnZone& drawn = zones[static_cast<std::size_t>(index)];
        ZoneContent& zone = out.zones[static_cast<std::size_t>(index)];
        zone.zone = drawn.name;
        zone.area_ha = models::area_m2(drawn.outline) * 1e-4;
        const models::BoxM box = models::bounding_box(drawn.outline);
        std::vector<models::GrainFromField> from;
        std::vector<std::size_t> field_seasons;
        std::deque<models::GroundCells> grounds;
        std::vector<double> ha, t;
        double tonnes = 0.0;
        bool tonnes_known = true;
        for (const parts::ZoneField& field : fields) {
            if (parts::apart(box, field.box)) continue;
            const double share = parts::share_inside(field.cells, drawn.outline);
            if (!(share > 0.0)) continue;
            const models::CropRecord& crop = view.data.crops[field.field->crop];
            models::GrainFromField grain;
            try {
                grain = parts::grain_in_zone(field, share, drawn.outline, spreads.of(crop), grounds);
            } catch (const models::Error&) {  // under a cell: what it holds is not told apart from the field
                zone.note = fmt::format("too small in {} to be told from it", field.field->name);
                continue;
            }
            const auto yield = yields.of(crop);
            const double area_ha = share * field.field->outline->area_ha;
            tonnes_known = tonnes_known && yield;
            ha.push_back(area_ha);
            t.push_back(yield ? area_ha * yield->t_per_ha : 0.0);
            tonnes += t.back();
            zone.covered_ha += area_ha;
            zone.fields.push_back({field.field->name, std::min(share, 1.0)});
            field_seasons.push_back(field.field_season);
            from.push_back(std::move(grain));
        }
        if (from.empty()) {
            if (zone.note.empty()) zone.note = "it lies in no field of the season with a number";
            return;
        }
        for (std::size_t k = 0; k < from.size(); ++k)
            from[k].share = tonnes_known ? t[k] / tonnes : ha[k] / zone.covered_ha;
        if (tonnes_known) zone.tonnes = tonnes;
        models::GrainSettings how;
        how.seed = seed_of_name(zone.zone);
        const models::GrainLaw law =
            models::law_of_grain(view.contamination.model->fields_together(field_seasons), from, how);
        zone.content = law.content();
        if (view.limit) zone.exceedance = law.exceedance(models::breaking_point(*view.limit).mg_per_kg);
        const double outside = 1.0 - zone.covered_ha / zone.area_ha;
        if (zone.note.empty() && outside > 0.05)
            zone.note = fmt::format("{:.0f} % of it lies in no such field", 100.0 * outside);
    });
    return out;
}

}  // namespace app
