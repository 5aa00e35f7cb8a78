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

std::string printed_by_variogram(std::vector<std::string> words) {
    words.insert(words.begin(), {"lodicule", "variogram"});
    std::vector<const char*> bare;
    for (const std::string& word : words) bare.push_back(word.c_str());
    const tests::CapturedOutput out(stdout);
    CHECK(app::run_command_line({app::commands::make_variogram_command()}, static_cast<int>(bare.size()),
                                bare.data()) == 0);
    return out.text();
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
