#include "tests/app/drawing_samples.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>

#include <fmt/format.h>

namespace samples {

using namespace app::drawing;
using models::PointM;

namespace {

/// Numbers between 0 and 1 that are the same on every machine (splitmix64, S. Vigna 2015).
class Chance {
 public:
    explicit Chance(std::uint64_t seed) : state_(seed) {}
    double uniform() {
        std::uint64_t z = (state_ += 0x9e3779b97f4a7c15ULL);
        z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
        z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
        return static_cast<double>((z ^ (z >> 31)) >> 11) * 0x1.0p-53;
    }
    double between(double low, double high) { return low + (high - low) * uniform(); }
    double normal() {
        return std::sqrt(-2.0 * std::log(1.0 - uniform())) * std::cos(2.0 * std::numbers::pi * uniform());
    }

 private:
    std::uint64_t state_;
};

constexpr const char* names[] = {
    "Long Acre",   "Mill Hollow", "Crow Bank",   "Upper Lea",    "Sandpit",     "Nine Oaks",   "Kiln Close",
    "Far Piece",   "Ox Pasture",  "Brook End",   "Thistle Hill", "Old Orchard", "Gravel",      "Lark Rise",
    "Ferry Field", "Stony Butt",  "Rush Meadow", "Barn Ground",  "White Post",  "Hare Warren", "Elm Croft",
    "Pond Piece",  "Church Way",  "Lower Lea",   "Quarry Top",   "Bell Close",  "Heron Wath",  "Clay Dole",
    "Tall Hedge",  "Windy Edge",  "Fox Cover",   "Salt Lane",    "Great Marl",  "Little Marl", "Two Gates",
    "Chalk Side",  "Beacon",      "Osier Bed",   "Shepherd's",   "Dry Valley",  "Hop Yard",    "Ash Corner",
    "Cold Well",   "Ridgeway",    "Plough Inn",  "Moor Side",    "Teasel",      "Badger Holt"};

/// The district is a bent grid of parcels with lanes between them; corners wander and some parcels are cut out.
PointM bent(double column, double row) {
    const double x = 1100.0 * column + 260.0 * std::sin(1.3 * row + 0.4 * column);
    const double y = 950.0 * row + 230.0 * std::sin(0.9 * column - 0.7 * row);
    return {x - 4400.0, y - 2850.0};
}

models::OutlineM parcel(int column, int row, Chance& chance) {
    const double west = column + chance.between(0.03, 0.16), east = column + chance.between(0.86, 0.97);
    const double south = row + chance.between(0.03, 0.16), north = row + chance.between(0.84, 0.97);
    std::vector<std::pair<double, double>> corners = {{west, south}};
    const auto side = [&](double x0, double y0, double x1, double y1) {
        for (int i = 1; i <= 5; ++i) {
            const double t = i / 5.0, bulge = i < 5 ? 0.025 * chance.normal() : 0.0;
            corners.emplace_back(x0 + t * (x1 - x0) + bulge * (y1 != y0), y0 + t * (y1 - y0) + bulge * (x1 != x0));
        }
    };
    side(west, south, east, south);
    if (chance.uniform() < 0.3) {  // a corner that belongs to a farmyard
        const double notch_x = east - chance.between(0.25, 0.4), notch_y = north - chance.between(0.25, 0.4);
        side(east, south, east, notch_y);
        side(east, notch_y, notch_x, notch_y);
        side(notch_x, notch_y, notch_x, north);
        side(notch_x, north, west, north);
    } else {
        side(east, south, east, north);
        side(east, north, west, north);
    }
    side(west, north, west, south);
    corners.pop_back();
    models::PolygonM polygon;
    for (const auto& [x, y] : corners) polygon.outer.push_back(bent(x, y));
    if (column == 3 && row == 2) {  // a pond
        for (int i = 0; i < 9; ++i) {
            const double angle = 2.0 * std::numbers::pi * i / 9.0;
            polygon.holes.resize(1);
            polygon.holes[0].push_back(bent(column + 0.65 + 0.1 * std::cos(angle), row + 0.4 + 0.09 * std::sin(angle)));
        }
    }
    return {polygon};
}

double regional(const PointM& p) {
    return 0.9 * std::sin(p.x_m / 2600.0 + 0.6) + 0.5 * std::cos(p.y_m / 1900.0);
}
double within(const PointM& p) {
    return 0.45 * std::sin(p.x_m / 210.0) * std::cos(p.y_m / 260.0) + 0.25 * std::sin((p.x_m + p.y_m) / 420.0);
}

constexpr const char* limit_words =
    "Limit 1.25 mg/kg, unprocessed wheat for food, as is: a content over it, after rounding to 0.01 mg/kg.";
constexpr const char* caution_words =
    "Screening result, not a certificate: confirm by an accredited laboratory before grain is condemned or released "
    "near a limit. Tested for DON only. Local law and the contract stand above this program.";

}  // namespace

MapFigure district_map() {
    Chance chance(20260728);
    MapFigure figure;
    figure.title = "Contamination, season 2026";
    figure.subtitle = "Lodden vale, invented: 48 fields, 120 tests up to 28 Jul 2026; field means, wheat";
    figure.limit_mg_per_kg = 1.25;
    figure.limit_text = limit_words;
    figure.verdict =
        "Structure within fields: not supported (leave-one-out gains nothing over the field mean), so each field "
        "carries its mean.";
    figure.caution = caution_words;
    for (int row = 0; row < 6; ++row)
        for (int column = 0; column < 8; ++column) {
            MapField field;
            field.label = names[row * 8 + column];
            field.outline_m = parcel(column, row, chance);
            const PointM centre = models::centroid(field.outline_m);
            const bool tested = chance.uniform() < 0.72;
            field.tests = tested ? 1 + static_cast<int>(chance.between(0.0, 5.0)) : 0;
            const double log_median = -0.5 + regional(centre) + 0.5 * chance.normal();
            const double sd = tested ? 0.42 / std::sqrt(field.tests) + 0.1 : 0.75;
            field.median_mg_per_kg = std::exp(log_median);
            field.low90_mg_per_kg = std::exp(log_median - 1.645 * sd);
            field.high90_mg_per_kg = std::exp(log_median + 1.645 * sd);
            field.exceedance = 0.5 * std::erfc((std::log(1.25) - log_median) / sd / std::numbers::sqrt2);
            figure.fields.push_back(std::move(field));
        }
    figure.fields[45].median_mg_per_kg.reset();
    figure.fields[45].low90_mg_per_kg.reset();
    figure.fields[45].high90_mg_per_kg.reset();
    figure.fields[45].exceedance.reset();
    figure.fields[45].tests = 0;
    int made = 0;
    while (made < 120) {
        for (const auto& field : figure.fields) {
            if (field.tests == 0 || made == 120) continue;
            const models::BoxM box = models::bounding_box(field.outline_m);
            PointM place;
            do place = {chance.between(box.x_min_m, box.x_max_m), chance.between(box.y_min_m, box.y_max_m)};
            while (models::side_of(field.outline_m, place) != models::Side::inside ||
                   models::distance_to_edge_m(field.outline_m, place) < 60.0);
            MapTest test;
            test.place_m = place;
            test.don_mg_per_kg = *field.median_mg_per_kg * std::exp(0.5 * chance.normal());
            test.mark = made % 31 == 7              ? TestMark::invalid
                        : test.don_mg_per_kg < 0.18 ? TestMark::below_range
                        : test.don_mg_per_kg > 4.5  ? TestMark::above_range
                                                    : TestMark::value;
            figure.tests.push_back(test);
            ++made;
        }
    }
    return figure;
}

MapFigure mapped_within() {
    MapFigure figure = district_map();
    figure.subtitle = "Lodden vale, invented: 48 fields, 120 tests up to 28 Jul 2026; wheat, cells of 25 m";
    figure.verdict =
        "Structure within fields: supported in 16 of 48 fields (leave-one-out skill 0.31, evidence 12 to 1); the "
        "others "
        "carry their mean.";
    MapSurface surface;
    surface.grid = models::grid_over(*box_of(figure), 25.0);
    const auto cells = static_cast<std::size_t>(surface.grid.cells());
    surface.median_mg_per_kg.assign(cells, std::nan(""));
    surface.exceedance.assign(cells, std::nan(""));
    surface.interval_factor.assign(cells, std::nan(""));
    for (std::size_t i = 0; i < figure.fields.size(); ++i) {
        if (i % 3 != 1 || !figure.fields[i].median_mg_per_kg || figure.fields[i].tests == 0) continue;
        figure.fields[i].carries_surface = true;
        const models::BoxM box = models::bounding_box(figure.fields[i].outline_m);
        for (int row = 0; row < surface.grid.rows; ++row)
            for (int column = 0; column < surface.grid.columns; ++column) {
                const PointM centre = surface.grid.centre(row, column);
                if (centre.x_m < box.x_min_m || centre.x_m > box.x_max_m || centre.y_m < box.y_min_m ||
                    centre.y_m > box.y_max_m)
                    continue;
                if (models::side_of(figure.fields[i].outline_m, centre) == models::Side::outside) continue;
                const auto at = static_cast<std::size_t>(row) * static_cast<std::size_t>(surface.grid.columns) +
                                static_cast<std::size_t>(column);
                double nearest = 1e9;
                for (const auto& test : figure.tests)
                    nearest = std::min(nearest, models::distance_m(test.place_m, centre));
                const double sd = 0.3 + 0.35 * std::min(1.0, nearest / 350.0);
                surface.median_mg_per_kg[at] = *figure.fields[i].median_mg_per_kg * std::exp(within(centre));
                surface.interval_factor[at] = std::exp(2.0 * 1.645 * sd);
                surface.exceedance[at] =
                    0.5 * std::erfc(std::log(1.25 / surface.median_mg_per_kg[at]) / sd / std::numbers::sqrt2);
            }
    }
    // One contour: a level line of the invented structure, followed cell by cell.
    MapContour contour;
    contour.level_mg_per_kg = 1.25;
    for (int row = 0; row + 1 < surface.grid.rows; ++row)
        for (int column = 0; column + 1 < surface.grid.columns; ++column) {
            const auto value = [&](int r, int c) {
                return surface
                    .median_mg_per_kg[static_cast<std::size_t>(r) * static_cast<std::size_t>(surface.grid.columns) +
                                      static_cast<std::size_t>(c)];
            };
            std::vector<PointM> ends;
            const int around[5][2] = {{0, 0}, {0, 1}, {1, 1}, {1, 0}, {0, 0}};
            bool whole = true;
            for (const auto& step : around) whole &= !std::isnan(value(row + step[0], column + step[1]));
            if (!whole) continue;
            for (int k = 0; k < 4; ++k) {
                const double a = value(row + around[k][0], column + around[k][1]);
                const double b = value(row + around[k + 1][0], column + around[k + 1][1]);
                if ((a > 1.25) == (b > 1.25)) continue;
                const double t = std::log(1.25 / a) / std::log(b / a);
                const PointM p = surface.grid.centre(row + around[k][0], column + around[k][1]);
                const PointM q = surface.grid.centre(row + around[k + 1][0], column + around[k + 1][1]);
                ends.push_back({p.x_m + t * (q.x_m - p.x_m), p.y_m + t * (q.y_m - p.y_m)});
            }
            if (ends.size() == 2) contour.lines_m.push_back(ends);
        }
    // The steps are joined end to end, as a contour from a raster comes.
    const auto same = [](const PointM& a, const PointM& b) { return models::distance_m(a, b) < 1e-6; };
    for (std::size_t i = 0; i < contour.lines_m.size(); ++i)
        for (std::size_t j = i + 1; j < contour.lines_m.size(); ++j) {
            auto& line = contour.lines_m[i];
            auto other = contour.lines_m[j];
            if (same(line.front(), other.front()) || same(line.front(), other.back()))
                std::reverse(line.begin(), line.end());
            if (same(line.back(), other.back())) std::reverse(other.begin(), other.end());
            if (!same(line.back(), other.front())) continue;
            line.insert(line.end(), other.begin() + 1, other.end());
            contour.lines_m.erase(contour.lines_m.begin() + static_cast<std::ptrdiff_t>(j));
            j = i;
        }
    figure.contours = {contour};
    figure.surface = std::move(surface);
    return figure;
}

MapFigure exceedance_map() {
    MapFigure figure = district_map();
    figure.title = "Chance of lying over the limit, season 2026";
    figure.shows = MapShows::exceedance;
    return figure;
}

MapFigure ranking_map() {
    MapFigure figure = district_map();
    figure.title = "Which fields are suspect, season 2026";
    figure.subtitle = "Lodden vale, invented: 48 fields, no DON result; weather up to 20 Jun 2026";
    figure.shows = MapShows::ranking;
    figure.tests.clear();
    std::vector<std::size_t> order(figure.fields.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        return figure.fields[a].exceedance.value_or(0.0) > figure.fields[b].exceedance.value_or(0.0);
    });
    for (std::size_t i = 0; i < order.size(); ++i) figure.fields[order[i]].rank = static_cast<int>(i) + 1;
    for (auto& field : figure.fields) {
        field.tests = 0;
        field.median_mg_per_kg.reset();
        field.low90_mg_per_kg.reset();
        field.high90_mg_per_kg.reset();
        field.exceedance.reset();
    }
    figure.fields[17].rank.reset();
    return figure;
}

HoursFigure hours() {
    Chance chance(77);
    HoursFigure figure;
    figure.title = "Hours around flowering: Thistle Hill, 2026";
    figure.subtitle = "Flowering observed 6 Jun 2026; station Lodden bridge, 6.4 km away";
    figure.model = "dew-point depression around flowering";
    figure.window_first_day = -7.0;
    figure.window_last_day = 10.0;
    figure.note = "7 of 576 hours were not measured and are left out.";
    for (int hour = 0; hour < 24 * 24; ++hour) {
        HourMark mark;
        mark.days_from_flowering = -12.0 + (hour + 0.5) / 24.0;
        const double clock = std::cos(2.0 * std::numbers::pi * (hour % 24 - 15.0) / 24.0);
        const double front = std::sin(hour / 41.0) + 0.5 * std::sin(hour / 17.0);
        mark.temperature_degc = 16.5 + 5.5 * clock - 2.5 * front + 0.8 * chance.normal();
        const double depression = 5.5 + 4.6 * clock - 4.0 * front + 0.9 * chance.normal();
        mark.dew_point_depression_degc = std::max(0.05 + 0.3 * chance.uniform(), depression);
        mark.rain_mm = front > 0.75 && chance.uniform() < 0.55 ? std::round(chance.between(2.0, 42.0)) / 10.0 : 0.0;
        if (hour % 83 == 5) mark.dew_point_depression_degc = std::nan("");
        figure.hours.push_back(mark);
    }
    return figure;
}

BinsFigure bins() {
    Chance chance(5);
    BinsFigure figure;
    figure.title = "What lies in the bins";
    figure.subtitle = "Season 2026, after 40 loads; content on the basis of each bin's limit";
    figure.caution = caution_words;
    struct Plan {
        const char* bin;
        double capacity_t;
        const char* purpose;
        double limit, level;
        int loads;
        bool hold;
    };
    const Plan plans[] = {
        {"Bin 1", 240.0, "food", 1.25, 0.35, 8, false}, {"Bin 2", 240.0, "food", 1.25, 0.7, 7, false},
        {"Bin 3", 120.0, "food", 1.25, 0.5, 4, false},  {"Bin 4", 60.0, "food, organic", 1.0, 0.3, 2, false},
        {"Bin 5", 180.0, "feed", 8.0, 2.2, 6, false},   {"Bin 6", 180.0, "feed", 8.0, 3.1, 5, false},
        {"Bin 7", 90.0, "hold", 1.25, 1.2, 4, true},    {"Bin 8", 300.0, "food", 1.25, 0.5, 0, false}};
    int load = 100;
    for (const auto& plan : plans) {
        BinDrawing bin;
        bin.bin = plan.bin;
        bin.capacity_t = plan.capacity_t;
        bin.purpose = plan.purpose;
        bin.hold = plan.hold;
        bin.limit_mg_per_kg = plan.limit;
        double mass = 0.0, sum = 0.0;
        for (int i = 0; i < plan.loads; ++i) {
            BinLayer layer;
            layer.load = fmt::format("L{}", ++load);
            layer.mass_t = chance.between(14.0, 29.0);
            const double median = plan.level * std::exp(0.45 * chance.normal()), sd = plan.hold ? 0.6 : 0.25;
            layer.median_mg_per_kg = median;
            layer.low90_mg_per_kg = median * std::exp(-1.645 * sd);
            layer.high90_mg_per_kg = median * std::exp(1.645 * sd);
            mass += layer.mass_t;
            sum += layer.mass_t * median;
            bin.layers.push_back(layer);
        }
        if (plan.loads > 0) {
            const double mean = sum / mass, sd = 0.25 / std::sqrt(plan.loads) + 0.08;
            bin.mean_mg_per_kg = mean;
            bin.low90_mg_per_kg = mean * std::exp(-1.645 * sd);
            bin.high90_mg_per_kg = mean * std::exp(1.645 * sd);
            bin.exceedance = 0.5 * std::erfc(std::log(plan.limit / mean) / sd / std::numbers::sqrt2);
        }
        figure.bins.push_back(bin);
    }
    figure.bins[3].note = "keep apart: organic";
    figure.bins[4].layered = false;
    figure.bins[4].note = "drawn off mixed";
    return figure;
}

RankFigure ranks() {
    Chance chance(11);
    RankFigure figure;
    figure.title = "Which field first";
    figure.subtitle = "Season 2026: what one test more would save, over all fields";
    figure.limit_mg_per_kg = 1.25;
    figure.limit_text = limit_words;
    figure.caution = caution_words;
    for (int i = 0; i < 28; ++i) {
        RankRow row;
        row.rank = i + 1;
        row.field = names[(i * 11) % 48];
        const double log_median = std::log(1.25) - 0.05 * i + 0.45 * chance.normal(), sd = 0.75 - 0.008 * i;
        row.median_mg_per_kg = std::exp(log_median);
        row.low90_mg_per_kg = std::exp(log_median - 1.645 * sd);
        row.high90_mg_per_kg = std::exp(log_median + 1.645 * sd);
        row.low50_mg_per_kg = std::exp(log_median - 0.674 * sd);
        row.high50_mg_per_kg = std::exp(log_median + 0.674 * sd);
        row.exceedance = 0.5 * std::erfc((std::log(1.25) - log_median) / sd / std::numbers::sqrt2);
        row.tests = i % 5 == 3 ? 1 : 0;
        row.why = i % 3 == 0   ? "210 t, cut on 30 Jul, close to the limit and never tested"
                  : i % 3 == 1 ? "neighbours came out high; maize residue on the surface"
                               : "humid nights at flowering; decides what enters bin 2";
        figure.rows.push_back(row);
    }
    return figure;
}

RankFigure risk_ranks() {
    RankFigure figure = ranks();
    figure.risk_only = true;
    figure.title = "Which field first: by disease risk only";
    Chance chance(12);
    for (auto& row : figure.rows) {
        row.median_mg_per_kg.reset();
        row.low90_mg_per_kg.reset();
        row.high90_mg_per_kg.reset();
        row.low50_mg_per_kg.reset();
        row.high50_mg_per_kg.reset();
        row.exceedance.reset();
        row.tests = 0;
        const double logit = 1.2 - 0.11 * row.rank;
        const auto probability = [](double x) { return 1.0 / (1.0 + std::exp(-x)); };
        row.risk = probability(logit);
        row.risk_low = probability(logit - chance.between(0.3, 0.9));
        row.risk_high = probability(logit + chance.between(0.3, 0.9));
        row.why = row.rank % 2 ? "humid nights at flowering" : "weather known for 92 % of the window's hours";
    }
    return figure;
}

AcceptanceFigure acceptance() {
    AcceptanceFigure figure;
    figure.title = "How often a lot is accepted";
    figure.subtitle = "Limit: over 1.25 mg/kg";
    figure.limit_mg_per_kg = figure.breaking_mg_per_kg = 1.25;
    const auto curve = [](const char* name, double steepness) {
        AcceptanceCurve made;
        made.name = name;
        for (int i = 1; i <= 200; ++i) {
            const double content = 0.0156 * i;
            made.points.push_back({content, 0.5 * std::erfc(steepness * std::log(content / 1.25))});
        }
        return made;
    };
    figure.plan = curve("this plan: 1 sample of 1000 g, 1 portion of 5 g of it, 1 analysis of the portion", 1.4);
    figure.other = curve("the cheapest plan: 2 samples of 1000 g, 2 portions of 25 g of each, 1 analysis of each", 3.5);
    figure.good = {0.8, 0.05};
    figure.bad = {1.8, 0.05};
    figure.notes = {"At 0.8 mg/kg the seller has 19 % of lots turned away, at 1.8 mg/kg the buyer accepts 24 %.",
                    "A portion of 5 g is an extrapolation from the study's 25 g and its grind: the worst documented."};
    figure.caution = caution_words;
    return figure;
}

}  // namespace samples
