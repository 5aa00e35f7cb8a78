#pragma once

#include <string>
#include <vector>

#include "app/window/frame.h"

namespace app::window {

/// A room draws its canvas and answers what the user asked for. It changes nothing but its own views.
struct RoomFrame {
    const Session& session;
    Views& views;
    Brushes& brushes;
    Places& places;
    drawing::Rect canvas;  ///< of the screen, in pixels
    std::vector<Action>& actions;
};

void draw_contamination_room(RoomFrame& frame);
void draw_where_first_room(RoomFrame& frame);
void draw_bins_room(RoomFrame& frame);

/// A painter over the window's draw list whose (0, 0) is the screen's.
ImguiPainter screen_painter(RoomFrame& frame);
/// A soft panel behind text that lies on the canvas.
void draw_panel(drawing::Painter& painter, const drawing::Rect& area, const drawing::Theme& theme);

/// Sentences that must not disappear, at the foot of a place and smaller rather than cut where they would take more
/// than half of it. Answers what is left above them.
struct FootLine {
    std::string words;
    drawing::Colour ink;
};
drawing::Rect draw_foot(RoomFrame& frame, const drawing::Rect& area, const std::vector<FootLine>& lines);

}  // namespace app::window
