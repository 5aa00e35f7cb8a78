#include "models/error.h"

#include <catch2/catch.hpp>

#include "models/nearest_names.h"

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

TEST_CASE("names that begin like the unknown one come first and then the least changed") {
    const std::vector<std::string> known = {"eu-food-wheat", "eu-food-durum", "eu-feed-pigs", "us-food", "eu-food-rye"};
    CHECK(models::nearest_names("EU-food", known) ==
          std::vector<std::string>{"eu-food-wheat", "eu-food-durum", "eu-food-rye"});
    CHECK(models::nearest_names("us-fod", known, 1) == std::vector<std::string>{"us-food"});
    CHECK(models::nearest_names("x", {}).empty());
}

TEST_CASE("names that have nothing to do with the unknown one are not offered") {
    const std::vector<std::string> fields = {"C01", "C02", "C03", "P01", "P02", "R01", "R02"};
    CHECK(models::nearest_names("NOPE", fields).empty());
    CHECK(models::nearest_names("C1", fields) == std::vector<std::string>{"C01"});  // one letter, however short
    CHECK(models::nearest_names("c05", fields) == std::vector<std::string>{"C01", "C02", "C03"});
    const std::vector<std::string> limits = {"japan-wheat", "china-cereals", "codex-flour", "eu-2024-durum"};
    CHECK(models::nearest_names("abc", limits).empty());
    CHECK(models::nearest_names("eu-2006-oats", limits) == std::vector<std::string>{"eu-2024-durum"});
    CHECK(models::nearest_names("japanwheat", limits) == std::vector<std::string>{"japan-wheat"});
}

TEST_CASE("an unknown name is answered with the few there are or the nearest and where all are listed") {
    CHECK(models::mend_of_unknown_name("W9", {}, "list") == "there is none yet");
    CHECK(models::mend_of_unknown_name("W9", {"W1"}, "list") == "use W1");
    CHECK(models::mend_of_unknown_name("W9", {"W1", "W2"}, "list") == "use one of W1, W2");
    CHECK(models::mend_of_unknown_name("A9", {"B11", "A1", "A2", "B33", "A3", "B44", "B55"}, "list") ==
          "did you mean A1, A2 or A3? `list` lists all");
    CHECK(models::mend_of_unknown_name("NOPE", {"B11", "A1", "A2", "B33", "A3", "B44", "B55"}, "list") ==
          "use one of the 7 that `list` lists");
}
