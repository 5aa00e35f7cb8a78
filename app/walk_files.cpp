#include "app/walk_files.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "app/cautions.h"
#include "app/drawing/cairo_painter.h"
#include "app/drawing/chart.h"
#include "app/drawing/code.h"
#include "app/drawing/figures/map_figure.h"
#include "app/drawing/figures/sheet.h"
#include "app/drawing/map_view.h"
#include "geo/vector_file.h"
#include "models/counted.h"
#include "models/error.h"
#include "models/spoken.h"

namespace app {

using namespace drawing;

std::string way_in_words(double length_m) {
    return length_m >= 1000.0 ? fmt::format("{:.1f} km", length_m / 1000.0) : fmt::format("{:.0f} m", length_m);
}

std::vector<geo::PointDeg> places_of(const FieldWalk& walk, const geo::WorkSystem& work) {
    std::vector<geo::PointDeg> places;
    for (const models::PointM& stop : walk.walk.stops) {
        const auto [longitude, latitude] = work.to_degrees(stop);
        places.push_back({longitude, latitude});
    }
    return places;
}

namespace walk_drawing {

constexpr double margin_pt = 40.0, text_pt = 9.0;
constexpr int labels = 2;  // so wide that the bars of a long code can be printed and read

}  // namespace walk_drawing

std::string what_to_take(const FieldWalk& walk, const WalkSettings& settings) {
    const auto stops = static_cast<int>(walk.walk.stops.size());
    return models::phrase(
        "At each of the {}, cut {} within arm's reach, as they come and not the bad ones: {} in one bag, sample {}. "
        "The way past them is {}; {:.0f} m of headland are kept off. No place is farther than {:.0f} m from a stop "
        "({:.0f} m on average).",
        models::counted(stops, models::phrase("stop"), models::phrase("stops")),
        models::counted(settings.heads_a_stop, spoken(word("of wheat", "head")), spoken(word("of wheat", "heads"))),
        stops * settings.heads_a_stop, walk.sample, way_in_words(walk.walk.length_m), walk.walk.headland_m,
        walk.walk.farthest_m, walk.walk.mean_distance_m);
}

void draw_walk_map(Painter& painter, const Rect& area, const FieldWalk& walk, const Look& look) {
    const Theme& theme = look.theme;
    painter.rect(area, theme.ground);
    painter.push_clip(area);
    const MapView view = fitted(models::bounding_box(walk.outline->outline_m), area, 26.0);
    painter.polygon(rings_px(walk.outline->outline_m, view, area), theme.paper);
    for (const auto& ring : rings_px(walk.outline->outline_m, view, area)) painter.polyline(ring, theme.ink, 1.0, true);
    for (const models::OutlineM& kept : walk.keep_out) {
        const auto rings = rings_px(kept, view, area);
        hatch(painter, rings, 5.0, theme.soft_ink, 0.5);
        for (const auto& ring : rings) painter.polyline(ring, theme.soft_ink, 0.5, true);
    }
    std::vector<Point> way;
    for (const models::PointM& stop : walk.walk.stops) way.push_back(view.to_px(stop, area));
    painter.polyline(way, theme.accent, 1.2);
    const double radius = 0.85 * look.text_px;
    for (std::size_t i = 0; i < way.size(); ++i) {
        painter.disc(way[i], radius, theme.accent);
        painter.text({way[i].x, way[i].y + 0.35 * look.text_px}, std::to_string(i + 1), look.text_px,
                     readable_ink_on(theme.accent), Align::centre, Weight::bold);
    }
    painter.pop_clip();
    draw_scale_and_north(painter, area, view, look);
    painter.outline(area, theme.line, 0.5);
}

namespace walk_drawing {

/// Where each stop is, in as many columns as fit.
void draw_places(Painter& painter, const Rect& area, const std::vector<geo::PointDeg>& places, const Look& look) {
    const double row_pt = 1.35 * look.text_px;
    const int rows = std::max(1, static_cast<int>(area.height / row_pt) - 1);
    const int columns = (static_cast<int>(places.size()) + rows - 1) / rows;
    const double width = area.width / std::max(3, columns);
    for (std::size_t i = 0; i < places.size(); ++i) {
        const int column = static_cast<int>(i) / rows, row = static_cast<int>(i) % rows;
        const double x = area.x + column * width;
        if (row == 0) {
            painter.text({x, area.y + look.text_px}, models::phrase("stop"), look.text_px, look.theme.soft_ink);
            painter.text({x + 3.2 * look.text_px, area.y + look.text_px}, models::phrase("latitude, longitude"),
                         look.text_px, look.theme.soft_ink);
        }
        const double y = area.y + look.text_px + (row + 1) * row_pt;
        painter.text({x + 2.0 * look.text_px, y}, std::to_string(i + 1), look.text_px, look.theme.ink, Align::right,
                     Weight::bold);
        painter.text({x + 3.2 * look.text_px, y},
                     fmt::format("{:.5f}, {:.5f}", places[i].latitude_deg, places[i].longitude_deg), look.text_px,
                     look.theme.ink);
    }
}

void draw_label(Painter& painter, const Rect& area, const FieldWalk& walk, const Look& look) {
    painter.outline(area, look.theme.line, 0.5);
    const double qr = area.height - 8.0;
    draw_code(painter, {area.x + area.width - qr - 4.0, area.y + 4.0, qr, qr}, walk.sample, CodeKind::qr);
    const double left = area.x + 6.0, width = area.width - qr - 14.0;
    painter.push_clip(area);
    painter.text({left, area.y + 13.0}, walk.sample, look.text_px, look.theme.ink, Align::left, Weight::bold);
    painter.text({left, area.y + 24.0}, models::phrase("field {}", walk.name), 0.85 * look.text_px, look.theme.ink);
    painter.text({left, area.y + 34.0}, models::phrase("taken ...................."), 0.85 * look.text_px,
                 look.theme.soft_ink);
    painter.pop_clip();
    draw_code(painter, {left - 4.0, area.y + 40.0, width, area.height - 46.0}, walk.sample, CodeKind::code_128);
}

std::string file_of(const FieldWalk& walk) {
    const std::string code = walk.sample;  // plain letters already
    const std::size_t first = code.find('-') + 1, last = code.rfind('-');
    return fmt::format("walk-{:02}-{}.gpx", walk.rank, code.substr(first, last - first));
}

void write_gpx(const std::filesystem::path& file, const FieldWalk& walk, const geo::WorkSystem& work) {
    using geo::ColumnKind;
    geo::VectorLayer stops{"waypoints", {{"name", ColumnKind::text}, {"desc", ColumnKind::text}}, {}, {}};
    for (std::size_t i = 0; i < walk.walk.stops.size(); ++i) {
        stops.features.push_back(
            {walk.walk.stops[i],
             {fmt::format("{} {}", walk.field, i + 1),
              models::phrase("stop {} of {}, sample {}", i + 1, walk.walk.stops.size(), walk.sample)}});
    }
    geo::VectorLayer way{"routes", {{"name", ColumnKind::text}, {"desc", ColumnKind::text}}, {}, {}};
    way.features.push_back(
        {walk.walk.stops, {walk.name, models::phrase("way past the stops of sample {}", walk.sample)}});
    geo::write_vector_file(file, {stops, way}, work);
}

geo::VectorLayer stops_of_all(const FieldWalks& walks) {
    using geo::ColumnKind;
    geo::VectorLayer layer{"stops",
                           {{"field", ColumnKind::text},
                            {"part", ColumnKind::text},
                            {"sample", ColumnKind::text},
                            {"rank", ColumnKind::whole_number},
                            {"stop", ColumnKind::whole_number},
                            {"stops", ColumnKind::whole_number}},
                           {},
                           {}};
    for (const FieldWalk& walk : walks.walks) {
        for (std::size_t i = 0; i < walk.walk.stops.size(); ++i) {
            layer.features.push_back({walk.walk.stops[i],
                                      {walk.field, walk.part, walk.sample, static_cast<long long>(walk.rank),
                                       static_cast<long long>(i + 1), static_cast<long long>(walk.walk.stops.size())}});
        }
    }
    return layer;
}

}  // namespace walk_drawing

void draw_walk_page(Painter& painter, const Rect& page, const FieldWalk& walk, const WalkSettings& settings,
                    const std::vector<geo::PointDeg>& places) {
    using namespace walk_drawing;
    const Look look = page_look(text_pt);
    const Rect inside{page.x + margin_pt, page.y + margin_pt, page.width - 2.0 * margin_pt,
                      page.height - 2.0 * margin_pt};
    SheetWords words;
    words.title = models::phrase("Walk {}: field {}", walk.rank, walk.name);
    words.subtitle = models::phrase("sample {}, {:.1f} ha", walk.sample, walk.outline->area_ha);
    words.notes = {what_to_take(walk, settings)};
    words.caution = models::phrase("Mouldy heads and dust: protect your breathing.") + " " + spoken(caution::screening);
    const Rect room = draw_sheet(painter, inside, words, look);
    const double label_pt = 82.0, gap_pt = 10.0;
    const Rect label_row{room.x, room.y + room.height - label_pt, room.width, label_pt};
    const double list_pt =
        std::min(0.3 * room.height, 1.35 * look.text_px * (2.0 + std::ceil(static_cast<double>(places.size()) / 3.0)));
    // No higher than the field needs: the list follows the map.
    const models::BoxM box = models::bounding_box(walk.outline->outline_m);
    const double most_pt = label_row.y - room.y - list_pt - 2.0 * gap_pt;
    const double map_pt =
        std::clamp(room.width * box.height_m() / std::max(box.width_m(), 1.0) + 60.0, 0.3 * most_pt, most_pt);
    draw_walk_map(painter, {room.x, room.y, room.width, map_pt}, walk, look);
    if (!places.empty()) draw_places(painter, {room.x, room.y + map_pt + gap_pt, room.width, list_pt}, places, look);
    const double width = (room.width - (labels - 1) * gap_pt) / labels;
    for (int k = 0; k < labels; ++k)
        draw_label(painter, {label_row.x + k * (width + gap_pt), label_row.y, width, label_pt}, walk, look);
}

std::vector<std::string> write_walk_files(const SeasonView& view, const FieldWalks& walks, const WalkSettings& settings,
                                          const std::filesystem::path& folder) {
    using namespace walk_drawing;
    std::error_code error;
    std::filesystem::create_directories(folder, error);
    if (error || !std::filesystem::is_directory(folder))
        throw models::Error(models::phrase("the folder cannot be made ({})", error.message()), folder.string());
    const geo::WorkSystem& work = *view.data.work;  // there are outlines
    std::vector<std::string> files;
    std::vector<PdfPage> pages;
    for (const FieldWalk& walk : walks.walks) {
        files.push_back(file_of(walk));
        write_gpx(folder / files.back(), walk, work);
        PdfPage page;
        const double width = page.width, height = page.height;
        page.draw = [&settings, &walk, places = places_of(walk, work), width, height](Painter& painter) {
            draw_walk_page(painter, {0.0, 0.0, width, height}, walk, settings, places);
        };
        pages.push_back(std::move(page));
    }
    // Of one field they bear its name, so that the next one that is saved takes nothing away.
    const std::string of_all =
        walks.walks.size() == 1 ? std::filesystem::path(files.back()).stem().string() : std::string("walks");
    files.push_back(of_all + ".geojson");
    geo::write_vector_file(folder / files.back(), {stops_of_all(walks)}, work);
    files.push_back(of_all + ".pdf");
    write_pdf((folder / files.back()).string(), pages, models::phrase("Sampling walks, season {}", view.season));
    return files;
}

void write_round_file(const SeasonView& view, const RoundOfTests& round, const std::filesystem::path& file) {
    using geo::ColumnKind;
    const std::vector<geo::VectorColumn> columns = {{"name", ColumnKind::text}, {"desc", ColumnKind::text}};
    geo::VectorLayer places{"waypoints", columns, {}, {}}, way{"routes", columns, {}, {}};
    geo::LineM line = {round.start};
    for (std::size_t i = 0; i < round.visits.size(); ++i) {
        const FieldView& field = view.fields[round.visits[i].field];
        line.push_back(models::centroid(field.outline->outline_m));
        places.features.push_back(
            {line.back(),
             {fmt::format("{} {}", i + 1, field.name), models::phrase("test {} of {}", i + 1, round.visits.size())}});
    }
    way.features.push_back(
        {line, {models::phrase("round of {}", view.season), models::phrase("straight lines, no roads")}});
    geo::write_vector_file(file, {places, way}, *view.data.work);
}

}  // namespace app
