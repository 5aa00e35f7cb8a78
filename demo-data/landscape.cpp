#include "demo-data/landscape.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numbers>
#include <optional>
#include <set>

#include "demo-data/counter_random.h"
#include "demo-data/parcels.h"
#include "geo/work_system.h"

namespace demo {

namespace {

using models::PointM;

constexpr double pi = std::numbers::pi;
constexpr double degree = pi / 180.0;
constexpr double half_width_m = 2900.0, half_height_m = 2250.0;
constexpr double stream_v_m = 180.0;
constexpr std::size_t wanted_fields = 48;

/// From paper to land: long gentle bends, the meanders of the stream, a little unevenness everywhere, then a turn.
/// The slopes of all shifts together stay below 1, so that no two places fall together and parcels never overlap.
PointM on_the_land(double u, double v) {
    double x = u + 95.0 * std::sin(2 * pi * (v / 4100.0 + 0.13)) + 60.0 * std::sin(2 * pi * (u / 3300.0 + v / 5200.0));
    double y = v + 110.0 * std::sin(2 * pi * (u / 4700.0 + 0.31)) + 45.0 * std::sin(2 * pi * (u / 2100.0 - v / 2900.0));
    const double from_stream = (v - stream_v_m) / 300.0;
    const double near_stream = std::exp(-from_stream * from_stream);
    y += near_stream * (46.0 * std::sin(2 * pi * (u / 830.0 + 0.2)) + 26.0 * std::sin(2 * pi * (u / 390.0 + 0.7)) +
                        9.0 * std::sin(2 * pi * (u / 173.0)));
    x += near_stream * 22.0 * std::sin(2 * pi * (u / 415.0 + 0.45));
    x += 2.6 * std::sin(2 * pi * (v / 310.0 + u / 540.0)) + 1.3 * std::sin(2 * pi * (v / 97.0));
    y += 2.6 * std::sin(2 * pi * (u / 290.0 - v / 610.0)) + 1.3 * std::sin(2 * pi * (u / 113.0 + 0.5));
    const double turn = 13.0 * degree;
    return {x * std::cos(turn) - y * std::sin(turn), x * std::sin(turn) + y * std::cos(turn)};
}

double distance_to_segment(const PointM& p, const PointM& a, const PointM& b) {
    const double dx = b.x_m - a.x_m, dy = b.y_m - a.y_m;
    const double length = std::hypot(dx, dy);
    if (length == 0.0) return models::distance_m(p, a);
    return std::abs(dx * (p.y_m - a.y_m) - dy * (p.x_m - a.x_m)) / length;
}

/// Douglas and Peucker's thinning between two places that stay.
void keep_bends(const std::vector<PointM>& line, std::size_t first, std::size_t last, std::vector<bool>& keep) {
    double farthest = 0.6;  // metres that a digitised outline does not bother about
    std::size_t at = 0;
    for (std::size_t i = first + 1; i < last; ++i) {
        const double away = distance_to_segment(line[i], line[first], line[last]);
        if (away > farthest) farthest = away, at = i;
    }
    if (at == 0) return;
    keep[at] = true;
    keep_bends(line, first, at, keep);
    keep_bends(line, at, last, keep);
}

/// A straight side on paper as a line on the land, without its last place. The same places whichever end is named
/// first, so that neighbours who share a side share its corners.
std::vector<PointM> side_on_the_land(Corner from, Corner to) {
    const bool backwards = std::pair(from.u_m, from.v_m) > std::pair(to.u_m, to.v_m);
    if (backwards) std::swap(from, to);
    const double length = std::hypot(to.u_m - from.u_m, to.v_m - from.v_m);
    const auto steps = static_cast<std::size_t>(std::ceil(length / 14.0));
    std::vector<PointM> line;
    for (std::size_t i = 0; i <= steps; ++i) {
        const double share = static_cast<double>(i) / static_cast<double>(steps);
        line.push_back(on_the_land(from.u_m + (to.u_m - from.u_m) * share, from.v_m + (to.v_m - from.v_m) * share));
    }
    std::vector<bool> keep(line.size(), false);
    keep.front() = keep.back() = true;
    keep_bends(line, 0, steps, keep);
    std::vector<PointM> bends;
    for (std::size_t i = 0; i < line.size(); ++i) {
        if (keep[i]) bends.push_back(line[i]);
    }
    if (backwards) std::reverse(bends.begin(), bends.end());
    bends.pop_back();
    return bends;
}

models::RingM ring_on_the_land(const Parcel& parcel) {
    models::RingM ring;
    for (std::size_t i = 0; i < parcel.size(); ++i) {
        const auto side = side_on_the_land(parcel[i], parcel[(i + 1) % parcel.size()]);
        ring.insert(ring.end(), side.begin(), side.end());
    }
    return ring;
}

struct Line {
    Corner through;
    double angle_deg, margin_m;
};

/// Roads: through where, in which direction, and half their width with the verge.
constexpr std::array<Line, 5> roads = {{{{-560.0, 0.0, 0.0}, 84.0, 9.0},
                                        {{0.0, 1290.0, 0.0}, 5.0, 8.0},
                                        {{0.0, -1050.0, 0.0}, -7.0, 8.0},
                                        {{1420.0, 0.0, 0.0}, 104.0, 7.0},
                                        {{-2050.0, 0.0, 0.0}, 71.0, 6.0}}};
constexpr Line stream_line = {{0.0, stream_v_m, 0.0}, 2.0, 13.0};

struct Leaf {
    Parcel paper;
    int parent = 0;         ///< two leaves of one parent lie side by side
    bool by_track = false;  ///< a track, not a bank, parts them
};

/// Parts land as it was parted over the generations: along a side that is there already, across the long way, until
/// a piece is small enough for the one who works it.
void part_land(const Parcel& parcel, std::uint64_t key, int depth, std::vector<Leaf>& leaves, int parent,
               bool by_track) {
    Draws draws("parting land", key);
    const double size_m2 = area_m2(parcel);
    const double wanted_m2 = 1e4 * std::clamp(20.0 * std::exp(0.75 * draws.normal()), 4.0, 58.0);
    if (size_m2 <= wanted_m2 || (size_m2 < 55e4 && draws.chance(0.04))) {
        leaves.push_back({parcel, parent, by_track});
        return;
    }
    const Lie lie = lie_of(parcel);
    const bool lengthwise = lie.along_m < 2.2 * lie.across_m && draws.chance(0.42);
    double angle = lie.angle_rad + (lengthwise ? 0.0 : pi / 2);
    double best_turn = 22.0 * degree;
    const double asked = angle;
    for (std::size_t i = 0; i < parcel.size(); ++i) {  // along the side that lies nearest to that direction
        const Corner &a = parcel[i], &b = parcel[(i + 1) % parcel.size()];
        const double side = std::atan2(b.v_m - a.v_m, b.u_m - a.u_m);
        const double turn = std::remainder(side - asked, pi);
        if (std::abs(turn) < best_turn) best_turn = std::abs(turn), angle = side;
    }
    angle += draws.normal(0.0, 2.2 * degree);
    const double reach = lengthwise ? lie.across_m : lie.along_m;
    const double across = lengthwise ? lie.angle_rad + pi / 2 : lie.angle_rad;
    const double shift = reach * draws.uniform(-0.42, 0.42);
    Corner through = centre_of(parcel);
    through.u_m += shift * std::cos(across);
    through.v_m += shift * std::sin(across);
    const bool track = depth < 2 ? draws.chance(0.8) : draws.chance(0.22);
    const CutParcel cut = cut_along(parcel, through, angle, track ? 3.6 : draws.uniform(1.6, 3.0));
    if (!cut.cuts) {
        leaves.push_back({parcel, parent, by_track});
        return;
    }
    const int here = static_cast<int>(key & 0x7fffffff);
    part_land(cut.left, key * 2, depth + 1, leaves, here, track);
    part_land(cut.right, key * 2 + 1, depth + 1, leaves, here, track);
}

std::vector<Leaf> all_parcels() {
    std::vector<Parcel> blocks = {{{-half_width_m, -half_height_m, 6.0},
                                   {half_width_m, -half_height_m, 6.0},
                                   {half_width_m, half_height_m, 6.0},
                                   {-half_width_m, half_height_m, 6.0}}};
    std::vector<Line> lines = {stream_line};
    lines.insert(lines.end(), roads.begin(), roads.end());
    for (const Line& line : lines) {
        std::vector<Parcel> parted;
        for (const Parcel& block : blocks) {
            const Corner middle = centre_of(block);
            // The fourth road ends at the stream, the fifth runs north of it only.
            const bool north = middle.v_m > stream_v_m;
            const bool ends = (line.through.u_m == roads[3].through.u_m && north) ||
                              (line.through.u_m == roads[4].through.u_m && !north);
            const CutParcel cut = cut_along(block, line.through, line.angle_deg * degree, line.margin_m);
            if (ends || !cut.cuts || area_m2(cut.left) < 3e4 || area_m2(cut.right) < 3e4) {
                parted.push_back(block);
                continue;
            }
            parted.push_back(cut.left);
            parted.push_back(cut.right);
        }
        blocks = parted;
    }
    std::vector<Leaf> leaves;
    for (std::size_t i = 0; i < blocks.size(); ++i) part_land(blocks[i], i + 1024, 0, leaves, 0, false);
    return leaves;
}

struct Farm {
    const char* name;
    double u_m, v_m;
};
/// The six growers and where their yards lie.
constexpr std::array<Farm, 6> farms = {{{"Calvorn", -1500.0, 1250.0},
                                        {"Pelorn", 350.0, 1500.0},
                                        {"Rasketh", 1900.0, 1000.0},
                                        {"Tirrath", -1700.0, -900.0},
                                        {"Uldim", 150.0, -900.0},
                                        {"Varsim", 1900.0, -1100.0}}};
/// Villages and a wood: no fields there.
constexpr std::array<std::array<double, 3>, 4> not_tilled = {
    {{-560.0, 1290.0, 330.0}, {1330.0, -1180.0, 260.0}, {-620.0, -1000.0, 230.0}, {2350.0, 480.0, 420.0}}};

double tilled_ha(const Parcel& paper) {
    return models::area_m2(ring_on_the_land(without_margins(paper))) / 1e4;
}

/// The smaller comes first: the middle of the district is dense with the growers' fields, its rim has few.
double order_of_taking(const Parcel& paper, std::size_t index) {
    const Corner c = centre_of(paper);
    for (const auto& spot : not_tilled) {
        if (std::hypot(c.u_m - spot[0], c.v_m - spot[1]) < spot[2]) return 1e9;
    }
    const double rim = std::hypot(c.u_m / half_width_m, c.v_m / half_height_m);
    return Draws("whose land", index).uniform() + 0.55 * rim * rim;
}

Parcel shaped(Parcel tilled, std::size_t index) {
    Draws draws("shape of a field", index);
    const double ha = area_m2(tilled) / 1e4;
    const std::size_t n = tilled.size();
    const std::size_t corner = static_cast<std::size_t>(draws.whole(0, static_cast<int>(n) - 1));
    const std::size_t way = draws.weighted({0.22, 0.16, 0.62});
    if (way == 0 && ha > 9.0) {
        const double after = draws.uniform(0.2, 0.42);
        const double before = draws.uniform(0.18, 0.45);
        tilled = without_corner(tilled, corner, before, after);
    } else if (way == 1 && ha > 14.0) {
        const double from = draws.uniform(0.2, 0.6);
        const double depth_m = draws.uniform(35.0, 80.0);
        const double to = from + draws.uniform(0.12, 0.22);
        tilled = with_bite(tilled, corner, from, to, depth_m);
    }
    for (std::size_t i = tilled.size(); i-- > 0;) {
        if (draws.chance(0.3)) tilled = with_blunt_corner(tilled, i, draws.uniform(8.0, 22.0));
    }
    return tilled;
}

/// A pond: an uneven ring about the place that lies farthest from every side.
models::RingM pond_in(const models::OutlineM& outline) {
    PointM middle = models::centroid(outline);
    double clear = 0.0;
    for (const PointM& place : grid_inside(outline, 20.0)) {
        const double away = models::distance_to_edge_m(outline, place);
        if (away > clear) clear = away, middle = place;
    }
    Draws draws("pond");
    models::RingM ring;
    for (int i = 0; i < 14; ++i) {  // clockwise, as holes are
        const double angle = -2 * pi * i / 14.0;
        const double radius = 27.0 + 5.0 * std::sin(2.0 * angle + 0.6) + draws.uniform(-2.5, 2.5);
        ring.push_back({middle.x_m + 1.5 * radius * std::cos(angle), middle.y_m + radius * std::sin(angle)});
    }
    return ring;
}

std::string field_name(std::size_t index, std::set<std::string>& taken) {
    static constexpr std::array<const char*, 18> first = {"Long", "Upper", "Lower",  "Broad",   "Narrow", "Far",
                                                          "Home", "Old",   "New",    "Crooked", "Sandy",  "Heavy",
                                                          "High", "Stony", "Middle", "Sunny",   "Windy",  "Thorn"};
    static constexpr std::array<const char*, 12> second = {"Piece",  "Furlong", "Strip", "Acres", "Bank",  "Corner",
                                                           "Ground", "Breck",   "Slip",  "Share", "Break", "Rise"};
    Draws draws("name of a field", index);
    for (;;) {
        const auto other = static_cast<std::size_t>(draws.whole(0, 11));
        const auto one = static_cast<std::size_t>(draws.whole(0, 17));
        const std::string name = std::string(first[one]) + " " + second[other];
        if (taken.insert(name).second) return name;
    }
}

/// Eight fields to each grower, the near ones first.
template <class Taken>
std::vector<std::size_t> farm_of_each(const std::vector<Taken>& taken) {
    struct Pair {
        double away;
        std::size_t field, farm;
    };
    std::vector<Pair> pairs;
    for (std::size_t i = 0; i < taken.size(); ++i) {
        for (std::size_t farm = 0; farm < farms.size(); ++farm) {
            const PointM yard = on_the_land(farms[farm].u_m, farms[farm].v_m);
            const double luck = Draws("who works it", taken[i].leaf, farm).uniform(0.75, 1.3);
            pairs.push_back({models::distance_m(taken[i].field.centroid_m, yard) * luck, i, farm});
        }
    }
    std::sort(pairs.begin(), pairs.end(), [](const Pair& a, const Pair& b) { return a.away < b.away; });
    std::vector<std::size_t> farm_of(taken.size(), farms.size());
    std::array<std::size_t, farms.size()> count{};
    for (const Pair& pair : pairs) {
        if (farm_of[pair.field] != farms.size() || count[pair.farm] == wanted_fields / farms.size()) continue;
        farm_of[pair.field] = pair.farm;
        ++count[pair.farm];
    }
    return farm_of;
}

void add_parts(DemoField& field, const Parcel& tilled, const Corner& through, double angle, const char* left,
               const char* right) {
    const CutParcel cut = cut_along(tilled, through, angle, 0.0);
    field.outline_m.front().outer = ring_on_the_land(cut.whole);
    for (const auto& [name, half] : {std::pair(left, cut.left), std::pair(right, cut.right)}) {
        FieldPart part{name, {{ring_on_the_land(half), {}}}, 0.0};
        part.area_ha = models::area_m2(part.outline_m) / 1e4;
        field.parts.push_back(part);
    }
}

/// The strip along the longest side, 42 m wide, that was maize with the neighbour's.
void add_headland(DemoField& field, const Parcel& tilled) {
    std::size_t longest = 0;
    double length = 0.0;
    for (std::size_t i = 0; i < tilled.size(); ++i) {
        const Corner &a = tilled[i], &b = tilled[(i + 1) % tilled.size()];
        const double here = std::hypot(b.u_m - a.u_m, b.v_m - a.v_m);
        if (here > length) length = here, longest = i;
    }
    const Corner &a = tilled[longest], &b = tilled[(longest + 1) % tilled.size()];
    const double angle = std::atan2(b.v_m - a.v_m, b.u_m - a.u_m);
    add_parts(field, tilled, {a.u_m - 42.0 * std::sin(angle), a.v_m + 42.0 * std::cos(angle), 0.0}, angle, "main",
              "headland");
}

void add_halves(DemoField& field, const Parcel& tilled) {
    add_parts(field, tilled, centre_of(tilled), lie_of(tilled).angle_rad + pi / 2, "near half", "far half");
}

std::vector<PointM> line_on_the_land(const Line& line, double from_m, double to_m) {
    std::vector<PointM> places;
    for (double s = from_m; s <= to_m; s += 25.0) {
        places.push_back(on_the_land(line.through.u_m + s * std::cos(line.angle_deg * degree),
                                     line.through.v_m + s * std::sin(line.angle_deg * degree)));
    }
    return places;
}

}  // namespace

std::pair<double, double> degrees_of(const PointM& place) {
    static const geo::WorkSystem district(17.36, 47.42);
    return district.to_degrees(place);
}

std::vector<PointM> grid_inside(const models::OutlineM& outline, double spacing_m) {
    const models::GridM grid = models::grid_over(models::bounding_box(outline), spacing_m);
    std::vector<PointM> places;
    for (int row = 0; row < grid.rows; ++row) {
        for (int column = 0; column < grid.columns; ++column) {
            const PointM place = grid.centre(row, column);
            if (models::side_of(outline, place) == models::Side::inside) places.push_back(place);
        }
    }
    return places;
}

Landscape make_landscape() {
    const std::vector<Leaf> leaves = all_parcels();
    std::vector<std::pair<double, std::size_t>> order;
    for (std::size_t i = 0; i < leaves.size(); ++i) {
        const double ha = tilled_ha(leaves[i].paper);
        if (ha >= 2.1 && ha <= 59.0) order.emplace_back(order_of_taking(leaves[i].paper, i), i);
    }
    std::sort(order.begin(), order.end());

    // Two neighbours with a track between them are worked as one field.
    std::map<int, std::vector<std::size_t>> siblings;
    for (const auto& [rank, i] : order) {
        if (leaves[i].by_track) siblings[leaves[i].parent].push_back(i);
    }
    std::optional<std::pair<std::size_t, std::size_t>> joined;
    for (const auto& [rank, i] : order) {
        const auto& pair = siblings[leaves[i].parent];
        if (pair.size() != 2) continue;
        const double ha = tilled_ha(leaves[pair[0]].paper) + tilled_ha(leaves[pair[1]].paper);
        if (ha > 12.0 && ha < 40.0) {
            joined = std::pair(pair[0], pair[1]);
            break;
        }
    }

    struct Taken {
        std::size_t leaf;
        Parcel tilled;
        DemoField field;
    };
    std::vector<Taken> taken;
    for (const auto& [rank, i] : order) {
        if (taken.size() == wanted_fields) break;
        if (joined && i == joined->second) continue;
        Taken one{i, shaped(without_margins(leaves[i].paper), i), {}};
        one.field.outline_m = {{ring_on_the_land(one.tilled), {}}};
        if (joined && i == joined->first) {
            one.field.outline_m.push_back({ring_on_the_land(without_margins(leaves[joined->second].paper)), {}});
        }
        one.field.centroid_m = models::centroid(one.field.outline_m);
        taken.push_back(std::move(one));
    }

    // The largest plain four-cornered ones of fitting size take the pond and the parts.
    const auto fitting = [&](double from_ha, double to_ha) -> Taken& {
        Taken* best = nullptr;
        for (Taken& one : taken) {
            const double ha = models::area_m2(one.field.outline_m) / 1e4;
            const bool plain = one.field.outline_m.size() == 1 && one.field.outline_m[0].holes.empty() &&
                               one.field.parts.empty() && one.tilled.size() <= 6;
            if (plain && ha >= from_ha && ha <= to_ha && (!best || ha > models::area_m2(best->field.outline_m) / 1e4))
                best = &one;
        }
        return *best;
    };
    const auto is_convex = [](const Parcel& parcel) {
        for (std::size_t i = 0; i < parcel.size(); ++i) {
            const Corner &a = parcel[i], &b = parcel[(i + 1) % parcel.size()], &c = parcel[(i + 2) % parcel.size()];
            if ((b.u_m - a.u_m) * (c.v_m - b.v_m) - (b.v_m - a.v_m) * (c.u_m - b.u_m) < 0.0) return false;
        }
        return true;
    };
    const auto fitting_convex = [&](double from_ha, double to_ha) -> Taken& {
        for (Taken& one : taken) {
            const double ha = models::area_m2(one.field.outline_m) / 1e4;
            if (ha >= from_ha && ha <= to_ha && one.field.outline_m.size() == 1 && one.field.parts.empty() &&
                one.field.outline_m[0].holes.empty() && is_convex(one.tilled))
                return one;
        }
        return taken.front();
    };
    Taken& with_pond = fitting(17.0, 24.0);
    with_pond.field.outline_m.front().holes.push_back(pond_in(with_pond.field.outline_m));
    with_pond.field.name = "Pond Field";
    Taken& with_headland = fitting_convex(10.0, 17.0);
    add_headland(with_headland.field, with_headland.tilled);
    Taken& with_halves = fitting_convex(13.0, 24.0);
    add_halves(with_halves.field, with_halves.tilled);

    std::sort(taken.begin(), taken.end(), [](const Taken& a, const Taken& b) {  // as one reads a map
        return a.field.centroid_m.y_m > b.field.centroid_m.y_m;
    });
    Landscape landscape;
    std::set<std::string> names = {"Pond Field"};
    std::array<int, farms.size()> count{};
    const std::vector<std::size_t> farm_of = farm_of_each(taken);
    for (std::size_t i = 0; i < taken.size(); ++i) {
        Taken& one = taken[i];
        const std::size_t farm = farm_of[i];
        const int number = ++count[farm];
        one.field.grower = farms[farm].name;
        one.field.field = std::string(1, one.field.grower[0]) + (number < 10 ? "0" : "") + std::to_string(number);
        if (one.field.name.empty()) one.field.name = field_name(one.leaf, names);
        one.field.area_ha = models::area_m2(one.field.outline_m) / 1e4;
        one.field.centroid_m = models::centroid(one.field.outline_m);
        landscape.fields.push_back(std::move(one.field));
    }
    std::sort(landscape.fields.begin(), landscape.fields.end(),
              [](const DemoField& a, const DemoField& b) { return a.field < b.field; });

    landscape.stations = {{"Quelmeth", on_the_land(-480.0, 1330.0), 0.1, 0.0, 0.0},
                          {"Ambril", on_the_land(760.0, stream_v_m + 70.0), -0.1, 1.2, 0.35},
                          {"Umbrath", on_the_land(1380.0, -1230.0), 0.2, 0.2, -0.2},
                          {"Tesvorn", on_the_land(-2300.0, -1250.0), 0.0, 0.4, 0.1},
                          {"Dorrim", on_the_land(-3900.0, 3300.0), -0.4, 0.0, 0.2},
                          {"Hasveth", on_the_land(5300.0, 900.0), 0.3, 0.1, -0.3}};
    landscape.stream = line_on_the_land(stream_line, -half_width_m, half_width_m);
    for (const Line& road : roads) {
        const double reach = std::abs(road.angle_deg) > 45.0 ? half_height_m : half_width_m;
        const bool north_only = &road == &roads[4], south_only = &road == &roads[3];
        landscape.roads.push_back(line_on_the_land(road, north_only ? 200.0 : -reach, south_only ? 200.0 : reach));
    }
    // The road through angle 104 degrees runs the other way on paper.
    return landscape;
}

}  // namespace demo
