#include "app/window/rooms/whole_lines.h"

#include <imgui.h>

namespace app::window {

WholeLines::WholeLines(RoomFrame& frame)
    : ImguiPainter(*ImGui::GetWindowDrawList(), frame.brushes.fonts, {0.0, 0.0}, frame.brushes.textures,
                   frame.places.texts()),
      top_(static_cast<double>(ImGui::GetWindowDrawList()->GetClipRectMin().y)),
      floor_(static_cast<double>(ImGui::GetWindowDrawList()->GetClipRectMax().y)) {}

void WholeLines::text(drawing::Point baseline, std::string_view words, double size, drawing::Colour ink,
                      drawing::Align align, drawing::Weight weight) {
    // Capitals rise about seven tenths of the size, tails hang a fifth below.
    const double high = baseline.y - 0.72 * size, low = baseline.y + 0.2 * size;
    const auto cuts = [&](double edge) { return high < edge - 0.5 && low > edge + 0.5; };
    if (!upright_ && (cuts(top_) || cuts(floor_))) return;
    ImguiPainter::text(baseline, words, size, ink, align, weight);
}

void WholeLines::vertical_text(drawing::Point baseline, std::string_view words, double size, drawing::Colour ink,
                               drawing::Align align) {
    upright_ = true;
    ImguiPainter::vertical_text(baseline, words, size, ink, align);
    upright_ = false;
}

}  // namespace app::window
