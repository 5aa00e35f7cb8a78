#include "models/listed.h"

#include <catch2/catch.hpp>

using models::listed;

TEST_CASE("names are listed with commas and an and before the last") {
    CHECK(listed({}).empty());
    CHECK(listed({"A"}) == "A");
    CHECK(listed({"A", "B"}) == "A and B");
    CHECK(listed({"A", "B", "C"}) == "A, B and C");
}
