#include "app/window/rooms/scrolling_place.h"

#include <algorithm>

#include <imgui.h>

#include "app/words.h"

namespace app::window {

using drawing::Rect;

double more_below_height(const RoomFrame& frame) {
    return frame.brushes.fonts.text_px() * 0.88 * 1.7;
}

void draw_more_below(RoomFrame& frame, const Rect& area) {
    const double size = frame.brushes.fonts.text_px() * 0.88;
    ImguiPainter painter = screen_painter(frame);
    const double width = painter.text_width(spoken(words::more_below), size, drawing::Weight::bold) + 2.6 * size;
    const Rect plate{area.x + 0.5 * (area.width - width), area.y, width, area.height};
    painter.rect(plate, frame.brushes.theme.accent);
    const double x = plate.x + 0.5 * size, y = plate.y + 0.6 * size;
    painter.polygon({{{x, y}, {x + 0.8 * size, y}, {x + 0.4 * size, y + 0.6 * size}}}, frame.brushes.theme.paper);
    painter.text({x + 1.3 * size, plate.y + 1.2 * size}, spoken(words::more_below), size, frame.brushes.theme.paper,
                 drawing::Align::left, drawing::Weight::bold);
    frame.places.mark("more below", plate);
}

ScrollingPlace::ScrollingPlace(RoomFrame& frame, const char* name, const Rect& area, bool on_the_right)
    : frame_(frame),
      area_(area),
      id_(ImGui::GetID(name)),
      // As the last frame found: how high it is, is known when it has been drawn.
      goes_on_(ImGui::GetStateStorage()->GetBool(id_)),
      on_the_right_(on_the_right) {
    if (goes_on_) area_.height = std::max(1.0, area_.height - more_below_height(frame));
    ImGui::SetCursorScreenPos({static_cast<float>(area_.x), static_cast<float>(area_.y)});
    ImGui::BeginChild(name, {static_cast<float>(area_.width), static_cast<float>(area_.height)});
    const ImVec2 from = ImGui::GetCursorScreenPos();
    left_ = static_cast<double>(from.x);
    top_ = static_cast<double>(from.y);
    width_ = area_.width - (goes_on_ ? static_cast<double>(ImGui::GetStyle().ScrollbarSize) : 0.0);
}

void ScrollingPlace::holds(double floor_y) {
    ImGui::SetCursorScreenPos({static_cast<float>(left_), static_cast<float>(top_)});
    ImGui::Dummy({1.0F, static_cast<float>(std::max(0.0, floor_y - top_))});
}

ScrollingPlace::~ScrollingPlace() {
    scroll_by_keys(frame_, on_the_right_);
    const bool more = ImGui::GetScrollY()<ImGui::GetScrollMaxY() - 1.0F, is_higher = ImGui::GetScrollMaxY()> 1.0F;
    ImGui::EndChild();
    ImGui::GetStateStorage()->SetBool(id_, is_higher);
    if (goes_on_ && more)
        draw_more_below(frame_, {area_.x, area_.y + area_.height, area_.width, more_below_height(frame_)});
}

}  // namespace app::window
