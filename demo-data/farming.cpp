#include "demo-data/farming.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "demo-data/counter_random.h"
#include "demo-data/sky.h"

namespace demo {

namespace {

using models::LocalDay;
using std::chrono::days;

struct Cultivar {
    const char* name;
    const char* wheat_type;
    const char* resistance;
    int later_by_days;
};
constexpr std::array<Cultivar, 4> winter_wheats = {{{"Veskar", "winter", "S", 0},
                                                    {"Ambrisol", "winter", "MS", -2},
                                                    {"Tessol", "winter", "MR", 3},
                                                    {"Orbeth", "winter", "VS", -3}}};
constexpr Cultivar spring_wheat = {"Primeth", "spring", "MS", 7};
constexpr Cultivar durum = {"Sarumbel", "winter", "VS", 2};

/// The crop after another one, as a grower of the district rotates.
std::string crop_after(const std::string& before, Draws& draws, double wheat_again) {
    static constexpr std::array<const char*, 6> after_wheat = {"wheat",        "barley",    "maize",
                                                               "oilseed rape", "sunflower", "peas"};
    if (before == "wheat" || before == "durum")
        return after_wheat[draws.weighted({wheat_again, 0.11, 0.24, 0.13, 0.08, 0.05})];
    if (before == "barley") return after_wheat[draws.weighted({0.42, 0.0, 0.26, 0.32})];
    if (before == "maize") return after_wheat[draws.weighted({0.84, 0.07, 0.09})];
    return after_wheat[draws.weighted({0.95, 0.05})];
}

/// Crops of 2022 to 2026.
std::array<std::string, 5> rotation_of(std::size_t field, const Landscape& landscape) {
    Draws draws("rotation", field);
    static constexpr std::array<const char*, 4> start = {"wheat", "maize", "oilseed rape", "barley"};
    std::array<std::string, 5> crops;
    crops[0] = start[draws.weighted({0.5, 0.25, 0.15, 0.1})];
    for (std::size_t i = 1; i < crops.size(); ++i) crops[i] = crop_after(crops[i - 1], draws, i == 4 ? 0.75 : 0.5);
    const DemoField& here = landscape.fields[field];
    const SurveyFields surveys = survey_fields(landscape);
    if (field == surveys.with_structure) crops = {"wheat", "maize", "wheat", "maize", "wheat"};
    if (field == surveys.without_structure) crops = {"maize", "wheat", "oilseed rape", "wheat", "wheat"};
    if (!here.parts.empty()) crops = {"oilseed rape", "wheat", "barley", "wheat", "wheat"};
    // Durum is grown on the drier side, by one farm.
    if (here.grower == "Varsim" && here.parts.empty()) {
        for (std::size_t i = 2; i < crops.size(); ++i) {
            if (crops[i] == "wheat" && draws.chance(0.8)) crops[i] = "durum";
        }
    }
    return crops;
}

std::string tillage_of(std::size_t field, int season, bool organic) {
    Draws draws("tillage", field, static_cast<std::size_t>(season));
    static constexpr std::array<const char*, 3> ways = {"plough", "reduced", "none"};
    return ways[organic ? draws.weighted({0.8, 0.2}) : draws.weighted({0.3, 0.52, 0.18})];
}

std::string residue_left(const std::string& previous, const std::string& tillage, Draws& draws) {
    if (tillage == "plough") return "none";
    if (previous == "maize") return tillage == "none" || draws.chance(0.45) ? "heavy" : "some";
    if (previous == "wheat" || previous == "durum" || previous == "barley") return tillage == "none" ? "heavy" : "some";
    return draws.chance(0.5) ? "none" : "some";
}

LocalDay usual_flowering(int season) {
    if (season == 2024) return models::day_of(2024, 5, 29);
    if (season == 2025) return models::day_of(2025, 6, 2);
    return models::day_of(2026, 6, 2);
}

const Cultivar& cultivar_of(std::size_t field, int season, const std::string& crop, bool organic) {
    if (crop == "durum") return durum;
    Draws draws("cultivar", field, static_cast<std::size_t>(season));
    if (draws.chance(0.06)) return spring_wheat;
    return winter_wheats[organic ? draws.weighted({0.2, 0.45, 0.35}) : draws.weighted({0.38, 0.26, 0.2, 0.16})];
}

void add_flowering(CropRow& row, int later_by_days, Draws& draws) {
    const double uneven = draws.normal(0.0, 1.7);
    row.truly_flowered = usual_flowering(row.season) + days(later_by_days + static_cast<int>(std::lround(uneven)));
    row.heading_date = row.truly_flowered - days(draws.whole(4, 6));
    if (draws.chance(0.82)) {
        row.flowering_date = row.truly_flowered;
        row.flowering_source = "observed";
        row.flowering_start = row.truly_flowered - days(draws.whole(1, 2));
        row.flowering_end = row.truly_flowered + days(draws.whole(4, 6));
    } else {  // from the heading date, five days on
        row.heading_date = *row.heading_date + days(draws.whole(-1, 1));
        row.flowering_date = *row.heading_date + days(5);
        row.flowering_source = "estimated";
    }
}

/// From flowering to a ripe field: six weeks and some days; a dry year hurries.
void add_harvest(CropRow& row, bool is_survey_field, Draws& draws) {
    if (!row.is_wheat()) {
        if (row.crop == "barley") {
            row.yield_t_per_ha = std::round(10.0 * draws.normal(row.season == 2025 ? 5.4 : 6.4, 0.6)) / 10.0;
            row.cut_date = models::day_of(row.season, 6, 24) + days(draws.whole(0, 9));
            row.status = "delivered";
        } else {
            row.status = row.season == 2026 ? "standing" : "delivered";
            if (row.season != 2026)
                row.yield_t_per_ha = std::round(10.0 * draws.normal(row.season == 2025 ? 7.3 : 10.2, 1.0)) / 10.0;
        }
        return;
    }
    const int ripening = (row.season == 2025 ? 40 : 42) + draws.whole(-1, 4);
    const LocalDay ripe = row.truly_flowered + days(ripening);
    double yield = draws.normal(row.season == 2025 ? 5.2 : row.season == 2024 ? 6.0 : 6.5, 0.6);
    if (row.crop == "durum") yield -= 0.8;
    if (row.wheat_type == "spring") yield -= 1.0;
    row.yield_t_per_ha = std::round(10.0 * yield) / 10.0;
    const bool waits = row.season == 2026 && is_survey_field;  // the two that were sampled closely are cut last
    if (row.season != 2026 || (ripe <= scenario_day() && !waits)) {
        row.cut_date = ripe;
        row.status = row.season == 2026 ? "cut" : "delivered";
    } else {
        row.status = "standing";
        row.expected_cut_date = std::max(ripe, scenario_day() + days(waits ? 4 : 1));
    }
}

CropRow crop_row(const Landscape& landscape, std::size_t field, const std::string& part, int season,
                 const std::string& crop, const std::string& previous, const std::string& before_previous) {
    const DemoField& here = landscape.fields[field];
    const bool organic = is_organic(here);
    Draws draws("crop of " + part, field, static_cast<std::size_t>(season));
    CropRow row;
    row.field = field;
    row.part = part;
    row.season = season;
    row.crop = crop;
    row.previous_crop = previous;
    row.before_previous_crop = before_previous;
    row.tillage = tillage_of(field, season, organic);
    if (!here.parts.empty() && season == 2026) row.tillage = "reduced";
    row.residue = residue_left(previous, row.tillage, draws);
    row.area_ha = here.area_ha;
    for (const FieldPart& one : here.parts) {
        if (one.part == part) row.area_ha = one.area_ha;
    }
    if (row.is_wheat()) {
        Cultivar cultivar = cultivar_of(field, season, crop, organic);
        if (season == 2026 && field == survey_fields(landscape).without_structure) cultivar = winter_wheats[1];
        if (part == "near half") cultivar = winter_wheats[0];
        if (part == "far half") cultivar = winter_wheats[2];
        row.cultivar = cultivar.name;
        row.wheat_type = cultivar.wheat_type;
        row.resistance = cultivar.resistance;
        const bool spring = row.wheat_type == "spring";
        row.sowing_date = spring ? models::day_of(season, 3, 8) + days(draws.whole(0, 12))
                                 : models::day_of(season - 1, 10, 4) + days(draws.whole(0, 24));
        add_flowering(row, cultivar.later_by_days, draws);
        row.sprayed = !organic && draws.chance(0.42);
        if (row.sprayed) row.spray_date = row.truly_flowered + days(draws.whole(-1, 4));
    } else if (crop == "barley") {
        row.cultivar = "Hordim";
        row.sowing_date = models::day_of(season - 1, 9, 24) + days(draws.whole(0, 14));
        row.heading_date = models::day_of(season, 5, 8) + days(draws.whole(0, 7));
    } else {
        row.cultivar = "Zelvim";
        row.sowing_date = models::day_of(season, 4, 14) + days(draws.whole(0, 14));
    }
    const SurveyFields surveys = survey_fields(landscape);
    add_harvest(row, field == surveys.with_structure || field == surveys.without_structure, draws);
    return row;
}

bool has_a_record(const std::string& crop) {
    return crop == "wheat" || crop == "durum" || crop == "barley" || crop == "maize";
}

}  // namespace

LocalDay scenario_day() {
    return models::day_of(2026, 7, 16);
}

bool is_organic(const DemoField& field) {
    return field.grower == "Pelorn";
}

SurveyFields survey_fields(const Landscape& landscape) {
    // Of the compact fields without parts, ponds or roads: the largest, and the one nearest to 16 ha.
    SurveyFields surveys;
    double largest = 0.0, nearest = 1e300;
    for (std::size_t i = 0; i < landscape.fields.size(); ++i) {
        const DemoField& field = landscape.fields[i];
        if (!field.parts.empty() || field.outline_m.size() > 1 || !field.outline_m[0].holes.empty()) continue;
        const models::BoxM box = models::bounding_box(field.outline_m);
        const bool compact = std::max(box.width_m(), box.height_m()) < 1.45 * std::min(box.width_m(), box.height_m());
        if (compact && field.area_ha > largest && field.area_ha < 42.0 && !is_organic(field))
            largest = field.area_ha, surveys.with_structure = i;
        if (!is_organic(field) && std::abs(field.area_ha - 16.0) < nearest)
            nearest = std::abs(field.area_ha - 16.0), surveys.without_structure = i;
    }
    return surveys;
}

std::vector<CropRow> make_crops(const Landscape& landscape) {
    std::vector<CropRow> rows;
    for (const int season : seasons) {
        const auto at = static_cast<std::size_t>(season - 2022);
        for (std::size_t field = 0; field < landscape.fields.size(); ++field) {
            const auto crops = rotation_of(field, landscape);
            const std::string &crop = crops[at], &previous = crops[at - 1], &before = crops[at - 2];
            const DemoField& here = landscape.fields[field];
            if (!has_a_record(crop)) continue;
            const bool headland = !here.parts.empty() && here.parts.back().part == "headland";
            const bool in_parts = !here.parts.empty() && (season == 2026 || (headland && season == 2025));
            if (!in_parts) {
                rows.push_back(crop_row(landscape, field, "", season, crop, previous, before));
                continue;
            }
            for (const FieldPart& part : here.parts) {  // the headland was maize in 2025
                const bool maize_strip = part.part == "headland";
                const std::string now = maize_strip && season == 2025 ? "maize" : crop;
                const std::string last = maize_strip && season == 2026 ? "maize" : previous;
                rows.push_back(crop_row(landscape, field, part.part, season, now, last, before));
            }
        }
    }
    // Nobody wrote down when two fields flowered in 2026; of one not even the heading.
    const SurveyFields surveys = survey_fields(landscape);
    std::vector<CropRow*> open;
    for (CropRow& row : rows) {
        const bool survey = row.field == surveys.with_structure || row.field == surveys.without_structure;
        const bool standing_wheat = row.season == 2026 && row.is_wheat() && row.status == "standing";
        if (standing_wheat && row.flowering_source == "observed" && row.part.empty() && !survey) open.push_back(&row);
    }
    std::sort(open.begin(), open.end(), [](const CropRow* a, const CropRow* b) {
        return Draws("forgotten", a->field).uniform() < Draws("forgotten", b->field).uniform();
    });
    for (std::size_t i = 0; i < 2 && i < open.size(); ++i) {
        open[i]->flowering_date = open[i]->flowering_start = open[i]->flowering_end = std::nullopt;
        open[i]->flowering_source.clear();
        if (i == 1) open[i]->heading_date = std::nullopt;
    }
    return rows;
}

}  // namespace demo
