#include <GLFW/glfw3.h>
#include <catch2/catch.hpp>
#include <imgui.h>

#include "app/window/key_gate.h"

/// The gate before the keys: what a scanner sends is a code, and what a hand presses is a key.
using namespace app::window;
using std::chrono::milliseconds;

TEST_CASE("keys as fast as a scanner sends them are a code and press nothing") {
    Keys keys;
    KeyGate gate;
    ImGui::CreateContext();
    KeyGate::Clock::time_point now{std::chrono::hours(1)};
    const auto press = [&](int key, milliseconds after) {
        gate.pressed(key);
        if (key < 127) gate.letter(static_cast<unsigned>(key));
        gate.released(key);
        now += after;
        gate.heard(now, KeyGate::Clock::duration::zero(), keys);
    };
    for (const char letter : std::string("W26-3")) press(letter, milliseconds(8));
    press(GLFW_KEY_ENTER, milliseconds(8));
    CHECK_FALSE(keys.any_waiting());
    CHECK(gate.take_scanned() == "W26-3");
    CHECK_FALSE(gate.take_scanned());
    // What follows at once belongs to it; a pause ends it.
    press('1', milliseconds(100));
    press('9', milliseconds(100));
    now += milliseconds(100);
    gate.heard(now, KeyGate::Clock::duration::zero(), keys);
    CHECK_FALSE(gate.holds_back());
    while (keys.any_waiting()) keys.begin_frame(false);
    // A code without an end is one when it falls silent; one key and Enter are enough.
    for (const char letter : std::string("ABC")) press(letter, milliseconds(8));
    now += milliseconds(50);
    gate.heard(now, KeyGate::Clock::duration::zero(), keys);
    CHECK(gate.take_scanned() == "ABC");
    press('Y', milliseconds(10));
    press(GLFW_KEY_ENTER, milliseconds(10));
    CHECK_FALSE(keys.any_waiting());
    CHECK(gate.take_scanned() == "Y");
    now += milliseconds(50);
    gate.heard(now, KeyGate::Clock::duration::zero(), keys);
    // All of a code that came while one frame was drawn.
    for (const char letter : std::string("G26-140")) {
        gate.pressed(letter);
        gate.letter(static_cast<unsigned char>(letter));
        gate.released(letter);
    }
    gate.pressed(GLFW_KEY_ENTER);
    gate.released(GLFW_KEY_ENTER);
    now += milliseconds(60);
    gate.heard(now, milliseconds(60), keys);
    CHECK_FALSE(keys.any_waiting());
    CHECK(gate.take_scanned() == "G26-140");
    now += milliseconds(50);
    gate.heard(now, KeyGate::Clock::duration::zero(), keys);
    // A digit and its Enter are one, however long that frame took.
    for (const int key : {static_cast<int>('3'), static_cast<int>(GLFW_KEY_ENTER)}) {
        gate.pressed(key);
        gate.released(key);
    }
    now += milliseconds(400);
    gate.heard(now, milliseconds(400), keys);
    CHECK_FALSE(keys.any_waiting());
    ImGui::DestroyContext();
}

TEST_CASE("keys as fast as a hand presses them reach the rooms, each after a moment") {
    Keys keys;
    KeyGate gate;
    ImGui::CreateContext();
    KeyGate::Clock::time_point now{std::chrono::hours(1)};
    const auto hear = [&](milliseconds after, milliseconds away = milliseconds(0)) {
        now += after;
        gate.heard(now, away, keys);
    };
    gate.pressed('N');
    hear(milliseconds(1));
    CHECK_FALSE(keys.any_waiting());  // the next may come at once
    CHECK(gate.holds_back());
    hear(KeyGate::as_a_scanner + milliseconds(1));
    keys.begin_frame(false);
    CHECK(keys.presses('N') == 1);
    gate.released('N');
    hear(milliseconds(60));
    keys.begin_frame(false);
    // Three presses in a frame of 300 ms are a hand's; they act at once when they are old enough.
    for (int i = 0; i < 3; ++i) {
        gate.pressed('P');
        gate.released('P');
    }
    hear(milliseconds(300), milliseconds(300));
    hear(milliseconds(40));
    keys.begin_frame(false);
    CHECK(keys.presses('P') == 3);
    // Arrows wait for nothing.
    gate.pressed(GLFW_KEY_DOWN);
    hear(milliseconds(1));
    keys.begin_frame(false);
    CHECK(keys.presses(GLFW_KEY_DOWN) == 1);
    gate.released(GLFW_KEY_DOWN);
    // A key that is held is known by its time, and only where it is alone.
    hear(milliseconds(50));
    gate.pressed(GLFW_KEY_F9);
    hear(milliseconds(10));
    hear(milliseconds(900));
    CHECK(gate.held_for(GLFW_KEY_F9) == milliseconds(900));
    keys.begin_frame(false);
    CHECK(keys.presses(GLFW_KEY_F9) == 1);
    gate.pressed('A');
    hear(milliseconds(200));
    CHECK(gate.held_for(GLFW_KEY_F9) == milliseconds(0));
    ImGui::DestroyContext();
}

TEST_CASE("Shift that a scanner held for a capital letter is let go") {
    Keys keys;
    KeyGate gate;
    ImGui::CreateContext();
    KeyGate::Clock::time_point now{std::chrono::hours(1)};
    const auto hear = [&] {
        now += milliseconds(2);
        gate.heard(now, KeyGate::Clock::duration::zero(), keys);
    };
    gate.pressed(GLFW_KEY_LEFT_SHIFT);
    hear();
    gate.pressed('S');
    gate.letter('S');
    hear();
    gate.released('S');
    hear();
    gate.released(GLFW_KEY_LEFT_SHIFT);
    hear();
    gate.pressed('2');
    gate.letter('2');
    hear();
    gate.released('2');
    gate.pressed(GLFW_KEY_ENTER);
    gate.released(GLFW_KEY_ENTER);
    hear();
    now += milliseconds(60);
    gate.heard(now, KeyGate::Clock::duration::zero(), keys);
    CHECK(gate.take_scanned() == "S2");
    for (int frame = 0; frame < 4; ++frame) keys.begin_frame(false);
    CHECK_FALSE(ImGui::GetIO().KeyShift);
    ImGui::DestroyContext();
}

TEST_CASE("a hand that writes fast in a box sends no code and a scanner that ends its line does") {
    Keys keys;
    KeyGate gate;
    ImGui::CreateContext();
    KeyGate::Clock::time_point now{std::chrono::hours(1)};
    const auto write = [&](const std::string& letters, bool ended) {
        for (const char letter : letters) {
            gate.pressed(letter);
            gate.letter(static_cast<unsigned>(letter));
            gate.released(letter);
            now += milliseconds(5);
            gate.heard(now, KeyGate::Clock::duration::zero(), keys);
        }
        if (ended) {
            gate.pressed(GLFW_KEY_ENTER);
            now += milliseconds(5);
            gate.heard(now, KeyGate::Clock::duration::zero(), keys);
            gate.released(GLFW_KEY_ENTER);
        }
        now += milliseconds(100);
        gate.heard(now, KeyGate::Clock::duration::zero(), keys);
    };
    write("DA", false);
    CHECK_FALSE(gate.take_scanned(true));
    write("DA", false);
    CHECK(gate.take_scanned() == "DA");  // no box has the focus: some scanners end nothing
    write("DA", false);
    write("W26", true);
    CHECK(gate.take_scanned(true) == "W26");
    CHECK_FALSE(gate.take_scanned(true));
    ImGui::DestroyContext();
}

TEST_CASE(
    "a key that is held back is known just after the time of a scanner, however often the keyboard speaks until then") {
    Keys keys;
    KeyGate gate;
    ImGui::CreateContext();
    KeyGate::Clock::time_point now{std::chrono::hours(1)};
    gate.pressed('N');
    gate.heard(now, KeyGate::Clock::duration::zero(), keys);
    REQUIRE(gate.holds_back());
    CHECK_FALSE(gate.reads_a_code());
    CHECK(gate.known_in(now) > KeyGate::as_a_scanner);
    CHECK(gate.known_in(now) <= KeyGate::as_a_scanner + milliseconds(1));
    now += milliseconds(20);
    gate.released('N');
    gate.heard(now, KeyGate::Clock::duration::zero(), keys);
    REQUIRE(gate.holds_back());
    CHECK(gate.known_in(now) <= milliseconds(11));  // not so long again
    now += gate.known_in(now);
    gate.heard(now, KeyGate::Clock::duration::zero(), keys);
    CHECK_FALSE(gate.holds_back());
    CHECK(keys.any_waiting());
    CHECK(gate.known_in(now + milliseconds(5)) == KeyGate::Clock::duration::zero());

    for (const char letter : std::string("AB")) {
        gate.pressed(letter);
        gate.letter(static_cast<unsigned char>(letter));
        gate.heard(now += milliseconds(40), KeyGate::Clock::duration::zero(), keys);
    }
    CHECK_FALSE(gate.reads_a_code());
    gate.pressed('C');
    gate.heard(now += milliseconds(5), KeyGate::Clock::duration::zero(), keys);
    CHECK(gate.reads_a_code());
    ImGui::DestroyContext();
}
