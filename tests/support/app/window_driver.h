#pragma once

#include <chrono>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "app/window/frame.h"
#include "app/window/session.h"

namespace tests {

/// The demo store, read only: made once for all tests, by the fixture of ctest or by the first test that asks.
std::filesystem::path demo_store();

/// A person at the window without any screen: the same frame function, a Dear ImGui context that draws nowhere, and a
/// hand that presses, drags and types. A press and its release lie in different frames, as they do in life.
class WindowDriver {
 public:
    /// @param last  how the window stood when it was last closed
    explicit WindowDriver(const app::window::WindowSettings& settings,
                          const std::optional<app::window::LastState>& last = {});
    ~WindowDriver();
    WindowDriver(const WindowDriver&) = delete;
    WindowDriver& operator=(const WindowDriver&) = delete;

    void frames(int count = 1);
    void bake(double text_px);
    /// Frames until nothing is running any more.
    void settle();
    bool shows(const std::string& place) const { return places.find(place) != nullptr; }
    void point_at(const std::string& place);
    void click(const std::string& place);
    void drag(const std::string& place, double dx, double dy);
    void wheel(const std::string& place, double turns);
    void press(int key);
    /// Typed faster than frames are drawn: pressed and let go, all of them, between two frames.
    void type_at_once(const std::vector<int>& keys);
    /// A line at the bench and its Enter: by hand, or as fast as a scanner sends it, all before the next frame.
    void line(const std::string& words, bool scanned = false);
    /// A code as a scanner sends it, through the gate that keeps it from the rooms: 5 ms from key to key.
    /// @param last  what it sends after the code; 0: nothing
    void scan(const std::string& code, int last);
    /// A key that a hand presses and keeps down for so long, through the gate.
    void hold(int key, std::chrono::milliseconds time);
    /// Letters and digits into the box that has the focus.
    void write(const std::string& words);

    std::unique_ptr<app::window::Session> session;
    app::window::Views views;
    app::window::Brushes brushes;
    app::window::Places places;
    int vertices = 0;  ///< of the last frame

 private:
    void point(double x, double y);
    void wait(std::chrono::milliseconds time);  ///< the gate hears what was pressed until then

    app::window::KeyGate::Clock::time_point now_{std::chrono::hours(1)};
};

}  // namespace tests
