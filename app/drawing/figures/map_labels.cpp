#include "app/drawing/figures/map_labels.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "app/drawing/numbers.h"

namespace app::drawing {

namespace {

struct LabelLine {
    std::string words;
    Weight weight = Weight::regular;
};

/// A place in a field and how far it is from the nearest edge.
struct Candidate {
    Point place;
    double room = 0.0;
};

/// Places inside the rings and the canvas, the roomiest first.
std::vector<Candidate> candidates_in(const Rings& rings, const Rect& canvas) {
    const Rect box = box_of_rings(rings);
    const double left = std::max(box.x, canvas.x), right = std::min(box.x + box.width, canvas.x + canvas.width);
    const double top = std::max(box.y, canvas.y), floor_y = std::min(box.y + box.height, canvas.y + canvas.height);
    std::vector<Candidate> candidates;
    if (right <= left || floor_y <= top) return candidates;
    const auto steps = [](double length_px) { return std::clamp(static_cast<int>(length_px / 5.0), 3, 17); };
    const int rows = steps(floor_y - top), columns = steps(right - left);
    for (int row = 0; row < rows; ++row)
        for (int column = 0; column < columns; ++column) {
            const Point p{left + (right - left) * (column + 0.5) / columns, top + (floor_y - top) * (row + 0.5) / rows};
            if (inside_rings(rings, p)) candidates.push_back({p, distance_to_rings(rings, p)});
        }
    std::stable_sort(candidates.begin(), candidates.end(),
                     [](const Candidate& a, const Candidate& b) { return a.room > b.room; });
    return candidates;
}

struct LabelSeeker {
    Painter& painter;
    const Rings& rings;
    Rect box;  ///< of the rings
    Colour fill;
    double rim = 0.0;
    const Rect& canvas;
    const Look& look;
    LabelPlaces& places;
    std::vector<Candidate> candidates;
    bool sought = false;

    std::optional<Point> place_for(double width, double height) {
        if (box.width < width + 2.0 * rim || box.height < height + 2.0 * rim) return std::nullopt;
        if (!sought) {
            candidates = candidates_in(rings, canvas);
            sought = true;
        }
        const double half_diagonal = 0.5 * std::hypot(width, height) + rim;
        for (const auto& candidate : candidates) {
            if (candidate.room < 0.5 * height + rim) break;
            const Rect plate{candidate.place.x - 0.5 * width, candidate.place.y - 0.5 * height, width, height};
            if (!holds(canvas, plate) || !places.is_free(plate)) continue;
            if (candidate.room >= half_diagonal || box_inside(rings, inset(plate, -rim))) return candidate.place;
        }
        return std::nullopt;
    }

    /// @param least_share  the smallest size, in sizes of running text
    bool write(const std::vector<LabelLine>& lines, double least_share) {
        for (const double share : {0.9, 0.8, 0.7, 0.62}) {
            const double size = share * look.text_px;
            if (share < least_share || size < look.least_text_px) return false;
            double width = 0.0;
            for (const auto& line : lines) width = std::max(width, painter.text_width(line.words, size, line.weight));
            const double step = 1.15 * size, height = step * static_cast<double>(lines.size());
            const auto place = place_for(width + 0.4 * size, height + 0.1 * size);
            if (!place) continue;
            const Rect plate{place->x - 0.5 * width - 0.2 * size, place->y - 0.5 * height - 0.05 * size,
                             width + 0.4 * size, height + 0.1 * size};
            places.reserve(plate);
            painter.rect(plate, with_alpha(fill, 0.78));
            double y = place->y - 0.5 * height + 0.88 * size;
            for (const auto& line : lines) {
                painter.text({place->x, y}, line.words, size, readable_ink_on(fill), Align::centre, line.weight);
                y += step;
            }
            return true;
        }
        return false;
    }
};

std::string number_of(const MapField& field, const MapFigure& figure) {
    switch (figure.shows) {
        case MapShows::content:
            return field.median_mg_per_kg ? number_text(*field.median_mg_per_kg) : "";
        case MapShows::exceedance:
            return field.exceedance ? short_percent_text(*field.exceedance) : "";
        case MapShows::ranking:
            return field.rank ? fmt::format("{}.", *field.rank) : "";
    }
    return "";
}

}  // namespace

bool draw_field_label(Painter& painter, const Rings& rings, const MapField& field, const MapFigure& figure, Colour fill,
                      double rim, const Rect& canvas, const Look& look, LabelPlaces& places) {
    const LabelLine number{number_of(field, figure), Weight::bold}, name{field.label, Weight::regular};
    LabelSeeker seeker{painter, rings, box_of_rings(rings), fill, rim, canvas, look, places, {}, false};
    if (std::min(seeker.box.width, seeker.box.height) < look.least_text_px) return false;
    if (!number.words.empty() && !name.words.empty() && seeker.write({name, number}, 0.7)) return true;
    // A colour already tells the number roughly; only the name says which field it is.
    bool written = false;
    for (const LabelLine& line : {name, number}) written |= !line.words.empty() && seeker.write({line}, 0.62);
    return written;
}

bool draw_label_beside(Painter& painter, const Rings& rings, const MapField& field, const MapFigure& figure,
                       const std::vector<const Rings*>& others, const Rect& canvas, const Look& look,
                       LabelPlaces& places) {
    const double size = 0.9 * look.text_px, gap = 0.4 * size;
    const std::string number = number_of(field, figure), words = field.label + (number.empty() ? "" : "  ");
    const double name_width = painter.text_width(words, size, Weight::bold);
    const double width = name_width + painter.text_width(number, size) + 0.6 * size, height = 1.3 * size;
    const Rect box = box_of_rings(rings);
    const double left = box.x - gap - width, right = box.x + box.width + gap, middle_x = box.x + 0.5 * box.width;
    std::vector<Rect> plates = {{middle_x - 0.5 * width, box.y - gap - height, width, height},
                                {middle_x - 0.5 * width, box.y + box.height + gap, width, height}};
    for (const double share : {0.5, 0.25, 0.75, 0.0, 1.0}) {
        const double y = box.y + share * box.height - 0.5 * height;
        plates.push_back({right, y, width, height});
        plates.push_back({left, y, width, height});
    }
    // Free ground first; then over a neighbour's edge rather than no name at all.
    for (const bool free_ground : {true, false}) {
        for (const Rect& plate : plates) {
            if (!holds(canvas, plate) || !places.is_free(plate)) continue;
            const bool covers = std::any_of(others.begin(), others.end(), [&](const Rings* other) {
                return other != &rings && overlap(plate, box_of_rings(*other));
            });
            if (free_ground && covers) continue;
            places.reserve(plate);
            painter.rect(plate, with_alpha(look.theme.paper, 0.9));
            const double baseline = plate.y + 0.95 * size;
            painter.text({plate.x + 0.3 * size, baseline}, words, size, look.theme.ink, Align::left, Weight::bold);
            painter.text({plate.x + 0.3 * size + name_width, baseline}, number, size, look.theme.ink);
            return true;
        }
    }
    return false;
}

}  // namespace app::drawing
