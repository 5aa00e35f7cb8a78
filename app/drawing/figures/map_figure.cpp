#include "app/drawing/figures/map_figure.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "app/drawing/chart.h"
#include "app/drawing/content_unit.h"
#include "app/drawing/figures/map_frames.h"
#include "app/drawing/figures/sheet.h"
#include "app/drawing/numbers.h"
#include "app/words.h"
#include "models/counted.h"

namespace app::drawing {

namespace {

std::string tests_text(int count) {
    if (count == 0) return spoken(words::field_no_test);
    return models::counted(count, spoken(words::one_test), spoken(words::several_tests));
}

int last_rank(const MapFigure& figure) {
    int last = 0;
    for (const auto& field : figure.fields) last = std::max(last, field.rank.value_or(0));
    return last;
}

/// The fields that the map only numbers, in columns as far as there is height.
void draw_key(Painter& painter, const std::vector<MapKeyLine>& key, const Rect& area, const Look& look) {
    if (key.empty() || area.height < 3.0 * look.text_px) return;
    const double size = std::max(look.least_text_px, 0.8 * look.text_px), step = line_height * size;
    double top =
        paragraph(painter, area.x, area.y, spoken(words::map_key), size, area.width, look.theme.ink, Weight::bold, 2);
    double widest = 0.0;
    std::vector<std::string> lines;
    for (const MapKeyLine& line : key) {
        lines.push_back(
            spoken(words::map_key_line, line.number > 0 ? std::to_string(line.number) : "–", line.name, line.value));
        widest = std::max(widest, painter.text_width(lines.back(), size) + 1.2 * size);
    }
    const auto columns = static_cast<std::size_t>(std::max(1.0, std::floor((area.width + 1.2 * size) / widest)));
    const auto rows = static_cast<std::size_t>(std::max(0.0, std::floor((area.y + area.height - top) / step)));
    if (rows * columns < lines.size() && rows > 0) {
        const std::size_t kept = rows * columns - 1, more = lines.size() - kept;
        lines.resize(kept);
        lines.push_back(spoken(words::map_key_more, more));
    }
    const std::size_t used = std::min(rows, (lines.size() + columns - 1) / columns);
    for (std::size_t i = 0; used > 0 && i < lines.size(); ++i)
        painter.text(
            {area.x + static_cast<double>(i / used) * widest, top + static_cast<double>(i % used) * step + size},
            shortened(painter, lines[i], size, std::min(widest, area.width)), size, look.theme.ink);
}

double frame_words_height(const Look& look) {
    return 1.5 * std::max(look.least_text_px, 0.8 * look.text_px);
}

/// Where a frame lies, on a plate in its upper left corner.
void draw_frame_words(Painter& painter, const std::string& where, const Rect& canvas, const Look& look) {
    const double size = std::max(look.least_text_px, 0.8 * look.text_px), thin = look.hairline_px;
    painter.rect(
        {canvas.x + thin, canvas.y + thin, painter.text_width(where, size) + 0.8 * size, frame_words_height(look)},
        with_alpha(look.theme.paper, 0.9));
    painter.text({canvas.x + thin + 0.4 * size, canvas.y + thin + 1.05 * size}, where, size, look.theme.ink);
}

}  // namespace

ContentScale content_scale_of(const MapFigure& figure) {
    return figure.scale.value_or(content_colours(figure.limit_mg_per_kg));
}

std::optional<models::BoxM> box_of(const MapFigure& figure) {
    std::optional<models::BoxM> all;
    for (const auto& field : figure.fields) {
        if (field.outline_m.empty()) continue;
        const models::BoxM box = models::bounding_box(field.outline_m);
        if (!all) all = box;
        all = models::BoxM{std::min(all->x_min_m, box.x_min_m), std::min(all->y_min_m, box.y_min_m),
                           std::max(all->x_max_m, box.x_max_m), std::max(all->y_max_m, box.y_max_m)};
    }
    return all;
}

std::optional<std::size_t> field_under(const MapFigure& figure, const MapView& view, const Rect& canvas, Point px) {
    if (!overlap(canvas, {px.x, px.y, 1e-9, 1e-9})) return std::nullopt;
    const models::PointM place = view.to_world(px, canvas);
    std::optional<std::size_t> found;
    double found_area = 0.0;
    for (std::size_t i = 0; i < figure.fields.size(); ++i) {
        const auto& outline = figure.fields[i].outline_m;
        if (outline.empty()) continue;
        const models::BoxM box = models::bounding_box(outline);
        if (place.x_m < box.x_min_m || place.x_m > box.x_max_m || place.y_m < box.y_min_m || place.y_m > box.y_max_m)
            continue;
        if (models::side_of(outline, place) == models::Side::outside) continue;
        const double area = models::area_m2(outline);
        if (!found || area < found_area) {
            found = i;
            found_area = area;
        }
    }
    return found;
}

Colour fill_of(const MapField& field, const MapFigure& figure, const ContentScale& scale, const Theme& theme) {
    switch (figure.shows) {
        case MapShows::content:
            if (field.median_mg_per_kg) return scale.colour(*field.median_mg_per_kg, theme);
            break;
        case MapShows::exceedance:
            if (field.exceedance) return exceedance_ramp(theme).at(*field.exceedance);
            break;
        case MapShows::ranking:
            if (field.rank) {
                const int last = std::max(2, last_rank(figure));
                return ranking_ramp(theme).at(static_cast<double>(last - *field.rank) / (last - 1));
            }
            break;
    }
    return field.without == MapField::Without::other_crop ? blended(theme.ground, theme.paper, 0.55) : theme.unknown;
}

bool is_unsure(const MapField& field, const MapFigure& figure) {
    if (figure.shows == MapShows::ranking || !field.low90_mg_per_kg || !field.high90_mg_per_kg) return false;
    return *field.high90_mg_per_kg > figure.hatched_from_factor * std::max(*field.low90_mg_per_kg, 0.0);
}

std::string field_facts(const MapField& field, const MapFigure& figure) {
    if (figure.shows == MapShows::ranking)
        return field.rank           ? spoken(words::field_rank, *field.rank)
               : field.note.empty() ? spoken(words::field_no_risk)
                                    : field.note;
    if (!field.median_mg_per_kg) return field.note.empty() ? spoken(words::field_unknown) : field.note;
    std::string facts = content_and_unit_text(*field.median_mg_per_kg);
    if (field.low90_mg_per_kg && field.high90_mg_per_kg)
        facts += spoken(words::field_interval, content_interval_text(*field.low90_mg_per_kg, *field.high90_mg_per_kg));
    if (field.exceedance) facts += spoken(words::field_exceedance, percent_text(*field.exceedance));
    facts += ", " + tests_text(field.tests);
    return field.note.empty() ? facts : facts + "; " + field.note;
}

std::string field_sentence(const MapField& field, const MapFigure& figure) {
    return spoken(words::named_sentence, field.label, field_facts(field, figure));
}

void draw_map_figure(Painter& painter, const Rect& area, const MapFigure& figure, const Look& look,
                     const std::optional<MapView>& view, const MapMarks& marks) {
    const double em = look.text_px;
    SheetWords words{figure.title, figure.subtitle, {}, figure.caution};
    if (figure.shows != MapShows::ranking) words.notes = {figure.limit_text, figure.verdict};
    const Rect room = draw_sheet(painter, area, words, look);
    const auto box = box_of(figure);
    if (!box) {
        draw_empty(painter, room, spoken(words::map_no_fields), look);
        return;
    }
    Rect canvas = room, legend = room;
    double legend_end = 0.0;
    std::vector<MapKeyLine> key;  // beside the map there is room for what has none in it
    MapMarks names = marks;
    if (room.width >= 1.1 * room.height) {
        legend.width = std::clamp(0.26 * room.width, 15.0 * em, 22.0 * em);
        canvas.width = room.width - legend.width - em;
        legend.x = canvas.x + canvas.width + em;
        // The legend is set smaller rather than cut where it has little height.
        Look small = look;
        MeasuringPainter measure(painter);
        while (small.text_px > 0.7 * em && draw_map_legend(measure, legend, figure, small) > room.y + room.height)
            small.text_px -= 0.5;
        legend_end = draw_map_legend(painter, legend, figure, small);
        names.key = &key;
    } else {
        MeasuringPainter measure(painter);
        const double height = draw_map_legend(measure, {0.0, 0.0, room.width, 0.0}, figure, look);
        canvas.height = std::max(0.4 * room.height, room.height - height - 0.8 * em);
        // A district that is wider than high leaves the rest of the page empty rather than the map.
        if (!view && box->width_m() > 0.0) {
            const double needed = (room.width - 1.8 * em) * box->height_m() / box->width_m() + 4.4 * em;
            canvas.height = std::min(canvas.height, std::max(needed, 0.4 * room.height));
        }
        legend = {room.x, canvas.y + canvas.height + 0.8 * em, room.width, height};
        draw_map_legend(painter, legend, figure, look);
    }
    // The scale bar has a strip of its own below the fields.
    const double strip = 2.6 * em;
    const auto view_of = [&](const models::BoxM& shown_m, const Rect& on, double head) {
        MapView shown = fitted(shown_m, {on.x, on.y, on.width, on.height - strip - head}, 0.9 * em);
        shown.centre_m.y_m -= 0.5 * (strip - head) * shown.metres_per_px;
        return shown;
    };
    const std::vector<MapFrame> frames = view ? std::vector<MapFrame>{} : map_frames(figure, canvas, look);
    if (frames.size() < 2) {  // the usual case, or a view that is asked for
        const MapView shown = view.value_or(view_of(*box, canvas, 0.0));
        draw_map_canvas(painter, canvas, figure, shown, look, names);
        draw_scale_and_north(painter, canvas, shown, look);
    }
    for (std::size_t f = 0; frames.size() > 1 && f < frames.size(); ++f) {
        const Rect& at = frames[f].canvas;
        const double head = frame_words_height(look);  // the words of a frame stand above its fields
        const MapView shown = view_of(frames[f].box, at, head);
        names.names_within = inset({at.x, at.y + head, at.width, at.height - head}, look.hairline_px);
        draw_map_canvas(painter, at, figure_of_frame(figure, frames[f]), shown, look, names);
        draw_scale_and_north(painter, at, shown, look);
        draw_frame_words(painter, frame_words(frames, f), at, look);
    }
    if (legend_end > 0.0 && frames.size() > 1)
        legend_end = paragraph(painter, legend.x, legend_end + 0.5 * em, spoken(words::map_frames),
                               std::max(look.least_text_px, 0.88 * em), legend.width, look.theme.ink);
    draw_key(painter, key, {legend.x, legend_end + em, legend.width, room.y + room.height - legend_end - em}, look);
}

}  // namespace app::drawing
