#pragma once

#include <chrono>
#include <cstddef>
#include <functional>
#include <memory>
#include <optional>

#include "app/drawing/figures/map_figure.h"

struct ImDrawList;

namespace app::window {

/// The map as it was last drawn, kept so that a frame in which it is only looked at, dragged or zoomed costs little: it
/// is drawn once into a picture on the graphics card, together with what lies a little beyond the canvas, and that is
/// copied into each frame. While the hand moves it the picture is moved and stretched; the map is drawn anew, with
/// labels where they belong, when the hand rests. In a window a map that takes long is drawn a little at a time between
/// frames, so that no key waits for it; until it is whole, the picture before it is shown where it is of the same map,
/// else what there is of the new one. Without a graphics card (tests) the triangles are kept and copied.
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
        /// What the picture behind the map is known by, and a finer one of a part; null: none.
        std::shared_ptr<const void> behind, nearer;
        double behind_strength = 1.0;
        bool operator==(const Subject& other) const;
    };
    struct Moves {
        bool held = false;  ///< the hand holds the map: what is kept of the same scale is moved rather than drawn anew
        bool lately = false;  ///< it was moved, zoomed or a field was chosen a moment ago
    };
    /// What a map is drawn on.
    struct Board {
        ImDrawList& list;
        double beyond_px;  ///< how far it is drawn beyond the canvas
        /// To be called between things that are drawn; has the list drawn and emptied from time to time.
        std::function<void()> breathe;
        /// Does what needs the graphics card, once that has painted all that was drawn until then.
        std::function<void(const std::function<void()>&)> outside;
    };
    struct Drawer {
        /// Draws the map. It may go on after the frame, until `forget`, another subject or the end of the scene: what
        /// it draws has to be there until then.
        std::function<void(const Board&)> draw;
        /// Is shown all that was drawn, a part at a time.
        std::function<void(const ImDrawList&)> look_at;
    };
    /// Lays ground and map into the list; where nothing kept fits, the map is drawn.
    /// @param on_card  there is a graphics card to keep a picture on (tests have none)
    void show(ImDrawList& list, const Subject& subject, const drawing::MapView& view, const Moves& moves, bool on_card,
              const Drawer& drawer);
    /// From now on a map may be drawn over several frames; whoever shows them calls `go_on` while `is_drawing`.
    void take_time() { takes_time_ = true; }
    bool is_drawing() const { return drawing_ != nullptr; }
    /// Draws a little more of it; true when it became whole, which a frame is to show.
    bool go_on();
    /// Nothing kept fits any more.
    void forget();
    int times_drawn() const { return times_drawn_; }
    /// Grows whenever it looks different from how it did.
    std::size_t looks() const { return looks_; }
    /// What the last whole map took.
    struct Taken {
        double whole_s = 0.0;      ///< from its beginning until it was whole
        double processor_s = 0.0;  ///< in that time
        double longest_s = 0.0;    ///< at a time
    };
    const Taken& taken() const { return taken_; }
    /// A frame begins, which may show no map at all.
    void begin_frame() { is_behind_ = false; }
    /// What is shown is not yet what it should be: another frame is wanted soon.
    bool is_behind() const { return is_behind_; }

 private:
    struct CardPicture;
    struct Drawing;
    bool draw_on(std::chrono::nanoseconds about);
    void put_aside(std::unique_ptr<CardPicture> picture);
    void give_up_drawing();
    void draw_list(const ImDrawList& like, const Subject& subject, const drawing::MapView& view,
                   const drawing::Rect& drawn, double beyond_px, const Drawer& drawer);
    std::unique_ptr<ImDrawList> kept_;
    std::unique_ptr<CardPicture> picture_;  ///< in place of it, where there is a graphics card
    std::unique_ptr<CardPicture> spare_;    ///< painted over by the next map: a new one costs more than the frame
    std::optional<Subject> subject_;
    std::unique_ptr<Drawing> drawing_;  ///< of what is not whole yet
    Taken taken_;
    bool takes_time_ = false, is_slow_ = false, is_behind_ = false;
    drawing::MapView view_;
    int times_drawn_ = 0;
    std::size_t looks_ = 0;
};

}  // namespace app::window
