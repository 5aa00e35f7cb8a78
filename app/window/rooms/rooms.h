#pragma once

#include <string>
#include <vector>

#include "app/window/frame.h"
#include "app/window/tips.h"

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

/// A list of seasons or limits hangs open: the keys are for choosing in it.
bool a_list_is_open();
/// The keys are neither for a list nor for a command of the system.
bool keys_are_ours();
/// The next or previous of names that a key asks for, none being chosen counting as before the first.
std::optional<std::string> stepped_name(const std::vector<std::string>& names, const std::string& from, int step);
/// How often a key of ours was pressed for this frame; by the key's letter or Dear ImGui's name for it.
int presses(const RoomFrame& frame, int key);
int presses_of(const RoomFrame& frame, int imgui_key);
/// How many fields on, or back where it is below zero, the keys ask for.
int pressed_step(const RoomFrame& frame);
/// Page Up and Page Down for the scrolling place that is being drawn; with Shift for the one on the right.
void scroll_by_keys(const RoomFrame& frame, bool on_the_right);
/// A sentence in lines that are broken at its blanks, never inside a number; the item of Dear ImGui that it fills.
void draw_wrapped(RoomFrame& frame, const std::string& words, double width);
/// A sentence over all columns of the table that is being drawn, in a row of its own.
void draw_across_row(RoomFrame& frame, const std::string& words, float width);

void draw_contamination_room(RoomFrame& frame);
void draw_where_first_room(RoomFrame& frame);
void draw_bench_room(RoomFrame& frame);
void draw_pit_room(RoomFrame& frame);
void draw_seasons_room(RoomFrame& frame);

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
