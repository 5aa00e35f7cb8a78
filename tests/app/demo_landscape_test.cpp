#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "geo/work_system.h"
#include "models/geometry.h"
#include "tests/app/demo_tables.h"

using models::OutlineM;
using models::PointM;
using tests::demo_data::folder;
using tests::demo_data::text_of;

namespace {

struct Outline {
    std::string field, part, name, grower;
    OutlineM outline_m;
    double area_ha = 0.0;
};

models::RingM ring_of(const nlohmann::json& coordinates, const geo::WorkSystem& work) {
    models::RingM ring;
    for (const auto& place : coordinates) ring.push_back(work.from_degrees(place[0], place[1]));
    REQUIRE(ring.size() >= 4);
    REQUIRE(models::distance_m(ring.front(), ring.back()) == 0.0);
    ring.pop_back();
    return ring;
}

std::vector<Outline> read_outlines() {
    const geo::WorkSystem work(17.36, 47.42);
    const auto json = nlohmann::json::parse(text_of(folder() / "fields.geojson"));
    std::vector<Outline> outlines;
    for (const auto& feature : json.at("features")) {
        const auto& said = feature.at("properties");
        Outline outline{said.at("field"), said.at("part"), said.at("name"), said.at("grower"), {}, 0.0};
        const auto& geometry = feature.at("geometry");
        auto polygons = geometry.at("coordinates");
        if (geometry.at("type") == "Polygon") polygons = nlohmann::json::array({polygons});
        for (const auto& rings : polygons) {
            models::PolygonM polygon;
            polygon.outer = ring_of(rings[0], work);
            for (std::size_t i = 1; i < rings.size(); ++i) polygon.holes.push_back(ring_of(rings[i], work));
            outline.outline_m.push_back(polygon);
        }
        outline.area_ha = models::area_m2(outline.outline_m) / 1e4;
        outlines.push_back(outline);
    }
    return outlines;
}

double turn(const PointM& a, const PointM& b, const PointM& c) {
    return (b.x_m - a.x_m) * (c.y_m - b.y_m) - (b.y_m - a.y_m) * (c.x_m - b.x_m);
}

bool cross(const PointM& a, const PointM& b, const PointM& c, const PointM& d) {
    return turn(a, b, c) * turn(a, b, d) < 0.0 && turn(c, d, a) * turn(c, d, b) < 0.0;
}

std::vector<std::pair<PointM, PointM>> sides_of(const OutlineM& outline) {
    std::vector<std::pair<PointM, PointM>> sides;
    const auto add = [&](const models::RingM& ring) {
        for (std::size_t i = 0; i < ring.size(); ++i) sides.emplace_back(ring[i], ring[(i + 1) % ring.size()]);
    };
    for (const auto& polygon : outline) {
        add(polygon.outer);
        for (const auto& hole : polygon.holes) add(hole);
    }
    return sides;
}

bool boxes_meet(const OutlineM& a, const OutlineM& b) {
    const auto p = models::bounding_box(a), q = models::bounding_box(b);
    return p.x_min_m < q.x_max_m && q.x_min_m < p.x_max_m && p.y_min_m < q.y_max_m && q.y_min_m < p.y_max_m;
}

/// How sharply the outline turns inwards anywhere, as the share of its convex hull that it does not fill.
double hollow_share(const OutlineM& outline) {
    std::vector<PointM> places = outline[0].outer;
    std::sort(places.begin(), places.end(),
              [](const PointM& a, const PointM& b) { return std::pair(a.x_m, a.y_m) < std::pair(b.x_m, b.y_m); });
    models::RingM hull;
    for (int half = 0; half < 2; ++half) {
        const std::size_t begin = hull.size();
        for (const PointM& place : places) {
            while (hull.size() >= begin + 2 && turn(hull[hull.size() - 2], hull.back(), place) <= 0.0) hull.pop_back();
            hull.push_back(place);
        }
        hull.pop_back();
        std::reverse(places.begin(), places.end());
    }
    return 1.0 - models::area_m2(models::RingM(outline[0].outer)) / models::area_m2(hull);
}

}  // namespace

TEST_CASE("the demo has 48 fields of 2 to 60 ha among them one in two pieces and one with a pond") {
    std::map<std::string, Outline> fields;
    std::map<std::string, int> of_grower;
    int pieces = 0, ponds = 0, hollow = 0;
    double smallest = 1e9, largest = 0.0;
    std::set<std::string> names;
    for (const Outline& outline : read_outlines()) {
        if (!outline.part.empty()) continue;
        REQUIRE(fields.emplace(outline.field, outline).second);
        CHECK(names.insert(outline.name).second);
        ++of_grower[outline.grower];
        pieces += outline.outline_m.size() == 2;
        for (const auto& polygon : outline.outline_m) ponds += static_cast<int>(polygon.holes.size());
        hollow += outline.outline_m.size() == 1 && hollow_share(outline.outline_m) > 0.08;
        smallest = std::min(smallest, outline.area_ha);
        largest = std::max(largest, outline.area_ha);
    }
    CHECK(fields.size() == 48);
    CHECK(of_grower.size() == 6);
    CHECK(pieces == 1);
    CHECK(ponds == 1);
    CHECK(hollow >= 5);
    CHECK(smallest >= 2.0);
    CHECK(smallest < 4.0);
    CHECK(largest <= 60.0);
    CHECK(largest > 45.0);
}

TEST_CASE("no outline of the demo crosses itself and no two fields overlap") {
    const std::vector<Outline> outlines = read_outlines();
    for (const Outline& outline : outlines) {
        INFO(outline.field << " " << outline.part);
        const auto sides = sides_of(outline.outline_m);
        bool crosses = false;
        for (std::size_t i = 0; i < sides.size(); ++i) {
            for (std::size_t j = i + 1; j < sides.size(); ++j) {
                crosses = crosses || cross(sides[i].first, sides[i].second, sides[j].first, sides[j].second);
            }
        }
        CHECK_FALSE(crosses);
    }
    for (std::size_t i = 0; i < outlines.size(); ++i) {
        for (std::size_t j = i + 1; j < outlines.size(); ++j) {
            const Outline &a = outlines[i], &b = outlines[j];
            if (!a.part.empty() || !b.part.empty() || !boxes_meet(a.outline_m, b.outline_m)) continue;
            INFO(a.field << " and " << b.field);
            const auto sides_a = sides_of(a.outline_m), sides_b = sides_of(b.outline_m);
            bool meet = false;
            for (const auto& [p, q] : sides_a) {
                meet = meet || models::side_of(b.outline_m, p) == models::Side::inside;
                for (const auto& [r, s] : sides_b) meet = meet || cross(p, q, r, s);
            }
            for (const auto& [r, s] : sides_b) meet = meet || models::side_of(a.outline_m, r) == models::Side::inside;
            CHECK_FALSE(meet);
        }
    }
}

TEST_CASE("two fields of the demo have two parts that make up the field") {
    std::map<std::string, double> whole, parts;
    std::map<std::string, int> count;
    for (const Outline& outline : read_outlines()) {
        if (outline.part.empty())
            whole[outline.field] = outline.area_ha;
        else
            parts[outline.field] += outline.area_ha, ++count[outline.field];
    }
    REQUIRE(count.size() == 2);
    for (const auto& [field, number] : count) {
        CHECK(number == 2);
        CHECK(parts[field] == Approx(whole[field]).epsilon(1e-4));  // coordinates are written to 0.1 m
    }
}
