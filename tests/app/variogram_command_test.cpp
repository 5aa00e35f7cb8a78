#include "app/commands/variogram_command.h"

#include <cmath>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include <catch2/catch.hpp>
#include <unistd.h>

#include "tests/app/captured_output.h"

using Catch::Matchers::Contains;

namespace {

int run_variogram(std::vector<std::string> words) {
    words.insert(words.begin(), {"lodicule", "variogram"});
    std::vector<const char*> bare;
    for (const std::string& word : words) bare.push_back(word.c_str());
    return app::run_command_line({app::commands::make_variogram_command()}, static_cast<int>(bare.size()), bare.data());
}

std::string printed_by_variogram(const std::vector<std::string>& words) {
    const tests::CapturedOutput out(stdout);
    CHECK(run_variogram(words) == 0);
    return out.text();
}

std::string refused_by_variogram(const std::vector<std::string>& words) {
    const tests::CapturedOutput out(stderr);
    CHECK(run_variogram(words) == 1);
    return out.text();
}

/// A table of points in a file that goes when the test ends.
class PointTableFile {
 public:
    explicit PointTableFile(const std::string& rows)
        : path_(std::filesystem::temp_directory_path() / ("lodicule_points_" + std::to_string(::getpid()) + ".csv")) {
        std::ofstream(path_) << "x,y,don\n" << rows;
    }
    ~PointTableFile() { std::filesystem::remove(path_); }
    std::string name() const { return path_.string(); }

 private:
    std::filesystem::path path_;
};

/// n places in a row, one apart, the values rising and falling.
std::string places_in_a_row(int n) {
    std::string rows;
    for (int i = 0; i < n; ++i) rows += std::to_string(i) + ",0," + std::to_string(1.0 + 0.1 * (i * 7 % 5)) + "\n";
    return rows;
}

}  // namespace

TEST_CASE("variogram fits thousands of rows by likelihood and says what that leaves out") {
    const std::filesystem::path points =
        std::filesystem::temp_directory_path() / ("lodicule_many_" + std::to_string(::getpid()) + ".csv");
    std::ofstream table(points);
    table << "x,y,don\n";
    for (int i = 0; i < 3100; ++i) {
        const double x = std::fmod(i * 61.803398875, 900.0), y = std::fmod(i * 75.487766625, 700.0);
        table << x << ',' << y << ','
              << 1.0 + 0.4 * std::sin(x / 70.0) * std::cos(y / 50.0) + 0.001 * ((i * 7919) % 101) << '\n';
    }
    table.close();
    const std::vector<std::string> words{points.string(),       "--value", "don", "--fit", "reml", "--shape",
                                         "nugget + exponential"};
    const std::string said = printed_by_variogram(words);
    CHECK_THAT(said, Contains("restricted maximum likelihood, each value given its 30 nearest"));
    CHECK_THAT(said, Contains("30 neighbours instead of all: with 60 the log-likelihood moves by "));
    CHECK_THAT(said, Contains("that of 2000 places lying together is "));
    CHECK_THAT(printed_by_variogram({"--help"}), Contains("up to 3,000 places together"));
    std::filesystem::remove(points);
}

TEST_CASE("an indicator has no unit and the unit of the plane is that of its columns") {
    const PointTableFile points(places_in_a_row(40));
    const std::string plain = printed_by_variogram({points.name(), "--value", "don"});
    CHECK_THAT(plain, Contains("Ranges and distances in the unit of x and y; sills and gamma in the unit of don, "
                               "squared."));
    const std::string indicator = printed_by_variogram({points.name(), "--value", "don", "--indicator", "1.2"});
    CHECK_THAT(indicator, Contains("sills and gamma of an indicator (1 or 0), without a unit."));
    CHECK_THAT(indicator, !Contains("squared"));
}

TEST_CASE("a fit to a few pairs says that it is little more than a guess") {
    const PointTableFile few(places_in_a_row(8));
    CHECK_THAT(printed_by_variogram({few.name(), "--value", "don"}),
               Contains("from 30 on one can be relied on: this fit is little more than a guess"));
}

TEST_CASE("a variogram of many pairs carries no warning of few") {
    const PointTableFile many(places_in_a_row(200));
    CHECK_THAT(printed_by_variogram({many.name(), "--value", "don"}), !Contains("guess"));
}

TEST_CASE("a few pairs in one class of distance are no variogram") {
    // The second place lies where the first does; within a third of the diagonal there is no other pair.
    const PointTableFile points("1,1,3\n1,1,4\n3,1,5\n");
    CHECK_THAT(refused_by_variogram({points.name(), "--value", "don"}),
               Contains("1 pair of points within the cutoff makes no variogram") && Contains("a longer --cutoff"));
}

TEST_CASE("one class of distance with many pairs is an answer though nothing is fitted to it") {
    const PointTableFile points(places_in_a_row(60));
    const std::vector<std::string> words{points.name(), "--value", "don", "--boundaries", "5"};
    const std::string said = printed_by_variogram(words);
    CHECK_THAT(said, Contains("fit: none, fewer than two classes of distance have pairs"));
    std::vector<std::string> as_json = words;
    as_json.push_back("--json");
    CHECK_THAT(printed_by_variogram(as_json), Contains("\"found\": false") && Contains("\"nugget\": null"));
}
