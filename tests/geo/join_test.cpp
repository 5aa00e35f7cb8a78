#include "geo/join.h"

#include <charconv>
#include <fstream>
#include <random>

#include <catch2/catch.hpp>

#include "geo/outlines.h"
#include "tests/support/shared_data.h"

namespace join_test {

const geo::WorkSystem flat_at_9_east(9.0, 56.0);

models::Field block(const std::string& field, const std::string& part, double x, double y, double width,
                    double height) {
    models::Field out;
    out.field = field;
    out.part = part;
    out.outline_m = {{{{x, y}, {x + width, y}, {x + width, y + height}, {x, y + height}}, {}}};
    out.area_ha = width * height / 1e4;
    return out;
}

/// Field 12 (400 x 300 m, its east end a part), 13 to its east, 20 overlapping 13, 31 away to the north.
std::vector<models::Field> district() {
    return {block("12", "", 0, 0, 400, 300), block("12", "headland", 350, 0, 50, 300),
            block("13", "", 400, 0, 600, 300), block("20", "", 900, 0, 200, 300), block("31", "", 0, 2000, 300, 300)};
}

models::Sample at(double x_m, double y_m, const std::string& field = "") {
    models::Sample sample;
    sample.sample = "s";
    sample.field = field;
    const auto [longitude, latitude] = flat_at_9_east.to_degrees({x_m, y_m});
    sample.longitude_deg = longitude;
    sample.latitude_deg = latitude;
    sample.place_m = models::PointM{x_m, y_m};
    return sample;
}

geo::SampleJoin join_one(const models::Sample& sample, const std::vector<models::Field>& fields = district()) {
    return geo::join_samples(fields, {sample}, flat_at_9_east).samples.at(0);
}

}  // namespace join_test

using namespace join_test;
using geo::JoinHow;

TEST_CASE("a sample in one outline belongs to that field and to the part it lies in") {
    auto joined = join_one(at(100, 100));
    CHECK(joined.how == JoinHow::by_position);
    CHECK(joined.field == "12");
    CHECK(joined.part.empty());
    CHECK(joined.sentence.empty());
    CHECK(joined.position_fits);
    joined = join_one(at(375, 100));
    CHECK(joined.how == JoinHow::by_position);
    CHECK(joined.field == "12");
    CHECK(joined.part == "headland");
    CHECK(joined.sentence.empty());
}

TEST_CASE("a sample on the edge of one field is its own and on a common edge the smaller field's") {
    auto joined = join_one(at(0, 150));
    CHECK(joined.how == JoinHow::on_boundary);
    CHECK(joined.field == "12");
    CHECK(joined.sentence.empty());
    joined = join_one(at(400, 150));
    CHECK(joined.how == JoinHow::on_boundary);
    CHECK(joined.field == "12");
    CHECK_THAT(joined.sentence, Catch::Contains(R"(on the edge of fields "12" and "13"; taken for the smaller)"));
}

TEST_CASE("a sample where two fields overlap goes to the smaller and says so") {
    const auto joined = join_one(at(950, 100));
    CHECK(joined.how == JoinHow::overlap);
    CHECK(joined.field == "20");
    CHECK_THAT(joined.sentence, Catch::Contains(R"(fields "20" and "13", which overlap)"));
}

TEST_CASE("a sample a few metres outside is taken with a note and farther out it is not") {
    auto joined = join_one(at(-8, 100));
    CHECK(joined.how == JoinHow::near_edge);
    CHECK(joined.field == "12");
    CHECK(joined.distance_m == Approx(8.0));
    CHECK_THAT(joined.sentence, Catch::Contains(R"(lies 8 m outside of field "12"; taken for it)"));
    joined = join_one(at(-120, 100));
    CHECK(joined.how == JoinHow::outside);
    CHECK(joined.field.empty());
    CHECK(!joined.position_fits);
    CHECK_THAT(joined.sentence, Catch::Contains(R"(lies in no field; the nearest, field "12", is 120 m away)"));
}

TEST_CASE("swapped coordinates are reported and not taken") {
    models::Sample sample;
    sample.sample = "s";
    const auto [true_longitude, true_latitude] = flat_at_9_east.to_degrees({100, 100});
    sample.longitude_deg = true_latitude;
    sample.latitude_deg = true_longitude;
    sample.place_m = flat_at_9_east.from_degrees(true_latitude, true_longitude);
    const auto joined = join_one(sample);
    CHECK(joined.how == JoinHow::swapped);
    CHECK(joined.field.empty());
    CHECK_THAT(joined.sentence, Catch::Contains(R"(in field "12" when longitude and latitude are swapped)"));
    // Where the swap leaves the earth there is no place at all, and still the reason is found.
    const geo::WorkSystem west(-109.0, 46.0);
    models::Sample impossible;
    impossible.sample = "s";
    const auto [longitude, latitude] = west.to_degrees({100, 100});
    impossible.longitude_deg = latitude;
    impossible.latitude_deg = longitude;
    CHECK(geo::join_samples(district(), {impossible}, west).samples.at(0).how == JoinHow::swapped);
}

TEST_CASE("a name stands where there is no position or one that agrees") {
    models::Sample sample;
    sample.sample = "s";
    sample.field = "31";
    auto joined = join_one(sample);
    CHECK(joined.how == JoinHow::by_name);
    CHECK(joined.field == "31");
    CHECK(!joined.position_fits);
    joined = join_one(at(375, 100, "12"));
    CHECK(joined.how == JoinHow::by_name);
    CHECK(joined.part == "headland");
    CHECK(joined.position_fits);
    CHECK(joined.sentence.empty());
    joined = join_one(at(405, 100, "12"));  // 5 m into the neighbour
    CHECK(joined.how == JoinHow::by_name);
    CHECK(joined.position_fits);
    CHECK_THAT(joined.sentence, Catch::Contains(R"(lies 5 m beyond its edge, in field "13"; the name stands)"));
}

TEST_CASE("a name that the position contradicts stands and the position is not used") {
    auto joined = join_one(at(600, 100, "12"));
    CHECK(joined.how == JoinHow::name_over_position);
    CHECK(joined.field == "12");
    CHECK(!joined.position_fits);
    CHECK(joined.distance_m == Approx(200.0));
    CHECK_THAT(joined.sentence, Catch::Contains(R"(its position lies 200 m from it, in field "13")"));
    models::Sample sample = at(100, 100, "12");
    std::swap(sample.longitude_deg, sample.latitude_deg);
    sample.place_m.reset();
    CHECK_THAT(join_one(sample).sentence, Catch::Contains("in it only when longitude and latitude are swapped"));
}

TEST_CASE("an unknown field or part is named with its nearest neighbour") {
    models::Sample sample;
    sample.sample = "s";
    sample.field = "12";
    sample.part = "hedland";
    auto joined = join_one(sample);
    CHECK(joined.field == "12");
    CHECK(joined.part.empty());
    CHECK_THAT(joined.sentence, Catch::Contains(R"(field "12" has no part "hedland"; taken for the whole field)"));
    sample.field = "Mill Peice";
    auto fields = district();
    fields.push_back(block("Mill Piece", "", 5000, 0, 100, 100));
    joined = join_one(sample, fields);
    CHECK(joined.how == JoinHow::unknown_field);
    CHECK(joined.field.empty());
    CHECK_THAT(joined.sentence, Catch::Contains(R"(did you mean "Mill Piece"?)"));
}

TEST_CASE("a truck's position is the scale's and says nothing about a field") {
    models::Sample sample = at(100, 100);
    sample.stage = models::Stage::truck;
    CHECK(join_one(sample).how == JoinHow::by_load);
    CHECK(join_one(sample).field.empty());
    sample.field = "31";  // it came whole from one field
    CHECK(join_one(sample).how == JoinHow::by_name);
    CHECK(join_one(sample).field == "31");
    CHECK(!join_one(sample).position_fits);
    sample.stage = models::Stage::control;
    CHECK(join_one(sample).how == JoinHow::no_place);
}

TEST_CASE("the summary counts every way in which samples were joined") {
    models::Sample nowhere;
    nowhere.sample = "n";
    const auto report = geo::join_samples(district(), {at(1, 1), at(2, 2), at(-120, 0), nowhere}, flat_at_9_east);
    CHECK(report.count(JoinHow::by_position) == 2);
    CHECK(report.summary ==
          std::vector<std::string>{"2 samples joined to a field by position", "1 sample in no field"});
    CHECK_THAT(report.samples[3].sentence, Catch::Contains("neither a field nor a position"));
}

TEST_CASE("no fields at all leave every sample outside") {
    CHECK(geo::join_samples({}, {at(1, 1)}, flat_at_9_east).samples.at(0).how == JoinHow::outside);
}

TEST_CASE("the index finds what looking at every field finds") {
    std::mt19937 random(7);
    std::uniform_real_distribution<double> anywhere(0.0, 10'000.0), size(20.0, 400.0);
    std::vector<models::Field> fields;
    for (int i = 0; i < 300; ++i) {
        // One after the other: the order in which a call's arguments are worked out is the compiler's own.
        const double x_m = anywhere(random), y_m = anywhere(random);
        const double width_m = size(random), height_m = size(random);
        fields.push_back(block(std::to_string(i), "", x_m, y_m, width_m, height_m));
    }
    std::vector<models::Sample> samples;
    for (int i = 0; i < 2000; ++i) {
        const double x_m = anywhere(random), y_m = anywhere(random);
        samples.push_back(at(x_m, y_m));
    }
    const auto report = geo::join_samples(fields, samples, flat_at_9_east);
    int inside = 0, outside = 0;
    for (std::size_t s = 0; s < samples.size(); ++s) {
        const models::Field* smallest = nullptr;
        double nearest_m = 1e300;
        for (const models::Field& field : fields) {
            const double edge_m = models::distance_to_edge_m(field.outline_m, *samples[s].place_m);
            if (models::side_of(field.outline_m, *samples[s].place_m) == models::Side::inside) {
                if (smallest == nullptr || field.area_ha < smallest->area_ha) smallest = &field;
            }
            nearest_m = std::min(nearest_m, edge_m);
        }
        if (nearest_m < geo::JoinOptions{}.boundary_m) continue;  // on an edge other rules hold, tested above
        if (smallest != nullptr) {
            ++inside;
            CHECK(report.samples[s].field == smallest->field);
        } else {
            ++outside;
            CHECK(report.samples[s].distance_m == nearest_m);
        }
    }
    CHECK(inside > 200);
    CHECK(outside > 500);
}

namespace join_test {

std::vector<models::Sample> protein_points(const std::filesystem::path& file) {
    std::ifstream in(file);
    std::string line;
    std::getline(in, line);  // lat,lon,...
    std::vector<models::Sample> samples;
    while (std::getline(in, line)) {
        double latitude = 0.0, longitude = 0.0;
        const char* end = line.data() + line.size();
        const auto first = std::from_chars(line.data(), end, latitude);
        std::from_chars(first.ptr + 1, end, longitude);
        models::Sample sample;
        sample.sample = std::to_string(samples.size());
        sample.stage = models::Stage::combine;
        sample.longitude_deg = longitude;
        sample.latitude_deg = latitude;
        samples.push_back(sample);
    }
    return samples;
}

geo::JoinReport join_file(const std::filesystem::path& outlines, const std::filesystem::path& points) {
    const auto read = geo::read_outlines(outlines, {{{"field", "id"}}, "", "", {}});
    const geo::PointDeg middle = geo::middle_of(read.outlines);
    const auto here = geo::WorkSystem::around(middle.longitude_deg, middle.latitude_deg);
    std::vector<models::Field> fields;
    for (const auto& outline : read.outlines) fields.push_back(geo::to_field(outline, here));
    return geo::join_samples(fields, protein_points(points), here, {0.05, 0.05});
}

}  // namespace join_test

TEST_CASE("protein points of two combine logs lie in their outlines as counted by their authors' data") {
    NEEDS_SHARED_DATA(shared);
    const auto data = shared / "data/spatial";
    for (const char* outlines : {"henrys_bbox.zip", "henrys.geojson"}) {
        const auto report = join_file(data / outlines, data / "FarmerI_PRO_PRO_2016_henrys.csv");
        CHECK(report.samples.size() == 1316);
        CHECK(report.count(JoinHow::by_position) == 1316);
    }
    for (const char* outlines : {"sec35mid_bbox.zip", "sec35mid.geojson"}) {
        const auto report = join_file(data / outlines, data / "FarmerB_PRO_PRO_2016_sec35middle.csv");
        CHECK(report.samples.size() == 1183);
        CHECK(report.count(JoinHow::by_position) == 1049 + 133);
        CHECK(report.count(JoinHow::outside) == 1);
        const auto in = [&](const std::string& field) {
            return std::count_if(report.samples.begin(), report.samples.end(),
                                 [&](const geo::SampleJoin& joined) { return joined.field == field; });
        };
        CHECK(in("1") == 1049);
        CHECK(in("2") == 133);
    }
}
