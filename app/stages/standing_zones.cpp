#include "app/stages/standing_zones.h"

#include <algorithm>
#include <iterator>
#include <map>
#include <set>

#include <fmt/format.h>

#include "app/stages/field_spread.h"
#include "models/contamination/grain_of_field.h"
#include "models/counted.h"
#include "models/error.h"

namespace app {

namespace standing_zone_parts {

constexpr int cells_of_a_zoned_field = 400;
constexpr int places_across_a_cell = 5;  // to measure by: a ten-thousandth of the field each
constexpr double edge_of_field = 0.02;   // of a field's ground, ours: so much drawing is not taken at its word
constexpr double in_other_field = 0.05;  // of a zone's ground, ours: likewise
constexpr int in_no_zone = -1;

/// A spot of ground, as much of it as of any other in its cell.
struct GroundPlace {
    models::PointM at;
    int cell = 0;
    double share = 0.0;     ///< of the field
    int zone = in_no_zone;  ///< that it is cut with
};

/// A field that may be cut in zones.
struct ZonedField {
    std::size_t standing = 0;  ///< index among the fields of the plan
    const models::Field* outline = nullptr;
    std::string undrawn;  ///< names that share this outline: nothing says where one ends
    models::BoxM box;
    models::GroundCells cells;
    std::vector<GroundPlace> places;
    std::vector<std::size_t> zones;  ///< of the file, in its order
};

bool boxes_apart(const models::BoxM& a, const models::BoxM& b) {
    return a.x_max_m < b.x_min_m || b.x_max_m < a.x_min_m || a.y_max_m < b.y_min_m || b.y_max_m < a.y_min_m;
}

double spread_over_cell(int step, int other) {
    return (step + (other + 0.5) / places_across_a_cell) / places_across_a_cell;
}

/// Each cell's places that lie in the field; they share what the cell has.
void lay_out_places(ZonedField& field) {
    field.cells = models::ground_cells(field.outline->outline_m, cells_of_a_zoned_field);
    const models::GroundCells& cells = field.cells;
    for (std::size_t c = 0; c < cells.cells.size(); ++c) {
        const std::size_t first = field.places.size();
        for (int i = 0; i < places_across_a_cell; ++i)
            for (int j = 0; j < places_across_a_cell; ++j) {
                // No two in one line, so that an edge along the rows is measured as well as any other.
                const double along = cells.length_m * (spread_over_cell(i, j) - 0.5);
                const double across = cells.width_m * (spread_over_cell(j, i) - 0.5);
                const models::PointM& centre = cells.cells[c].centre;
                const models::PointM at{centre.x_m + along * cells.along.x_m - across * cells.along.y_m,
                                        centre.y_m + along * cells.along.y_m + across * cells.along.x_m};
                if (models::side_of(field.outline->outline_m, at) != models::Side::outside)
                    field.places.push_back({at, static_cast<int>(c), 0.0, in_no_zone});
            }
        const auto count = static_cast<double>(field.places.size() - first);  // its centre lies inside: at least 1
        for (std::size_t p = first; p < field.places.size(); ++p) field.places[p].share = cells.cells[c].share / count;
    }
}

std::vector<ZonedField> fields_to_zone(const std::vector<StandingGrain>& fields, const SeasonData& data) {
    std::vector<ZonedField> all;
    std::map<const models::Field*, std::size_t> by_outline;
    for (std::size_t k = 0; k < fields.size(); ++k) {
        const models::CropRecord& crop = data.crops[fields[k].crop];
        const models::Field* outline = outline_of(data, crop.field, crop.part);
        if (outline == nullptr || !(outline->area_ha > 0.0)) continue;
        const auto [found, fresh] = by_outline.try_emplace(outline, all.size());
        if (!fresh) {
            all[found->second].undrawn += " and " + fields[k].grain.name;
            continue;
        }
        all.push_back({k, outline, "", models::bounding_box(outline->outline_m), {}, {}, {}});
        if (outline->part != crop.part) all.back().undrawn = fields[k].grain.name;
    }
    for (ZonedField& field : all)
        if (field.undrawn.compare(0, 5, " and ") == 0)
            field.undrawn = fields[field.standing].grain.name + field.undrawn;
    return all;
}

/// Which field each zone lies in.
void find_fields(const std::vector<DrawnZone>& zones, const std::vector<StandingGrain>& fields,
                 std::vector<ZonedField>& grounds, std::vector<std::string>& notes) {
    for (std::size_t z = 0; z < zones.size(); ++z) {
        const DrawnZone& zone = zones[z];
        const models::BoxM box = models::bounding_box(zone.outline);
        const double zone_ha = models::area_m2(zone.outline) * 1e-4;
        std::vector<std::pair<double, ZonedField*>> inside;  // hectares
        for (ZonedField& ground : grounds) {
            if (boxes_apart(box, ground.box)) continue;
            if (ground.places.empty()) lay_out_places(ground);
            double share = 0.0;
            for (const GroundPlace& place : ground.places)
                if (models::side_of(zone.outline, place.at) != models::Side::outside) share += place.share;
            if (!(share > 0.0)) {  // smaller than what is measured by
                if (models::side_of(ground.outline->outline_m, models::centroid(zone.outline)) == models::Side::outside)
                    continue;
                share = std::min(zone_ha / ground.outline->area_ha, 1.0);
            }
            // Beyond its field's edge by what lines drawn by hand differ.
            if (share * ground.outline->area_ha <= in_other_field * zone_ha) continue;
            inside.emplace_back(share * ground.outline->area_ha, &ground);
        }
        if (inside.empty()) {
            notes.push_back(
                fmt::format("zone \"{}\" lies in no wheat field that is still to be cut and is left out", zone.name));
            continue;
        }
        std::stable_sort(inside.begin(), inside.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
        ZonedField& home = *inside[0].second;
        const std::string& name = fields[home.standing].grain.name;
        if (inside.size() > 1)
            throw models::Error(
                fmt::format("zone \"{}\" lies in two fields: {:.1f} ha in {} and {:.1f} ha in {}", zone.name,
                            inside[0].first, name, inside[1].first, fields[inside[1].second->standing].grain.name),
                "--zones", "draw a zone of its own in each field");
        if (!home.undrawn.empty())
            throw models::Error(
                fmt::format("zone \"{}\" lies in {}, without an outline of its own: nothing says how much of it the "
                            "zone is",
                            zone.name, home.undrawn),
                "--zones",
                "import the outlines of the parts (lodicule import STORE fields FILE), or leave the zone out");
        if (const double outside = 1.0 - inside[0].first / zone_ha; outside > in_other_field)
            notes.push_back(fmt::format("{:.0f} % of zone \"{}\" lie outside {}: only what lies in it counts",
                                        100.0 * outside, zone.name, name));
        home.zones.push_back(z);
    }
}

/// Gives each place the first zone it lies in, after it is known that no two are drawn over one another.
void take_places(const std::vector<DrawnZone>& zones, const std::string& name, ZonedField& field) {
    std::map<std::size_t, double> share;
    std::map<std::pair<std::size_t, std::size_t>, double> shared;
    for (GroundPlace& place : field.places) {
        std::vector<std::size_t> in;
        for (const std::size_t z : field.zones)
            if (models::side_of(zones[z].outline, place.at) != models::Side::outside) in.push_back(z);
        for (std::size_t i = 0; i < in.size(); ++i) {
            share[in[i]] += place.share;
            for (std::size_t j = i + 1; j < in.size(); ++j) shared[{in[i], in[j]}] += place.share;
        }
        if (!in.empty()) place.zone = static_cast<int>(in.front());
    }
    for (const auto& [pair, both] : shared) {
        const auto& [a, b] = pair;
        if (both <= edge_of_field * std::min(share[a], share[b])) continue;
        throw models::Error(fmt::format("zones \"{}\" and \"{}\" lie over one another in {}: {:.2f} ha would be cut "
                                        "with both",
                                        zones[a].name, zones[b].name, name, both * field.outline->area_ha),
                            "--zones", "draw them side by side, or leave one out");
    }
}

double share_of_zone(const ZonedField& field, int zone) {
    double share = 0.0;
    for (const GroundPlace& place : field.places)
        if (place.zone == zone) share += place.share;
    return share;
}

/// What is left is edges: it is cut with the zone beside it.
void take_edges(ZonedField& field) {
    std::vector<const GroundPlace*> taken;
    for (const GroundPlace& place : field.places)
        if (place.zone != in_no_zone) taken.push_back(&place);
    for (GroundPlace& place : field.places) {
        if (place.zone != in_no_zone) continue;
        const auto nearest = std::min_element(taken.begin(), taken.end(), [&](const auto* a, const auto* b) {
            return models::distance_m(a->at, place.at) < models::distance_m(b->at, place.at);
        });
        place.zone = (*nearest)->zone;  // never one that was given just now: `taken` was made before
    }
}

models::CutCells cut_of_zone(const ZonedField& field, int zone) {
    std::map<int, double> of_cell;
    for (const GroundPlace& place : field.places)
        if (place.zone == zone)
            of_cell[place.cell] += place.share / field.cells.cells[static_cast<std::size_t>(place.cell)].share;
    return {of_cell.begin(), of_cell.end()};
}

/// Of a field's zone, by the zone that parts of loads name.
double delivered_of_zone(const SeasonData& data, const models::CropRecord& crop, const std::string& zone) {
    double sum = 0.0;
    for (const models::Load& load : data.loads) {
        if (!load.net_t || season_of_load(data, load) != crop.season) continue;
        for (const models::LoadPart& part : load.parts)
            if (part.field == crop.field && part.part == crop.part && part.zone == zone)
                sum += *load.net_t * part.share;
    }
    return sum;
}

class ZoneCutter {
 public:
    ZoneCutter(const SeasonData& data, const ContaminationView& view, const BinsSettings& settings, BinsView& out)
        : data_(data), view_(view), settings_(settings), spreads_(data, settings.structure, how(settings)), out_(out) {}

    /// The pieces of one field; none where it stays as it is.
    std::vector<StandingGrain> pieces_of(const StandingGrain& whole, ZonedField& field) {
        const std::string& name = whole.grain.name;
        take_places(settings_.zones, name, field);
        std::vector<int> kept;
        for (const std::size_t z : field.zones) {
            const int zone = static_cast<int>(z);
            const double mass_t = share_of_zone(field, zone) * (whole.grain.mass_t + whole.delivered_t);
            if (mass_t >= models::BinPlanProblem{}.least_piece_t) {
                kept.push_back(zone);
                continue;
            }
            out_.notes.push_back(fmt::format("zone \"{}\" is too small to be cut apart: {:.1f} t of {}, under {:.0f} t",
                                             settings_.zones[z].name, mass_t, name,
                                             models::BinPlanProblem{}.least_piece_t));
            for (GroundPlace& place : field.places)
                if (place.zone == zone) place.zone = in_no_zone;
        }
        if (kept.empty()) return {};
        if (share_of_zone(field, in_no_zone) <= edge_of_field)
            take_edges(field);
        else
            kept.push_back(in_no_zone);
        if (kept.size() == 1) {
            out_.notes.push_back(fmt::format("zone \"{}\" is all of {} and is planned as that field",
                                             settings_.zones[static_cast<std::size_t>(kept[0])].name, name));
            return {};
        }
        return cut(whole, field, kept);
    }

    std::string rests_on() const { return spreads_.in_words(); }

 private:
    static ContaminationSettings how(const BinsSettings& settings) {
        ContaminationSettings taken;
        taken.season = settings.season;
        taken.own_duplicates = settings.own_duplicates;
        return taken;  // as is, as contents in bins are
    }

    std::vector<StandingGrain> cut(const StandingGrain& whole, const ZonedField& field, const std::vector<int>& kept) {
        std::vector<models::CutCells> cuts;
        for (const int zone : kept) cuts.push_back(cut_of_zone(field, zone));
        Eigen::MatrixXd relative;
        if (!view_.ranking_only())
            relative = models::relative_contents_of_cuts(
                view_.model->fields_together({whole.field_season}), field.cells, spreads_.of(data_.crops[whole.crop]),
                cuts, settings_.draws, settings_.seed, seed_of_name(whole.grain.name) + settings_.seed);
        std::vector<std::string> names;
        std::vector<double> delivered_t;  // of each, where the loads say so
        double of_unknown_t = whole.delivered_t;
        for (const int zone : kept) {
            names.push_back(zone == in_no_zone ? whole.grain.name + ", rest"
                                               : settings_.zones[static_cast<std::size_t>(zone)].name);
            if (!names_.insert(names.back()).second)
                throw models::Error(fmt::format("two zones are called \"{}\"", names.back()), "--zones",
                                    "give each a name of its own in the file");
            delivered_t.push_back(zone == in_no_zone ? 0.0
                                                     : delivered_of_zone(data_, data_.crops[whole.crop], names.back()));
            of_unknown_t -= delivered_t.back();
        }
        std::vector<StandingGrain> pieces;
        std::string in_words;
        for (std::size_t k = 0; k < kept.size(); ++k) {
            const double share = models::share_of(field.cells, cuts[k]);
            StandingGrain piece = whole;
            piece.grain.kind = models::GrainKind::zone;
            piece.grain.name = names[k];
            piece.grain.mass_t = share * (whole.grain.mass_t + whole.delivered_t - of_unknown_t) - delivered_t[k];
            in_words += fmt::format("{}{} ({:.0f} %)", k == 0 ? "" : ", ", names[k], 100.0 * share);
            if (!(piece.grain.mass_t > 0.05)) {
                in_words += " delivered";
                continue;
            }
            if (relative.size() > 0) piece.relative = relative.col(static_cast<Eigen::Index>(k));
            out_.zones.push_back({names[k], whole.grain.name, share});
            pieces.push_back(std::move(piece));
        }
        std::string note = fmt::format("{} is cut in {}: {}", whole.grain.name,
                                       models::counted(static_cast<long long>(kept.size()), "piece"), in_words);
        if (!whole.grain.results.empty()) note += "; results of its composite samples count for each";
        if (of_unknown_t > 0.05)
            note += fmt::format(
                "; {:.1f} t of it were delivered from nobody knows where in it, so what is left is "
                "shared out by ground",
                of_unknown_t);
        out_.notes.push_back(std::move(note));
        return pieces;
    }

    const SeasonData& data_;
    const ContaminationView& view_;
    const BinsSettings& settings_;
    FieldSpreads spreads_;
    BinsView& out_;
    std::set<std::string> names_;
};

}  // namespace standing_zone_parts

std::vector<StandingGrain> cut_in_zones(std::vector<StandingGrain> fields, const SeasonData& data,
                                        const ContaminationView& view, const BinsSettings& settings, BinsView& out) {
    namespace parts = standing_zone_parts;
    std::vector<parts::ZonedField> grounds = parts::fields_to_zone(fields, data);
    parts::find_fields(settings.zones, fields, grounds, out.notes);
    std::map<std::size_t, parts::ZonedField*> zoned;  // by the field of the plan
    for (parts::ZonedField& ground : grounds)
        if (!ground.zones.empty()) zoned[ground.standing] = &ground;
    parts::ZoneCutter cutter(data, view, settings, out);
    std::vector<StandingGrain> all;
    for (std::size_t k = 0; k < fields.size(); ++k) {
        const auto found = zoned.find(k);
        std::vector<StandingGrain> pieces;
        if (found != zoned.end()) pieces = cutter.pieces_of(fields[k], *found->second);
        if (pieces.empty())
            all.push_back(std::move(fields[k]));
        else
            std::move(pieces.begin(), pieces.end(), std::back_inserter(all));
    }
    if (!out.zones.empty() && !view.ranking_only()) out.notes.push_back(cutter.rests_on());
    return all;
}

}  // namespace app
