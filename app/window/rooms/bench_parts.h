#pragma once

#include <string>

#include "app/window/rooms/rooms.h"

namespace app::window {

/// Whether nothing is asked at the bench and something is left to choose: who tests, the kit lot, and, while no strip
/// runs, a sample that waits.
bool begins_at_bench(const BenchPanel& panel);
/// What a test can begin with, each by one press: who tests, which kit lot, which sample waits for its result. What is
/// in use already is not asked again. It scrolls where it has no room.
void draw_bench_start(RoomFrame& frame, const BenchView& view, const drawing::Rect& area);

/// The sample with which somebody came from the pit: what it read is typed, or its strip is started, and back. Answers
/// where it ended.
double draw_sample_to_read(RoomFrame& frame, const BenchPanel& panel, const drawing::Rect& area);

}  // namespace app::window
