#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "app/drawing/painter.h"
#include "app/drawing/palette.h"

namespace app::drawing {

/// What stands around every figure: a title above, sentences below, the caution last.
struct SheetWords {
    std::string title, subtitle;
    std::vector<std::string> notes;
    std::string caution;
};
/// Writes them and answers the room that is left between them.
Rect draw_sheet(Painter& painter, const Rect& area, const SheetWords& words, const Look& look);

/// Draws nothing and measures text as another painter does: how high a block of words will be.
class MeasuringPainter final : public Painter {
 public:
    explicit MeasuringPainter(const Painter& measure) : measure_(measure) {}
    void rect(const Rect&, Colour) override {}
    void outline(const Rect&, Colour, double) override {}
    void polyline(const std::vector<Point>&, Colour, double, bool, bool) override {}
    void polygon(const std::vector<std::vector<Point>>&, Colour) override {}
    void disc(Point, double, Colour) override {}
    void circle(Point, double, Colour, double) override {}
    void image(const Image&, const Rect&) override {}
    void text(Point, std::string_view, double, Colour, Align, Weight) override {}
    void vertical_text(Point, std::string_view, double, Colour, Align) override {}
    double text_width(std::string_view words, double size, Weight weight) const override {
        return measure_.text_width(words, size, weight);
    }
    void push_clip(const Rect&) override {}
    void pop_clip() override {}

 private:
    const Painter& measure_;
};

/// A piece of a legend: draws itself from `top` downwards within `width` and answers where it ended.
using LegendBlock = std::function<double(Painter& painter, double x, double top, double width)>;
/// Sets blocks in as many columns as have `column_px` of room, the columns about as long as each other; answers the
/// lowest end.
double draw_blocks(Painter& painter, const Rect& area, const std::vector<LegendBlock>& blocks, double column_px,
                   double gap_px);
double height_of_blocks(const Painter& painter, double width, const std::vector<LegendBlock>& blocks, double column_px,
                        double gap_px);

/// A swatch with a sentence beside it.
LegendBlock swatch_block(std::function<void(Painter&, const Rect&)> swatch, std::string words, const Look& look);
/// A heading over the blocks that follow.
LegendBlock heading_block(std::string words, const Look& look);
/// A plain sentence.
LegendBlock sentence_block(std::string words, const Look& look);

/// The ramp of contents with its ticks in mg/kg and the limit as a line across it.
LegendBlock content_ramp_block(std::string title, const ContentScale& scale, std::optional<double> limit_mg_per_kg,
                               const Look& look);
/// A ramp between two words or percentages.
LegendBlock plain_ramp_block(std::string title, const Ramp& ramp,
                             std::vector<std::pair<double, std::string>> labels_at_shares, const Look& look);

}  // namespace app::drawing
