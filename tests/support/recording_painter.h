#pragma once

#include <algorithm>
#include <string>
#include <vector>

#include "app/drawing/chart.h"
#include "app/drawing/fonts.h"
#include "app/drawing/painter.h"

namespace support {

/// A painter that keeps what was asked of it, so that a test can judge a figure without looking at pixels.
class RecordingPainter final : public app::drawing::Painter {
 public:
    using Colour = app::drawing::Colour;
    using Point = app::drawing::Point;
    using Rect = app::drawing::Rect;

    struct Text {
        std::string words;
        Rect box;   ///< what the letters cover
        Rect clip;  ///< the clip they are drawn under; without width: none
        double size = 0.0;
    };
    struct Filled {
        Rect area;
        Colour fill;
    };
    struct Line {
        std::vector<Point> points;
        Colour colour;
        bool dashed = false;
    };

    std::vector<Text> texts;
    std::vector<Filled> rects;
    std::vector<Line> lines;
    std::vector<Colour> polygons;
    int discs = 0, circles = 0, images = 0, outlines = 0;
    int open_clips() const { return static_cast<int>(clips_.size()); }

    void rect(const Rect& area, Colour fill) override { rects.push_back({area, fill}); }
    void outline(const Rect&, Colour, double) override { ++outlines; }
    void polyline(const std::vector<Point>& points, Colour line, double, bool, bool dashed) override {
        lines.push_back({points, line, dashed});
    }
    void polygon(const std::vector<std::vector<Point>>&, Colour fill) override { polygons.push_back(fill); }
    void disc(Point, double, Colour) override { ++discs; }
    void circle(Point, double, Colour, double) override { ++circles; }
    void image(const app::drawing::Image&, const Rect&) override { ++images; }
    void text(Point baseline, std::string_view words, double size, Colour, app::drawing::Align align,
              app::drawing::Weight weight) override {
        texts.push_back({std::string(words), text_box(*this, baseline, words, size, align, weight), clip(), size});
    }
    void vertical_text(Point baseline, std::string_view words, double size, Colour,
                       app::drawing::Align align) override {
        const Rect flat = text_box(*this, {0.0, 0.0}, words, size, align, app::drawing::Weight::regular);
        texts.push_back({std::string(words),
                         {baseline.x + flat.y, baseline.y - flat.x - flat.width, flat.height, flat.width},
                         clip(),
                         size});
    }
    double text_width(std::string_view words, double size, app::drawing::Weight weight) const override {
        return app::drawing::width_of(words, size, weight);
    }
    void push_clip(const Rect& area) override { clips_.push_back(area); }
    void pop_clip() override { clips_.pop_back(); }

    /// All words in the order in which they were written, lines joined by a space.
    std::string all_words() const {
        std::string all;
        for (const auto& text : texts) all += text.words + " ";
        return all;
    }
    bool says(std::string_view words) const { return all_words().find(words) != std::string::npos; }

    std::vector<std::string> texts_outside(const Rect& picture) const {
        std::vector<std::string> found;
        for (const auto& text : texts)
            if (!holds(picture, text.box) || (text.clip.width > 0.0 && !holds(text.clip, text.box)))
                found.push_back(text.words);
        return found;
    }
    std::vector<std::string> texts_over_each_other() const {
        std::vector<std::string> found;
        for (std::size_t i = 0; i < texts.size(); ++i)
            for (std::size_t j = 0; j < i; ++j)
                if (overlap(texts[i].box, texts[j].box)) found.push_back(texts[j].words + " | " + texts[i].words);
        return found;
    }

 private:
    Rect clip() const { return clips_.empty() ? Rect{} : clips_.back(); }
    std::vector<Rect> clips_;
};

}  // namespace support
