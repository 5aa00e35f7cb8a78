#pragma once

#include <cstdint>
#include <string_view>
#include <vector>

namespace app::drawing {

struct Point {
    double x = 0.0, y = 0.0;
};  ///< pixels, y downwards
struct Rect {
    double x = 0.0, y = 0.0, width = 0.0, height = 0.0;
};
struct Colour {
    std::uint8_t red = 0, green = 0, blue = 0, alpha = 255;
};
enum class Align { left, centre, right };
enum class Weight { regular, bold };

/// A picture of numbers already coloured: row 0 on top.
struct Image {
    int width = 0, height = 0;
    std::vector<std::uint32_t> rgba;  ///< 0xAABBGGRR, not premultiplied
};

/// Where a figure is drawn: screen, PNG or PDF (Cairo), SVG with real text. A figure is written once against this and
/// looks the same everywhere. Sizes are pixels of the picture; text is placed by its baseline.
class Painter {
 public:
    virtual ~Painter() = default;

    virtual void rect(const Rect& area, Colour fill) = 0;
    virtual void outline(const Rect& area, Colour line, double width) = 0;
    virtual void polyline(const std::vector<Point>& points, Colour line, double width, bool closed = false,
                          bool dashed = false) = 0;
    /// Rings filled by the even-odd rule, so that a second ring inside the first is a hole.
    virtual void polygon(const std::vector<std::vector<Point>>& rings, Colour fill) = 0;
    virtual void disc(Point centre, double radius, Colour fill) = 0;
    virtual void circle(Point centre, double radius, Colour line, double width) = 0;
    virtual void image(const Image& picture, const Rect& area) = 0;
    virtual void text(Point baseline, std::string_view words, double size, Colour ink, Align align = Align::left,
                      Weight weight = Weight::regular) = 0;
    /// Reads upwards: turned a quarter to the left about its baseline point.
    virtual void vertical_text(Point baseline, std::string_view words, double size, Colour ink,
                               Align align = Align::centre) = 0;
    virtual double text_width(std::string_view words, double size, Weight weight = Weight::regular) const = 0;

    virtual void push_clip(const Rect& area) = 0;
    virtual void pop_clip() = 0;
};

}  // namespace app::drawing
