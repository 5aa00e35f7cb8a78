#include "app/command_line.h"

#include <stdexcept>

#include <catch2/catch.hpp>

#include "models/error.h"
#include "tests/app/captured_output.h"

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
    CHECK(run({}) == 2);
    CHECK(run({"add", "--help"}) == 0);
}

TEST_CASE("wrong usage is answered in whole sentences that say where to look") {
    const auto said = [](const std::vector<const char*>& words) {
        const tests::CapturedOutput err(stderr);
        CHECK(run(words) == 2);
        return err.text();
    };
    CHECK(said({}) ==
          "lodicule: say what is to be done: `lodicule --help` lists the commands. Begin here: lodicule demo DIR\n");
    CHECK(said({"sow"}) == "lodicule: there is no command \"sow\". `lodicule --help` lists them.\n");
    CHECK(said({"ad"}) ==
          "lodicule: there is no command \"ad\"; did you mean \"add\"? `lodicule --help` lists them.\n");
    CHECK(said({"add"}) == "lodicule: --number is required. `lodicule add --help` tells more.\n");
    CHECK(said({"add", "--nubmer", "3"}) ==
          "lodicule: there is no option \"--nubmer\"; did you mean \"--number\"? `lodicule add --help` lists them.\n");
}
