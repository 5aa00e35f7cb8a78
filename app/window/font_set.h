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

    /// A disc as a picture in the atlas: four corners in place of some seventy, for the marks of thousands of tests.
    struct Disc {
        double radius = 0.0, reach = 0.0;  ///< of the disc, and of its picture with the soft edge, px
        float left = 0.0F, top = 0.0F, right = 0.0F, bottom = 0.0F;  ///< of the picture in the atlas, 0 to 1
    };
    /// The baked one nearest to that radius; null: it is too large, and has to be drawn.
    const Disc* disc(double radius) const;

 private:
    void bake_discs();
    struct Baked {
        double size_px;
        ImFont* regular;
        ImFont* bold;
    };
    double text_px_ = 0.0;
    std::vector<Baked> baked_;
    std::vector<Disc> discs_;
};

}  // namespace app::window
