#include "app/map_rasters.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "app/far_apart.h"
#include "app/stages/contamination_stage.h"
#include "geo/raster.h"
#include "models/counted.h"
#include "models/error.h"

namespace app {

namespace {

struct Bands {
    Eigen::MatrixXd median, mean, low, high, exceedance;
};

template <typename Visit>
void each_cell_of(const models::GridM& grid, const models::OutlineM& outline, Visit visit) {
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
}

/// Fields first, then the surfaces within fields over them.
Bands bands_of(const SeasonView& view, const models::GridM& grid) {
    Bands bands;
    bands.median.setConstant(grid.rows, grid.columns, std::numeric_limits<double>::quiet_NaN());
    bands.mean = bands.low = bands.high = bands.exceedance = bands.median;
    // Parts are listed after their field and lie over it.
    std::vector<const FieldView*> order;
    for (const FieldView& field : view.fields) order.push_back(&field);
    std::stable_partition(order.begin(), order.end(),
                          [&](const FieldView* f) { return view.data.crops[f->crop].part.empty(); });
    for (const FieldView* field : order) {
        if (field->outline == nullptr || !field->content) continue;
        each_cell_of(grid, field->outline->outline_m, [&](int row, int column) {
            bands.median(row, column) = field->content->median;
            bands.mean(row, column) = field->content->mean;
            bands.low(row, column) = field->content->low90;
            bands.high(row, column) = field->content->high90;
            if (field->exceedance) bands.exceedance(row, column) = *field->exceedance;
        });
    }
    for (const WithinField& within : view.within) {
        if (!within.supported) continue;
        const models::Field* outline = outline_of(view.data, within.field, within.part);
        if (outline == nullptr) continue;
        each_cell_of(grid, outline->outline_m, [&](int row, int column) {
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

/// A field, and the box around it.
struct RasterField {
    const FieldView* field = nullptr;
    models::BoxM box;
};

std::vector<RasterField> fields_with_outline(const SeasonView& view) {
    std::vector<RasterField> fields;
    for (const FieldView& field : view.fields)
        if (field.outline != nullptr) fields.push_back({&field, models::bounding_box(field.outline->outline_m)});
    return fields;
}

models::BoxM box_around(const std::vector<RasterField>& fields) {
    std::vector<models::PointM> corners;
    for (const RasterField& field : fields) {
        corners.push_back({field.box.x_min_m, field.box.y_min_m});
        corners.push_back({field.box.x_max_m, field.box.y_max_m});
    }
    return models::bounding_box(corners);
}

double cells_of(const models::BoxM& box, double cell_m) {
    return box.width_m() / cell_m * (box.height_m() / cell_m);
}

int cells_in(const models::GridM& grid, const models::OutlineM& outline) {
    int cells = 0;
    each_cell_of(grid, outline, [&](int, int) { ++cells; });
    return cells;
}

constexpr int few_cells = 4;

/// Names of the fields that have fewer cells than that.
std::vector<std::string> fields_under(const std::vector<RasterField>& fields, const models::GridM& grid, int cells) {
    std::vector<std::string> names;
    for (const RasterField& field : fields)
        if (cells_in(grid, field.field->outline->outline_m) < cells) names.push_back(field.field->name);
    return names;
}

/// 5, 10, 20, ... m: few cells as long as every field has some, more of them where one else has too few; nullopt where
/// that takes more than four million.
std::optional<models::GridM> grid_that_shows(const std::vector<RasterField>& fields, const models::BoxM& box) {
    double cell = 5.0;
    while (cells_of(box, cell) > 400000.0) cell *= 2.0;
    for (; cells_of(box, cell) <= 4.0e6; cell *= 0.5) {
        const models::GridM grid = models::grid_over(box, cell);
        if (fields_under(fields, grid, few_cells).empty()) return grid;
        if (cell < 0.1) break;
    }
    return std::nullopt;
}

/// Fields that lie within `reach_m` of one another, directly or through others, in the order of the fields.
std::vector<std::vector<RasterField>> groups_within(std::vector<RasterField> fields, double reach_m) {
    std::vector<std::vector<RasterField>> groups;
    while (!fields.empty()) {
        std::vector<RasterField> group = {fields.front()};
        fields.erase(fields.begin());
        for (std::size_t i = 0; i < group.size(); ++i)
            for (std::size_t k = 0; k < fields.size();) {
                if (gap_m(group[i].box, fields[k].box) <= reach_m) {
                    group.push_back(fields[k]);
                    fields.erase(fields.begin() + static_cast<std::ptrdiff_t>(k));
                } else {
                    ++k;
                }
            }
        groups.push_back(std::move(group));
    }
    return groups;
}

std::string list_of(const std::vector<std::string>& names) {
    std::string list;
    for (std::size_t i = 0; i < names.size() && i < 8; ++i) list += (i == 0 ? "" : ", ") + names[i];
    return names.size() > 8 ? list + fmt::format(" and {} more", names.size() - 8) : list;
}

MapRasters on_cells_of_user(const std::vector<RasterField>& fields, const models::BoxM& box, double cell_m) {
    if (const double cells = cells_of(box, cell_m); !(cells <= 50.0e6)) {
        throw models::Error(fmt::format("a cell of {} m would make {:.0f} million cells", cell_m, cells / 1e6),
                            "--cell", "ask for larger cells; 50 million are the most");
    }
    MapRasters rasters;
    rasters.rasters.push_back({"contamination.tif", models::grid_over(box, cell_m)});
    const std::vector<std::string> missing = fields_under(fields, rasters.rasters[0].grid, 1);
    if (missing.size() == fields.size()) {
        throw models::Error(fmt::format("no field has a cell of {} m, so the raster would be empty", cell_m), "--cell",
                            "ask for smaller cells, or leave --cell out: then each field has some");
    }
    if (const auto count = static_cast<long long>(missing.size()); count > 0) {
        rasters.notes.push_back(fmt::format(
            "{} {} no cell of {} m and {} not in contamination.tif: {}. A smaller --cell shows {}.",
            models::counted(count, "field"), models::by_number(count, "has", "have"), cell_m,
            models::by_number(count, "is", "are"), list_of(missing), models::by_number(count, "it", "them")));
    }
    return rasters;
}

}  // namespace

MapRasters map_rasters(const SeasonView& view, const std::optional<double>& cell_m) {
    std::vector<RasterField> fields = fields_with_outline(view);
    std::erase_if(fields, [](const RasterField& field) { return !field.field->content; });
    MapRasters rasters;
    if (fields.empty()) {
        rasters.notes.push_back("No field with a number has an outline, so there is no raster.");
        return rasters;
    }
    const models::BoxM box = box_around(fields_with_outline(view));
    if (cell_m) return on_cells_of_user(fields, box, *cell_m);
    if (const auto grid = grid_that_shows(fields, box)) {
        rasters.rasters.push_back({"contamination.tif", *grid});
        return rasters;
    }
    // Far apart: the largest groups that can be shown, each by itself.
    std::vector<std::vector<RasterField>> groups;
    std::vector<std::optional<models::GridM>> grids;
    for (double reach_m = 50000.0; reach_m > 100.0; reach_m *= 0.5) {
        groups = groups_within(fields, reach_m);
        grids.clear();
        for (const auto& group : groups) grids.push_back(grid_that_shows(group, box_around(group)));
        if (std::all_of(grids.begin(), grids.end(), [](const auto& grid) { return grid.has_value(); })) break;
    }
    std::vector<std::string> lost;
    for (std::size_t g = 0; g < groups.size(); ++g) {
        if (grids[g]) {
            rasters.rasters.push_back({fmt::format("contamination-{}.tif", rasters.rasters.size() + 1), *grids[g]});
        } else {
            for (const RasterField& field : groups[g]) lost.push_back(field.field->name);
        }
    }
    rasters.notes.push_back(fmt::format(
        "The fields lie far apart: each of {} groups has a raster of its own, contamination-1.tif and so on. --cell M "
        "makes one raster of all.",
        rasters.rasters.size()));
    if (!lost.empty())
        rasters.notes.push_back("Too small beside their neighbours for any raster: " + list_of(lost) + ".");
    return rasters;
}

void write_map_rasters(const SeasonView& view, const MapRasters& rasters, const std::filesystem::path& folder) {
    for (const MapRasters::Raster& raster : rasters.rasters) {
        const Bands bands = bands_of(view, raster.grid);
        geo::RasterWriter writer(folder / raster.file, {raster.grid, view.data.work->proj_text()},
                                 {"median DON, mg/kg", "mean DON, mg/kg", "low (5 %) DON, mg/kg",
                                  "high (95 %) DON, mg/kg", "exceedance, 0 to 1"});
        int band = 0;
        for (const Eigen::MatrixXd* values : {&bands.median, &bands.mean, &bands.low, &bands.high, &bands.exceedance})
            writer.write_band(band++, *values);
        writer.finish();
    }
}

}  // namespace app
