#include "app/drawing/figures/surface_picture.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "app/drawing/chart.h"

namespace app::drawing {

namespace {

std::uint32_t packed(Colour c) {
    return static_cast<std::uint32_t>(c.alpha) << 24 | static_cast<std::uint32_t>(c.blue) << 16 |
           static_cast<std::uint32_t>(c.green) << 8 | c.red;
}

/// Of the cells' values what the ramp is linear in.
std::vector<double> shares_of(const MapSurface& surface, MapShows shows, const ContentScale& scale) {
    if (shows == MapShows::exceedance) return surface.exceedance;
    std::vector<double> shares(surface.median_mg_per_kg.size());
    std::transform(surface.median_mg_per_kg.begin(), surface.median_mg_per_kg.end(), shares.begin(),
                   [&](double content) { return scale.share(content); });
    return shares;
}

/// Which pixels lie in a field that carries the surface; by the crossings of each row's middle line.
std::vector<char> mask_of(const MapFigure& figure, const MapView& view, const Rect& canvas, int width, int height) {
    std::vector<char> mask(static_cast<std::size_t>(width) * static_cast<std::size_t>(height), 0);
    std::vector<double> crossings;
    for (const auto& field : figure.fields) {
        if (!field.carries_surface) continue;
        const auto rings = rings_px(field.outline_m, view, canvas);
        for (int row = 0; row < height; ++row) {
            const double y = canvas.y + (row + 0.5) * canvas.height / height;
            crossings.clear();
            for (const auto& ring : rings)
                for (std::size_t i = 0; i < ring.size(); ++i) {
                    const Point &a = ring[i], &b = ring[(i + 1) % ring.size()];
                    if ((a.y <= y) != (b.y <= y)) crossings.push_back(a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y));
                }
            std::sort(crossings.begin(), crossings.end());
            for (std::size_t i = 0; i + 1 < crossings.size(); i += 2) {
                const auto column = [&](double x) {
                    return static_cast<int>(
                        std::clamp(std::ceil((x - canvas.x) * width / canvas.width - 0.5), 0.0, width * 1.0));
                };
                const auto from = static_cast<std::size_t>(row) * static_cast<std::size_t>(width);
                for (int x = column(crossings[i]); x < column(crossings[i + 1]); ++x)
                    mask[from + static_cast<std::size_t>(x)] = 1;
            }
        }
    }
    return mask;
}

double cell_of(const std::vector<double>& cells, const models::GridM& grid, int row, int column) {
    if (row < 0 || column < 0 || row >= grid.rows || column >= grid.columns) return std::nan("");
    return cells[static_cast<std::size_t>(row) * static_cast<std::size_t>(grid.columns) +
                 static_cast<std::size_t>(column)];
}

/// Between the four middles around a place; cells without a value lend none. At the rim of a field the nearest cell
/// that has one speaks.
double value_at(const std::vector<double>& cells, const models::GridM& grid, const models::PointM& place) {
    const double column = (place.x_m - grid.x_min_m) / grid.cell_m - 0.5;
    const double row = (grid.y_max_m - place.y_m) / grid.cell_m - 0.5;
    if (!(column > -3.0 && row > -3.0 && column < grid.columns + 2.0 && row < grid.rows + 2.0)) return std::nan("");
    const int left = static_cast<int>(std::floor(column)), top = static_cast<int>(std::floor(row));
    double sum = 0.0, weights = 0.0;
    for (int r = top; r <= top + 1; ++r)
        for (int c = left; c <= left + 1; ++c) {
            const double value = cell_of(cells, grid, r, c);
            const double weight = (1.0 - std::abs(row - r)) * (1.0 - std::abs(column - c));
            if (std::isnan(value)) continue;
            sum += weight * value;
            weights += weight;
        }
    if (weights > 1e-6) return sum / weights;
    double nearest = std::nan(""), least = 1e300;
    for (int r = top - 1; r <= top + 2; ++r)
        for (int c = left - 1; c <= left + 2; ++c) {
            const double value = cell_of(cells, grid, r, c), distance = std::hypot(row - r, column - c);
            if (std::isnan(value) || distance >= least) continue;
            least = distance;
            nearest = value;
        }
    return nearest;
}

/// Colours the pixels of `canvas` that lie in a field that carries the surface.
Image coloured_picture(const MapFigure& figure, const MapView& view, const Rect& canvas, const ContentScale& scale,
                       const Theme& theme, int width, int height) {
    const MapSurface& surface = *figure.surface;
    Image image{width, height, {}};
    if (image.width <= 0 || image.height <= 0) return image;
    image.rgba.assign(static_cast<std::size_t>(image.width) * static_cast<std::size_t>(image.height), 0);
    const std::vector<double> shares = shares_of(surface, figure.shows, scale);
    if (static_cast<long long>(shares.size()) != surface.grid.cells()) return image;
    const Ramp& ramp = figure.shows == MapShows::exceedance ? exceedance_ramp(theme) : content_ramp(theme);
    const std::vector<char> mask = mask_of(figure, view, canvas, image.width, image.height);
    for (int row = 0; row < image.height; ++row)
        for (int column = 0; column < image.width; ++column) {
            const auto at = static_cast<std::size_t>(row) * static_cast<std::size_t>(image.width) +
                            static_cast<std::size_t>(column);
            if (!mask[at]) continue;
            const models::PointM place = view.to_world({canvas.x + (column + 0.5) * canvas.width / image.width,
                                                        canvas.y + (row + 0.5) * canvas.height / image.height},
                                                       canvas);
            image.rgba[at] = packed(ramp.at(value_at(shares, surface.grid, place)));
        }
    return image;
}

}  // namespace

Image surface_picture(const MapFigure& figure, const MapView& view, const Rect& canvas, const ContentScale& scale,
                      const Theme& theme) {
    // A page of points is small in pixels: it gets a finer picture than a screen.
    const double fineness = std::clamp(std::ceil(1600.0 / std::max(canvas.width, 1.0)), 1.0, 3.0);
    return coloured_picture(figure, view, canvas, scale, theme, static_cast<int>(std::lround(canvas.width * fineness)),
                            static_cast<int>(std::lround(canvas.height * fineness)));
}

Image cut_surface(const MapFigure& figure, int longest_px, const Theme& theme) {
    if (!figure.surface || figure.shows == MapShows::ranking) return {};
    const models::GridM& grid = figure.surface->grid;
    const double width_m = grid.columns * grid.cell_m, height_m = grid.rows * grid.cell_m;
    MapView view;
    view.metres_per_px = std::max(width_m, height_m) / longest_px;
    view.centre_m = {grid.x_min_m + 0.5 * width_m, grid.y_max_m - 0.5 * height_m};
    const Rect canvas{0.0, 0.0, width_m / view.metres_per_px, height_m / view.metres_per_px};
    return coloured_picture(figure, view, canvas, content_scale_of(figure), theme,
                            static_cast<int>(std::lround(canvas.width)), static_cast<int>(std::lround(canvas.height)));
}

std::vector<HatchLine> surface_hatch_lines(const MapFigure& figure, const MapView& view, const Rect& canvas,
                                           double spacing, const ContentScale& scale, const Theme& theme) {
    std::vector<HatchLine> lines;
    const MapSurface& surface = *figure.surface;
    if (static_cast<long long>(surface.interval_factor.size()) != surface.grid.cells()) return lines;
    const int width = static_cast<int>(canvas.width), height = static_cast<int>(canvas.height);
    const std::vector<char> mask = mask_of(figure, view, canvas, width, height);
    const auto unsure = [&](Point p) {
        const int x = static_cast<int>(p.x - canvas.x), y = static_cast<int>(p.y - canvas.y);
        if (x < 0 || y < 0 || x >= width || y >= height) return false;
        if (!mask[static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x)])
            return false;
        return value_at(surface.interval_factor, surface.grid, view.to_world(p, canvas)) > figure.hatched_from_factor;
    };
    const std::vector<double> shares = shares_of(surface, figure.shows, scale);
    const Ramp& ramp = figure.shows == MapShows::exceedance ? exceedance_ramp(theme) : content_ramp(theme);
    const auto is_light = [&](Point p) {
        return oklab_of(ramp.at(value_at(shares, surface.grid, view.to_world(p, canvas)))).lightness > 0.55;
    };
    constexpr double stride = 1.5;
    const double step = spacing * std::sqrt(2.0);
    const double least = canvas.x + canvas.y, most = least + canvas.width + canvas.height;
    for (double c = std::ceil(least / step) * step; c < most; c += step) {
        const double from = std::max(canvas.x, c - canvas.y - canvas.height);
        const double to = std::min(canvas.x + canvas.width, c - canvas.y);
        std::optional<Point> began;
        Point last;
        bool light = true;
        const auto finish = [&] {
            if (began && last.x > began->x) lines.push_back({{*began, last}, light});
            began.reset();
        };
        for (double x = from; x <= to; x += stride) {
            const Point p{x, c - x};
            if (!unsure(p)) {
                finish();
                continue;
            }
            last = p;
            if (began && is_light(p) != light) finish();
            if (!began) {
                began = p;
                light = is_light(p);
            }
        }
        finish();
    }
    return lines;
}

}  // namespace app::drawing
