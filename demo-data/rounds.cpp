#include "demo-data/rounds.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <set>

#include <fmt/format.h>

#include "demo-data/counter_random.h"

namespace demo {

namespace {

using models::LocalDay;
using std::chrono::days;

struct Walk {
    const Landscape& landscape;
    const std::vector<CropRow>& crops;
    const std::vector<CropTruth>& truths;
    Bench& bench;
};

/// Handfuls from all over a crop, one in each stretch of it.
std::size_t take_composite(Walk& walk, const CropTruth& truth, models::Stamp time, const char* why, int handfuls) {
    const CropRow& crop = walk.crops[truth.crop];
    Draws draws("handfuls " + crop.part, crop.field, static_cast<std::size_t>(crop.season),
                static_cast<std::size_t>(handfuls));
    const std::vector<models::PointM> places = grid_inside(truth.outline_m, 15.0);
    double sum = 0.0;
    for (int i = 0; i < handfuls; ++i) {
        const double at = (i + draws.uniform()) / handfuls * static_cast<double>(places.size());
        const models::PointM& place = places[std::min(static_cast<std::size_t>(at), places.size() - 1)];
        sum += truth.within.handful_factor(place, draws);
    }
    SampleRow sample;
    sample.stage = "standing";
    sample.kind = "composite";
    sample.field = walk.landscape.fields[crop.field].field;
    sample.part = crop.part;
    sample.taken_time = time;
    sample.taken_by = "Ennoth";
    sample.increments = handfuls;
    sample.mass_g = 10.0 * draws.whole(150, 240);
    sample.moisture_pct = 0.1 * draws.whole(141, 178);
    sample.chosen_because = why;
    sample.commodity = crop.crop;
    sample.content_mg_per_kg = truth.mean_mg_per_kg * sum / handfuls;
    sample.target_mg_per_kg = truth.mean_mg_per_kg;
    return walk.bench.take(std::move(sample));
}

struct Round {
    int season, random, plan, risk, looked_bad, asked;
    LocalDay first_day;
    int void_at = -1;  ///< the crop whose first strip came to nothing
};

/// Which crops of a season are tested, and why; each once.
std::vector<std::pair<const CropTruth*, const char*>> choose(const Walk& walk, const Round& round) {
    std::vector<const CropTruth*> open;
    const SurveyFields surveys = survey_fields(walk.landscape);
    for (const CropTruth& truth : walk.truths) {
        const CropRow& crop = walk.crops[truth.crop];
        const bool survey =
            crop.season == 2026 && (crop.field == surveys.with_structure || crop.field == surveys.without_structure);
        if (crop.season == round.season && !survey) open.push_back(&truth);
    }
    std::vector<std::pair<const CropTruth*, const char*>> chosen;
    const auto take_by = [&](const char* why, int count, auto key) {
        std::stable_sort(open.begin(), open.end(), [&](const auto* a, const auto* b) { return key(*a) < key(*b); });
        for (int i = 0; i < count && !open.empty(); ++i) {
            chosen.emplace_back(open.front(), why);
            open.erase(open.begin());
        }
    };
    const auto season = static_cast<std::size_t>(round.season);
    const auto by_chance = [&](const char* purpose) {
        return [&, purpose](const CropTruth& t) { return Draws(purpose, t.crop, season).uniform(); };
    };
    take_by("random", round.random, by_chance("chosen at random"));
    take_by("risk", round.risk, [](const CropTruth& t) { return -t.risk_logit; });
    take_by("plan", round.plan, by_chance("chosen by plan"));
    take_by("looked_bad", round.looked_bad, [](const CropTruth& t) { return -t.severity_pct; });
    take_by("asked", round.asked, by_chance("a grower asked"));
    return chosen;
}

void walk_a_round(Walk& walk, const Round& round) {
    const auto chosen = choose(walk, round);
    Draws draws("a round of tests", static_cast<std::size_t>(round.season));
    int done = 0;
    for (const auto& [truth, why] : chosen) {
        const LocalDay day = round.first_day + days(done / 4);
        const auto taken = at_clock(day, 7 + 2 * (done % 4), draws.whole(0, 50));
        const std::size_t sample = take_composite(walk, *truth, taken, why, draws.whole(18, 30));
        if (done % 8 == 0)
            walk.bench.read_control(controls()[done % 16 == 0 ? 0 : 1], at_clock(day, 12, draws.whole(2, 30)),
                                    "Ennoth");
        const auto read_at = at_clock(day, 13 + done % 4, draws.whole(0, 25));
        if (done == round.void_at) {
            TestRow& nothing = walk.bench.read_strip(sample, read_at, "Ennoth");
            nothing.valid = false;
            nothing.void_reason = "control line did not come";
            nothing.don.clear();
        }
        walk.bench.read_strip(sample, at_clock(day, 13 + done % 4, 30 + draws.whole(0, 15)), "Ennoth");
        if (walk.bench.tests.back().don[0] == '>') {  // once more, one part of extract in three
            walk.bench.read_strip(sample, at_clock(day, 18, draws.whole(0, 20)), "Ennoth", 3.0);
        }
        if (done % 7 == 3) walk.bench.read_strip(sample, at_clock(day, 13 + done % 4, 58), "Ennoth");
        if (done % 9 == 5) walk.bench.read_laboratory(sample, at_clock(day + days(6), 10, draws.whole(0, 50)));
        ++done;
    }
}

/// Single places in one field: corners of a rough grid, or wherever the walk led.
void survey(Walk& walk, std::size_t field, std::size_t wanted, LocalDay day, const char* why) {
    const DemoField& here = walk.landscape.fields[field];
    const CropTruth& truth = *truth_of(walk.truths, walk.crops, field, "", 2026);
    Draws draws("single places", field);
    double spacing = std::sqrt(here.area_ha * 1e4 / static_cast<double>(wanted));
    std::vector<models::PointM> places;
    while ((places = grid_inside(here.outline_m, spacing)).size() < wanted) spacing *= 0.985;
    while (places.size() > wanted) places.erase(places.begin() + draws.whole(0, static_cast<int>(places.size()) - 1));
    std::vector<std::size_t> taken;
    int minute = 0;
    for (models::PointM place : places) {
        const models::PointM stepped{place.x_m + draws.normal(0.0, 0.17 * spacing),
                                     place.y_m + draws.normal(0.0, 0.17 * spacing)};
        if (models::side_of(here.outline_m, stepped) == models::Side::inside) place = stepped;
        SampleRow sample;
        sample.stage = "standing";
        sample.kind = "point";
        sample.field = here.field;
        sample.place_m = place;
        sample.taken_time = at_clock(day, 6 + minute / 60, minute % 60);
        sample.taken_by = "Ennoth";
        sample.increments = 5;
        sample.mass_g = 10.0 * draws.whole(82, 118);
        sample.moisture_pct = 0.1 * draws.whole(148, 171);
        sample.chosen_because = why;
        sample.commodity = "wheat";
        sample.content_mg_per_kg = truth.mean_mg_per_kg * truth.within.handful_factor(place, draws);
        sample.target_mg_per_kg = sample.content_mg_per_kg;
        minute += 8 + draws.whole(0, 3);
        taken.push_back(walk.bench.take(std::move(sample)));
    }
    minute = 0;
    for (const std::size_t sample : taken) {  // thirty strips a day
        const LocalDay read_on = day + days(1 + minute / 540);
        TestRow& test = walk.bench.read_strip(sample, at_clock(read_on, 8 + minute % 540 / 60, minute % 60), "Mivra");
        test.of_survey = true;
        minute += 18;
    }
}

}  // namespace

void walk_the_fields(const Landscape& landscape, const std::vector<CropRow>& crops,
                     const std::vector<CropTruth>& truths, Bench& bench) {
    Walk walk{landscape, crops, truths, bench};
    walk_a_round(walk, {2024, 7, 6, 6, 2, 1, models::day_of(2024, 6, 24), 3});
    walk_a_round(walk, {2025, 9, 5, 4, 1, 1, models::day_of(2025, 6, 26)});
    walk_a_round(walk, {2026, 6, 2, 5, 1, 1, models::day_of(2026, 6, 29)});
    const SurveyFields surveys = survey_fields(landscape);
    survey(walk, surveys.with_structure, 60, models::day_of(2026, 7, 3), "plan");
    survey(walk, surveys.without_structure, 25, models::day_of(2026, 7, 6), "plan");
}

}  // namespace demo
