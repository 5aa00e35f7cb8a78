#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "app/drawing/painter.h"
#include "app/window/card_areas.h"

struct ImDrawList;

namespace app::window {

class FontSet;

/// Pictures handed to the graphics card. Most are known again by where their pixels lie: whoever draws such pictures
/// and lets them go clears the store. A large one is known by a thing of its own, so that its pixels may go before it
/// does; it lies there in bands, so that no frame waits for all of it, and goes when that thing does.
class TextureStore {
 public:
    TextureStore() = default;
    TextureStore(const TextureStore&) = delete;
    TextureStore& operator=(const TextureStore&) = delete;
    ~TextureStore();
    /// 0 where there is no graphics card (tests without one): nothing is drawn then.
    unsigned texture_of(const drawing::Image& image);
    /// A band of a picture that is known by `by`. 0 as above, and where it is neither there nor are its pixels.
    unsigned texture_of(const drawing::Image& image, const std::shared_ptr<const void>& by, int band);
    /// Whether all of its bands are there.
    bool keeps(const drawing::Image& image, const std::shared_ptr<const void>& by) const;
    static constexpr int band_rows = 256;
    static int bands_of(const drawing::Image& image) { return (image.height + band_rows - 1) / band_rows; }
    /// The rows of the picture that a band's texture holds: its own and a neighbour's on each side, so that no seam is
    /// seen where colours are blended.
    struct Rows {
        int first, last;  ///< the last is not of them
    };
    static Rows rows_of(const drawing::Image& image, int band, bool with_neighbours);
    void enable() { enabled_ = true; }
    bool enabled() const { return enabled_; }
    /// How many pictures were handed over until now.
    std::size_t made() const { return made_; }
    /// Where there is a card.
    CardCoats& coats() { return coats_; }
    /// Those that are known by where their pixels lie, and those whose own thing has gone.
    void clear();
    /// All, as if the card had lost them.
    void lose_all();

 private:
    struct Kept {
        unsigned texture;
        const std::uint32_t* pixels;  ///< null: known by a thing of its own
        std::weak_ptr<const void> by = {};
        int band = 0;
        bool is_left() const { return pixels == nullptr && by.expired(); }
        bool is_band_of(const std::shared_ptr<const void>& one) const {
            return !by.owner_before(one) && !one.owner_before(by);
        }
    };
    template <typename Which>
    void drop(Which which);
    void keep(const Kept& kept);
    bool enabled_ = false;
    std::size_t made_ = 0;
    std::vector<Kept> kept_;
    CardCoats coats_;
};

/// A line of text as it was drawn: the box of its letters, and what it was clipped to. For tests of what is cut off and
/// what lies over what.
struct DrawnText {
    std::string words;
    drawing::Rect box, clip;
};

/// The figures of app/drawing on the screen: Painter spoken to Dear ImGui's draw list. `origin` is where the figure's
/// (0, 0) lies in the window.
class ImguiPainter : public drawing::Painter {
 public:
    /// @param drawn  where every text is noted; null: nowhere
    ImguiPainter(ImDrawList& list, const FontSet& fonts, drawing::Point origin, TextureStore& textures,
                 std::vector<DrawnText>* drawn = nullptr);
    /// The list is kept and copied: it holds triangles alone, and nothing is left to be done while a frame is drawn.
    void triangles_only() { clears_ = false; }
    /// Before each thing that is drawn or measured `between` is called, and what needs the graphics card is done by
    /// `outside`: for a list that is drawn a little at a time, on another thread than the window's.
    void pause_by(std::function<void()> between, std::function<void(const std::function<void()>&)> outside) {
        between_ = std::move(between);
        outside_ = std::move(outside);
    }

    void rect(const drawing::Rect& area, drawing::Colour fill) override;
    void outline(const drawing::Rect& area, drawing::Colour line, double width) override;
    void polyline(const std::vector<drawing::Point>& points, drawing::Colour line, double width, bool closed = false,
                  bool dashed = false) override;
    void polygon(const std::vector<std::vector<drawing::Point>>& rings, drawing::Colour fill) override;
    void disc(drawing::Point centre, double radius, drawing::Colour fill) override;
    void circle(drawing::Point centre, double radius, drawing::Colour line, double width) override;
    void image(const drawing::Image& picture, const drawing::Rect& area) override;
    /// A large picture that is known by a thing of its own.
    void image_known_by(const drawing::Image& picture, const std::shared_ptr<const void>& by,
                        const drawing::Rect& area);
    /// What was drawn until now is put on the card where a list is drawn a little at a time.
    void paint_now() {
        if (outside_) outside_([] {});
    }
    void text(drawing::Point baseline, std::string_view words, double size, drawing::Colour ink,
              drawing::Align align = drawing::Align::left, drawing::Weight weight = drawing::Weight::regular) override;
    void vertical_text(drawing::Point baseline, std::string_view words, double size, drawing::Colour ink,
                       drawing::Align align = drawing::Align::centre) override;
    double text_width(std::string_view words, double size,
                      drawing::Weight weight = drawing::Weight::regular) const override;
    void push_clip(const drawing::Rect& area) override;
    void pop_clip() override;

 private:
    void note_drawn(std::string_view words, const drawing::Rect& box);

    ImDrawList& list_;
    const FontSet& fonts_;
    drawing::Point origin_;
    TextureStore& textures_;
    std::vector<DrawnText>* drawn_;
    void pause() const {
        if (between_) between_();
    }
    bool clears_ = true;
    std::function<void()> between_;
    std::function<void(const std::function<void()>&)> outside_;
};

}  // namespace app::window
