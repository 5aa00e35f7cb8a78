#include "models/counted.h"

#include <catch2/catch.hpp>

TEST_CASE("one thing stands in the singular and none or several in the plural") {
    CHECK(models::counted(1, "row") == "1 row");
    CHECK(models::counted(0, "row") == "0 rows");
    CHECK(models::counted(2, "row") == "2 rows");
    CHECK(models::counted(-1, "row") == "-1 rows");
    CHECK(models::counted(1, "load waits", "loads wait") == "1 load waits");
    CHECK(models::counted(3, "analysis", "analyses") == "3 analyses");
    CHECK(models::by_number(1, "is", "are") == "is");
    CHECK(models::by_number(0, "is", "are") == "are");
}
