#include <algorithm>
#include <filesystem>
#include <fstream>
#include <thread>

#include <catch2/catch.hpp>
#include <unistd.h>

#include "app/window/backdrop_panel.h"
#include "app/window/last_state.h"
#include "geo/raster.h"
#include "geo/store/store.h"
#include "models/error.h"
#include "tests/support/app/window_driver.h"

/// A raster of the user's behind the map: chosen, hidden, dimmed, kept, refused.
using namespace app::window;
using Catch::Matchers::Contains;
using tests::WindowDriver;

namespace {

namespace fs = std::filesystem;

struct BehindFolder {
    fs::path path = fs::temp_directory_path() / ("lodicule_behind_" + std::to_string(::getpid()));
    BehindFolder() {
        fs::remove_all(path);
        fs::create_directories(path);
    }
    ~BehindFolder() { fs::remove_all(path); }
};

WindowSettings map_with(const fs::path& file) {
    WindowSettings settings;
    settings.store = tests::demo_store();
    settings.season = 2026;
    settings.limit = "1.0";
    settings.room = "contamination";
    settings.backdrop = file.string();
    return settings;
}

/// 60 x 60 cells of `cell_m`, their north-west corner there, in the work system of the demo.
fs::path picture_at(const fs::path& file, double x_min_m, double y_max_m, double cell_m) {
    const auto store = geo::Store::open(tests::demo_store(), geo::Store::Access::read_only);
    geo::RasterWriter writer(file, {{x_min_m, y_max_m, cell_m, 60, 60}, store.work_system()->proj_text()}, {"grey"});
    Eigen::MatrixXd values(60, 60);
    for (int row = 0; row < 60; ++row)
        for (int column = 0; column < 60; ++column) values(row, column) = row * 60 + column;
    writer.write_band(0, values);
    writer.finish();
    return file;
}

fs::path district(const BehindFolder& folder) {
    return picture_at(folder.path / "district.tif", -30'000.0, 30'000.0, 1'000.0);
}

}  // namespace

TEST_CASE("a raster of the user's lies behind the map and is hidden and dimmed in the layer box") {
    const BehindFolder folder;
    WindowDriver window(map_with(district(folder)));
    window.settle();
    finish_work(*window.session);
    window.frames(3);
    const BackdropPanel& behind = window.session->backdrop;
    REQUIRE(behind.whole);
    CHECK(behind.problem.empty());
    CHECK(behind.whole->image.rgba.size() ==
          static_cast<std::size_t>(behind.whole->image.width) * static_cast<std::size_t>(behind.whole->image.height));
    const models::BoxM fields = *app::drawing::box_of(window.session->answer->content_map);
    CHECK(behind.whole->read.box.x_min_m < fields.x_min_m);
    CHECK(behind.whole->read.box.y_max_m > fields.y_max_m);
    REQUIRE(window.shows("behind"));
    REQUIRE(window.shows("behind strength"));
    CHECK_FALSE(window.shows("behind says"));

    window.click("behind");
    CHECK_FALSE(behind.shown);
    window.frames(2);
    CHECK_FALSE(window.shows("behind strength"));
    window.press('B');
    window.frames(2);
    CHECK(behind.shown);
    apply(*window.session, Undo{});
    CHECK_FALSE(behind.shown);
    apply(*window.session, Undo{});
    CHECK(behind.shown);
    window.frames(2);
    const int drawn = window.views.map_scene.times_drawn();
    window.click("behind strength");  // at its middle
    window.frames(2);
    CHECK(behind.strength == Approx(0.55).epsilon(0.0).margin(0.06));
    CHECK(window.views.map_scene.times_drawn() > drawn);
}

TEST_CASE("a map without a picture behind it has no box for one") {
    WindowDriver window(map_with(""));
    window.settle();
    window.frames(2);
    CHECK(window.shows("layer content"));
    CHECK_FALSE(window.shows("behind"));
    window.press('B');
    CHECK(window.session->backdrop.file.empty());
}

TEST_CASE("a picture that cannot be laid behind the map is refused before the window opens or said in it") {
    const BehindFolder folder;
    CHECK_THROWS_WITH(open_session(map_with(folder.path / "none.tif"), {}),
                      Contains("none.tif: there is no such file") && Contains("picture behind the map"));
    std::ofstream(folder.path / "letter.tif") << "no picture";
    CHECK_THROWS_WITH(open_session(map_with(folder.path / "letter.tif"), {}), Contains("no raster that can be read"));

    const fs::path far = picture_at(folder.path / "far.tif", 900'000.0, 30'000.0, 1'000.0);
    const fs::path cut = district(folder);
    const auto says = [&](const fs::path& file) {
        WindowDriver window(map_with(file));
        window.settle();
        finish_work(*window.session);
        window.frames(3);
        CHECK(window.session->answer);  // the map is there all the same
        CHECK(window.shows("behind says"));
        CHECK_FALSE(window.shows("behind strength"));
        return window.session->backdrop.problem;
    };
    CHECK_THAT(says(far), Contains("does not reach the fields: it lies") && Contains("km away"));
    fs::resize_file(cut, fs::file_size(cut) / 2);
    CHECK_THAT(says(cut), Contains("breaks off or is damaged") || Contains("no raster that can be read"));
}

TEST_CASE("what lies behind the map comes back with the window and a file that is gone stops nothing") {
    const BehindFolder folder;
    const fs::path file = district(folder);
    LastState last;
    {
        WindowDriver window(map_with(file));
        window.settle();
        apply(*window.session, BehindTheMap{FadeBackdrop{0.4}});
        apply(*window.session, BehindTheMap{ShowBackdrop{false}});
        const fs::path store = tests::demo_store();
        const auto again = state_in(text_of(state_of(*window.session, window.views, 800, 600), store), store);
        REQUIRE(again);
        last = *again;
    }
    CHECK(last.backdrop == file.string());
    CHECK_FALSE(last.backdrop_shown);
    CHECK(last.backdrop_strength == 0.4);
    {
        WindowDriver window(map_with(""), last);
        window.settle();
        CHECK(window.session->backdrop.file == file.string());
        CHECK_FALSE(window.session->backdrop.shown);
        CHECK_FALSE(window.session->backdrop.whole);  // nothing is read that is not seen
    }
    fs::remove(file);
    last.backdrop_shown = true;
    WindowDriver window(map_with(""), last);
    window.settle();
    finish_work(*window.session);
    window.frames(2);
    CHECK(window.session->answer);
    CHECK_THAT(window.session->backdrop.problem, Contains("there is no such file"));
    // Put back, it is shown when it is asked for again.
    district(folder);
    apply(*window.session, BehindTheMap{ShowBackdrop{true}});
    finish_work(*window.session);
    CHECK(window.session->backdrop.problem.empty());
    CHECK(window.session->backdrop.whole);
}

TEST_CASE("a picture that lies on the card keeps no pixels, and one that the card has lost is read again") {
    const BehindFolder folder;
    const fs::path file = district(folder);
    WindowDriver window(map_with(file));
    window.settle();
    finish_work(*window.session);
    window.frames(3);
    const BackdropPanel& behind = window.session->backdrop;
    REQUIRE(behind.whole);
    const auto read = behind.whole;
    const int drawn = window.views.map_scene.times_drawn();

    apply(*window.session, BehindTheMap{BackdropIsOnCard{read->known_by}});
    REQUIRE(behind.whole);
    CHECK(behind.whole->image.rgba.empty());
    CHECK(behind.whole->image.width == read->image.width);
    CHECK(behind.whole->image.height == read->image.height);
    CHECK(is_same_picture(behind.whole, read));
    window.frames(3);
    CHECK(window.views.map_scene.times_drawn() == drawn);  // it looks as it did
    CHECK_FALSE(behind.reading);

    apply(*window.session, BehindTheMap{BackdropIsLost{read->known_by}});
    CHECK_FALSE(behind.whole);
    finish_work(*window.session);
    window.frames(3);
    REQUIRE(behind.whole);
    CHECK(behind.whole->image.rgba == read->image.rgba);
    CHECK_FALSE(is_same_picture(behind.whole, read));
    CHECK(window.views.map_scene.times_drawn() > drawn);

    // What is said of a picture that another has taken the place of changes nothing.
    const auto now = behind.whole;
    apply(*window.session, BehindTheMap{BackdropIsOnCard{read->known_by}});
    apply(*window.session, BehindTheMap{BackdropIsLost{read->known_by}});
    CHECK(behind.whole == now);
}

TEST_CASE("a picture that the card has lost and whose file has gone meanwhile is met with words") {
    const BehindFolder folder;
    const fs::path file = district(folder);
    WindowDriver window(map_with(file));
    window.settle();
    finish_work(*window.session);
    window.frames(2);
    const BackdropPanel& behind = window.session->backdrop;
    REQUIRE(behind.whole);
    apply(*window.session, BehindTheMap{BackdropIsOnCard{behind.whole->known_by}});
    fs::remove(file);
    window.frames(2);
    CHECK(behind.problem.empty());  // it is shown from the card
    apply(*window.session, BehindTheMap{BackdropIsLost{behind.whole->known_by}});
    finish_work(*window.session);
    window.frames(2);
    CHECK_THAT(behind.problem, Contains("district.tif: there is no such file"));
    CHECK(window.shows("behind says"));
    CHECK(window.session->answer);
    district(folder);
    apply(*window.session, BehindTheMap{ShowBackdrop{true}});
    finish_work(*window.session);
    CHECK(behind.problem.empty());
    CHECK(behind.whole);
}

TEST_CASE("a finer picture is asked for only where the map is looked at from near by and the file has one") {
    BackdropPanel panel;
    const models::BoxM seen{0.0, 0.0, 1'000.0, 800.0};
    CHECK_FALSE(nearer_look(panel, seen, 1.0));  // nothing is read yet
    auto whole = std::make_shared<BackdropPicture>();
    whole->read.box = {-10'000.0, -10'000.0, 10'000.0, 10'000.0};
    whole->read.metres_per_px = 10.0;
    panel.whole = whole;
    CHECK_FALSE(nearer_look(panel, seen, 8.0));
    const auto look = nearer_look(panel, seen, 1.0);
    REQUIRE(look);
    CHECK(look->metres_per_px == 1.0);
    CHECK(look->box.x_min_m == -500.0);
    CHECK(look->box.y_max_m == 1'200.0);
    panel.asked = *look;
    CHECK_FALSE(nearer_look(panel, seen, 1.0));  // it is being read
    auto nearer = std::make_shared<BackdropPicture>();
    nearer->read.box = look->box;
    nearer->read.metres_per_px = 1.0;
    panel.nearer = nearer;
    CHECK_FALSE(nearer_look(panel, {100.0, 100.0, 1'100.0, 900.0}, 1.0));  // a step aside
    CHECK(nearer_look(panel, {3'000.0, 0.0, 4'000.0, 800.0}, 1.0));
    CHECK_FALSE(nearer_look(panel, {30'000.0, 0.0, 31'000.0, 800.0}, 1.0));  // beyond the picture
    whole->read.is_finest = true;
    CHECK_FALSE(nearer_look(panel, {3'000.0, 0.0, 4'000.0, 800.0}, 1.0));
    whole->read.is_finest = false;
    panel.shown = false;
    CHECK_FALSE(nearer_look(panel, {3'000.0, 0.0, 4'000.0, 800.0}, 1.0));
}
