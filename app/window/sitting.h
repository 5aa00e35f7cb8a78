#pragma once

#include "app/window/rooms/rooms.h"

namespace app::window {

/// Ctrl+Z, Ctrl+Y and Ctrl+Shift+Z: records at the bench and the pit, choices in the other rooms. A choice is taken
/// back at once. Records ask first: the list of what was done comes up, and the same keys a second time do it, not
/// sooner after the first than a person presses twice, so that neither a scanner that sends control signs nor a key
/// that is held takes a record back.
void answer_undo_keys(RoomFrame& frame);

/// What was done in this sitting, the newest first, with what the next Ctrl+Z takes back and, of what cannot be taken
/// back, why. Over the canvas; the keys of rooms go on.
void draw_sitting(RoomFrame& frame);

/// "Undo: test B260716-01 entered", or what the last undo came to; empty where nothing was done.
std::string sitting_in_words(const RoomFrame& frame);
/// Only the first of those; empty where nothing can be taken back in this room.
std::string undo_in_words(const RoomFrame& frame);

/// Colours, unit of contents and size of text, in a list that hangs open at its button.
void draw_looks_button(RoomFrame& frame, double right, double baseline, double size);
/// Ctrl with + - 0: the size of text.
void answer_scale_keys(RoomFrame& frame);

}  // namespace app::window
