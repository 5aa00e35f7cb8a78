#pragma once

#include "app/drawing/chart.h"
#include "app/drawing/figures/map_figure.h"
#include "app/drawing/figures/rings.h"

namespace app::drawing {

/// Writes a field's name and number into the roomiest place inside its outline that is still free, smaller where they
/// do not fit: both together, else the number and then the name, else nothing. Nothing is written within `rim` of the
/// outline or outside the canvas.
void draw_field_label(Painter& painter, const Rings& rings, const MapField& field, const MapFigure& figure, Colour fill,
                      double rim, const Rect& canvas, const Look& look, LabelPlaces& places);

}  // namespace app::drawing
