#include <algorithm>

#include <catch2/catch.hpp>

#include "tests/app/bench_farm.h"

namespace bench_tests {

long lines_of_page(const std::string& page) {
    return std::count(page.begin(), page.end(), '\n');
}
long times_in(const std::string& text, const std::string& part) {
    long times = 0;
    for (auto at = text.find(part); at != std::string::npos; at = text.find(part, at + part.size())) ++times;
    return times;
}

std::string without_breaks(std::string page) {
    std::replace(page.begin(), page.end(), '\n', ' ');
    return page;
}

TEST_CASE("a control that failed is told once and the clocks stay on a screen of 24 lines") {
    BenchFarm bench;
    bench.say("kit K7");
    bench.say("operator Ada Holt");
    for (int i = 1; i <= 11; ++i) {
        bench.say("result S" + std::to_string(i) + " 0." + std::to_string(20 + i));
        bench.say("yes");
        bench.later(10);
    }
    bench.say("result C1 1.5");
    CHECK_THAT(bench.say("yes"),
               Contains("all 11 results of today with K7 are in doubt: control C1 reads outside the 0.8 to 1.2 that is "
                        "accepted (test B250720-12)") &&
                   Contains("control due: the last one reads outside what it accepts; scan C1"));
    CHECK(times_in(bench.said, "\n") == 3);  // recorded, in doubt, due
    bench.later(10);
    bench.say("result S12 0.4");
    CHECK_THAT(bench.say("yes"), Contains("in doubt by a control of its run") && !Contains("flag") && !Contains("due"));
    for (int i = 1; i <= 6; ++i) {
        CHECK_THAT(bench.say("again S" + std::to_string(i)), !Contains("due") && !Contains("doubt"));
        bench.later(30);
    }
    const app::BenchView view = bench.desk->view();
    REQUIRE(view.last.size() == 5);
    CHECK(view.last[0].in_doubt);
    CHECK(view.last[0].flags.empty());
    CHECK(view.last[1].failed);
    const std::string page = app::bench_page(view);
    CHECK(lines_of_page(page) <= 22);  // and the sentence about help, and the line that is typed
    CHECK(times_in(page, "reads outside") == 2);
    CHECK_THAT(without_breaks(page), Contains("All 12 results of today with K7 are in doubt: control C1 reads outside "
                                              "what it accepts (test B250720-12). Control due: the last one reads "
                                              "outside what it accepts.") &&
                                         Contains("certificate. ? in doubt, ! failed control.") &&
                                         !Contains("in doubt by"));
    for (const auto& strip : bench.running()) CHECK_THAT(page, Contains(strip.strip));
    CHECK(page.find("running") > page.find("last tests"));  // what runs stands last
}

TEST_CASE("results make room for the clocks and sentences are told once for all the results they are of") {
    BenchFarm bench;
    bench.say("kit K8");  // past its last day: every result is flagged
    for (int i = 1; i <= 12; ++i) {
        bench.say("result S" + std::to_string(i) + " 0.4");
        bench.say("yes");
    }
    const std::string quiet = without_breaks(app::bench_page(bench.desk->view()));
    CHECK(times_in(quiet, "kit lot K8 was good until 2025-06-30") == 1);
    CHECK_THAT(quiet, Contains("* B250720-12, B250720-11, B250720-10, B250720-09 and B250720-08: kit lot K8 was good"));
    bench.say("kit K7");
    for (int i = 1; i <= 12; ++i) {
        bench.say("again S" + std::to_string(i));
        bench.later(20);
    }
    const std::string busy = app::bench_page(bench.desk->view());
    CHECK(lines_of_page(busy) <= 22);
    for (const auto& strip : bench.running()) CHECK_THAT(busy, Contains(strip.strip));
    CHECK_THAT(busy, Contains("last tests"));
    for (int i = 1; i <= 4; ++i) bench.say("again S" + std::to_string(i));
    CHECK_THAT(app::bench_page(bench.desk->view()), Contains("and 1 strip started later"));  // one of them is in hand
}

TEST_CASE("another day is named and a control that has no results to doubt says so") {
    BenchFarm bench;
    bench.say("kit K7");
    bench.say("result C1 0.5");
    CHECK_THAT(bench.say("yes"), Contains("no result of today with K7 is there to be in doubt"));
    bench.later(5);
    bench.say("result S1 0.4");
    bench.say("yes");
    REQUIRE(bench.desk->view().doubts.size() == 1);
    CHECK_THAT(bench.desk->view().doubts[0], Contains("the one result of today with K7 is in doubt: control C1"));
    bench.now.utc += std::chrono::hours(24);
    CHECK_THAT(bench.desk->view().doubts[0], Contains("the one result of 2025-07-20 with K7 is in doubt"));
    bench.now.utc -= std::chrono::hours(24);
    bench.say("result S9 0.4");
    bench.say("yes");
    CHECK_THAT(bench.desk->view().doubts[0], Contains("both results of today with K7 are in doubt: control C1"));
    bench.now.utc += std::chrono::hours(24);
    for (int i = 2; i <= 7; ++i) {  // newer ones take its place on the page
        bench.say("result S" + std::to_string(i) + " 0.4");
        bench.say("yes");
    }
    CHECK(bench.desk->view().doubts.empty());
}

TEST_CASE("the words of the bench name all that it takes") {
    CHECK_THAT(app::bench_help(), Contains("end, quit") && Contains("? in doubt") && Contains("after 6:20"));
    for (const std::string& page : {app::bench_help()}) {
        for (std::size_t at = 0; at < page.size();) {
            const std::size_t end = page.find('\n', at);
            CHECK(end - at <= 100);
            at = end + 1;
        }
    }
}

}  // namespace bench_tests
