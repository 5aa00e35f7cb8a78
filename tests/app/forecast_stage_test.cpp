#include "app/stages/forecast_stage.h"

#include <algorithm>
#include <filesystem>

#include <catch2/catch.hpp>
#include <unistd.h>

#include "app/workflow.h"
#include "geo/check.h"
#include "geo/store/kept_forecasts.h"
#include "geo/store/store.h"
#include "tests/support/app/window_driver.h"

namespace {

namespace fs = std::filesystem;
using app::SeasonView;

}  // namespace

TEST_CASE("a forecast is kept once and says what was known when it was made") {
    const fs::path folder = fs::temp_directory_path() / ("season_forecasts_" + std::to_string(::getpid()));
    fs::remove_all(folder);
    fs::create_directories(folder);
    fs::copy_file(tests::demo_store(), folder / "s.lodicule");
    fs::permissions(folder / "s.lodicule", fs::perms::owner_write, fs::perm_options::add);
    app::Question question;
    question.season = 2024;
    question.limit = "1.0";
    question.upto = app::Upto::map;
    {
        geo::Store store = geo::Store::open(folder / "s.lodicule");
        const SeasonView view = app::look_at_season(store, question);
        const auto forecasts = app::forecasts_of(view, false);
        REQUIRE(forecasts.size() > 10);
        CHECK(geo::keep_forecasts(store, forecasts) == static_cast<int>(forecasts.size()));
        CHECK(geo::keep_forecasts(store, forecasts) == 0);
        auto kept = geo::kept_forecasts(store);
        std::erase_if(kept, [](const geo::KeptForecast& one) { return one.as_of.has_value(); });  // the demo's own
        REQUIRE(kept.size() == forecasts.size());
        for (const app::FieldView& field : view.fields) {
            const auto found = std::find_if(kept.begin(), kept.end(), [&](const geo::KeptForecast& one) {
                return app::ground_name(one.field, one.part) == field.name;
            });
            REQUIRE((found != kept.end()) == (field.content && field.exceedance));
            if (found == kept.end()) continue;
            CHECK(found->exceedance == field.exceedance);
            CHECK(found->low90_mg_per_kg == field.content->low90);
            CHECK(found->results_known == field.tests + field.load_tests);
            CHECK(found->season == 2024);
            CHECK(found->basis == models::Basis::as_is);
            CHECK(found->limit_id.empty());  // a number
        }
        // Another limit is another forecast, and the chain of records holds.
        auto other = forecasts;
        for (geo::KeptForecast& one : other) one.limit_mg_per_kg = 2.0;
        CHECK(geo::keep_forecasts(store, other) == static_cast<int>(other.size()));
        for (const geo::CheckFinding& finding : geo::check_store(store)) {
            INFO(finding.detail);
            CHECK(finding.good);
        }
        CHECK_THROWS_WITH(app::forecasts_of(view, true), Catch::Matchers::Contains("nothing is foretold"));
    }
    fs::remove_all(folder);
}

TEST_CASE("as of a past day the map knows no later result and its forecasts are marked as made afterwards") {
    const fs::path file = fs::temp_directory_path() / ("season_as_of_" + std::to_string(::getpid()) + ".lodicule");
    fs::copy_file(tests::demo_store(), file, fs::copy_options::overwrite_existing);
    fs::permissions(file, fs::perms::owner_write, fs::perm_options::add);
    {
        geo::Store store = geo::Store::open(file);
        app::Question question;
        question.season = 2024;
        question.limit = "1.0";
        question.upto = app::Upto::contamination;
        question.as_of = models::day_of(2024, 6, 25);
        const SeasonView then = app::look_at_season(store, question);
        const models::LocalDay day = *question.as_of;
        CHECK(std::none_of(then.data.tests.begin(), then.data.tests.end(),
                           [&](const models::Test& test) { return test.time.local_day() > day; }));
        CHECK(app::count_of(then).field_results > 0);
        question.as_of.reset();
        CHECK(app::count_of(app::look_at_season(store, question)).field_results > app::count_of(then).field_results);
        const auto forecasts = app::forecasts_of(then, false);
        REQUIRE(forecasts.size() > 10);
        for (const geo::KeptForecast& one : forecasts) CHECK(one.as_of == day);
        // The demo keeps these already, made at its own evening; another program would be caught here.
        CHECK(geo::keep_forecasts(store, forecasts) == 0);
        const auto kept = geo::kept_forecasts(store);
        const auto first =
            std::find_if(kept.begin(), kept.end(), [&](const geo::KeptForecast& one) { return one.as_of == day; });
        REQUIRE(first != kept.end());
        CHECK(models::to_text(first->made).starts_with("2026-07-16"));
        question.hindsight = true;
        question.as_of = day;
        CHECK_THROWS_WITH(app::look_at_season(store, question),
                          Catch::Matchers::Contains("known with hindsight, and unknown as of a day"));
    }
    fs::remove(file);
}
