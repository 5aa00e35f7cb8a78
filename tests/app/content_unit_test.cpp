#include "app/drawing/content_unit.h"

#include <cmath>
#include <thread>

#include <catch2/catch.hpp>

#include "app/words.h"

using namespace app::drawing;

TEST_CASE("contents are drawn in the chosen unit with the digits they have in mg/kg") {
    CHECK(content_text(0.0343) == "0.034");
    CHECK(content_text(1.254) == "1.3");
    {
        const ShownIn shown(ContentUnit::ug_per_kg);
        CHECK(content_text(0.0343) == "34");
        CHECK(content_text(0.5) == "500");
        CHECK(content_text(0.0996) == "100");
        CHECK(content_text(1.254) == "1300");
        CHECK(content_text(12.34) == "12\u202f300");
        CHECK(content_text(0.00123) == "1.2");
        CHECK(content_text(0.0) == "0");
        CHECK(content_text(std::nan("")) == "–");
        CHECK(content_interval_text(0.4, 2.1) == "400 to 2100");
        CHECK(content_and_unit_text(0.62) == "620 µg/kg");
        CHECK(with_unit(app::spoken(app::words::content)) == "DON, µg/kg (bar 50 %, line 90 %)");
        CHECK(with_unit(app::spoken(app::words::content_of_field)) ==
              "DON of the field's mean {} µg/kg, nine tenths of the chance lie within {} µg/kg.");
    }
    CHECK(content_text(0.5) == "0.50");  // as before
    const ShownIn shown(ContentUnit::ppm);
    CHECK(content_and_unit_text(0.62) == "0.62 ppm");
}

TEST_CASE("a limit stands as it was set in every unit") {
    CHECK(set_content_text(1.25) == "1.25");
    const ShownIn shown(ContentUnit::ppb);
    CHECK(set_content_text(1.25) == "1250");
    CHECK(set_content_text(0.2) == "200");
    CHECK(set_content_text(0.0005) == "0.5");
    CHECK(set_content_text(12.0) == "12\u202f000");
    CHECK(from_shown_unit(in_shown_unit(0.75)) == Approx(0.75));
}

TEST_CASE("ticks of contents stand where they stood with labels of the unit") {
    const auto in_mg = content_ticks(0.1, 10.0, 12);
    const ShownIn shown(ContentUnit::ug_per_kg);
    const auto in_ug = content_ticks(0.1, 10.0, 12);
    REQUIRE(in_mg.size() == in_ug.size());
    for (std::size_t i = 0; i < in_mg.size(); ++i) {
        CHECK(in_ug[i].value == Approx(in_mg[i].value));
        CHECK(in_ug[i].label.empty() == in_mg[i].label.empty());
    }
    CHECK(in_ug.front().label == "100");
    CHECK(in_ug.back().label == "10\u202f000");
}

TEST_CASE("units go by their words and what is drawn beside stays in mg/kg") {
    for (const ContentUnit unit : content_units) CHECK(unit_named(word_of(unit)) == unit);
    CHECK(unit_named("µg/kg") == ContentUnit::ug_per_kg);
    CHECK_FALSE(unit_named("grains"));
    CHECK_FALSE(unit_named(""));
    const ShownIn shown(ContentUnit::ppb);
    std::string beside;
    std::thread([&] { beside = content_and_unit_text(0.62); }).join();
    CHECK(beside == "0.62 mg/kg");
}
