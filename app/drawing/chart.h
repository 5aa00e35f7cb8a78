#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "app/drawing/axis.h"
#include "app/drawing/painter.h"
#include "app/drawing/palette.h"

namespace app::drawing {

Rect inset(const Rect& area, double margin);
bool overlap(const Rect& a, const Rect& b);
bool holds(const Rect& outer, const Rect& inner);
Point middle(const Rect& area);
/// The value, moved to the nearer end where it lies outside; `low` where there is no room between the ends.
double kept_between(double value, double low, double high);

/// The box that a line of text fills: the height of capitals and descenders about its baseline.
Rect text_box(const Painter& painter, Point baseline, std::string_view words, double size, Align align, Weight weight);

/// Words broken into lines that are no wider; a word that is wider by itself is broken. Line feeds are kept.
std::vector<std::string> wrapped(const Painter& painter, std::string_view words, double size, double width,
                                 Weight weight = Weight::regular);
/// Cut at the end with "…" where it would be wider.
std::string shortened(const Painter& painter, std::string_view words, double size, double width,
                      Weight weight = Weight::regular);
/// Draws wrapped lines downwards from `top` and answers where the next line would begin. At most `lines` lines; the
/// last is shortened.
double paragraph(Painter& painter, double x, double top, std::string_view words, double size, double width, Colour ink,
                 Weight weight = Weight::regular, int lines = 1000);
inline constexpr double line_height = 1.35;  ///< in sizes of the text

/// Places for labels along a line, each as near to where it is wanted as the gap between neighbours allows (the least
/// sum of squared moves; pool adjacent violators) and none beyond the ends. Wanted places come in order; where there is
/// no room for all the gap is smaller.
std::vector<double> spread_apart(const std::vector<double>& wanted, double gap, double low, double high);

/// Keeps labels apart: the first to claim a place has it.
class LabelPlaces {
 public:
    bool claim(const Rect& box);  ///< false, and nothing changes, where it would touch another
    bool is_free(const Rect& box) const;
    void reserve(const Rect& box);

 private:
    static constexpr double square_px = 48.0;  // boxes are looked for by the squares of the picture that they touch
    std::unordered_map<std::int64_t, std::vector<Rect>> taken_;
};

struct Axis {
    std::string title;  ///< with its unit: "DON, mg/kg (logarithmic)"
    Scale scale;
    std::vector<Tick> ticks;
};
/// Room that the labels of the axes need around the plot: left, bottom.
struct FrameRoom {
    double left = 0.0, bottom = 0.0;
};
FrameRoom frame_room(const Painter& painter, const std::vector<Tick>& left_ticks, const Look& look);
/// Grid lines, ticks, labels that leave each other room, titles and the frame itself. The scales of the axes already
/// point into `plot`.
void draw_frame(Painter& painter, const Rect& plot, const Axis& bottom, const Axis& left, const Look& look);

/// A sentence in the middle of an area, where there is nothing to draw.
void draw_empty(Painter& painter, const Rect& area, std::string_view sentence, const Look& look);

/// Lines at 45 degrees inside rings (even-odd), `spacing` apart and fixed to the picture, not to the ring, so that
/// neighbours match.
std::vector<std::vector<Point>> hatch_lines(const std::vector<std::vector<Point>>& rings, double spacing);
void hatch(Painter& painter, const std::vector<std::vector<Point>>& rings, double spacing, Colour line, double width);

/// An interval as a bar: thick from low50 to high50 where they are known, thin from low90 to high90, a dot at the
/// median.
struct Interval {
    double median = 0.0;
    double low90 = 0.0, high90 = 0.0;
    double low50 = 0.0, high50 = 0.0;  ///< both 0: not given
};
void draw_interval(Painter& painter, const Scale& scale, double y, double thickness, const Interval& interval,
                   Colour fill, const Look& look);

}  // namespace app::drawing
