#pragma once

#include "app/window/rooms/rooms.h"

namespace app::window {

/// A painter for a place that scrolls: a line of text that its edge would cut through is left out, for the next turn of
/// the wheel shows it whole. Lines and areas are cut as everywhere.
class WholeLines : public ImguiPainter {
 public:
    /// Of the window of Dear ImGui that is being drawn.
    explicit WholeLines(RoomFrame& frame);

    void text(drawing::Point baseline, std::string_view words, double size, drawing::Colour ink,
              drawing::Align align = drawing::Align::left, drawing::Weight weight = drawing::Weight::regular) override;
    void vertical_text(drawing::Point baseline, std::string_view words, double size, drawing::Colour ink,
                       drawing::Align align = drawing::Align::centre) override;

 private:
    double top_ = 0.0, floor_ = 0.0;
    bool upright_ = false;  ///< what is being drawn will be turned
};

}  // namespace app::window
