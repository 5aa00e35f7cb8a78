#include "app/walk_files.h"

#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <unistd.h>

#include "app/drawing/code.h"
#include "app/stages/zone_stage.h"
#include "models/error.h"
#include "tests/support/recording_painter.h"

namespace walk_files_test {

namespace fs = std::filesystem;
using Catch::Matchers::Contains;

struct WalkFolder {
    fs::path path = fs::temp_directory_path() / ("walk_files_" + std::to_string(::getpid()));
    WalkFolder() { fs::remove_all(path); }
    ~WalkFolder() { fs::remove_all(path); }
    std::string bytes(const std::string& name) const {
        std::ifstream in(path / name, std::ios::binary);
        return {std::istreambuf_iterator<char>(in), {}};
    }
};

std::size_t times_in(const std::string& text, const std::string& word) {
    std::size_t count = 0;
    for (std::size_t at = text.find(word); at != std::string::npos; at = text.find(word, at + 1)) ++count;
    return count;
}

/// Three fields of an order: Fen with a part that is booked apart, one that is cut, one without an outline.
struct Season {
    app::SeasonView view;
    Season() {
        view.season = 2026;
        view.data.work.emplace(9.5, 56.5);
        const auto field = [](const char* name, const char* part, double width_m) {
            models::Field one;
            one.field = name;
            one.part = part;
            one.outline_m = {{{{0, 0}, {width_m, 0}, {width_m, 200}, {0, 200}}, {}}};
            one.area_ha = width_m * 0.02;
            return one;
        };
        view.data.fields = {field("Fen", "", 400), field("Fen", "by the wood", 100), field("Long Acre", "", 300)};
        for (const char* name : {"Fen", "Long Acre", "Sketch"}) {
            models::CropRecord crop;
            crop.field = name;
            crop.season = 2026;
            view.data.crops.push_back(crop);
        }
        view.order.emplace();
        for (std::size_t c = 0; c < 3; ++c) {
            app::FieldView row;
            row.crop = c;
            row.name = view.data.crops[c].field;
            row.outline = c == 0 ? &view.data.fields[0] : c == 1 ? &view.data.fields[2] : nullptr;
            view.fields.push_back(row);
            models::RankedField ranked;
            ranked.rank = static_cast<int>(c) + 1;
            ranked.field = row.name;
            ranked.test_its_loads = c == 1;
            ranked.expected_gain = 10.0;
            view.order->fields.push_back(ranked);
        }
        models::Sample taken;
        taken.sample = "2026-Fen-1";
        view.data.samples = {taken};
    }
};

}  // namespace walk_files_test

using namespace walk_files_test;

TEST_CASE("walks are laid for fields that stand and have an outline and take no code twice") {
    const Season season;
    const app::FieldWalks walks = app::walks_of_order(season.view, {});
    REQUIRE(walks.walks.size() == 1);
    CHECK(walks.walks[0].name == "Fen");
    CHECK(walks.walks[0].sample == "2026-Fen-2");                                          // the store has -1
    for (const models::PointM& stop : walks.walks[0].walk.stops) CHECK(stop.x_m > 100.0);  // the part is kept out
    REQUIRE(walks.notes.size() == 1);
    CHECK(walks.notes[0] == "no outline is drawn, so no walk can be laid: Sketch");
    Season none;
    none.view.fields[0].outline = nullptr;
    CHECK_THROWS_WITH(app::walks_of_order(none.view, {}), Contains("none of the first fields has an outline"));
}

TEST_CASE("the walk of one field is the one it has in the order, and a field without one says why") {
    const Season season;
    const app::FieldWalks one = app::walk_of_field(season.view, "Fen", {}), all = app::walks_of_order(season.view, {});
    REQUIRE(one.walks.size() == 1);
    CHECK(one.walks[0].sample == all.walks[0].sample);
    CHECK(one.walks[0].walk.stops == all.walks[0].walk.stops);
    CHECK_THROWS_WITH(app::walk_of_field(season.view, "Sketch", {}),
                      Catch::Matchers::StartsWith("Sketch: no outline is drawn, so no walk can be laid"));
    CHECK_THROWS_WITH(app::walk_of_field(season.view, "Long Acre", {}),
                      Catch::Matchers::StartsWith("Long Acre: it is cut") && Contains("test its loads instead"));
    CHECK_THROWS_WITH(app::walk_of_field(season.view, "Fenn", {}),
                      Catch::Matchers::StartsWith("season 2026 has no field \"Fenn\""));
}

TEST_CASE("ground that is kept out is read without names and a file with swapped places is refused whole") {
    const Season season;
    const WalkFolder folder;
    fs::create_directories(folder.path);
    const geo::WorkSystem& work = *season.view.data.work;
    const auto written = [&](bool swapped) {
        std::string ring;
        for (const models::PointM& corner : {models::PointM{150, 50}, {250, 50}, {250, 150}, {150, 150}, {150, 50}}) {
            auto [x, y] = work.to_degrees(corner);
            if (swapped) std::swap(x, y);
            ring += (ring.empty() ? "[" : ",[") + std::to_string(x) + "," + std::to_string(y) + "]";
        }
        const fs::path file = folder.path / "trial.geojson";
        std::ofstream(file) << R"({"type":"FeatureCollection","features":[{"type":"Feature","properties":{},)"
                            << R"("geometry":{"type":"Polygon","coordinates":[[)" << ring << "]]}}]}";
        return file;
    };
    app::WalkSettings settings;
    for (const app::DrawnZone& drawn : app::read_zones(season.view.data, written(false)))
        settings.keep_out.push_back(drawn.outline);
    REQUIRE(settings.keep_out.size() == 1);
    CHECK(models::area_m2(settings.keep_out[0]) == Approx(10000.0).epsilon(0.01));
    for (const models::PointM& stop : app::walks_of_order(season.view, settings).walks.at(0).walk.stops)
        CHECK(models::side_of(settings.keep_out[0], stop) == models::Side::outside);
    CHECK_THROWS_WITH(app::read_zones(season.view.data, written(true)), Contains("trial.geojson"));
}

TEST_CASE("a walk is written for satellites and for maps and on pages with the same bytes each time") {
    const Season season;
    const WalkFolder folder;
    app::WalkSettings settings;
    settings.stops = 12;
    const app::FieldWalks walks = app::walks_of_order(season.view, settings);
    const auto files = app::write_walk_files(season.view, walks, settings, folder.path);
    CHECK(files == std::vector<std::string>{"walk-01-Fen.gpx", "walk-01-Fen.geojson", "walk-01-Fen.pdf"});
    const std::string gpx = folder.bytes("walk-01-Fen.gpx"), pdf = folder.bytes("walk-01-Fen.pdf");
    CHECK_THAT(gpx, Contains("version=\"1.1\"") && Contains("http://www.topografix.com/GPX/1/1") &&
                        Contains("stop 12 of 12, sample 2026-Fen-2"));
    CHECK(times_in(gpx, "<wpt ") == 12);
    CHECK(times_in(gpx, "<rtept ") == 12);
    CHECK_THAT(gpx, !Contains("<time>"));
    const auto map = nlohmann::json::parse(folder.bytes("walk-01-Fen.geojson"));
    REQUIRE(map.at("features").size() == 12);
    const auto& first = map.at("features").at(0);
    CHECK(first.at("properties").at("sample") == "2026-Fen-2");
    CHECK(first.at("properties").at("stop") == 1);
    const auto place = season.view.data.work->to_degrees(walks.walks[0].walk.stops[0]);
    CHECK(first.at("geometry").at("coordinates").at(0).get<double>() == Approx(place.first).margin(1e-7).epsilon(0.0));
    CHECK(first.at("geometry").at("coordinates").at(1).get<double>() == Approx(place.second).margin(1e-7).epsilon(0.0));
    CHECK(pdf.substr(0, 5) == "%PDF-");
    app::write_walk_files(season.view, walks, settings, folder.path);
    CHECK(folder.bytes("walk-01-Fen.gpx") == gpx);
    CHECK(folder.bytes("walk-01-Fen.pdf") == pdf);
    // Of several fields one page and one map hold all of them.
    app::FieldWalks two = walks;
    two.walks.push_back(walks.walks[0]);
    two.walks.back().rank = 2;
    const auto of_two = app::write_walk_files(season.view, two, settings, folder.path);
    CHECK(of_two == std::vector<std::string>{"walk-01-Fen.gpx", "walk-02-Fen.gpx", "walks.geojson", "walks.pdf"});
}

TEST_CASE("the page of a walk says what to take and numbers its stops and none of its words leaves it") {
    const Season season;
    const app::WalkSettings settings;
    const app::FieldWalks walks = app::walks_of_order(season.view, settings);
    support::RecordingPainter page;
    app::draw_walk_page(page, {0, 0, 595, 842}, walks.walks[0], settings,
                        app::places_of(walks.walks[0], *season.view.data.work));
    CHECK(page.says("Walk 1: field Fen"));
    CHECK(page.says("cut 10 heads"));
    CHECK(page.says("2026-Fen-2"));
    CHECK(page.says("20"));
    CHECK(page.texts_outside({0, 0, 595, 842}).empty());
}

TEST_CASE("the field of a walk's map lies above the scale bar and whole in its frame") {
    const Season season;
    const app::FieldWalks walks = app::walks_of_order(season.view, {});
    for (const auto& [width, height] : {std::pair{600.0, 500.0}, std::pair{600.0, 200.0}, std::pair{200.0, 400.0}}) {
        support::RecordingPainter map;
        const app::drawing::Rect area{10.0, 20.0, width, height};
        app::draw_walk_map(map, area, walks.walks[0], {16.0, app::drawing::light_theme()});
        // The first line is the outline, the last filled rectangle the plate of the scale bar.
        REQUIRE(map.lines.size() > 2);
        const app::drawing::Rect plate = map.rects.back().area;
        CHECK(plate.y > area.y + 0.5 * height);
        for (const app::drawing::Point& corner : map.lines[0].points) {
            CHECK(corner.y < plate.y);
            CHECK((corner.y > area.y && corner.x > area.x && corner.x < area.x + width));
        }
    }
}

TEST_CASE("the pages of several walks begin with the order of the fields and the reason of each") {
    Season season;
    auto& fields = season.view.order->fields;
    fields[0].why = "A test here saves about 260 and costs 20; cut on 22 Jul";
    fields[1].why = "It is cut: test its loads";
    fields[2].why = "A test here saves less than it costs";
    fields[2].expected_gain = -5.0;
    season.view.order->says = "By expected loss in money";
    app::FieldWalks walks = app::walks_of_order(season.view, {});
    CHECK(walks.walks[0].why == fields[0].why);
    support::RecordingPainter page;
    const app::OrderList list = app::order_list(season.view, walks);
    CHECK(list.places == std::vector<std::string>{"1", "2", "3"});  // without a result the order is one of risk
    CHECK(list.samples == std::vector<std::string>{"2026-Fen-2", "", ""});
    const app::drawing::Rect sheet{0, 0, 595, 842};
    CHECK(app::draw_order_page(page, sheet, list, 0) == 3);
    for (const char* words : {"Which field first, season 2026", "By expected loss in money", "2026-Fen-2", "Fen",
                              "Long Acre", "Sketch", "It is cut: test its loads.", "saves about 260"})
        CHECK(page.says(words));
    CHECK(page.texts_outside(sheet).empty());
    // The walk's own page says why, too.
    support::RecordingPainter own;
    app::draw_walk_page(own, sheet, walks.walks[0], {}, {});
    CHECK(own.says("saves about 260"));
    // A long order goes on over pages: no field is left out and none comes twice.
    const models::RankedField one = fields[0];
    for (int i = 0; i < 100; ++i) {
        fields.push_back(one);
        fields.back().field = "Field " + std::to_string(i);
    }
    const app::OrderList longer = app::order_list(season.view, walks);
    std::map<std::string, int> seen;
    std::size_t pages = 0;
    for (std::size_t first = 0; first < longer.rank.rows.size(); ++pages) {
        support::RecordingPainter more;
        const std::size_t next = app::draw_order_page(more, sheet, longer, first);
        REQUIRE(next > first);
        CHECK(more.texts_outside(sheet).empty());
        for (const auto& text : more.texts)
            if (text.words.starts_with("Field ")) ++seen[text.words];
        first = next;
    }
    CHECK(seen.size() == 100);
    for (const auto& [name, times] : seen) CHECK(times == 1);
    CHECK(pages > 1);
    CHECK(app::order_pages(season.view, walks).size() == pages);
    season.view.order.reset();
    CHECK(app::order_pages(season.view, walks).empty());
}

TEST_CASE("a round of tests goes to what stands and is worth it and is written for satellites") {
    Season season;
    season.view.fields[1].outline = &season.view.data.fields[2];
    season.view.order->fields[1].test_its_loads = false;
    app::RoundSettings settings;
    const auto start = season.view.data.work->to_degrees({-10000, 0});
    settings.from_longitude_deg = start.first;
    settings.from_latitude_deg = start.second;
    settings.minutes = 240.0;
    const app::RoundOfTests round = app::round_of_order(season.view, settings);
    REQUIRE(round.visits.size() == 2);
    CHECK(round.left_out == 0);
    CHECK(season.view.fields[round.visits[0].field].name == "Long Acre");  // its middle is 50 m nearer
    CHECK(round.visits[0].arrive_minutes == Approx(1.3 * 10.15 / 35.0 * 60.0).epsilon(0.001));
    CHECK(round.visits[1].arrive_minutes > round.visits[0].arrive_minutes + 30.0);
    CHECK(round.route.minutes == Approx(60.0 + round.route.driven_km / 35.0 * 60.0));
    REQUIRE(round.notes.size() == 1);
    CHECK_THAT(round.notes[0], Contains("Sketch"));
    const WalkFolder folder;
    fs::create_directories(folder.path);
    app::write_round_file(season.view, round, folder.path / "round.gpx");
    const std::string gpx = folder.bytes("round.gpx");
    CHECK(times_in(gpx, "<wpt ") == 2);
    CHECK(times_in(gpx, "<rtept ") == 3);
    CHECK_THAT(gpx, Contains("<name>1 Long Acre</name>"));
    std::swap(settings.from_longitude_deg, settings.from_latitude_deg);
    CHECK_THROWS_WITH(app::round_of_order(season.view, settings),
                      Contains("lies more than 300 km from the fields") && Contains("longitude comes first"));
}

TEST_CASE("a code is black on white inside its area and refuses what it cannot hold") {
    for (const auto kind : {app::drawing::CodeKind::code_128, app::drawing::CodeKind::qr}) {
        support::RecordingPainter painter;
        app::drawing::draw_code(painter, {10, 20, 120, 60}, "2026-C06-1", kind);
        REQUIRE(painter.rects.size() > 20);
        for (const auto& bar : painter.rects) {
            CHECK(bar.area.x >= 10.0 - 1e-6);
            CHECK(bar.area.x + bar.area.width <= 130.0 + 1e-6);
            CHECK(bar.area.y >= 20.0 - 1e-6);
            CHECK(bar.area.y + bar.area.height <= 80.0 + 1e-6);
        }
        CHECK_THROWS_WITH(app::drawing::draw_code(painter, {0, 0, 9, 9}, "", kind),
                          Contains("cannot be written as a code"));
    }
}
