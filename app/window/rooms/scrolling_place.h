#pragma once

#include "app/window/rooms/rooms.h"

namespace app::window {

/// So high is the plate that says "More below".
double more_below_height(const RoomFrame& frame);
/// Says below a scrolling place that it goes on.
void draw_more_below(RoomFrame& frame, const drawing::Rect& area);

/// A place that scrolls, with the wheel or Page Down, where what is drawn in it while this lives is higher than it; a
/// plate at its foot says so as long as more is below. What is drawn tells Dear ImGui how high it is, by its items or
/// by `holds`.
class ScrollingPlace {
 public:
    /// @param on_the_right  Page Down with Shift is for this one
    ScrollingPlace(RoomFrame& frame, const char* name, const drawing::Rect& area, bool on_the_right = false);
    ~ScrollingPlace();
    ScrollingPlace(const ScrollingPlace&) = delete;
    ScrollingPlace& operator=(const ScrollingPlace&) = delete;

    double left() const { return left_; }
    double top() const { return top_; }  ///< on the screen, moved by how far it is scrolled
    double width() const { return width_; }
    /// It is filled down to there.
    void holds(double floor_y);

 private:
    RoomFrame& frame_;
    drawing::Rect area_;
    unsigned id_;
    bool goes_on_, on_the_right_;
    double left_ = 0.0, top_ = 0.0, width_ = 0.0;
};

}  // namespace app::window
