#include "app/window/turns.h"

#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

#include <catch2/catch.hpp>

using namespace std::chrono_literals;
using app::window::Turns;

TEST_CASE("work done in turns is done in order, a little each time, and only while it is waited for") {
    std::vector<int> done;
    Turns turns([&](Turns& own) {
        for (int i = 0; i < 4; ++i) {
            done.push_back(i);
            own.breathe();
        }
    });
    CHECK(done.empty());
    for (int i = 0; i < 4; ++i) {
        CHECK_FALSE(turns.go_on(0s));
        CHECK(done.size() == static_cast<std::size_t>(i) + 1);
    }
    CHECK(turns.go_on(0s));
    CHECK(turns.go_on(0s));  // there is no more
    CHECK(done == std::vector{0, 1, 2, 3});
}

TEST_CASE("work that has all the time is done at once") {
    int done = 0;
    Turns turns([&](Turns& own) {
        for (int i = 0; i < 1000; ++i, ++done) own.breathe();
    });
    CHECK(turns.go_on(Turns::Clock::duration::max()));
    CHECK(done == 1000);
}

TEST_CASE("what work has done outside is done by the thread that waits for it") {
    const auto here = std::this_thread::get_id();
    std::thread::id worked, outside;
    Turns turns([&](Turns& own) {
        worked = std::this_thread::get_id();
        own.outside([&] { outside = std::this_thread::get_id(); });
    });
    CHECK(turns.go_on(1h));
    CHECK(worked != here);
    CHECK(outside == here);
}

TEST_CASE("work that is given up goes no further, and lets go of what it holds") {
    struct Held {
        bool& let_go;
        ~Held() { let_go = true; }
    };
    bool let_go = false, went_on = false;
    {
        Turns turns([&](Turns& own) {
            const Held held{let_go};
            own.breathe();
            went_on = true;
        });
        CHECK_FALSE(turns.go_on(0s));
        CHECK_FALSE(let_go);
    }
    CHECK(let_go);
    CHECK_FALSE(went_on);
    bool begun = false;
    {
        const Turns never([&](Turns&) { begun = true; });
    }
    CHECK_FALSE(begun);
}

TEST_CASE("what work throws is thrown where it is waited for") {
    Turns turns([](Turns& own) {
        own.breathe();
        throw std::runtime_error("the third field has no outline");
    });
    CHECK_FALSE(turns.go_on(0s));
    CHECK_THROWS_WITH(turns.go_on(0s), "the third field has no outline");
}
