#include "models/calendar.h"

#include <catch2/catch.hpp>

using namespace models;

TEST_CASE("a date that no calendar has is refused") {
    CHECK(parse_day("2024-02-29").has_value());
    CHECK_FALSE(parse_day("2026-02-29").has_value());
    CHECK_FALSE(parse_day("2026-13-01").has_value());
    CHECK_FALSE(parse_day("26-01-01").has_value());
    CHECK_FALSE(parse_day("2026-01-01 ").has_value());
}

TEST_CASE("a stamp is a moment and the wall clock it was written by") {
    const auto summer = parse_stamp("2026-06-03T00:30:00+02:00");
    REQUIRE(summer.has_value());
    CHECK(to_text(summer->utc) == "2026-06-02T22:30:00Z");
    CHECK(to_text(summer->local_day()) == "2026-06-03");
    CHECK(to_text(*summer) == "2026-06-03T00:30:00+02:00");
    CHECK(parse_stamp("2026-06-02T22:30Z")->utc == summer->utc);
    CHECK(to_text(*parse_stamp("2026-03-08T23:15:00-03:30")) == "2026-03-08T23:15:00-03:30");
}

TEST_CASE("a wall time without an offset names no moment") {
    CHECK_FALSE(parse_stamp("2026-06-03T00:30:00").has_value());
    CHECK_FALSE(parse_stamp("2026-06-03T24:00:00Z").has_value());
    CHECK_FALSE(parse_stamp("2026-06-03").has_value());
}
