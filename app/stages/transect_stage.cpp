#include "app/stages/transect_stage.h"

#include <algorithm>
#include <cmath>

#include "models/error.h"
#include "models/spoken.h"

namespace app {

namespace transect_stage_parts {

constexpr int steps = 600;   // of the line, for which it is asked whose field they lie in
constexpr int halvings = 5;  // of a step, until an edge is known to less than a ten-thousandth of the line
constexpr double quartile = 0.6744897501960817;

models::PointM place_at(const TransectLine& line, double share) {
    return {line.from.x_m + share * (line.to.x_m - line.from.x_m),
            line.from.y_m + share * (line.to.y_m - line.from.y_m)};
}

/// Fields that the line may cross, the smallest first.
struct Crossed {
    const FieldView* field = nullptr;
    models::BoxM box;
    double area_m2 = 0.0;
};

std::vector<Crossed> may_cross(const SeasonView& view, const TransectLine& line) {
    std::vector<Crossed> fields;
    const auto [west, east] = std::minmax(line.from.x_m, line.to.x_m);
    const auto [south, north] = std::minmax(line.from.y_m, line.to.y_m);
    for (const FieldView& field : view.fields) {
        if (field.outline == nullptr || field.outline->outline_m.empty()) continue;
        const models::BoxM box = models::bounding_box(field.outline->outline_m);
        if (box.x_max_m < west || box.x_min_m > east || box.y_max_m < south || box.y_min_m > north) continue;
        fields.push_back({&field, box, models::area_m2(field.outline->outline_m)});
    }
    std::stable_sort(fields.begin(), fields.end(),
                     [](const Crossed& a, const Crossed& b) { return a.area_m2 < b.area_m2; });
    return fields;
}

const FieldView* field_at(const std::vector<Crossed>& fields, const models::PointM& place) {
    for (const Crossed& one : fields) {
        if (place.x_m < one.box.x_min_m || place.x_m > one.box.x_max_m || place.y_m < one.box.y_min_m ||
            place.y_m > one.box.y_max_m)
            continue;
        if (models::side_of(one.field->outline->outline_m, place) != models::Side::outside) return one.field;
    }
    return nullptr;
}

const WithinField* surface_of(const SeasonView& view, const FieldView& field) {
    for (const WithinField& within : view.within)
        if (within.supported && within.field == field.outline->field && within.part == field.outline->part)
            return &within;
    return nullptr;
}

/// The cell under a place; at an edge, where its own centre lies outside the field, the nearest beside it.
std::optional<TransectPlace> of_surface(const WithinField& within, const models::PointM& place) {
    const int column = static_cast<int>(std::floor((place.x_m - within.grid.x_min_m) / within.grid.cell_m));
    const int row = static_cast<int>(std::floor((within.grid.y_max_m - place.y_m) / within.grid.cell_m));
    std::optional<TransectPlace> found;
    double nearest = 1e300;
    for (int r = row - 1; r <= row + 1; ++r)
        for (int c = column - 1; c <= column + 1; ++c) {
            if (r < 0 || c < 0 || r >= within.grid.rows || c >= within.grid.columns) continue;
            const double median = within.median_mg_per_kg(r, c);
            if (std::isnan(median)) continue;
            const double away = r == row && c == column ? 0.0 : models::distance_m(within.grid.centre(r, c), place);
            if (away >= nearest) continue;
            nearest = away;
            const double half = std::exp(quartile * within.log_sd(r, c));
            found = TransectPlace{
                0.0, median, within.low90_mg_per_kg(r, c), within.high90_mg_per_kg(r, c), median / half, median * half};
        }
    return found;
}

void fill(const SeasonView& view, const FieldView& field, const Transect& transect, TransectStretch& stretch) {
    stretch.field = field.name;
    if (!field.content) {
        stretch.note = field.note;
        return;
    }
    const WithinField* within = surface_of(view, field);
    stretch.by_surface = within != nullptr;
    if (within == nullptr) {
        const models::Content& content = *field.content;
        for (const double at_m : {stretch.from_m, stretch.to_m})
            stretch.places.push_back(
                {at_m, content.median, content.low90, content.high90, content.low50, content.high50});
        return;
    }
    const int count =
        std::clamp(static_cast<int>((stretch.to_m - stretch.from_m) / (0.5 * within->grid.cell_m)), 1, 400);
    for (int i = 0; i <= count; ++i) {
        const double at_m = stretch.from_m + (stretch.to_m - stretch.from_m) * i / count;
        auto place = of_surface(*within, place_at(transect.line, at_m / transect.length_m));
        if (!place) continue;
        place->at_m = at_m;
        stretch.places.push_back(*place);
    }
}

}  // namespace transect_stage_parts

Transect transect_along(const SeasonView& view, const TransectLine& line) {
    using namespace transect_stage_parts;
    for (const double number : {line.from.x_m, line.from.y_m, line.to.x_m, line.to.y_m})
        if (!std::isfinite(number))
            throw models::Error(models::phrase("an end of the line is no place"), "",
                                models::phrase("give two places"));
    Transect out;
    out.line = line;
    out.length_m = models::distance_m(line.from, line.to);
    if (!(out.length_m > 0.0))
        throw models::Error(models::phrase("both ends of the line are at one place"), "",
                            models::phrase("give two places that differ"));
    const std::vector<Crossed> fields = may_cross(view, line);
    const auto at = [&](double share) { return field_at(fields, place_at(line, share)); };
    const FieldView* here = at(0.0);
    double since = 0.0;
    const auto close = [&](double share) {
        if (here == nullptr || share <= since) return;
        TransectStretch& stretch = out.stretches.emplace_back();
        stretch.from_m = since * out.length_m;
        stretch.to_m = share * out.length_m;
        fill(view, *here, out, stretch);
    };
    for (int i = 1; i <= steps; ++i) {
        const FieldView* next = at(static_cast<double>(i) / steps);
        if (next == here) continue;
        double before = static_cast<double>(i - 1) / steps, after = static_cast<double>(i) / steps;
        for (int h = 0; h < halvings; ++h) {
            const double middle = 0.5 * (before + after);
            (at(middle) == here ? before : after) = middle;
        }
        close(after);
        here = next;
        since = after;
    }
    close(1.0);
    return out;
}

}  // namespace app
