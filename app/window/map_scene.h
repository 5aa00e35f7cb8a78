#pragma once

#include <functional>
#include <memory>
#include <optional>

#include "app/drawing/figures/map_figure.h"

struct ImDrawList;

namespace app::window {

/// The map as it was last drawn, kept so that a frame in which it is only looked at, dragged or zoomed costs little: it
/// is drawn once into a picture on the graphics card, together with what lies a little beyond the canvas, and that is
/// copied into each frame. While the hand moves it the picture is moved and stretched; the map is drawn anew, with
/// labels where they belong, when the hand rests. Without a graphics card (tests) the triangles are kept and copied.
class MapScene {
 public:
    MapScene();
    ~MapScene();
    MapScene(const MapScene&) = delete;
    MapScene& operator=(const MapScene&) = delete;

    /// All that decides what the scene looks like, but for where the map stands.
    struct Subject {
        const drawing::MapFigure* figure = nullptr;
        drawing::Rect canvas;
        drawing::Colour ground;
        std::optional<std::size_t> selected;
        double text_px = 0.0;
        const void* behind = nullptr;  ///< the picture behind the map; null: none
        const void* nearer = nullptr;  ///< and a finer one of a part
        double behind_strength = 1.0;
        bool operator==(const Subject& other) const;
    };
    struct Moves {
        bool held = false;  ///< the hand holds the map: what is kept of the same scale is moved rather than drawn anew
        bool lately = false;  ///< it was moved, zoomed or a field was chosen a moment ago
    };
    /// Lays ground and map into the list; where nothing kept fits, `draw` draws the map, up to `beyond_px` beyond the
    /// canvas.
    /// @param on_card  there is a graphics card to keep a picture on (tests have none)
    void show(ImDrawList& list, const Subject& subject, const drawing::MapView& view, const Moves& moves, bool on_card,
              const std::function<void(ImDrawList& on, double beyond_px)>& draw);
    /// Nothing kept fits any more.
    void forget();
    int times_drawn() const { return times_drawn_; }
    /// A frame begins, which may show no map at all.
    void begin_frame() { is_behind_ = false; }
    /// What is shown is not yet what it should be: another frame is wanted soon.
    bool is_behind() const { return is_behind_; }

 private:
    struct CardPicture;
    std::unique_ptr<ImDrawList> kept_;
    std::unique_ptr<CardPicture> picture_;  ///< in place of it, where there is a graphics card
    std::optional<Subject> subject_;
    bool is_slow_ = false, is_behind_ = false;
    drawing::MapView view_;
    int times_drawn_ = 0;
};

}  // namespace app::window
