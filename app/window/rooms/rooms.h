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
    bool tight = false;    ///< few lines of text fit: margins, heads and rows are lower
    std::vector<Action>& actions;
};

/// A sentence beside the pointer, in lines that can be read.
void show_tip(const std::string& words);
/// A list of seasons or limits hangs open: the keys are for choosing in it.
bool a_list_is_open();
/// The keys are neither for a list nor for a command of the system.
bool keys_are_ours();
/// The next or previous of names that a key asks for, none being chosen counting as before the first.
std::optional<std::string> stepped_name(const std::vector<std::string>& names, const std::string& from, int step);
/// 1 or -1 where the key for the next or the previous field was pressed, else 0.
int pressed_step();
/// Page Up and Page Down for the scrolling place that is being drawn; with Shift for the one on the right.
void scroll_by_keys(bool on_the_right);
/// A sentence over all columns of the table that is being drawn, in a row of its own.
void draw_across_row(RoomFrame& frame, const std::string& words, float width);

void draw_contamination_room(RoomFrame& frame);
void draw_where_first_room(RoomFrame& frame);
void draw_bins_room(RoomFrame& frame);

/// A painter over the window's draw list whose (0, 0) is the screen's.
ImguiPainter screen_painter(RoomFrame& frame);

/// Sentences that must not disappear, at the foot of a place and smaller rather than cut where they would take more
/// than half of it. Answers what is left above them.
struct FootLine {
    std::string words;
    drawing::Colour ink;
};
drawing::Rect draw_foot(RoomFrame& frame, const drawing::Rect& area, const std::vector<FootLine>& lines);

}  // namespace app::window
