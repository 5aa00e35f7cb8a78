#include "app/commands/terminal_progress.h"

#include <csignal>

#include <catch2/catch.hpp>

using app::commands::progress_line;
using app::commands::TerminalProgress;

TEST_CASE("Ctrl-C stops work at its next step and not the work that comes after") {
    {
        const TerminalProgress shown;
        shown.progress().step("reading", 0.1);
        std::raise(SIGINT);
        CHECK_THROWS_AS(shown.progress().step("reading", 0.2), models::Cancelled);
    }
    const TerminalProgress next;
    CHECK_NOTHROW(next.progress().step("reading", 0.1));
}

TEST_CASE("Ctrl-C does what it did before once the work is over") {
    struct sigaction before {
    }, after{};
    ::sigaction(SIGINT, nullptr, &before);
    {
        const TerminalProgress shown;
        struct sigaction during {};
        ::sigaction(SIGINT, nullptr, &during);
        CHECK(during.sa_handler != before.sa_handler);
        std::raise(SIGINT);
        ::sigaction(SIGINT, nullptr, &during);
        CHECK(during.sa_handler == SIG_DFL);  // a second Ctrl-C ends the program
    }
    ::sigaction(SIGINT, nullptr, &after);
    CHECK(after.sa_handler == before.sa_handler);
}

TEST_CASE("a line of progress says the share and the time left and fits a terminal") {
    CHECK(progress_line("tests.csv: 256 of 1024 rows", 0.25, 3.0) == "tests.csv: 256 of 1024 rows   25 %, 9 s left");
    CHECK(progress_line("reading", 0.001, 3.0) == "reading    0 %");
    CHECK(progress_line(std::string(300, 'a'), 0.5, 1e6).size() <= 79);
}
