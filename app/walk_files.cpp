#include "app/walk_files.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>

#include <fmt/format.h>

#include "app/cautions.h"
#include "app/drawing/cairo_painter.h"
#include "app/drawing/chart.h"
#include "app/drawing/code.h"
#include "app/drawing/content_unit.h"
#include "app/drawing/figures/map_figure.h"
#include "app/drawing/figures/sheet.h"
#include "app/drawing/map_view.h"
#include "app/drawing/numbers.h"
#include "app/figures_of_ground.h"
#include "app/figures_of_season.h"
#include "app/ground_words.h"
#include "app/words.h"
#include "geo/vector_file.h"
#include "models/counted.h"
#include "models/error.h"
#include "models/spoken.h"

namespace app {

using namespace drawing;

std::string way_in_words(double length_m) {
    return length_m >= 1000.0 ? models::said(fmt::format("{:.1f} km", length_m / 1000.0))
                              : fmt::format("{:.0f} m", length_m);
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
    // The scale bar has a strip of its own below the field.
    const double strip = std::min(2.6 * look.text_px, 0.3 * area.height);
    MapView view =
        fitted(models::bounding_box(walk.outline->outline_m), {area.x, area.y, area.width, area.height - strip}, 26.0);
    view.pan(0.0, -0.5 * strip);
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
    words.notes = {walk.why.empty() ? "" : as_sentence(walk.why), what_to_take(walk, settings)};
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

namespace order_drawing {

constexpr double margin_pt = 40.0, text_pt = 9.0;

/// Where the columns of the list begin, of a row of that width.
struct Columns {
    double place, field, chance, content, why, why_width;
};

Columns columns_of(const Painter& painter, const Rect& room, const OrderList& list, const Look& look) {
    const double em = look.text_px;
    double names = painter.text_width(spoken(words::field), 0.9 * em);
    for (std::size_t r = 0; r < list.rank.rows.size(); ++r)
        names = std::max({names, painter.text_width(list.rank.rows[r].field, em, Weight::bold),
                          painter.text_width(list.samples[r], 0.85 * em)});
    Columns columns{};
    columns.place = room.x;
    columns.field = room.x + 2.6 * em;
    columns.chance = columns.field + std::min(names, 0.28 * room.width) + em;
    const double chance = std::max(painter.text_width(spoken(words::chance_over), 0.9 * em), 4.5 * em);
    columns.content = columns.chance + chance + em;
    columns.why = columns.content + (list.rank.risk_only ? 0.0 : 11.0 * em);
    columns.why_width = room.x + room.width - columns.why;
    return columns;
}

double draw_head(Painter& painter, const Rect& room, const OrderList& list, const Columns& columns, const Look& look) {
    const double size = 0.9 * look.text_px, y = room.y + size;
    const auto head = [&](double x, const std::string& words_of_it) {
        painter.text({x, y}, words_of_it, size, look.theme.soft_ink);
    };
    head(columns.place, spoken(words::rank));
    head(columns.field, spoken(words::field));
    head(columns.chance, list.rank.risk_only ? spoken(words::risk) : spoken(words::chance_over));
    if (!list.rank.risk_only) head(columns.content, with_unit(spoken(words::list_content)));
    head(columns.why, spoken(words::ranks_why));
    const double floor_y = y + 0.5 * size;
    painter.polyline({{room.x, floor_y}, {room.x + room.width, floor_y}}, look.theme.soft_ink, 0.5);
    return floor_y + 0.4 * look.text_px;
}

double draw_row(Painter& painter, double top, const OrderList& list, std::size_t r, const Columns& columns,
                const Look& look) {
    const RankRow& row = list.rank.rows[r];
    const double em = look.text_px, baseline = top + em;
    const Colour ink = look.theme.ink;
    painter.text({columns.place, baseline}, list.places[r], em, ink, Align::left, Weight::bold);
    const double names = columns.chance - columns.field - em;
    painter.text({columns.field, baseline}, shortened(painter, row.field, em, names, Weight::bold), em, ink,
                 Align::left, Weight::bold);
    double end = top + line_height * em;
    if (!list.samples[r].empty()) {
        painter.text({columns.field, baseline + 1.2 * em}, shortened(painter, list.samples[r], 0.85 * em, names),
                     0.85 * em, ink);
        end += 1.2 * em;
    }
    const std::optional<double> chance = list.rank.risk_only ? row.risk : row.exceedance;
    painter.text({columns.chance, baseline}, chance ? percent_text(*chance) : "–", em, ink);
    if (!list.rank.risk_only)
        painter.text({columns.content, baseline},
                     row.median_mg_per_kg ? fmt::format("{} ({})", content_text(*row.median_mg_per_kg),
                                                        content_interval_text(row.low90_mg_per_kg.value_or(0.0),
                                                                              row.high90_mg_per_kg.value_or(0.0)))
                                          : "–",
                     em, ink);
    const std::string why = row.why.empty() ? "" : as_sentence(row.why);
    return std::max(end, paragraph(painter, columns.why, top, why, em, columns.why_width, ink)) + 0.5 * em;
}

}  // namespace order_drawing

OrderList order_list(const SeasonView& view, const FieldWalks& walks) {
    OrderList list;
    list.rank = rank_figure_of(view);
    std::map<std::string, std::string> samples;
    for (const FieldWalk& walk : walks.walks) samples[walk.name] = walk.sample;
    for (std::size_t r = 0; r < list.rank.rows.size(); ++r) {
        const models::RankedField& ranked = view.order->fields[r];
        const bool has_a_place = list.rank.risk_only || ranked.expected_gain > 0.0;
        list.places.push_back(has_a_place ? std::to_string(ranked.rank) : "–");
        const auto sample = samples.find(ranked.field);
        list.samples.push_back(sample == samples.end() ? "" : sample->second);
    }
    return list;
}

std::size_t draw_order_page(Painter& painter, const Rect& page, const OrderList& list, std::size_t first) {
    using namespace order_drawing;
    const Look look = page_look(text_pt);
    const Rect inside{page.x + margin_pt, page.y + margin_pt, page.width - 2.0 * margin_pt,
                      page.height - 2.0 * margin_pt};
    SheetWords words;
    words.title = list.rank.title;
    // What the order goes by stands whole on the first page.
    if (first == 0) words.notes = {list.rank.subtitle};
    words.subtitle = list.rank.limit_text;
    words.caution = list.rank.caution;
    const Rect room = draw_sheet(painter, inside, words, look);
    const Columns columns = columns_of(painter, room, list, look);
    double top = draw_head(painter, room, list, columns, look);
    MeasuringPainter measure(painter);
    std::size_t r = first;
    for (; r < list.rank.rows.size(); ++r) {
        const double end = draw_row(measure, top, list, r, columns, look);
        if (end > room.y + room.height && r > first) break;
        top = draw_row(painter, top, list, r, columns, look);
    }
    return r;
}

std::vector<PdfPage> order_pages(const SeasonView& view, const FieldWalks& walks) {
    std::vector<PdfPage> pages;
    if (!view.order || view.order->fields.empty()) return pages;
    const auto list = std::make_shared<const OrderList>(order_list(view, walks));
    const PdfPage sheet;
    const Rect page{0.0, 0.0, sheet.width, sheet.height};
    // What fits on a page is known when letters can be measured: with a picture of one pixel.
    png_bytes(1, 1, {255, 255, 255}, [&](Painter& painter) {
        MeasuringPainter measure(painter);
        for (std::size_t first = 0; first < list->rank.rows.size();) {
            const std::size_t next = draw_order_page(measure, page, *list, first);
            PdfPage one;
            one.draw = [list, page, first](Painter& on) { draw_order_page(on, page, *list, first); };
            pages.push_back(std::move(one));
            first = next;
        }
    });
    return pages;
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
    if (walks.walks.size() > 1) pages = order_pages(view, walks);
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
