#include "app/map_files.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "app/drawing/cairo_painter.h"
#include "app/figures_of_season.h"
#include "geo/raster.h"
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
            return within.verdict.supported ? "surface within the field: " + within.verdict.reason
                                            : "field mean; structure " + within.verdict.reason;
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

struct Bands {
    Eigen::MatrixXd median, mean, low, high, exceedance;
};

double cell_for(const models::BoxM& box, const std::optional<double>& wanted) {
    if (wanted) {
        const double cells = box.width_m() / *wanted * (box.height_m() / *wanted);
        if (!(cells <= 50.0e6)) {
            throw models::Error(fmt::format("a cell of {} m would make {:.0f} million cells", *wanted, cells / 1e6),
                                "--cell", "ask for larger cells; 50 million are the most");
        }
        return *wanted;
    }
    for (double cell = 5.0;; cell *= 2.0) {
        if (box.width_m() / cell * (box.height_m() / cell) <= 400000.0) return cell;
    }
}

/// Fields first, then the surfaces within fields over them.
Bands bands_of(const SeasonView& view, const models::GridM& grid) {
    Bands bands;
    bands.median.setConstant(grid.rows, grid.columns, std::numeric_limits<double>::quiet_NaN());
    bands.mean = bands.low = bands.high = bands.exceedance = bands.median;
    const auto each_cell_of = [&grid](const models::OutlineM& outline, auto visit) {
        const models::BoxM box = models::bounding_box(outline);
        const int first_row = std::max(0, static_cast<int>(std::floor((grid.y_max_m - box.y_max_m) / grid.cell_m)));
        const int last_row =
            std::min(grid.rows - 1, static_cast<int>(std::floor((grid.y_max_m - box.y_min_m) / grid.cell_m)));
        const int first_column = std::max(0, static_cast<int>(std::floor((box.x_min_m - grid.x_min_m) / grid.cell_m)));
        const int last_column =
            std::min(grid.columns - 1, static_cast<int>(std::floor((box.x_max_m - grid.x_min_m) / grid.cell_m)));
        for (int row = first_row; row <= last_row; ++row) {
            for (int column = first_column; column <= last_column; ++column) {
                if (models::side_of(outline, grid.centre(row, column)) != models::Side::outside) visit(row, column);
            }
        }
    };
    // Parts are listed after their field and lie over it.
    std::vector<const FieldView*> order;
    for (const FieldView& field : view.fields) order.push_back(&field);
    std::stable_partition(order.begin(), order.end(),
                          [&](const FieldView* f) { return view.data.crops[f->crop].part.empty(); });
    for (const FieldView* field : order) {
        if (field->outline == nullptr || !field->content) continue;
        each_cell_of(field->outline->outline_m, [&](int row, int column) {
            bands.median(row, column) = field->content->median;
            bands.mean(row, column) = field->content->mean;
            bands.low(row, column) = field->content->low90;
            bands.high(row, column) = field->content->high90;
            if (field->exceedance) bands.exceedance(row, column) = *field->exceedance;
        });
    }
    for (const WithinField& within : view.within) {
        if (!within.verdict.supported) continue;
        const models::Field* outline = outline_of(view.data, within.field, within.part);
        if (outline == nullptr) continue;
        each_cell_of(outline->outline_m, [&](int row, int column) {
            const models::PointM place = grid.centre(row, column);
            const int r = static_cast<int>(std::floor((within.grid.y_max_m - place.y_m) / within.grid.cell_m));
            const int c = static_cast<int>(std::floor((place.x_m - within.grid.x_min_m) / within.grid.cell_m));
            if (r < 0 || c < 0 || r >= within.grid.rows || c >= within.grid.columns) return;
            if (std::isnan(within.median_mg_per_kg(r, c))) return;
            bands.median(row, column) = within.median_mg_per_kg(r, c);
            bands.mean(row, column) = within.mean_mg_per_kg(r, c);
            bands.low(row, column) = within.low90_mg_per_kg(r, c);
            bands.high(row, column) = within.high90_mg_per_kg(r, c);
            bands.exceedance(row, column) = within.exceedance(r, c);
        });
    }
    return bands;
}

}  // namespace

std::vector<std::string> write_map_files(const SeasonView& view, const MapFileSettings& settings) {
    std::error_code problem;
    std::filesystem::create_directories(settings.folder, problem);
    if (problem) {
        throw models::Error("the folder cannot be made: " + problem.message(), settings.folder.string(),
                            "name a folder that you may write to");
    }
    if (!view.data.work)
        throw models::Error("the store has no outlines, so there is nothing to map", "", "import fields first");
    std::vector<std::string> files;
    if (!view.contamination.ranking_only()) {
        std::vector<models::PointM> corners;
        for (const FieldView& field : view.fields) {
            if (field.outline == nullptr) continue;
            const models::BoxM box = models::bounding_box(field.outline->outline_m);
            corners.push_back({box.x_min_m, box.y_min_m});
            corners.push_back({box.x_max_m, box.y_max_m});
        }
        const models::BoxM box = models::bounding_box(corners);
        const models::GridM grid = models::grid_over(box, cell_for(box, settings.cell_m));
        const Bands bands = bands_of(view, grid);
        geo::RasterWriter raster(settings.folder / "contamination.tif", {grid, view.data.work->proj_text()},
                                 {"median DON, mg/kg", "mean DON, mg/kg", "low (5 %) DON, mg/kg",
                                  "high (95 %) DON, mg/kg", "exceedance, 0 to 1"});
        int band = 0;
        for (const Eigen::MatrixXd* values : {&bands.median, &bands.mean, &bands.low, &bands.high, &bands.exceedance}) {
            raster.write_band(band++, *values);
        }
        raster.finish();
        files.push_back("contamination.tif");
    }
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
    return files;
}

}  // namespace app
