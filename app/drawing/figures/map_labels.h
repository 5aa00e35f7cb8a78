#pragma once

#include "app/drawing/chart.h"
#include "app/drawing/figures/map_figure.h"
#include "app/drawing/figures/rings.h"

namespace app::drawing {

/// Writes a field's name and number into the roomiest place inside its outline that is still free, smaller where they
/// do not fit: both together, else the name and then the number, else nothing. Nothing is written within `rim` of the
/// outline or outside the canvas. Answers whether anything was written.
bool draw_field_label(Painter& painter, const Rings& rings, const MapField& field, const MapFigure& figure, Colour fill,
                      double rim, const Rect& canvas, const Look& look, LabelPlaces& places);

/// Writes the name and number of a field beside it, on paper, where its inside is full of marks; not on the ground of
/// `others`, where a reader would take it for theirs.
bool draw_label_beside(Painter& painter, const Rings& rings, const MapField& field, const MapFigure& figure,
                       const std::vector<const Rings*>& others, const Rect& canvas, const Look& look,
                       LabelPlaces& places);

}  // namespace app::drawing
