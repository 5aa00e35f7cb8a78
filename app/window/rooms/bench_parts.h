#pragma once

#include <string>

#include "app/window/rooms/rooms.h"

namespace app::window {

/// Whether nothing is asked at the bench and something is left to choose: who tests, the kit lot, and, while no strip
/// runs, a sample that waits.
bool begins_at_bench(const BenchPanel& panel);
/// What a test can begin with, each by one press: who tests, which kit lot, which sample waits for its result. What is
/// in use already is not asked again. Leaves out what has no room.
void draw_bench_start(RoomFrame& frame, const BenchView& view, const drawing::Rect& area);

/// "result S12 ": what stands before the value of a strip that was read before its clock was started here.
std::string begin_of_result(const std::string& sample);

}  // namespace app::window
