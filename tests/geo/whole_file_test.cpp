#include "geo/whole_file.h"

#include <fstream>
#include <sstream>

#include <catch2/catch.hpp>
#include <unistd.h>

namespace fs = std::filesystem;

TEST_CASE("a file is replaced whole and nothing is left beside it") {
    const fs::path folder = fs::temp_directory_path() / ("lodicule-whole-file-" + std::to_string(::getpid()));
    fs::remove_all(folder);
    fs::create_directories(folder);
    geo::write_whole_file(folder / "a.txt", "one");
    geo::write_whole_file(folder / "a.txt", "two");
    std::ostringstream text;
    text << std::ifstream(folder / "a.txt").rdbuf();
    CHECK(text.str() == "two");
    CHECK(std::distance(fs::directory_iterator(folder), fs::directory_iterator()) == 1);
    CHECK_THROWS_WITH(geo::write_whole_file(folder, "x"), Catch::Contains("this is a folder"));
    CHECK_THROWS_WITH(geo::write_whole_file(folder / "no" / "a.txt", "x"),
                      Catch::Contains("the file cannot be written"));
    fs::remove_all(folder);
}

TEST_CASE("a device is never written over, whoever asks") {
    CHECK_THROWS_WITH(geo::write_whole_file("/dev/null", "x"), Catch::Contains("this is a device and no file"));
    CHECK(fs::is_character_file("/dev/null"));
}
