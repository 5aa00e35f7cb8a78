#pragma once

#include <functional>
#include <memory>
#include <optional>

#include "app/drawing/figures/map_figure.h"

struct ImDrawList;

namespace app::window {

/// The map as it was last drawn, kept so that a frame in which it is only looked at or dragged costs little: outlines
/// are cut into triangles, hatched and labelled once, and those triangles are copied. While the hand holds the map it
/// is moved as one picture, on the graphics card, together with what lies a little beyond the canvas; labels are placed
/// anew when the hand lets go.
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
        bool operator==(const Subject& other) const;
    };
    /// Lays ground and map into the list; where nothing kept fits, `draw` draws the map, up to `beyond_px` beyond the
    /// canvas.
    /// @param dragging  the hand holds the map: what is kept of the same scale is moved rather than drawn anew
    /// @param on_card   there is a graphics card to keep a picture on (tests have none)
    void show(ImDrawList& list, const Subject& subject, const drawing::MapView& view, bool dragging, bool on_card,
              const std::function<void(ImDrawList& on, double beyond_px)>& draw);
    /// Nothing kept fits any more.
    void forget();
    int times_drawn() const { return times_drawn_; }

 private:
    struct CardPicture;
    std::unique_ptr<ImDrawList> kept_;
    std::unique_ptr<CardPicture> picture_;  ///< of what is kept, made when the hand first moves it
    std::optional<Subject> subject_;
    drawing::MapView view_;
    int times_drawn_ = 0;
};

}  // namespace app::window
