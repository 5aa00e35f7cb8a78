#include "models/error.h"

#include <catch2/catch.hpp>

TEST_CASE("an error says what, where and how to mend it in one sentence") {
    const models::Error error("\"1,25 ppx\" has no known unit", "tests.csv, row 12, column don",
                              "write mg/kg, ppm, ug/kg or ppb");
    CHECK(std::string(error.what()) ==
          "tests.csv, row 12, column don: \"1,25 ppx\" has no known unit. "
          "To mend it: write mg/kg, ppm, ug/kg or ppb.");
}

TEST_CASE("the nearest name is offered only where one is near") {
    const std::vector<std::string> known = {"flowering_date", "heading_date", "season"};
    CHECK(models::nearest_name("flowring_date", known) == "flowering_date");
    CHECK(models::nearest_name("saeson", known) == "season");
    CHECK(models::nearest_name("moisture", known).empty());
}
