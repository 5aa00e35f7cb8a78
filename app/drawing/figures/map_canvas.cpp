#include <algorithm>
#include <cmath>
#include <iterator>
#include <numeric>
#include <tuple>

#include <fmt/format.h>

#include "app/drawing/chart.h"
#include "app/drawing/content_unit.h"
#include "app/drawing/figures/map_figure.h"
#include "app/drawing/figures/map_labels.h"
#include "app/drawing/figures/rings.h"
#include "app/drawing/figures/surface_picture.h"
#include "app/drawing/numbers.h"
#include "app/words.h"

namespace app::drawing {

namespace {

/// A closed line whose sharp corners are round: mitred they would run out far beyond the outline.
void draw_round_ring(Painter& painter, const std::vector<Point>& ring, double width, Colour colour) {
    const std::size_t n = ring.size();
    const auto is_sharp = [&](std::size_t i) {
        const Point &a = ring[(i + n - 1) % n], &b = ring[i], &c = ring[(i + 1) % n];
        const double ux = b.x - a.x, uy = b.y - a.y, vx = c.x - b.x, vy = c.y - b.y;
        return ux * vx + uy * vy < 0.35 * std::hypot(ux, uy) * std::hypot(vx, vy);
    };
    std::size_t first = 0;
    while (first < n && !is_sharp(first)) ++first;
    if (first == n) {
        painter.polyline(ring, colour, width, true);
        return;
    }
    std::vector<Point> piece = {ring[first]};
    for (std::size_t k = 1; k <= n; ++k) {
        const std::size_t i = (first + k) % n;
        piece.push_back(ring[i]);
        if (!is_sharp(i)) continue;
        painter.polyline(piece, colour, width);
        painter.disc(ring[i], 0.5 * width, colour);
        piece = {ring[i]};
    }
}

void draw_rim(Painter& painter, const models::OutlineM& outline, const Rings& rings, double width, Colour colour) {
    std::size_t number = 0;
    for (const auto& polygon : outline)
        for (std::size_t k = 0; k <= polygon.holes.size(); ++k, ++number)
            if (rings[number].size() > 2)
                draw_round_ring(painter, moved_inwards(rings[number], 0.5 * width, k > 0), width, colour);
}

double area_px(const Rings& rings) {
    double area = 0.0;
    for (const auto& ring : rings) {
        double doubled = 0.0;
        for (std::size_t i = 0, j = ring.size() - 1; i < ring.size(); j = i++)
            doubled += ring[j].x * ring[i].y - ring[i].x * ring[j].y;
        area = area == 0.0 ? 0.5 * std::abs(doubled) : std::max(0.0, area - 0.5 * std::abs(doubled));
    }
    return area;
}

double rim_width(const Rings& rings, const Look& look) {
    const Rect box = box_of_rings(rings);
    return std::min(0.36 * look.text_px, 0.1 * std::min(box.width, box.height));
}

/// Where the label of a contour covers no mark and no other label: on the line, near its middle first, else a little
/// beside it, at last on the ground beyond the field.
struct ContourLabel {
    Rect plate;
    Point on_line;
};
std::optional<ContourLabel> contour_label(const std::vector<Point>& line, double width, double height,
                                          const Rect& canvas, const LabelPlaces& places) {
    const std::size_t middle_of_line = line.size() / 2;
    for (const double beside : {0.0, 1.3, -1.3, 2.6, -2.6, 4.0, -4.0, 6.0, -6.0})
        for (std::size_t step = 0; step <= line.size(); ++step) {
            // 0, 1 back, 1 on, 2 back, ...
            const std::size_t half = (step + 1) / 2;
            if (step % 2 == 1 ? half > middle_of_line : middle_of_line + half >= line.size()) continue;
            const std::size_t i = step % 2 == 1 ? middle_of_line - half : middle_of_line + half;
            const Point &before = line[i > 0 ? i - 1 : 0], &after = line[std::min(i + 1, line.size() - 1)];
            const double length = std::max(1e-9, std::hypot(after.x - before.x, after.y - before.y));
            const Point across{-(after.y - before.y) / length, (after.x - before.x) / length};
            const Point at{line[i].x + beside * height * across.x, line[i].y + beside * height * across.y};
            const Rect plate{at.x - 0.5 * width, at.y - 0.5 * height, width, height};
            if (holds(canvas, plate) && places.is_free(plate)) return ContourLabel{plate, line[i]};
        }
    return std::nullopt;
}

void draw_contours(Painter& painter, const MapFigure& figure, const MapView& view, const Rect& canvas, const Look& look,
                   LabelPlaces& places) {
    const double size = 0.72 * look.text_px, thin = std::max(look.hairline_px, look.text_px / 15.0);
    for (const auto& contour : figure.contours) {
        const std::string level = set_content_text(contour.level_mg_per_kg);
        const double width = painter.text_width(level, size, Weight::bold) + 0.5 * size, height = 1.15 * size;
        std::vector<std::vector<Point>> lines;
        for (const auto& line : contour.lines_m) {
            std::vector<Point> points;
            for (const auto& place : line) points.push_back(view.to_px(place, canvas));
            if (points.size() < 2) continue;
            painter.polyline(points, with_alpha(look.theme.ink, 0.75), thin);
            lines.push_back(std::move(points));
        }
        const auto reach = [](const std::vector<Point>& line) {
            const Rect box = box_of_rings({line});
            return std::max(box.width, box.height);
        };
        // The longest first: a level is labelled once at least, on each of its longer lines where there is room.
        std::stable_sort(lines.begin(), lines.end(), [&](const auto& a, const auto& b) { return reach(a) > reach(b); });
        bool labelled = false;
        for (const auto& line : lines) {
            if (labelled && reach(line) < 8.0 * size) break;
            const auto label = contour_label(line, width, height, canvas, places);
            if (!label) continue;
            labelled = true;
            places.reserve(label->plate);
            const Point at = middle(label->plate);
            if (!overlap(label->plate, {label->on_line.x, label->on_line.y, 1e-9, 1e-9}))
                painter.polyline({label->on_line, at}, look.theme.ink, thin);
            painter.rect(label->plate, with_alpha(look.theme.paper, 0.92));
            painter.text({at.x, at.y + 0.36 * size}, level, size, look.theme.ink, Align::centre, Weight::bold);
        }
    }
}

/// The size of the marks in a field: smaller where they stand close, so that the colours between them are seen.
double mark_size_in(const Rings& rings, std::size_t inside, double usual, double least) {
    if (inside < 2) return usual;
    const double spacing = std::sqrt(area_px(rings) / static_cast<double>(inside));
    return std::clamp(0.14 * spacing, least, usual);
}

void mark_field(Painter& painter, const Rings& rings, const Look& look, double width) {
    for (const auto& ring : rings) painter.polyline(ring, look.theme.paper, 2.0 * width, true);
    for (const auto& ring : rings) painter.polyline(ring, look.theme.accent, width, true);
}

double selected_width(const Rings& rings, const Look& look) {
    return std::min(0.28 * look.text_px, std::max(2.0, rim_width(rings, look)));
}

/// The most that scale bar and north take at the foot of the canvas.
Rect scale_corner(const Painter& painter, const Rect& canvas, const Look& look) {
    const double em = look.text_px;
    const double words = painter.text_width(spoken(words::kilometres, "100"), 0.9 * em);
    return {canvas.x, canvas.y + canvas.height - 2.6 * em, 4.1 * em + std::min(14.0 * em, 0.3 * canvas.width) + words,
            2.6 * em};
}

/// The corner in which the map says what it leaves out; above the scale bar where both have no room side by side.
Rect left_out_corner(const Painter& painter, const Rect& within, const Rect& scale, const Look& look) {
    const double size = std::max(look.least_text_px, 0.8 * look.text_px);
    const double wanted = painter.text_width(spoken(words::map_names_left_out, 999), size) + 0.8 * size;
    const double width = std::min(within.width, wanted);
    Rect corner{within.x + within.width - width, within.y + within.height - 1.6 * size, width, 1.6 * size};
    if (overlap(corner, scale)) corner.y = scale.y - corner.height;
    return corner;
}

void draw_left_out(Painter& painter, const std::vector<MapKeyLine>& names, const Rect& corner, const Look& look) {
    if (names.empty()) return;
    const double size = std::max(look.least_text_px, 0.8 * look.text_px);
    const std::string words = names.size() == 1 ? spoken(words::map_one_name_left_out, names.front().name)
                                                : spoken(words::map_names_left_out, names.size());
    painter.rect(corner, with_alpha(look.theme.paper, 0.9));
    painter.text({corner.x + 0.4 * size, corner.y + 1.1 * size},
                 shortened(painter, words, size, corner.width - 0.8 * size), size, look.theme.ink);
}

/// Places by where they lie: of twenty thousand only those that can lie in a field are asked about.
class PlacesOnMap {
 public:
    explicit PlacesOnMap(const std::vector<Point>& places) : places_(places), by_x_(places.size()) {
        std::iota(by_x_.begin(), by_x_.end(), std::size_t{0});
        std::sort(by_x_.begin(), by_x_.end(), [&](std::size_t a, std::size_t b) {
            return std::tuple(places[a].x, a) < std::tuple(places[b].x, b);
        });
    }
    /// In ascending order.
    std::vector<std::size_t> in(const Rings& rings) const {
        const Rect box = box_of_rings(rings);
        std::vector<std::size_t> found;
        auto at = std::lower_bound(by_x_.begin(), by_x_.end(), box.x,
                                   [&](std::size_t i, double x) { return places_[i].x < x; });
        for (; at != by_x_.end() && places_[*at].x <= box.x + box.width; ++at) {
            const Point& p = places_[*at];
            if (p.y >= box.y && p.y <= box.y + box.height && inside_rings(rings, p)) found.push_back(*at);
        }
        std::sort(found.begin(), found.end());
        return found;
    }

 private:
    const std::vector<Point>& places_;
    std::vector<std::size_t> by_x_;
};

bool is_speck(const Rings& rings, const Look& look) {
    const Rect box = box_of_rings(rings);
    return std::max(box.width, box.height) < 0.5 * look.text_px;
}

Rect mark_box(Point middle_of_mark, double reach) {
    return {middle_of_mark.x - reach, middle_of_mark.y - reach, 2.0 * reach, 2.0 * reach};
}

/// So that a field far from all others does not go unseen.
void draw_speck(Painter& painter, const Rings& rings, Colour fill, const Look& look, LabelPlaces& places) {
    if (!is_speck(rings, look)) return;
    const Rect box = box_of_rings(rings);
    places.reserve(mark_box(middle(box), speck_reach(look)));
    painter.disc(middle(box), 0.26 * look.text_px, fill);
    painter.circle(middle(box), 0.26 * look.text_px, look.theme.ink, std::max(look.hairline_px, look.text_px / 15.0));
}

}  // namespace

void draw_test_mark(Painter& painter, Point place, double size, const MapTest& test,
                    const std::optional<ContentScale>& scale, const Theme& theme) {
    const double line = std::max(0.8, 0.28 * size), halo = size + line;
    const auto triangle = [&](double radius, double up) {
        return std::vector<Point>{{place.x - 1.05 * radius, place.y + up * 0.65 * radius},
                                  {place.x + 1.05 * radius, place.y + up * 0.65 * radius},
                                  {place.x, place.y - up * 1.15 * radius}};
    };
    switch (test.mark) {
        case TestMark::value:
            painter.disc(place, halo, theme.paper);
            painter.disc(place, size, theme.ink);
            painter.disc(place, size - line, scale ? scale->colour(test.don_mg_per_kg, theme) : theme.paper);
            return;
        case TestMark::below_range:
        case TestMark::above_range: {
            const bool above = test.mark == TestMark::above_range;
            const double up = above ? 1.0 : -1.0;
            painter.polygon({triangle(size + 1.8 * line, up)}, theme.paper);
            painter.polygon({triangle(size, up)}, above ? theme.ink : theme.paper);
            painter.polyline(triangle(size, up), theme.ink, line, true);
            return;
        }
        case TestMark::invalid:
            for (const auto& [width, colour] : {std::pair{3.0 * line, theme.paper}, std::pair{line, theme.ink}}) {
                const double arm = 0.75 * size;
                painter.polyline({{place.x - arm, place.y - arm}, {place.x + arm, place.y + arm}}, colour, width);
                painter.polyline({{place.x - arm, place.y + arm}, {place.x + arm, place.y - arm}}, colour, width);
            }
            return;
    }
}

void draw_map_canvas(Painter& painter, const Rect& canvas, const MapFigure& figure, const MapView& view,
                     const Look& look, const MapMarks& marks) {
    const Theme& theme = look.theme;
    const double em = look.text_px, thin = std::max(look.hairline_px, em / 15.0);
    const ContentScale scale = content_scale_of(figure);
    const Rect drawn = inset(canvas, -marks.beyond_px.value_or(0.0));
    if (!marks.beyond_px) painter.rect(canvas, theme.ground);
    painter.push_clip(drawn);

    struct Shown {
        std::size_t number;
        Rings rings;
        Colour fill;
        bool mapped;
    };
    std::vector<Shown> shown;
    for (std::size_t i = 0; i < figure.fields.size(); ++i) {
        Rings rings = rings_px(figure.fields[i].outline_m, view, canvas);
        if (rings.empty() || !overlap(drawn, box_of_rings(rings))) continue;
        shown.push_back({i, std::move(rings), fill_of(figure.fields[i], figure, scale, theme),
                         figure.surface && figure.fields[i].carries_surface && figure.shows != MapShows::ranking});
    }
    for (const auto& field : shown) painter.polygon(field.rings, field.fill);
    for (const auto& field : shown) {
        const MapField& known = figure.fields[field.number];
        if (known.without == MapField::Without::no_weather && figure.shows == MapShows::ranking)
            hatch(painter, field.rings, 0.9 * em, theme.hatch_dark, thin);
        if (field.mapped || !is_unsure(known, figure)) continue;
        const bool light = oklab_of(field.fill).lightness > 0.55;
        hatch(painter, field.rings, 0.5 * em, light ? theme.hatch_dark : theme.hatch_light, thin);
    }
    // A field that carries only its mean is set off by a rim, like a tile; a mapped one runs up to its outline.
    for (const auto& field : shown) {
        if (field.mapped || figure.shows == MapShows::ranking) continue;
        draw_rim(painter, figure.fields[field.number].outline_m, field.rings, rim_width(field.rings, look),
                 theme.paper);
    }
    if (figure.surface && figure.shows != MapShows::ranking) {
        if (marks.surface) {
            const auto& grid = figure.surface->grid;
            const Point from = view.to_px({grid.x_min_m, grid.y_max_m}, canvas);
            painter.image(*marks.surface, {from.x, from.y, grid.columns * grid.cell_m / view.metres_per_px,
                                           grid.rows * grid.cell_m / view.metres_per_px});
        } else {
            painter.image(surface_picture(figure, view, canvas, scale, theme), canvas);
        }
        for (const auto& line : surface_hatch_lines(figure, view, drawn, 0.5 * em, scale, theme))
            painter.polyline(line.ends, line.on_light ? theme.hatch_dark : theme.hatch_light, thin);
    }
    const bool any_tests =
        std::any_of(figure.fields.begin(), figure.fields.end(), [](const MapField& field) { return field.tests > 0; });
    for (const auto& field : shown)
        for (const auto& ring : field.rings)
            painter.polyline(ring, theme.ink, thin, true, any_tests && figure.fields[field.number].tests == 0);

    LabelPlaces places;
    for (const auto& field : shown) draw_speck(painter, field.rings, field.fill, look, places);
    const double mark_size = 0.34 * em;
    const Rect within = marks.names_within.value_or(inset(canvas, thin));
    // The corner of the scale bar stays free of names; it stands at the foot of what nothing lies over.
    const Rect scale_bar_corner = scale_corner(painter, {within.x, canvas.y, within.width, canvas.height}, look);
    places.reserve(scale_bar_corner);
    std::vector<Point> test_places;
    for (const auto& test : figure.tests) test_places.push_back(view.to_px(test.place_m, canvas));
    std::vector<double> mark_sizes(test_places.size(), mark_size);
    const PlacesOnMap on_map(test_places);
    std::vector<std::vector<std::size_t>> tests_in;  // of each field that is shown
    for (const auto& field : shown) {
        let_pause(painter);
        tests_in.push_back(on_map.in(field.rings));
        if (figure.fields[field.number].tests < 4) continue;
        const double size = mark_size_in(field.rings, tests_in.back().size(), mark_size, std::max(1.5, 0.09 * em));
        for (const std::size_t t : tests_in.back()) mark_sizes[t] = std::min(mark_sizes[t], size);
    }
    for (std::size_t t = 0; t < test_places.size(); ++t) {
        const Point at = test_places[t];
        const double reach = 1.25 * mark_sizes[t];
        let_pause(painter);
        if (overlap(canvas, {at.x, at.y, 1e-9, 1e-9})) places.reserve(mark_box(at, reach));
    }
    if (figure.shows == MapShows::content) draw_contours(painter, figure, view, canvas, look, places);
    std::vector<FieldToName> names;
    for (const auto& field : shown) {
        let_pause(painter);
        names.push_back({&field.rings,
                         &figure.fields[field.number],
                         field.mapped ? theme.paper : field.fill,
                         rim_width(field.rings, look),
                         field.mapped,
                         marks.selected == field.number,
                         {}});
        std::vector<FieldToName::Mark>& own = names.back().marks;
        if (is_speck(field.rings, look))
            own.push_back({mark_box(middle(box_of_rings(field.rings)), speck_reach(look)), field.number});
        for (const std::size_t t : tests_in[names.size() - 1])  // tests are drawn over all dots
            own.push_back({mark_box(test_places[t], 1.25 * mark_sizes[t]), figure.fields.size() + t});
    }
    const Rect corner = left_out_corner(painter, within, scale_bar_corner, look);
    if (marks.key == nullptr) places.reserve(corner);
    std::optional<int> numbers_from;
    if (marks.key != nullptr) {
        numbers_from = 1;
        for (const MapKeyLine& line : *marks.key) numbers_from = std::max(*numbers_from, line.number + 1);
    }
    std::vector<MapKeyLine> left_out =
        draw_field_names(painter, std::move(names), figure, within, numbers_from, look, places);
    if (marks.key != nullptr)
        std::move(left_out.begin(), left_out.end(), std::back_inserter(*marks.key));
    else
        draw_left_out(painter, left_out, corner, look);
    // Colours of contents only stand beside their ramp.
    const std::optional<ContentScale> scale_of_marks =
        figure.shows == MapShows::content ? std::optional(scale) : std::nullopt;
    for (std::size_t t = 0; t < test_places.size(); ++t) {
        const Point at = test_places[t];
        if (overlap(drawn, {at.x - 1.0, at.y - 1.0, 2.0, 2.0}))
            draw_test_mark(painter, at, mark_sizes[t], figure.tests[t], scale_of_marks, theme);
    }
    for (const auto& field : shown) {
        if (marks.selected == field.number && !marks.beyond_px)
            mark_field(painter, field.rings, look, selected_width(field.rings, look));
        else if (marks.hovered == field.number)
            mark_field(painter, field.rings, look, 0.16 * em);
    }
    painter.pop_clip();
    if (!marks.beyond_px) painter.outline(canvas, theme.soft_ink, thin);
}

void mark_hovered(Painter& painter, const Rect& canvas, const MapField& field, const MapView& view, const Look& look) {
    mark_field(painter, rings_px(field.outline_m, view, canvas), look, 0.16 * look.text_px);
}

void mark_selected(Painter& painter, const Rect& canvas, const MapField& field, const MapView& view, const Look& look) {
    const Rings rings = rings_px(field.outline_m, view, canvas);
    mark_field(painter, rings, look, selected_width(rings, look));
}

void draw_scale_and_north(Painter& painter, const Rect& canvas, const MapView& view, const Look& look) {
    const double em = look.text_px, size = 0.9 * em, line = std::max(1.5 * look.hairline_px, em / 9.0);
    const ScaleBar bar = scale_bar(view, std::min(14.0 * em, 0.3 * canvas.width));
    if (!(bar.length_px > 0.0)) return;
    const std::string words = bar.length_m >= 1000.0
                                  ? spoken(words::kilometres, axis_number_text(bar.length_m / 1000.0, 1.0))
                                  : spoken(words::metres, axis_number_text(bar.length_m, std::min(1.0, bar.length_m)));
    const double words_width = painter.text_width(words, size);
    const double floor_y = canvas.y + canvas.height - 0.55 * em, left = canvas.x + 0.8 * em;
    const double bar_left = left + 2.0 * em;
    const double plate_top = floor_y - 1.85 * em;
    painter.rect({canvas.x, plate_top, bar_left - canvas.x + bar.length_px + words_width + 1.3 * em,
                  canvas.y + canvas.height - plate_top},
                 with_alpha(look.theme.paper, 0.9));
    // North is up: a needle, its right half open.
    const Point tip{left + 0.55 * em, floor_y - 1.6 * em};
    const Point notch{tip.x, floor_y - 0.45 * em};
    painter.polygon({{tip, {tip.x - 0.5 * em, floor_y - 0.05 * em}, notch}}, look.theme.ink);
    painter.polyline({tip, {tip.x + 0.5 * em, floor_y - 0.05 * em}, notch}, look.theme.ink,
                     std::max(look.hairline_px, 0.5 * line), true);
    painter.text({tip.x + 0.75 * em, floor_y - 0.9 * em}, spoken(words::north), 0.8 * em, look.theme.ink, Align::centre,
                 Weight::bold);
    const double y = floor_y - 0.35 * em, foot = 0.4 * em;
    painter.polyline(
        {{bar_left, y - foot}, {bar_left, y}, {bar_left + bar.length_px, y}, {bar_left + bar.length_px, y - foot}},
        look.theme.ink, line);
    painter.text({bar_left + bar.length_px + 0.5 * em, y}, words, size, look.theme.ink);
}

}  // namespace app::drawing
