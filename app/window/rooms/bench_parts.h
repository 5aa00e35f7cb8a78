#pragma once

#include "app/window/rooms/rooms.h"

namespace app::window {

/// Whether nothing runs and nothing is asked at the bench, and the store has something to begin with.
bool begins_at_bench(const BenchPanel& panel);
/// What a test can begin with, each by one press: who tests, which kit lot, which sample waits for its result. What is
/// in use already is not asked again. Leaves out what has no room.
void draw_bench_start(RoomFrame& frame, const BenchView& view, const drawing::Rect& area);

}  // namespace app::window
