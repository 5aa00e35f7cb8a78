#include "app/map_files.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "app/drawing/cairo_painter.h"
#include "app/figures_of_season.h"
#include "app/map_rasters.h"
#include "geo/vector_file.h"
#include "models/error.h"

namespace app {

namespace {

geo::VectorValue or_none(const std::optional<double>& value) {
    return value ? geo::VectorValue(*value) : geo::VectorValue(std::monostate{});
}

std::string structure_note(const SeasonView& view, const FieldView& field) {
    if (!field.note.empty()) return field.note;
    const models::CropRecord& crop = view.data.crops[field.crop];
    for (const WithinField& within : view.within) {
        if (within.field == crop.field) {
            return within.supported ? "surface within the field: " + within.reason
                                            : "field mean; structure " + within.reason;
        }
    }
    return "field mean";
}

geo::VectorLayer fields_layer(const SeasonView& view) {
    geo::VectorLayer layer;
    layer.name = "fields";
    using geo::ColumnKind;
    layer.columns = {{"field", ColumnKind::text},
                     {"part", ColumnKind::text},
                     {"season", ColumnKind::whole_number},
                     {"tests", ColumnKind::whole_number},
                     {"median_mg_per_kg", ColumnKind::number},
                     {"mean_mg_per_kg", ColumnKind::number},
                     {"low90_mg_per_kg", ColumnKind::number},
                     {"high90_mg_per_kg", ColumnKind::number},
                     {"low50_mg_per_kg", ColumnKind::number},
                     {"high50_mg_per_kg", ColumnKind::number},
                     {"exceedance", ColumnKind::number},
                     {"limit_mg_per_kg", ColumnKind::number},
                     {"limit_id", ColumnKind::text},
                     {"load_tests", ColumnKind::whole_number},
                     {"disease_risk", ColumnKind::number},
                     {"note", ColumnKind::text}};
    for (const FieldView& field : view.fields) {
        if (field.outline == nullptr) continue;
        const models::CropRecord& crop = view.data.crops[field.crop];
        const auto content = [&](double models::Content::*member) {
            return field.content ? geo::VectorValue((*field.content).*member) : geo::VectorValue(std::monostate{});
        };
        layer.features.push_back(
            {field.outline->outline_m,
             {crop.field, crop.part, static_cast<long long>(view.season), static_cast<long long>(field.tests),
              content(&models::Content::median), content(&models::Content::mean), content(&models::Content::low90),
              content(&models::Content::high90), content(&models::Content::low50), content(&models::Content::high50),
              or_none(field.exceedance),
              view.limit ? geo::VectorValue(view.limit->limit_mg_per_kg) : geo::VectorValue(std::monostate{}),
              view.limit ? view.limit->limit_id : std::string(), static_cast<long long>(field.load_tests),
              or_none(field.risk), structure_note(view, field)}});
    }
    return layer;
}

geo::VectorLayer tests_layer(const SeasonView& view) {
    geo::VectorLayer layer;
    layer.name = "tests";
    using geo::ColumnKind;
    layer.columns = {{"test", ColumnKind::text},
                     {"sample", ColumnKind::text},
                     {"field", ColumnKind::text},
                     {"reading", ColumnKind::text},
                     {"don_mg_per_kg", ColumnKind::number}};
    for (const models::Test& test : view.data.tests) {
        if (season_of_test(view.data, test) != view.season) continue;
        const auto s = sample_index(view.data, test.sample);
        if (!s || !view.data.samples[*s].place_m || *s >= view.data.joined.samples.size()) continue;
        const char* reading = test.reading == models::Reading::value   ? "value"
                              : test.reading == models::Reading::below ? "below"
                              : test.reading == models::Reading::above ? "above"
                                                                       : "void";
        layer.features.push_back({*view.data.samples[*s].place_m,
                                  {test.test, test.sample, view.data.joined.samples[*s].field, std::string(reading),
                                   test.reading == models::Reading::invalid ? geo::VectorValue(std::monostate{})
                                                                            : geo::VectorValue(test.don_mg_per_kg)}});
    }
    return layer;
}

/// Contour lines of the kriged surfaces at 1, 2 and 5 times powers of ten, and at the limit.
geo::VectorLayer contours_layer(const SeasonView& view) {
    geo::VectorLayer layer;
    layer.name = "contours";
    layer.columns = {{"field", geo::ColumnKind::text}, {"median_mg_per_kg", geo::ColumnKind::number}};
    std::vector<double> levels = {0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0};
    if (view.limit) levels.push_back(view.limit->limit_mg_per_kg);
    std::sort(levels.begin(), levels.end());
    levels.erase(std::unique(levels.begin(), levels.end()), levels.end());
    for (const WithinField& within : view.within) {
        for (const geo::ContourLine& line : lines_of_equal_content(within, levels)) {
            layer.features.push_back({line.line_m, {within.field, line.level}});
        }
    }
    return layer;
}

}  // namespace

MapFilesWritten write_map_files(const SeasonView& view, const MapFileSettings& settings) {
    if (!view.data.work)
        throw models::Error("the store has no outlines, so there is nothing to map", "", "import fields first");
    MapRasters rasters;
    if (!view.contamination.ranking_only()) rasters = map_rasters(view, settings.cell_m);
    std::error_code problem;
    std::filesystem::create_directories(settings.folder, problem);
    if (problem) {
        throw models::Error("the folder cannot be made: " + problem.message(), settings.folder.string(),
                            "name a folder that you may write to");
    }
    MapFilesWritten written;
    std::vector<std::string>& files = written.files;
    write_map_rasters(view, rasters, settings.folder);
    for (const MapRasters::Raster& raster : rasters.rasters) files.push_back(raster.file);
    written.notes = rasters.notes;
    std::vector<geo::VectorLayer> layers = {fields_layer(view)};
    geo::write_vector_file(settings.folder / "fields.geojson", layers, *view.data.work);
    if (geo::VectorLayer tests = tests_layer(view); !tests.features.empty()) layers.push_back(std::move(tests));
    if (geo::VectorLayer contours = contours_layer(view); !contours.features.empty())
        layers.push_back(std::move(contours));
    geo::write_vector_file(settings.folder / "map.gpkg", layers, *view.data.work);
    files.push_back("map.gpkg");
    files.push_back("fields.geojson");
    const drawing::MapFigure figure = map_figure_of(view, drawing::MapShows::content);
    const drawing::Look look = drawing::look_for(settings.picture_width, settings.picture_height);
    drawing::write_png((settings.folder / "map.png").string(), settings.picture_width, settings.picture_height,
                       look.theme.paper, [&](drawing::Painter& painter) {
                           drawing::draw_map_figure(painter,
                                                    {0, 0, static_cast<double>(settings.picture_width),
                                                     static_cast<double>(settings.picture_height)},
                                                    figure, look);
                       });
    files.push_back("map.png");
    return written;
}

}  // namespace app
