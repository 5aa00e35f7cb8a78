#include "app/job.h"

#include <atomic>
#include <stdexcept>
#include <vector>

#include <catch2/catch.hpp>

#include "models/error.h"

using app::Job;
using models::Progress;

namespace {

template <typename Result>
void wait_for(const Job<Result>& job) {
    while (!job.done()) std::this_thread::sleep_for(std::chrono::milliseconds(1));
}

}  // namespace

TEST_CASE("work hands over its result and says how far it came") {
    std::atomic<int> woken{0};
    const Job<int> job(
        "adding",
        [](const Progress& progress) {
            int sum = 0;
            for (int i = 1; i <= 10; ++i) {
                sum += i;
                progress.step("number " + std::to_string(i), i / 10.0);
            }
            return sum;
        },
        [&] { ++woken; });
    wait_for(job);
    REQUIRE(job.result());
    CHECK(*job.result() == 55);
    CHECK(job.name() == "adding");
    CHECK(job.what() == "number 10");
    CHECK(job.share() == 1.0);
    CHECK(job.problem().empty());
    CHECK_FALSE(job.cancelled());
    CHECK(woken >= 10);  // once a step, and at its end once more, which may still be on its way
}

TEST_CASE("work that is asked to stop stops at its next step and has no result") {
    std::atomic<bool> began{false};
    Job<int> job("endless", [&](const Progress& progress) -> int {
        for (;;) {
            progress.step("on and on", 0.5);
            began = true;
        }
    });
    while (!began) std::this_thread::yield();
    job.cancel();
    wait_for(job);
    CHECK(job.cancelled());
    CHECK_FALSE(job.result());
    CHECK(job.problem().empty());
}

TEST_CASE("what stops work is kept as its sentence") {
    const Job<int> refused("refusing", [](const Progress&) -> int {
        throw models::Error("the season has no fields", "crops.csv", "import outlines first");
    });
    wait_for(refused);
    CHECK_FALSE(refused.result());
    CHECK_FALSE(refused.cancelled());
    CHECK_THAT(refused.problem(), Catch::Contains("the season has no fields"));
    const Job<int> broken("breaking", [](const Progress&) -> int { throw std::out_of_range("row 7"); });
    wait_for(broken);
    CHECK(broken.problem() == "row 7");
}

TEST_CASE("a job that goes out of scope asks its work to stop and waits for it") {
    std::atomic<bool> began{false}, over{false};
    {
        const Job<int> job("left alone", [&](const Progress& progress) -> int {
            struct AtEnd {
                std::atomic<bool>& over;
                ~AtEnd() { over = true; }
            } at_end{over};
            for (;;) {
                began = true;
                progress.step("nobody looks", 0.1);
            }
        });
        while (!began) std::this_thread::yield();
    }
    CHECK(over);
}

TEST_CASE("how far work is may be asked at any time while several threads of it tell") {
    // Under the thread sanitizer (-DLODICULE_SANITIZE=thread) this is the proof that asking and telling never collide.
    constexpr int steps = 400;
    const Job<int> job("told by many", [](const Progress& progress) {
        std::atomic<int> told{0};
        std::vector<std::jthread> tellers;
        for (int t = 0; t < 3; ++t) {
            tellers.emplace_back([&] {
                for (int i = 0; i < steps; ++i) progress.step("step", ++told / (3.0 * steps));
            });
        }
        tellers.clear();
        return told.load();
    });
    [[maybe_unused]] std::size_t letters = 0;  // its words are read while others write them
    while (!job.done()) {
        letters += job.what().size() + job.problem().size();
        const double share = job.share();
        if (share < 0.0 || share > 1.0) FAIL("share " << share);
        if (const auto left = job.seconds_left(); left && *left < 0.0) FAIL("seconds left " << *left);
        if (job.result() || job.cancelled()) break;
    }
    wait_for(job);
    REQUIRE(job.result());
    CHECK(*job.result() == 3 * steps);
}
