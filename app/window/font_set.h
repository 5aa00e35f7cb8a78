#pragma once

#include <utility>
#include <vector>

#include "app/drawing/painter.h"

struct ImDrawData;
struct ImDrawList;
struct ImFont;

namespace app::window {

/// The faces of the figures baked for the screen at the sizes that a window uses, so that text is crisp at any display
/// scale. Needs a Dear ImGui context; the atlas is rebuilt when the scale changes.
///
/// At first only the letters of western and middle Europe and the program's own signs are baked: all of them would be
/// a fifth of the time to the first frame. A letter that is not there is drawn as the mark of an unknown one; whoever
/// shows frames looks for that mark in each, and bakes all letters where it was drawn.
class FontSet {
 public:
    /// @param text_px  size of running text in pixels of the screen: the user's text size times the display's scale
    void bake(double text_px);
    /// Looks through what was drawn for the mark of a letter that is not baked.
    void look_for_missing(const ImDrawList& drawn);
    void look_for_missing(const ImDrawData& drawn);
    /// Some letter was missing: the next bake is of all.
    bool is_missing_letters() const { return missing_ && !all_letters_; }
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
    void draw_unknown_marks(const std::vector<int>& marks);
    struct Baked {
        double size_px;
        ImFont* regular;
        ImFont* bold;
    };
    double text_px_ = 0.0;
    bool all_letters_ = false, missing_ = false;
    std::vector<std::pair<float, float>> unknown_at_;  ///< corner of the mark of an unknown letter in the atlas
    std::vector<Baked> baked_;
    std::vector<Disc> discs_;
};

}  // namespace app::window
