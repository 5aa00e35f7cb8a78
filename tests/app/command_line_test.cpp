#include "app/command_line.h"

#include <stdexcept>

#include <catch2/catch.hpp>

#include "models/error.h"

namespace {

int run(std::vector<const char*> words) {
    int number = 0;
    const std::vector<app::Command> commands = {
        {"add", "adds",
         [&number](app::Options& options) {
             options.option(number, "--number", "N", "a number", true);
             return [&number] { return number == 7 ? throw models::Error("seven") : 0; };
         }},
    };
    words.insert(words.begin(), "lodicule");
    return app::run_command_line(commands, static_cast<int>(words.size()), words.data());
}

}  // namespace

TEST_CASE("exit codes: 0 done, 1 refused, 2 wrong usage") {
    CHECK(run({"add", "--number", "3"}) == 0);
    CHECK(run({"add", "--number", "7"}) == 1);
    CHECK(run({"add", "--number", "many"}) == 2);
    CHECK(run({"add"}) == 2);
    CHECK(run({"ad"}) == 2);
    CHECK(run({"add", "--help"}) == 0);
}
