#include <algorithm>

#include <catch2/catch.hpp>

#include "app/forecast_words.h"
#include "app/window/other_seasons.h"
#include "app/window/tools/tools.h"
#include "app/window/window.h"
#include "models/listed.h"
#include "tests/support/app/window_driver.h"

/// The room of past seasons, and what an earlier season's map says of later results.
using namespace app::window;
using tests::demo_store;
using tests::WindowDriver;

namespace {

WindowSettings past_of_demo(const char* room, int width = 1440, int height = 900) {
    WindowSettings settings;
    settings.store = demo_store();
    settings.season = 2026;
    settings.limit = "1.0";
    settings.room = room;
    settings.width = width;
    settings.height = height;
    return settings;
}

}  // namespace

TEST_CASE("the room of past seasons shows what was foretold and a field over the years") {
    WindowDriver window(past_of_demo("past-seasons"));
    window.settle();
    finish_work(*window.session);
    window.frames(2);
    CHECK(window.shows("taught"));
    REQUIRE(window.session->taught);
    CHECK_FALSE(window.session->taught->figure.league.empty());
    // Every year of the field that has a crop record, as `review --field` tells them.
    REQUIRE(window.session->years);
    CHECK(window.session->years->field == window.session->field);
    for (const app::FieldYear& year : window.session->years->history.years)
        CHECK(window.shows("year " + std::to_string(year.season)));
    const std::string before = window.session->field;
    window.press('N');
    CHECK(window.session->field != before);
    finish_work(*window.session);
    CHECK(window.session->years->field == window.session->field);
    // What was learnt stays when another room was looked at; another limit asks anew.
    const auto taught = window.session->taught;
    window.press('4');
    window.press('5');
    CHECK(window.session->taught == taught);
    apply(*window.session, ChooseLimit{"2.0"});
    finish_work(*window.session);
    CHECK(window.session->taught->limit == "2.0");
}

TEST_CASE("past seasons say first what the strips cost and changed and the newest season before the others") {
    WindowDriver window(past_of_demo("past-seasons"));
    window.places.note_texts();
    window.settle();
    finish_work(*window.session);
    window.frames(2);
    CHECK(window.shows("strips"));
    std::string said;
    for (const DrawnText& text : *window.places.texts()) said += text.words + " ";
    REQUIRE(window.session->taught);
    REQUIRE(window.session->taught->strips.size() == 3);
    const app::SeasonOfStrips& last = window.session->taught->strips.back();
    REQUIRE(last.season == 2026);
    REQUIRE(last.money);
    REQUIRE(last.fields > 0);
    const auto number = [](double value) { return std::to_string(std::lround(value)); };
    // Every strip that the money is for is named, and those of controls with them.
    REQUIRE(last.controls > 0);
    const std::string of_last =
        "2026: " + std::to_string(last.strips) + " strips of grain, " + std::to_string(last.controls) +
        " of controls and " + std::to_string(last.laboratory) + " tests of a laboratory on " +
        std::to_string(last.samples) + " samples, which cost " + number(*last.money) + "; " +
        std::to_string(last.fields) +
        " fields foretold twice or more: the chance of being over the limit fell to 5 % or less in " +
        std::to_string(last.to_within) + " (" + models::listed(last.to_within_names) + "; " + number(last.to_within_t) +
        " t) and rose above that in 0.";
    const auto first_line = said.find(of_last);
    REQUIRE(first_line != std::string::npos);
    CHECK(said.find("2025: 23 strips") > first_line);
    CHECK(said.find("no field has two kept forecasts") > first_line);
    CHECK(said.find("What seasons 2024 to 2026 teach") > first_line);
}

TEST_CASE("past seasons say before anything else whether the forecasts were any good, and of the field what came") {
    WindowDriver window(past_of_demo("past-seasons"));
    window.places.note_texts();
    window.settle();
    finish_work(*window.session);
    window.frames(2);
    REQUIRE(window.session->taught);
    const std::vector<std::string> sentences = app::forecasts_in_words(window.session->taught->forecasts);
    REQUIRE(sentences.size() == 2);
    CHECK_THAT(sentences[0], Catch::StartsWith("No better than calling every field within the limit: of "));
    CHECK_THAT(sentences[1], Catch::StartsWith("Better than calling every field over the limit: of "));
    const auto words_drawn = [&] {
        std::string said;
        for (const DrawnText& text : *window.places.texts()) said += text.words + " ";
        return said;
    };
    const auto at = words_drawn().find("Were the forecasts any good?");
    REQUIRE(at != std::string::npos);
    CHECK(at < words_drawn().find("What the strips cost and changed"));
    // A field with a forecast that a result followed: both stand beside one another.
    const app::ForecastCheck* followed = nullptr;
    for (const app::ForecastClass& of : window.session->taught->forecasts.classes)
        for (const app::ForecastCheck& check : of.checks)
            if (check.forecast.season == 2026 && check.forecast.part.empty() && check.over) followed = &check;
    REQUIRE(followed != nullptr);
    apply(*window.session, ChooseField{followed->forecast.field});
    finish_work(*window.session);
    window.frames(2);
    CHECK_THAT(words_drawn(), Catch::Contains("Foretold afterwards as of") && Catch::Contains("then read"));
}

TEST_CASE("of a past season it is said what was known and at the pointer what later results make of it") {
    WindowDriver window(past_of_demo("contamination"));
    window.places.note_texts();
    window.settle();
    CHECK_FALSE(window.shows("known at its end"));
    const std::shared_ptr<const Answer> newest = window.session->answer;
    apply(*window.session, ChooseSeason{2024});
    window.settle();
    finish_work(*window.session);
    window.frames(2);
    CHECK(window.shows("known at its end"));
    // A field whose number is another by all results up to now: both are named, and they are what each answer has.
    std::string differs, says;
    for (const app::FieldView& field : window.session->answer->view.fields) {
        if (!field.content) continue;
        const auto later = content_as_known(*window.session, field.crop, 2026);
        REQUIRE(later);
        const auto index = newest->view.contamination.field_season_of[field.crop];
        REQUIRE(index);
        CHECK(later->content.median == newest->view.probed.content(*newest->view.contamination.model, *index).median);
        if (reads_alike(*field.content, later->content)) continue;
        differs = field.name;
        says = words_of_later_results(*window.session, field);
    }
    REQUIRE_FALSE(differs.empty());
    CHECK_THAT(says, Catch::StartsWith("By all results up to season 2026: "));
    apply(*window.session, ChooseField{differs});
    window.settle();
    window.point_at("known at its end");
    window.frames(3);
    std::string said;
    for (const DrawnText& text : *window.places.texts()) said += text.words + " ";
    CHECK_THAT(said, Catch::Contains("As known at the end of season 2024."));
}

TEST_CASE("what the strips changed leaves room for what the seasons teach in a low window") {
    WindowDriver low(past_of_demo("past-seasons", 1024, 700));
    low.settle();
    finish_work(*low.session);
    low.frames(2);
    CHECK(low.places.find("strips")->height < low.places.find("taught")->height);
}
