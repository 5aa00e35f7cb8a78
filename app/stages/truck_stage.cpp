#include "app/stages/truck_stage.h"

#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>

#include "app/drawing/numbers.h"
#include "models/contamination/grain_of_field.h"
#include "models/contamination/parallel.h"
#include "models/counted.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"

namespace app {

namespace truck_parts {

constexpr double largest_truck_t = 200.0;
constexpr double most_trucks = 200.0;  // a field of more is taken as one of so many: its cells would be trucks
constexpr int pooled_points = 12;

/// The same for a field whatever others there are.
std::uint64_t seed_of(const std::string& name) {
    std::uint64_t hash = 0xcbf29ce484222325ull;  // Fowler, Noll & Vo
    for (const char c : name) hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001b3ull;
    return hash;
}

/// Median yields of the season's records, by crop.
std::map<models::Crop, double> usual_yields(const SeasonView& view) {
    std::map<models::Crop, std::vector<double>> known;
    for (const models::CropRecord& crop : view.data.crops)
        if (crop.season == view.season && crop.yield_t_per_ha && *crop.yield_t_per_ha > 0.0)
            known[crop.crop].push_back(*crop.yield_t_per_ha);
    std::map<models::Crop, double> usual;
    for (auto& [crop, yields] : known) {
        std::sort(yields.begin(), yields.end());
        usual[crop] = yields[yields.size() / 2];
    }
    return usual;
}

/// What the season's fields with placed results say of a field without: their points by range, as a few of equal
/// weight.
std::vector<models::WithinFieldPoint> pooled(const models::WithinFieldStructure& told) {
    std::vector<std::pair<models::WithinFieldParameters, double>> all;
    double sum = 0.0;
    for (const models::WithinFieldStructure::Field& field : told.by_field)
        for (const models::WithinFieldPoint& point : field.points) {
            all.emplace_back(point.parameters, point.weight);
            sum += point.weight;
        }
    std::stable_sort(all.begin(), all.end(), [](const auto& a, const auto& b) {
        const auto key = [](const models::WithinFieldParameters& p) {
            return p.structured_share > 0.0 ? p.range_m : 0.0;
        };
        return key(a.first) < key(b.first);
    });
    std::vector<models::WithinFieldPoint> few;
    double before = 0.0;
    int taken = 0;
    for (const auto& [parameters, weight] : all) {
        before += weight;
        int times = 0;
        for (; taken < pooled_points && before >= (taken + 0.5) / pooled_points * sum - 1e-12; ++taken) ++times;
        if (times > 0) few.push_back({static_cast<double>(times) / pooled_points, parameters, {}, {}});
    }
    return few;
}

/// How contents differ inside each field of the season.
class Spreads {
 public:
    Spreads(const SeasonView& view, const TruckSettings& settings) : view_(view) {
        if (!supported()) return;
        pooled_.points = pooled(*view.evidence);
        ContaminationSettings how;
        how.season = view.season;
        how.basis = view.limit ? view.limit->basis : models::Basis::as_is;
        how.own_duplicates = settings.own_duplicates;
        placed_ = placed_results(view.data, how);
    }
    bool supported() const { return view_.evidence && view_.evidence->supported; }
    models::SpreadInField of(const models::CropRecord& crop) const {
        if (!supported() || !crop.part.empty()) return pooled_;
        for (const models::WithinFieldStructure::Field& told : view_.evidence->by_field) {
            if (told.field >= placed_.fields.size() || placed_.fields[told.field] != crop.field) continue;
            models::SpreadInField own;
            own.points = told.points;
            for (const std::size_t r : told.results) own.places.push_back(placed_.results[r].place);
            return own;
        }
        return pooled_;
    }
    std::string in_words() const {
        if (supported())
            return fmt::format(
                "inside a field near places are alike as far as this season's placed results say; what a place has for "
                "itself reaches over {:.0f} m2 (ours)",
                pooled_.place_ha * 1e4);
        return fmt::format(
            "inside a field nothing shows where it is better or worse, so it is taken as patches of {} ha that have "
            "nothing in common (ours)",
            pooled_.patch_ha);
    }

 private:
    const SeasonView& view_;
    models::SpreadInField pooled_;
    PlacedResults placed_;
};

}  // namespace truck_parts

TrucksFromFields truck_from_each_field(const SeasonView& view, const TruckSettings& settings) {
    namespace parts = truck_parts;
    if (!(settings.tonnes > 0.0) || settings.tonnes > parts::largest_truck_t)
        throw models::Error(fmt::format("a truck of {} t is none", settings.tonnes), "--truck",
                            "give the tonnes of one delivery, as in --truck 25");
    if (settings.yield_t_per_ha && !(*settings.yield_t_per_ha >= 0.1 && *settings.yield_t_per_ha <= 20.0))
        throw models::Error(fmt::format("{} t/ha is no yield of wheat", *settings.yield_t_per_ha), "--yield",
                            "give t/ha, as in --yield 7.5");
    const std::map<models::Crop, double> usual = parts::usual_yields(view);
    if (usual.empty() && !settings.yield_t_per_ha)
        throw models::Error(
            fmt::format("no field of {} has a yield, so nothing says how much ground fills a truck of {} t",
                        view.season, settings.tonnes),
            "--truck", "give one for all, as in --yield 7.5 (t/ha), or yield_t_per_ha in a crops table");

    TrucksFromFields out;
    out.tonnes = settings.tonnes;
    const parts::Spreads spreads(view, settings);
    out.by_structure = spreads.supported();
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
        const auto median = usual.find(crop.crop);
        truck.yield_assumed = !(crop.yield_t_per_ha && *crop.yield_t_per_ha > 0.0);
        if (!truck.yield_assumed) {
            truck.yield_t_per_ha = *crop.yield_t_per_ha;
        } else if (settings.yield_t_per_ha) {
            truck.yield_t_per_ha = *settings.yield_t_per_ha;
        } else if (median != usual.end()) {
            truck.yield_t_per_ha = median->second;
        } else {
            truck.note = "its yield is not known: give --yield";
            continue;
        }
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
        how.seed = parts::seed_of(field.name);
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
