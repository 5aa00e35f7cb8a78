#pragma once

#include <vector>

#include "app/drawing/figures/map_figure.h"

namespace app::drawing {

/// A piece of a map sheet that shows some of the fields at a scale of its own.
struct MapFrame {
    Rect canvas;
    models::BoxM box;
    std::vector<std::size_t> fields;  ///< indices into MapFigure::fields
};

/// How a sheet shows its fields: in one frame, unless they would be no more than dots in it and lie in groups far
/// apart; then groups have frames of their own wherever that shows the fields larger, the northern above the southern,
/// the western before the eastern. Ours: dots are fields of under 1.6 letters' height in the median, a field of 6 is
/// seen well; far apart is a gap of three tenths of the box around both groups or more; a frame more is worth fields
/// larger by 15 % on the whole, and at least 15 letters wide and high.
std::vector<MapFrame> map_frames(const MapFigure& figure, const Rect& canvas, const Look& look);

/// The figure with the outlines and tests of one frame alone, all else as it is.
MapFigure figure_of_frame(const MapFigure& figure, const MapFrame& frame);

/// Which frame it is and where it lies: "A" of the first, "B: 52 km south-east of A" of the second.
std::string frame_words(const std::vector<MapFrame>& frames, std::size_t number);

}  // namespace app::drawing
