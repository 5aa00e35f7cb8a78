#pragma once

#include <optional>
#include <vector>

#include "app/drawing/chart.h"
#include "app/drawing/figures/map_figure.h"
#include "app/drawing/figures/rings.h"

namespace app::drawing {

/// A field whose name is to be written.
struct FieldToName {
    const Rings* rings = nullptr;
    const MapField* field = nullptr;
    Colour fill;
    double rim = 0.0;     ///< nothing is written so near to the outline
    bool mapped = false;  ///< what changes inside it is not to be covered
    bool chosen = false;  ///< named before all others
    /// Its dot and its tests; of marks that cover one another the one of the highest order is seen.
    struct Mark {
        Rect box;
        std::size_t order = 0;
    };
    std::vector<Mark> marks = {};
};

/// For steps that take long without drawing anything: a painter that draws a little at a time may leave off wherever it
/// is asked for a measure.
inline void let_pause(const Painter& painter) {
    painter.text_width("", 1.0);
}

/// Half the side of the square that a field keeps free where it is too small to be seen as more than a dot.
inline double speck_reach(const Look& look) {
    return 0.34 * look.text_px;
}

/// Writes the names of all fields by one rule: the name and below it the number, where one is known, both or neither.
/// They stand in the roomiest free place of the field; where they do not fit there, on free ground near it at the end
/// of a thin line that leads into it (without the line where no other field is as near). Fields over the limit come
/// first, then the highest, then those without a number. Nothing is written outside `within`, on what `places` holds,
/// or on the ground of another field.
/// A line never ends on, or crosses, what is seen of another field's dot or tests; a field that they cover goes
/// without.
/// @param numbers_from  a small number, from this on, is written into each field for whose name there is no room; none:
///   no numbers
/// @returns those fields, in that order
std::vector<MapKeyLine> draw_field_names(Painter& painter, std::vector<FieldToName> fields, const MapFigure& figure,
                                         const Rect& within, std::optional<int> numbers_from, const Look& look,
                                         LabelPlaces& places);

}  // namespace app::drawing
