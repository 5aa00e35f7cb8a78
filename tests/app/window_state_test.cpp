#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <thread>

#include <catch2/catch.hpp>
#include <imgui.h>
#include <sys/wait.h>
#include <unistd.h>

#include "app/window/last_state.h"
#include "geo/check.h"
#include "geo/store/store.h"
#include "tests/support/app/bench_window.h"

/// How the window stood comes back, where it still can, and never as a record.
using namespace app::window;
using Catch::Matchers::Contains;
using Catch::Matchers::StartsWith;
using tests::BenchWindow;
using tests::WindowDriver;

namespace {

namespace fs = std::filesystem;

class StateFolder {
 public:
    StateFolder() : path_(fs::temp_directory_path() / ("window_state_" + std::to_string(::getpid()))) {
        fs::remove_all(path_);
        fs::create_directories(path_);
    }
    ~StateFolder() { fs::remove_all(path_); }
    StateFolder(const StateFolder&) = delete;
    StateFolder& operator=(const StateFolder&) = delete;
    fs::path operator/(const char* name) const { return path_ / name; }

 private:
    fs::path path_;
};

/// An environment variable as long as it lives.
class Variable {
 public:
    Variable(const char* name, const char* value) : name_(name) {
        if (const char* was = std::getenv(name)) before_ = was;
        value == nullptr ? ::unsetenv(name) : ::setenv(name, value, 1);
    }
    ~Variable() { before_ ? ::setenv(name_, before_->c_str(), 1) : ::unsetenv(name_); }
    Variable(const Variable&) = delete;
    Variable& operator=(const Variable&) = delete;

 private:
    const char* name_;
    std::optional<std::string> before_;
};

LastState some_state() {
    LastState state;
    state.season = 2024;
    state.limit = "1.5";
    state.field = "C02";
    state.room = Room::where_first;
    state.layer = app::drawing::MapShows::exceedance;
    state.theme = app::drawing::ThemeName::outdoor;
    state.unit = app::drawing::ContentUnit::ppb;
    state.text_scale = 1.25;
    state.language = "de";
    state.width = 1100;
    state.height = 720;
    state.map.emplace();
    state.map->centre_m = {1234.5678901234, -0.1};
    state.map->metres_per_px = 3.25;
    state.line = "0.4\"2 µg";
    state.strip_in_hand = "B260716-01";
    state.day = "2026-07-16";
    state.kept = {{"operator", "Ada Holt"}, {"kit_lot", "K7"}};
    return state;
}

WindowSettings demo_alone() {
    WindowSettings settings;
    settings.store = tests::demo_store();
    return settings;
}

}  // namespace

TEST_CASE("the state is read back as it was written") {
    const fs::path store = "/somewhere/a.lodicule";
    const std::string text = text_of(some_state(), store);
    const auto back = state_in(text, store);
    REQUIRE(back);
    CHECK(text_of(*back, store) == text);
    CHECK(back->map->centre_m.x_m == 1234.5678901234);
    CHECK(back->language == "de");
    CHECK(back->line == "0.4\"2 µg");
    CHECK(back->kept.at("operator") == "Ada Holt");
}

TEST_CASE("a state that is damaged or foreign is passed over and a value that cannot be is left out alone") {
    const fs::path store = "/somewhere/a.lodicule";
    const std::string text = text_of(some_state(), store);
    for (std::size_t end = 0; end + 2 < text.size(); end += 7) CHECK_FALSE(state_in(text.substr(0, end), store));
    for (const char* other : {"", "[]", "null", "{}", "{\"program\":\"lodicule\"}", "\x00\xff\xfe"})
        CHECK_FALSE(state_in(other, store));
    CHECK_FALSE(state_in(text, "/somewhere/b.lodicule"));
    const auto with = [&](const std::string& from, const std::string& to) {
        std::string changed = text;
        const auto at = changed.find(from);
        REQUIRE(at != std::string::npos);
        return state_in(changed.replace(at, from.size(), to), store);
    };
    CHECK_FALSE(with("\"format\": 1", "\"format\": 2"));
    CHECK_FALSE(with("\"season\": 2024", "\"season\": \"2024\"")->season);
    CHECK_FALSE(with("\"season\": 2024", "\"season\": 99999999999")->season);
    CHECK_FALSE(with("outdoor", "neon")->theme);
    CHECK_FALSE(with("\"ppb\"", "\"grains\"")->unit);
    CHECK_FALSE(with("where-first", "kitchen")->room);
    CHECK_FALSE(with("\"text_scale\": 1.25", "\"text_scale\": 40")->text_scale);
    CHECK(with("\"width\": 1100", "\"width\": -4")->width == 0);
    CHECK_FALSE(with("\"metres_per_px\": 3.25", "\"metres_per_px\": 0")->map);
    CHECK_FALSE(with("\"metres_per_px\": 3.25", "\"metres_per_px\": 1e999")->map);
    CHECK(with("outdoor", "neon")->season == 2024);  // the rest stays
}

TEST_CASE("each store has a file of its own in the folder for states") {
    const StateFolder folder;
    {
        const Variable state("XDG_STATE_HOME", (folder / "state").c_str());
        const fs::path one = state_file_of("/somewhere/a.lodicule"), other = state_file_of("/somewhere/b.lodicule");
        CHECK(one.parent_path() == folder / "state" / "lodicule");
        CHECK(one != other);
        // The same store by another way.
        CHECK(state_file_of("/somewhere/else/../a.lodicule") == one);
        CHECK(one.stem().string().size() == 64);
    }
    const Variable relative("XDG_STATE_HOME", "not/absolute");
    {
        const Variable home("HOME", (folder / "home").c_str());
        CHECK(state_file_of("a").parent_path() == folder / "home" / ".local" / "state" / "lodicule");
    }
    const Variable no_home("HOME", nullptr);
    CHECK(state_file_of("a").empty());
    CHECK_FALSE(StateKeeper("", "a").keep(some_state()));
    CHECK_FALSE(read_last_state("", "a"));
}

TEST_CASE("the state is written where it changed and nowhere else") {
    const StateFolder folder;
    const fs::path file = folder / "deep" / "state.json", store = "/somewhere/a.lodicule";
    StateKeeper keeper(file, store);
    LastState state = some_state();
    CHECK(keeper.keep(state));
    CHECK_FALSE(keeper.keep(state));
    state.line += "1";
    CHECK(keeper.keep(state));
    CHECK(read_last_state(file, store)->line == state.line);
    // A place that cannot be written stops nobody.
    StateKeeper nowhere("/proc/nowhere/state.json", store);
    CHECK_FALSE(nowhere.keep(state));
    // Nor does one that is no file, or has grown beyond all reason.
    CHECK_FALSE(read_last_state(folder / "deep", store));
    std::ofstream(file) << std::string(2 << 20, ' ');
    CHECK_FALSE(read_last_state(file, store));
}

TEST_CASE("who is killed while the state is written has a whole one of before or after") {
    const StateFolder folder;
    const fs::path file = folder / "state.json", store = "/somewhere/a.lodicule";
    LastState state = some_state();
    StateKeeper(file, store).keep(state);
    const auto number_there = [&] {
        const auto read = read_last_state(file, store);
        REQUIRE(read);
        CHECK(read->kept.size() == 2);
        return read->line.size() > 1000 ? std::stoi(read->line) : 0;
    };
    int last = 0;
    for (int round = 0; round < 12; ++round) {
        const pid_t child = ::fork();
        REQUIRE(child >= 0);
        if (child == 0) {
            StateKeeper keeper(file, store);
            for (int i = last + 1;; ++i) {
                state.line = std::to_string(i) + std::string(3000, 'x');
                keeper.keep(state);
            }
        }
        // Not before it is at work; then at some moment of its writing.
        for (int patience = 0; patience < 2000 && number_there() <= last; ++patience)
            std::this_thread::sleep_for(std::chrono::milliseconds(5));
        std::this_thread::sleep_for(std::chrono::microseconds(300 + 170 * round));
        ::kill(child, SIGKILL);
        ::waitpid(child, nullptr, 0);
        const int now = number_there();
        CHECK(now > last);
        last = now;
    }
}

TEST_CASE("a window that is opened again stands as it was and options win") {
    LastState state;
    std::string other;
    {
        WindowDriver window(demo_alone());
        window.settle();
        apply(*window.session, ChooseSeason{2025});
        window.settle();
        apply(*window.session, ChooseLimit{"0.75"});
        window.settle();
        other = window.session->answer->view.fields.at(2).name;
        apply(*window.session, ChooseField{other});
        apply(*window.session, ShowLayer{app::drawing::MapShows::exceedance});
        apply(*window.session, ChooseTheme{app::drawing::ThemeName::dark});
        apply(*window.session, ChooseUnit{app::drawing::ContentUnit::ug_per_kg});
        apply(*window.session, ChooseScale{1.1});
        window.settle();
        window.wheel("map", 3.0);
        state = state_of(*window.session, window.views, 1440, 900);
    }
    const fs::path store = tests::demo_store();
    const auto last = state_in(text_of(state, store), store);
    REQUIRE(last);
    {
        WindowDriver window(demo_alone(), last);
        window.settle();
        CHECK(window.session->season == 2025);
        CHECK(window.session->limit == "0.75");
        CHECK(window.session->field == other);
        CHECK(window.session->room == Room::contamination);
        CHECK(window.session->layer == app::drawing::MapShows::exceedance);
        CHECK(window.session->theme == app::drawing::ThemeName::dark);
        CHECK(window.session->unit == app::drawing::ContentUnit::ug_per_kg);
        CHECK(window.session->text_scale == 1.1);
        CHECK(window.views.map->metres_per_px == state.map->metres_per_px);
        CHECK(window.views.map->centre_m.x_m == state.map->centre_m.x_m);
        CHECK(window.session->history.deeds().empty());  // nothing was done in this sitting
    }
    WindowSettings said = demo_alone();
    said.season = 2026;
    said.limit = "1.0";
    said.room = "bins";
    said.theme = "outdoor";
    said.units = "ppm";
    said.text_scale = 2.0;
    const auto session = open_session(said, {}, last);
    CHECK(session->season == 2026);
    CHECK(session->limit == "1.0");
    CHECK(session->room == Room::bins);
    CHECK(session->theme == app::drawing::ThemeName::outdoor);
    CHECK(session->unit == app::drawing::ContentUnit::ppm);
    CHECK(session->text_scale == 2.0);
    finish_work(*session);
}

TEST_CASE("what the store has no longer is not asked of it") {
    LastState state = some_state();
    state.season = 1999;
    state.limit = "a limit that was withdrawn";
    state.field = "sold";
    state.map->centre_m = {1e9, 1e9};
    WindowDriver window(demo_alone(), state);
    window.settle();
    CHECK(window.session->season == 2026);
    CHECK(window.session->problem.empty());
    CHECK_FALSE(window.session->limit.empty());
    CHECK(window.session->field == window.session->answer->rank.rows.at(0).field);
    window.press('3');
    window.frames(2);
    // The fields are in sight though the map stood elsewhere.
    CHECK(std::abs(window.views.map->centre_m.x_m) < 1e6);
    WindowSettings wrong = demo_alone();
    wrong.theme = "neon";
    CHECK_THROWS_WITH(open_session(wrong, {}), Contains("there is no theme \"neon\"") && Contains("outdoor"));
    wrong.theme.clear();
    wrong.units = "grains";
    CHECK_THROWS_WITH(open_session(wrong, {}), Contains("not shown in \"grains\"") && Contains("ug/kg"));
}

TEST_CASE("a half line of the bench comes back with its strip and is recorded by nobody but a hand") {
    BenchWindow bench;
    bench.open();
    bench.window->line("kit K7");
    bench.window->line("operator Ada Holt");
    bench.window->line("S901", true);
    bench.later(375);
    // Killed with a result that waits for its yes, or with half a line.
    const bool waits = GENERATE(true, false);
    if (waits)
        bench.window->line("0.62");
    else
        for (const char letter : std::string("0.62"))
            bench.window->views.line.letter(static_cast<unsigned char>(letter), LineEntry::Clock::time_point{});
    const LastState state = state_of(*bench.window->session, bench.window->views, 1440, 900);
    const auto last = state_in(text_of(state, bench.store()), bench.store());
    REQUIRE(last);
    CHECK(last->line == "0.62");
    bench.window.reset();
    bench.open(last);
    CHECK(bench.window->views.line.text() == "0.62");
    CHECK(bench.window->views.line.came_back());
    CHECK(bench.window->session->bench->view().running.at(0).in_hand);
    CHECK(bench.window->session->bench->view().kept.at("operator") == "Ada Holt");
    CHECK_FALSE(bench.window->shows("bench yes"));
    bench.later(1);
    CHECK(bench.tests() == bench.tests_before);
    bench.window->views.line.enter(LineEntry::Clock::now());
    bench.window->frames(3);
    CHECK(bench.window->shows("bench yes"));
    CHECK(bench.tests() == bench.tests_before);
    bench.window->line("yes");
    CHECK(bench.tests() == bench.tests_before + 1);
}

TEST_CASE("who stood at the bench yesterday does not sign for today and a line that said yes says nothing") {
    BenchWindow bench;
    bench.open();
    bench.window->line("operator Ada Holt");
    LastState state = state_of(*bench.window->session, bench.window->views, 1440, 900);
    state.line = "yes";
    state.strip_in_hand = "S901";  // a sample's code: it would start a strip
    bench.window.reset();
    bench.now.utc += std::chrono::hours(24);
    const auto records = geo::end_of_chain(geo::Store::open(bench.store())).records;
    bench.open(state);
    CHECK(bench.window->session->bench->view().kept.count("operator") == 0);
    CHECK(bench.window->session->bench->view().running.empty());
    bench.window->views.line.enter(LineEntry::Clock::now());
    bench.window->frames(3);
    CHECK_THAT(bench.said(), Contains("nothing waits for a yes"));
    CHECK(geo::end_of_chain(geo::Store::open(bench.store())).records == records);
    // Esc drops what came back.
    bench.window->views.line.bring_back("half a line");
    bench.window->views.line.clear();
    CHECK(bench.window->views.line.text().empty());
    CHECK_FALSE(bench.window->views.line.came_back());
}
