#include "geo/contours.h"

#include <algorithm>
#include <charconv>
#include <cmath>

#include <cpl_string.h>
#include <fmt/format.h>
#include <gdal_alg.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>

#include "geo/gdal_errors.h"
#include "models/error.h"

namespace geo {

namespace {

constexpr double no_value = -1.7e308;

std::string shortest_text(double value) {
    char buffer[40];
    return {buffer, std::to_chars(buffer, buffer + sizeof buffer, value).ptr};
}

/// The grid as a raster in memory, and an empty layer for what is drawn from it.
struct ContourWork {
    GDALDatasetUniquePtr raster, drawing;
    OGRLayer* layer = nullptr;

    ContourWork(const models::GridM& grid, std::vector<double> values, const std::vector<double>& levels,
                OGRwkbGeometryType type) {
        if (static_cast<long long>(values.size()) != grid.cells() || values.empty()) {
            throw models::Error(
                fmt::format("a map of {} x {} cells has {} values", grid.columns, grid.rows, values.size()));
        }
        const bool finite =
            std::all_of(levels.begin(), levels.end(), [](double level) { return std::isfinite(level); });
        if (levels.empty() || !finite ||
            std::adjacent_find(levels.begin(), levels.end(), std::greater_equal<>()) != levels.end()) {
            throw models::Error("the levels of a contour map must ascend", "", "give each level once, lowest first");
        }
        std::replace_if(
            values.begin(), values.end(), [](double value) { return std::isnan(value); }, no_value);
        register_gdal();
        raster.reset(GetGDALDriverManager()->GetDriverByName("MEM")->Create("", grid.columns, grid.rows, 1, GDT_Float64,
                                                                            nullptr));
        drawing.reset(GetGDALDriverManager()->GetDriverByName("Memory")->Create("", 0, 0, 0, GDT_Unknown, nullptr));
        double corner[6] = {grid.x_min_m, grid.cell_m, 0.0, grid.y_max_m, 0.0, -grid.cell_m};
        raster->SetGeoTransform(corner);
        GDALRasterBand& band = *raster->GetRasterBand(1);
        band.SetNoDataValue(no_value);
        const CPLErr done = band.RasterIO(GF_Write, 0, 0, grid.columns, grid.rows, values.data(), grid.columns,
                                          grid.rows, GDT_Float64, 0, 0, nullptr);
        layer = drawing->CreateLayer("contours", nullptr, type, nullptr);
        for (const char* name : {"low", "high"}) {
            OGRFieldDefn field(name, OFTReal);
            layer->CreateField(&field);
        }
        if (done != CE_None) throw models::Error("the map cannot be drawn as contours");
    }

    void draw(const std::vector<double>& levels, bool bands) {
        std::string list;
        for (const double level : levels) list += (list.empty() ? "" : ",") + shortest_text(level);
        CPLStringList options;
        options.SetNameValue("FIXED_LEVELS", list.c_str());
        options.SetNameValue("NODATA", shortest_text(no_value).c_str());
        options.SetNameValue("POLYGONIZE", bands ? "YES" : "NO");
        options.SetNameValue(bands ? "ELEV_FIELD_MIN" : "ELEV_FIELD", "0");
        if (bands) options.SetNameValue("ELEV_FIELD_MAX", "1");
        const GdalErrors errors;
        const CPLErr done = GDALContourGenerateEx(raster->GetRasterBand(1), layer, options.List(), nullptr, nullptr);
        if (done != CE_None) {
            throw models::Error("the map cannot be drawn as contours (" + errors.text_or("no reason given") + ")");
        }
        layer->ResetReading();
    }
};

models::RingM ring_m(const OGRLinearRing& read) {
    models::RingM ring;
    for (int i = 0; i < read.getNumPoints(); ++i) {
        const models::PointM place{read.getX(i), read.getY(i)};
        if (ring.empty() || !(ring.back() == place)) ring.push_back(place);
    }
    while (ring.size() > 1 && ring.front() == ring.back()) ring.pop_back();
    return ring;
}

}  // namespace

std::vector<ContourBand> contour_bands(const models::GridM& grid, const std::vector<double>& values,
                                       const std::vector<double>& levels) {
    ContourWork work(grid, values, levels, wkbMultiPolygon);
    work.draw(levels, true);
    std::vector<ContourBand> bands(levels.size() + 1);
    for (std::size_t k = 0; k < bands.size(); ++k) {
        if (k > 0) bands[k].low = levels[k - 1];
        if (k < levels.size()) bands[k].high = levels[k];
    }
    while (const OGRFeatureUniquePtr feature{work.layer->GetNextFeature()}) {
        // The lower bound that comes back is invented where no band lies below; the upper one is a level, or invented
        // above the last level.
        const auto high = std::find(levels.begin(), levels.end(), feature->GetFieldAsDouble(1));
        const auto k = static_cast<std::size_t>(high - levels.begin());
        const OGRGeometry* geometry = feature->GetGeometryRef();
        if (geometry == nullptr || geometry->IsEmpty()) continue;
        for (const OGRPolygon* piece : *geometry->toMultiPolygon()) {
            models::PolygonM polygon{ring_m(*piece->getExteriorRing()), {}};
            for (int i = 0; i < piece->getNumInteriorRings(); ++i) {
                polygon.holes.push_back(ring_m(*piece->getInteriorRing(i)));
            }
            bands[k].outline_m.push_back(std::move(polygon));
        }
    }
    std::erase_if(bands, [](const ContourBand& band) { return band.outline_m.empty(); });
    return bands;
}

std::vector<ContourLine> contour_lines(const models::GridM& grid, const std::vector<double>& values,
                                       const std::vector<double>& levels) {
    ContourWork work(grid, values, levels, wkbLineString);
    work.draw(levels, false);
    std::vector<ContourLine> lines;
    while (const OGRFeatureUniquePtr feature{work.layer->GetNextFeature()}) {
        const OGRGeometry* geometry = feature->GetGeometryRef();
        if (geometry == nullptr || geometry->IsEmpty()) continue;
        ContourLine line{feature->GetFieldAsDouble(0), {}};
        const OGRLineString& read = *geometry->toLineString();
        for (int i = 0; i < read.getNumPoints(); ++i) line.line_m.push_back({read.getX(i), read.getY(i)});
        lines.push_back(std::move(line));
    }
    std::stable_sort(lines.begin(), lines.end(), [](const auto& a, const auto& b) { return a.level < b.level; });
    return lines;
}

}  // namespace geo
