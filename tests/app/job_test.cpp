#include "app/job.h"

#include <algorithm>
#include <atomic>
#include <memory>
#include <stdexcept>
#include <utility>
#include <vector>

#ifdef __linux__
#include <sched.h>
#include <sys/resource.h>
#include <unistd.h>
#endif

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
    while (!job.ended()) std::this_thread::yield();
    CHECK(woken >= 2);  // at its first step and at its end
}

TEST_CASE("steps that follow one another closely wake nobody for each") {
    std::atomic<int> woken{0};
    const auto began = std::chrono::steady_clock::now();
    const Job<int> job(
        "counting",
        [](const Progress& progress) {
            for (int i = 0; i < 20000; ++i) progress.step("number " + std::to_string(i), i / 20000.0);
            return 0;
        },
        [&] { ++woken; });
    while (!job.ended()) std::this_thread::yield();
    const auto apart = (std::chrono::steady_clock::now() - began) / app::between_tellings;
    CHECK(woken >= 2);
    CHECK(woken <= 2 + apart);
    CHECK(job.what() == "number 19999");  // all the same it is known how far it came
}

TEST_CASE("a job is ended only after who waits was woken, and then holds nothing of its work") {
    std::atomic<bool> woken{false};
    const auto held = std::make_shared<int>(7);
    Job<int> job(
        "holding", [held](const Progress&) { return *held; }, [&] { woken = true; });
    while (!job.ended()) std::this_thread::yield();
    CHECK(job.done());
    CHECK(woken);
    CHECK(held.use_count() == 1);
    REQUIRE(job.result());
    CHECK(*job.result() == 7);
}

#ifdef __linux__
TEST_CASE("work beside the window and every thread of it give way to the rest of the program") {
    const auto niceness = [] { return getpriority(PRIO_PROCESS, static_cast<id_t>(gettid())); };
    const int own = niceness();
    using Stands = std::pair<int, int>;
    const Job<std::pair<Stands, Stands>> job("giving way", [&](const Progress&) {
        Stands of_its_own;
        std::thread([&] { of_its_own = {sched_getscheduler(0), niceness()}; }).join();
        return std::pair{Stands{sched_getscheduler(0), niceness()}, of_its_own};
    });
    while (!job.done()) std::this_thread::yield();
    REQUIRE(job.result());
    const Stands wanted{SCHED_BATCH, std::min(19, own + 10)};
    CHECK(job.result()->first == wanted);
    CHECK(job.result()->second == wanted);
    CHECK(niceness() == own);
}
#endif

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
