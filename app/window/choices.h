#pragma once

#include "app/window/rooms/rooms.h"

namespace app::window {

/// What the lists of seasons and limits need at the least, beside each other.
struct ChoiceWidths {
    double season = 0.0, limit = 0.0, all = 0.0;
};
ChoiceWidths width_of_choices(const RoomFrame& frame, const drawing::Painter& painter);

/// Season and limit, at the right of the bar; in the room of the bins the limits that these name.
void draw_choices(RoomFrame& frame, const drawing::Rect& bar);

}  // namespace app::window
