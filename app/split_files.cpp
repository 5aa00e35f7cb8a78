#include "app/split_files.h"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "app/drawing/cairo_painter.h"
#include "app/drawing/figures/map_figure.h"
#include "app/figures_of_season.h"
#include "app/words.h"
#include "geo/vector_file.h"
#include "models/counted.h"
#include "models/error.h"

namespace app {

namespace split_files_parts {

constexpr int picture_width = 1600, picture_height = 1000;

geo::VectorValue number_or_none(const std::optional<double>& value) {
    return value ? geo::VectorValue(*value) : geo::VectorValue(std::monostate{});
}

/// The season's map with zones in place of the fields that are split, and nothing of the others.
drawing::MapFigure figure_of_zones(const SeasonView& view, const SplitsOfSeason& splits) {
    drawing::MapFigure figure = map_figure_of(view, drawing::MapShows::content);
    figure.title = spoken(words::title_zones, view.season);
    figure.surface.reset();
    figure.contours.clear();
    figure.verdict = spoken(words::zones_worth, splits.costs_in_words);
    figure.fields.clear();
    int split = 0;
    for (const FieldSplit& field : splits.fields) {
        split += field.zones.empty() ? 0 : 1;
        for (const SplitZone& zone : field.zones) {
            drawing::MapField mark;
            mark.label = zone.drawn.name;
            mark.outline_m = zone.drawn.outline;
            mark.exceedance = zone.content.exceedance;
            if (zone.content.content) {
                mark.median_mg_per_kg = zone.content.content->median;
                mark.low90_mg_per_kg = zone.content.content->low90;
                mark.high90_mg_per_kg = zone.content.content->high90;
            }
            mark.note = zone.clearing.in_short;
            figure.fields.push_back(std::move(mark));
        }
    }
    figure.subtitle = spoken(words::subtitle_zones,
                             models::counted(static_cast<long long>(figure.fields.size()), spoken(words::one_zone),
                                             spoken(words::several_zones)),
                             models::counted(split, spoken(words::one_field), spoken(words::several_fields)));
    return figure;
}

}  // namespace split_files_parts

ZoneFormat zone_format_named(const std::string& word) {
    if (word == "gpkg") return ZoneFormat::geopackage;
    if (word == "geojson") return ZoneFormat::geojson;
    if (word == "shp") return ZoneFormat::shapefile;
    throw models::Error("\"" + word + "\" is no format of zones", "--zone-format", "use one of gpkg, geojson, shp");
}

geo::VectorLayer zones_layer(const SeasonView& view, const SplitsOfSeason& splits) {
    namespace parts = split_files_parts;
    using geo::ColumnKind;
    geo::VectorLayer layer;
    layer.name = "zones";
    layer.columns = {{"name", ColumnKind::text},
                     {"field", ColumnKind::text},
                     {"part", ColumnKind::text},
                     {"where", ColumnKind::text},
                     {"area_ha", ColumnKind::number},
                     {"tonnes", ColumnKind::number},
                     {"width_m", ColumnKind::number},
                     {"median_mg_per_kg", ColumnKind::number},
                     {"mean_mg_per_kg", ColumnKind::number},
                     {"low90_mg_per_kg", ColumnKind::number},
                     {"high90_mg_per_kg", ColumnKind::number},
                     {"exceedance", ColumnKind::number},
                     {"limit_mg_per_kg", ColumnKind::number},
                     {"limit_id", ColumnKind::text},
                     {"state", ColumnKind::text},
                     {"leans_to", ColumnKind::text},
                     {"why", ColumnKind::text},
                     {"worth", ColumnKind::number},
                     {"worth_unit", ColumnKind::text}};
    for (const FieldSplit& field : splits.fields) {
        for (const SplitZone& zone : field.zones) {
            const auto content = [&](double models::Content::*member) {
                return zone.content.content ? geo::VectorValue((*zone.content.content).*member)
                                            : geo::VectorValue(std::monostate{});
            };
            layer.features.push_back(
                {zone.drawn.outline,
                 {zone.drawn.name, field.field, zone.part, zone.where, zone.content.area_ha,
                  parts::number_or_none(zone.content.tonnes),
                  zone.width_m > 0.0 ? geo::VectorValue(zone.width_m) : geo::VectorValue(std::monostate{}),
                  content(&models::Content::median), content(&models::Content::mean), content(&models::Content::low90),
                  content(&models::Content::high90), parts::number_or_none(zone.content.exceedance),
                  view.limit->limit_mg_per_kg, view.limit->limit_id, models::in_words(zone.clearing.state),
                  std::string(models::in_words(zone.use)), zone.clearing.in_short,
                  field.worth ? geo::VectorValue(field.worth->mean) : geo::VectorValue(std::monostate{}),
                  std::string(splits.in_money ? "money" : "tonnes")}});
        }
    }
    return layer;
}

std::vector<std::string> write_zone_files(const SeasonView& view, const SplitsOfSeason& splits, ZoneFormat format,
                                          const std::filesystem::path& folder) {
    namespace parts = split_files_parts;
    const geo::VectorLayer layer = zones_layer(view, splits);
    if (layer.features.empty()) return {};
    std::error_code problem;
    std::filesystem::create_directories(folder, problem);
    if (problem)
        throw models::Error("the folder cannot be made: " + problem.message(), folder.string(),
                            "name a folder that you may write to");
    std::vector<std::string> files = {format == ZoneFormat::geopackage ? "zones.gpkg"
                                      : format == ZoneFormat::geojson  ? "zones.geojson"
                                                                       : "zones.shp",
                                      "zones.png"};
    geo::write_vector_file(folder / files[0], {layer}, *view.data.work);
    const drawing::MapFigure figure = parts::figure_of_zones(view, splits);
    const drawing::Look look = drawing::look_for(parts::picture_width, parts::picture_height);
    drawing::write_png(
        (folder / files[1]).string(), parts::picture_width, parts::picture_height, look.theme.paper,
        [&](drawing::Painter& painter) {
            drawing::draw_map_figure(
                painter, {0, 0, static_cast<double>(parts::picture_width), static_cast<double>(parts::picture_height)},
                figure, look);
        });
    return files;
}

}  // namespace app
