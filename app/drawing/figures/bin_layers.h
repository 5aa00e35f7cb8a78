#pragma once

#include <vector>

#include "app/drawing/chart.h"
#include "app/drawing/figures/bins_figure.h"

namespace app::drawing {

constexpr double name_pitch = 1.2;       // from name to name, in sizes of it
constexpr double name_indent_em = 0.55;  // of a name beside its layer, for the line that leads to it

/// One bin with its words: a heading above, the body with the layers, the intervals beside it, sentences below. Between
/// body and intervals stand the names of the layers where some layer is too thin for its own.
struct BinCell {
    Rect area, body, names, strip;
};

/// The layers of a bin as they are drawn.
struct DrawnLayer {
    BinLayer grain;
    Rect band;
    double row_y = 0.0;  ///< the middle of its name and of its interval
    bool named = true;
};
struct LayerStack {
    std::vector<DrawnLayer> layers;
    double name_px = 0.0;
    bool names_beside = false;
    bool numbers = true;  ///< the content stands beside each name
    int unnamed = 0;
};

double mass_of(const BinDrawing& bin);

/// The smallest that the name of a layer is written.
double least_name_px(const Look& look);

/// What is drawn from the floor up: the layers, or one block where the grain lies mixed or its order is not known.
std::vector<BinLayer> blocks_of(const BinDrawing& bin);

/// Whether some layer is too thin to carry its own name, so that all names stand beside the layers.
bool wants_names_beside(const BinDrawing& bin, const Rect& body, const Look& look);

/// Where each layer of a bin, its name and its interval stand.
LayerStack stack_of(const Painter& painter, const BinDrawing& bin, const BinCell& cell, const Look& look);

/// The layers with their names, and the interval of each on the axis beside them.
void draw_layers(Painter& painter, const BinDrawing& bin, const BinCell& cell, const ContentScale& scale,
                 const Scale& axis, const Look& look);

/// A load that is not in the bin yet, where it would lie: dashed and hatched, with its name and its interval.
void draw_would_be(Painter& painter, const BinDrawing& bin, const BinCell& cell, const ContentScale& scale,
                   const Scale& axis, const Look& look);

/// The layer that the pointer is on, by its band or by its name; null where there is none.
const BinLayer* layer_under(const LayerStack& stack, const BinCell& cell, Point px);

}  // namespace app::drawing
