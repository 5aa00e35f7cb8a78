#include "geo/backdrop.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <memory>
#include <optional>
#include <system_error>
#include <utility>

#include <cpl_conv.h>
#include <fmt/format.h>
#include <gdal_alg.h>
#include <gdal_priv.h>
#include <gdalwarper.h>
#include <ogr_spatialref.h>

#include "geo/gdal_errors.h"
#include "models/error.h"

namespace geo {

namespace {

constexpr double stretched_from = 0.02, stretched_to = 0.98;  // quantiles, where numbers are no colours
constexpr std::size_t most_numbers_ranked = 200'000;          // of a band, for the quantiles

const char* const how_to_place =
    "give it its place: gdal_translate -a_srs EPSG:n -a_ullr WEST NORTH EAST SOUTH IN OUT.tif";

GDALDatasetUniquePtr open_backdrop(const std::filesystem::path& file, const GdalErrors& errors) {
    std::error_code unknown;
    if (!std::filesystem::exists(file, unknown))
        throw models::Error("there is no such file", file.string(), "check the path of the picture behind the map");
    register_gdal();
    GDALDatasetUniquePtr raster(GDALDataset::Open(file.string().c_str(), GDAL_OF_RASTER | GDAL_OF_READONLY));
    if (!raster || raster->GetRasterCount() == 0)
        throw models::Error("this is no raster that can be read (" + errors.text_or("it holds no band") + ")",
                            file.string(), "a GeoTIFF, or any raster that GDAL knows");
    double transform[6];
    const bool placed = raster->GetGeoTransform(transform) == CE_None || raster->GetGCPCount() > 0;
    if (!placed)
        throw models::Error("the picture does not say where on the earth it lies", file.string(), how_to_place);
    const OGRSpatialReference* system = raster->GetGCPCount() > 0 && raster->GetGCPSpatialRef() != nullptr
                                            ? raster->GetGCPSpatialRef()
                                            : raster->GetSpatialRef();
    if (system == nullptr || system->IsEmpty())
        throw models::Error("the picture does not say which reference system its place is in", file.string(),
                            how_to_place);
    return raster;
}

class TransformerOwner {
 public:
    explicit TransformerOwner(void* made) : made_(made) {}
    ~TransformerOwner() {
        if (made_ != nullptr) GDALDestroyGenImgProjTransformer(made_);
    }
    TransformerOwner(const TransformerOwner&) = delete;
    TransformerOwner& operator=(const TransformerOwner&) = delete;
    void* get() const { return made_; }

 private:
    void* made_;
};

/// Pixels of the file that lie on the map, and how fine they are there.
struct Window {
    int x = 0, y = 0, width = 0, height = 0;
    double metres_per_px = 0.0;
    models::BoxM box;  ///< common to the file and what is wanted
};

/// The box of a rectangle of pixels in the work system, by points along its edges and inside; nullopt where none of
/// them can be brought there.
std::optional<models::BoxM> box_of_pixels(void* to_work, double left, double top, double right, double bottom) {
    constexpr int steps = 20;
    std::vector<double> x, y, z;
    for (int i = 0; i <= steps; ++i)
        for (int j = 0; j <= steps; ++j) {
            x.push_back(left + (right - left) * i / steps);
            y.push_back(top + (bottom - top) * j / steps);
        }
    z.assign(x.size(), 0.0);
    std::vector<int> good(x.size(), 0);
    GDALGenImgProjTransform(to_work, FALSE, static_cast<int>(x.size()), x.data(), y.data(), z.data(), good.data());
    std::optional<models::BoxM> box;
    for (std::size_t i = 0; i < x.size(); ++i) {
        if (!good[i] || !std::isfinite(x[i]) || !std::isfinite(y[i])) continue;
        if (!box) box = models::BoxM{x[i], y[i], x[i], y[i]};
        *box = {std::min(box->x_min_m, x[i]), std::min(box->y_min_m, y[i]), std::max(box->x_max_m, x[i]),
                std::max(box->y_max_m, y[i])};
    }
    return box;
}

[[noreturn]] void refuse_elsewhere(const std::filesystem::path& file, const std::optional<models::BoxM>& lies,
                                   const models::BoxM& wanted) {
    std::string far;
    if (lies) {
        const double dx = std::max({lies->x_min_m - wanted.x_max_m, wanted.x_min_m - lies->x_max_m, 0.0});
        const double dy = std::max({lies->y_min_m - wanted.y_max_m, wanted.y_min_m - lies->y_max_m, 0.0});
        far = fmt::format(": it lies {:.0f} km away from them", std::max(1.0, std::hypot(dx, dy) / 1000.0));
    }
    throw models::Error("the picture does not reach the fields" + far, file.string(),
                        "take one of this district, or check its reference system");
}

/// The side of a square as large as the pixel there is on the ground; 0 where it cannot be brought there.
double side_of_pixel_m(void* to_work, double column, double row) {
    double x[] = {column - 0.5, column + 0.5, column - 0.5}, y[] = {row - 0.5, row - 0.5, row + 0.5}, z[] = {0, 0, 0};
    int good[] = {0, 0, 0};
    GDALGenImgProjTransform(to_work, FALSE, 3, x, y, z, good);
    if (!good[0] || !good[1] || !good[2]) return 0.0;
    return std::sqrt(std::abs((x[1] - x[0]) * (y[2] - y[0]) - (x[2] - x[0]) * (y[1] - y[0])));
}

Window window_of(GDALDataset& raster, void* to_work, const std::filesystem::path& file, const BackdropWanted& wanted) {
    const int columns = raster.GetRasterXSize(), rows = raster.GetRasterYSize();
    const std::optional<models::BoxM> all = box_of_pixels(to_work, 0.0, 0.0, columns, rows);
    Window window;
    if (!all) refuse_elsewhere(file, all, wanted.box);
    window.box = {std::max(all->x_min_m, wanted.box.x_min_m), std::max(all->y_min_m, wanted.box.y_min_m),
                  std::min(all->x_max_m, wanted.box.x_max_m), std::min(all->y_max_m, wanted.box.y_max_m)};
    if (!(window.box.width_m() > 0.0) || !(window.box.height_m() > 0.0)) refuse_elsewhere(file, all, wanted.box);
    // Back into pixels, from points all over the box.
    constexpr int steps = 20;
    std::vector<double> x, y, z;
    for (int i = 0; i <= steps; ++i)
        for (int j = 0; j <= steps; ++j) {
            x.push_back(window.box.x_min_m + window.box.width_m() * i / steps);
            y.push_back(window.box.y_min_m + window.box.height_m() * j / steps);
        }
    z.assign(x.size(), 0.0);
    std::vector<int> good(x.size(), 0);
    GDALGenImgProjTransform(to_work, TRUE, static_cast<int>(x.size()), x.data(), y.data(), z.data(), good.data());
    double left = columns, right = 0.0, top = rows, bottom = 0.0;
    for (std::size_t i = 0; i < x.size(); ++i) {
        if (!good[i]) continue;
        left = std::min(left, x[i]);
        right = std::max(right, x[i]);
        top = std::min(top, y[i]);
        bottom = std::max(bottom, y[i]);
    }
    // Two pixels more, which the bilinear warp looks at.
    window.x = static_cast<int>(std::clamp(std::floor(left) - 2.0, 0.0, columns - 1.0));
    window.y = static_cast<int>(std::clamp(std::floor(top) - 2.0, 0.0, rows - 1.0));
    window.width = static_cast<int>(std::clamp(std::ceil(right) + 2.0, window.x + 1.0, 1.0 * columns)) - window.x;
    window.height = static_cast<int>(std::clamp(std::ceil(bottom) + 2.0, window.y + 1.0, 1.0 * rows)) - window.y;
    if (!(right > left) || !(bottom > top)) refuse_elsewhere(file, all, wanted.box);
    window.metres_per_px = side_of_pixel_m(to_work, std::clamp(0.5 * (left + right), 0.5, columns - 0.5),
                                           std::clamp(0.5 * (top + bottom), 0.5, rows - 0.5));
    if (!(window.metres_per_px > 0.0)) refuse_elsewhere(file, all, wanted.box);
    return window;
}

int CPL_STDCALL tell_progress(double share, const char*, void* of) {
    const auto& step = *static_cast<const std::function<bool(double)>*>(of);
    return step(share) ? TRUE : FALSE;
}

/// A window of the file, read coarser, as red, green, blue and alpha.
class Decimated {
 public:
    Decimated(GDALDataset& raster, const Window& window, double coarser, const std::filesystem::path& file,
              const GdalErrors& errors, const models::Progress& progress)
        : raster_(raster), window_(window), file_(file), errors_(errors), progress_(progress) {
        width_ = std::max(1, static_cast<int>(std::lround(window.width / coarser)));
        height_ = std::max(1, static_cast<int>(std::lround(window.height / coarser)));
        for (auto& plane : planes_)
            plane.assign(static_cast<std::size_t>(width_) * static_cast<std::size_t>(height_), 0);
        find_bands();
        read_alpha();
        if (palette_ != nullptr)
            read_palette();
        else
            read_colours();
    }
    int width() const { return width_; }
    int height() const { return height_; }
    std::array<std::vector<std::uint8_t>, 4>& planes() { return planes_; }

 private:
    void find_bands() {
        const int count = raster_.GetRasterCount();
        std::array<int, 3> named{};
        for (int b = 1; b <= count; ++b) {
            switch (raster_.GetRasterBand(b)->GetColorInterpretation()) {
                case GCI_RedBand:
                    named[0] = b;
                    break;
                case GCI_GreenBand:
                    named[1] = b;
                    break;
                case GCI_BlueBand:
                    named[2] = b;
                    break;
                case GCI_AlphaBand:
                    alpha_ = b;
                    break;
                default:
                    break;
            }
        }
        palette_ = raster_.GetRasterBand(1)->GetColorTable();
        const int colours = count - (alpha_ != 0 ? 1 : 0);
        if (named[0] != 0 && named[1] != 0 && named[2] != 0)
            bands_ = {named[0], named[1], named[2]};
        else if (colours >= 3 && palette_ == nullptr)
            bands_ = {1, 2, 3};
        else
            bands_ = {1};
        all_bytes_ = std::all_of(bands_.begin(), bands_.end(),
                                 [&](int b) { return raster_.GetRasterBand(b)->GetRasterDataType() == GDT_Byte; });
        if (!all_bytes_) palette_ = nullptr;
        parts_ = 1.0 + (palette_ != nullptr ? 1.0 : static_cast<double>(bands_.size()));
    }

    void read(GDALRasterBand& band, void* into, GDALDataType type, GDALRIOResampleAlg by) {
        const std::function<bool(double)> step = [&](double share) {
            try {
                progress_.step("picture behind the map", 0.8 * (done_ + share) / parts_);
                return true;
            } catch (const models::Cancelled&) {
                stopped_ = true;
                return false;
            }
        };
        GDALRasterIOExtraArg extra;
        INIT_RASTERIO_EXTRA_ARG(extra);
        extra.eResampleAlg = by;
        extra.pfnProgress = tell_progress;
        extra.pProgressData = const_cast<std::function<bool(double)>*>(&step);
        const CPLErr result = band.RasterIO(GF_Read, window_.x, window_.y, window_.width, window_.height, into, width_,
                                            height_, type, 0, 0, &extra);
        if (stopped_) throw models::Cancelled();
        if (result != CE_None)
            throw models::Error(
                "the picture breaks off or is damaged (" + errors_.text_or("its pixels cannot all be read") + ")",
                file_.string(), "copy the file again; gdalinfo -checksum FILE tells whether it is whole");
        done_ += 1.0;
    }

    void read_alpha() {
        GDALRasterBand& band = *raster_.GetRasterBand(bands_.front());
        if (alpha_ != 0) {
            GDALRasterBand& alpha = *raster_.GetRasterBand(alpha_);
            if (alpha.GetRasterDataType() == GDT_Byte) {
                read(alpha, planes_[3].data(), GDT_Byte, GRIORA_Average);
            } else {
                // 16 bits and more: opaque is the largest that is there.
                std::vector<float> values(planes_[3].size());
                read(alpha, values.data(), GDT_Float32, GRIORA_Average);
                const float most = std::max(1e-6F, *std::max_element(values.begin(), values.end()));
                std::transform(values.begin(), values.end(), planes_[3].begin(), [most](float v) {
                    return static_cast<std::uint8_t>(std::lround(std::clamp(v / most, 0.0F, 1.0F) * 255.0F));
                });
            }
        } else if ((band.GetMaskFlags() & GMF_ALL_VALID) != 0) {
            std::fill(planes_[3].begin(), planes_[3].end(), std::uint8_t{255});
            done_ += 1.0;
        } else {
            read(*band.GetMaskBand(), planes_[3].data(), GDT_Byte, GRIORA_NearestNeighbour);
            for (std::uint8_t& a : planes_[3]) a = a != 0 ? 255 : 0;
        }
    }

    void read_palette() {
        std::vector<std::uint8_t> numbers(planes_[0].size());
        read(*raster_.GetRasterBand(bands_.front()), numbers.data(), GDT_Byte, GRIORA_NearestNeighbour);
        std::array<GDALColorEntry, 256> colours{};
        for (int i = 0; i < std::min(256, palette_->GetColorEntryCount()); ++i)
            palette_->GetColorEntryAsRGB(i, &colours[static_cast<std::size_t>(i)]);
        for (std::size_t i = 0; i < numbers.size(); ++i) {
            const GDALColorEntry& colour = colours[numbers[i]];
            planes_[0][i] = static_cast<std::uint8_t>(colour.c1);
            planes_[1][i] = static_cast<std::uint8_t>(colour.c2);
            planes_[2][i] = static_cast<std::uint8_t>(colour.c3);
            planes_[3][i] = static_cast<std::uint8_t>(planes_[3][i] * std::clamp<int>(colour.c4, 0, 255) / 255);
        }
    }

    void read_colours() {
        if (all_bytes_) {
            for (std::size_t k = 0; k < bands_.size(); ++k)
                read(*raster_.GetRasterBand(bands_[k]), planes_[k].data(), GDT_Byte, GRIORA_Average);
        } else {
            stretch();
        }
        for (std::size_t k = bands_.size(); k < 3; ++k) planes_[k] = planes_[0];
    }

    void stretch() {
        std::vector<std::vector<float>> values(bands_.size(), std::vector<float>(planes_[0].size()));
        std::vector<float> ranked;
        const std::size_t stride = std::max<std::size_t>(1, planes_[0].size() / most_numbers_ranked);
        for (std::size_t k = 0; k < bands_.size(); ++k) {
            read(*raster_.GetRasterBand(bands_[k]), values[k].data(), GDT_Float32, GRIORA_Average);
            for (std::size_t i = 0; i < values[k].size(); i += stride)
                if (planes_[3][i] != 0 && std::isfinite(values[k][i])) ranked.push_back(values[k][i]);
        }
        std::sort(ranked.begin(), ranked.end());
        const auto at = [&](double share) {
            return ranked.empty() ? 0.0F
                                  : ranked[static_cast<std::size_t>(share * static_cast<double>(ranked.size() - 1))];
        };
        const float low = at(stretched_from), high = at(stretched_to);
        const float span = high > low ? high - low : 1.0F;
        for (std::size_t k = 0; k < bands_.size(); ++k)
            for (std::size_t i = 0; i < values[k].size(); ++i) {
                const float value = values[k][i];
                if (!std::isfinite(value)) {
                    planes_[3][i] = 0;
                    continue;
                }
                // All of one number lie in the middle.
                const float share = high > low ? std::clamp((value - low) / span, 0.0F, 1.0F) : 0.5F;
                planes_[k][i] = static_cast<std::uint8_t>(std::lround(share * 255.0F));
            }
    }

    GDALDataset& raster_;
    const Window& window_;
    const std::filesystem::path& file_;
    const GdalErrors& errors_;
    const models::Progress& progress_;
    int width_ = 0, height_ = 0, alpha_ = 0;
    std::vector<int> bands_;
    const GDALColorTable* palette_ = nullptr;
    bool all_bytes_ = true, stopped_ = false;
    double parts_ = 1.0, done_ = 0.0;
    std::array<std::vector<std::uint8_t>, 4> planes_;
};

GDALDatasetUniquePtr in_memory(int width, int height, std::array<std::vector<std::uint8_t>, 4>& planes) {
    GDALDriver* driver = GetGDALDriverManager()->GetDriverByName("MEM");
    if (driver == nullptr) throw models::Error("GDAL was built without rasters in memory");
    GDALDatasetUniquePtr made(driver->Create("", width, height, 0, GDT_Byte, nullptr));
    for (auto& plane : planes) {
        plane.resize(static_cast<std::size_t>(width) * static_cast<std::size_t>(height));
        char pointer[64] = {};
        pointer[CPLPrintPointer(pointer, plane.data(), sizeof pointer - 1)] = '\0';
        char** options = CSLSetNameValue(nullptr, "DATAPOINTER", pointer);
        const CPLErr added = made->AddBand(GDT_Byte, options);
        CSLDestroy(options);
        if (added != CE_None) throw models::Error("there is no memory for the picture behind the map");
    }
    made->GetRasterBand(4)->SetColorInterpretation(GCI_AlphaBand);
    return made;
}

/// Where the pixels of what was read lie: those of the file, moved and widened.
void place_like(GDALDataset& made, GDALDataset& raster, const Window& window) {
    const double fx = static_cast<double>(window.width) / made.GetRasterXSize();
    const double fy = static_cast<double>(window.height) / made.GetRasterYSize();
    double t[6];
    if (raster.GetGCPCount() > 0) {
        std::vector<GDAL_GCP> points(raster.GetGCPs(), raster.GetGCPs() + raster.GetGCPCount());
        for (GDAL_GCP& point : points) {
            point.dfGCPPixel = (point.dfGCPPixel - window.x) / fx;
            point.dfGCPLine = (point.dfGCPLine - window.y) / fy;
        }
        const OGRSpatialReference* system =
            raster.GetGCPSpatialRef() != nullptr ? raster.GetGCPSpatialRef() : raster.GetSpatialRef();
        made.SetGCPs(static_cast<int>(points.size()), points.data(), system);
        return;
    }
    raster.GetGeoTransform(t);
    double moved[6] = {t[0] + window.x * t[1] + window.y * t[2], t[1] * fx, t[2] * fy,
                       t[3] + window.x * t[4] + window.y * t[5], t[4] * fx, t[5] * fy};
    made.SetGeoTransform(moved);
    made.SetSpatialRef(raster.GetSpatialRef());
}

}  // namespace

void check_backdrop(const std::filesystem::path& file) {
    const GdalErrors errors;
    open_backdrop(file, errors);
}

Backdrop read_backdrop(const std::filesystem::path& file, const BackdropWanted& wanted,
                       const models::Progress& progress) {
    const GdalErrors errors;
    const GDALDatasetUniquePtr raster = open_backdrop(file, errors);
    OGRSpatialReference work;
    if (work.SetFromUserInput(wanted.system.c_str()) != OGRERR_NONE)
        throw models::Error("the work system \"" + wanted.system + "\" is not known");
    work.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
    char** options = CSLSetNameValue(nullptr, "DST_SRS", wanted.system.c_str());
    TransformerOwner to_work(GDALCreateGenImgProjTransformer2(raster.get(), nullptr, options));
    CSLDestroy(options);
    if (to_work.get() == nullptr)
        throw models::Error("the picture cannot be brought onto the map (" +
                                errors.text_or("its reference system has no relation to the map's") + ")",
                            file.string(), how_to_place);
    const Window window = window_of(*raster, to_work.get(), file, wanted);

    Backdrop backdrop;
    const double by_number = std::sqrt(window.box.width_m() * window.box.height_m() /
                                       static_cast<double>(std::max(1LL, wanted.most_pixels)));
    backdrop.metres_per_px = std::max({window.metres_per_px, wanted.metres_per_px, by_number});
    backdrop.is_finest = backdrop.metres_per_px <= window.metres_per_px * 1.001;
    backdrop.width = std::max(1, static_cast<int>(std::floor(window.box.width_m() / backdrop.metres_per_px)));
    backdrop.height = std::max(1, static_cast<int>(std::floor(window.box.height_m() / backdrop.metres_per_px)));
    backdrop.box = window.box;

    const double coarser = std::max(1.0, backdrop.metres_per_px / window.metres_per_px);
    Decimated read(*raster, window, coarser, file, errors, progress);
    const GDALDatasetUniquePtr source = in_memory(read.width(), read.height(), read.planes());
    place_like(*source, *raster, window);

    std::array<std::vector<std::uint8_t>, 4> planes;
    const GDALDatasetUniquePtr target = in_memory(backdrop.width, backdrop.height, planes);
    double where[6] = {window.box.x_min_m,
                       window.box.width_m() / backdrop.width,
                       0.0,
                       window.box.y_max_m,
                       0.0,
                       -window.box.height_m() / backdrop.height};
    target->SetGeoTransform(where);
    target->SetSpatialRef(&work);

    std::unique_ptr<GDALWarpOptions, decltype(&GDALDestroyWarpOptions)> warp(GDALCreateWarpOptions(),
                                                                             &GDALDestroyWarpOptions);
    warp->hSrcDS = GDALDataset::ToHandle(source.get());
    warp->hDstDS = GDALDataset::ToHandle(target.get());
    warp->nBandCount = 3;
    warp->panSrcBands = static_cast<int*>(CPLMalloc(3 * sizeof(int)));
    warp->panDstBands = static_cast<int*>(CPLMalloc(3 * sizeof(int)));
    for (int k = 0; k < 3; ++k) warp->panSrcBands[k] = warp->panDstBands[k] = k + 1;
    warp->nSrcAlphaBand = warp->nDstAlphaBand = 4;
    warp->eResampleAlg = GRA_Bilinear;
    warp->dfWarpMemoryLimit = 32.0 * 1024.0 * 1024.0;
    warp->papszWarpOptions = CSLSetNameValue(warp->papszWarpOptions, "INIT_DEST", "0");
    bool stopped = false;
    const std::function<bool(double)> step = [&](double share) {
        try {
            progress.step("picture behind the map", std::min(1.0, 0.8 + 0.2 * share));
            return true;
        } catch (const models::Cancelled&) {
            stopped = true;
            return false;
        }
    };
    warp->pfnProgress = tell_progress;
    warp->pProgressArg = const_cast<std::function<bool(double)>*>(&step);
    const TransformerOwner exact(GDALCreateGenImgProjTransformer2(warp->hSrcDS, warp->hDstDS, nullptr));
    // An eighth of a pixel is not seen, and most of the work of an exact transform is saved.
    std::unique_ptr<void, decltype(&GDALDestroyApproxTransformer)> near_enough(
        exact.get() == nullptr ? nullptr : GDALCreateApproxTransformer(GDALGenImgProjTransform, exact.get(), 0.125),
        &GDALDestroyApproxTransformer);
    GDALWarpOperation operation;
    bool warped = false;
    if (near_enough) {
        warp->pfnTransformer = GDALApproxTransform;
        warp->pTransformerArg = near_enough.get();
        warped = operation.Initialize(warp.get()) == CE_None &&
                 operation.ChunkAndWarpImage(0, 0, backdrop.width, backdrop.height) == CE_None;
    }
    if (stopped) throw models::Cancelled();
    if (!warped)
        throw models::Error("the picture cannot be brought onto the map (" + errors.text_or("the warp failed") + ")",
                            file.string(), how_to_place);
    backdrop.rgba.resize(planes[0].size());
    for (std::size_t i = 0; i < backdrop.rgba.size(); ++i)
        backdrop.rgba[i] = static_cast<std::uint32_t>(planes[3][i]) << 24 |
                           static_cast<std::uint32_t>(planes[2][i]) << 16 |
                           static_cast<std::uint32_t>(planes[1][i]) << 8 | planes[0][i];
    const bool any = std::any_of(planes[3].begin(), planes[3].end(), [](std::uint8_t a) { return a != 0; });
    if (!any && !wanted.may_be_empty)
        throw models::Error("the picture has no value where the fields lie", file.string(),
                            "take one that shows this district");
    return backdrop;
}

}  // namespace geo
