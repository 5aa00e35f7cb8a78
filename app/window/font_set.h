#pragma once

#include <vector>

#include "app/drawing/painter.h"

struct ImFont;

namespace app::window {

/// The faces of the figures baked for the screen at the sizes that a window uses, so that text is crisp at any display
/// scale. Needs a Dear ImGui context; the atlas is rebuilt when the scale changes.
class FontSet {
 public:
    /// @param text_px  size of running text in pixels of the screen: the user's text size times the display's scale
    void bake(double text_px);
    double text_px() const { return text_px_; }
    /// The baked face nearest to that size; the largest is bold, and of letters and numbers alone.
    ImFont* face(double size_px, drawing::Weight weight) const;
    ImFont* running() const;  ///< regular at text_px

 private:
    struct Baked {
        double size_px;
        ImFont* regular;
        ImFont* bold;
    };
    double text_px_ = 0.0;
    std::vector<Baked> baked_;
};

}  // namespace app::window
