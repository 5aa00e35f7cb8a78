#include "geo/raster.h"

#include <cmath>
#include <limits>
#include <mutex>
#include <system_error>
#include <utility>

#include <cpl_conv.h>
#include <cpl_error.h>
#include <gdal.h>
#include <ogr_srs_api.h>

#include "models/error.h"

namespace geo {

namespace {

void register_raster_drivers() {
    static std::once_flag once;
    std::call_once(once, [] {
        GDALAllRegister();
        // GDAL keeps blocks of rasters in a twentieth of the machine's memory unless told otherwise; written row by row
        // they are not needed again.
        if (CPLGetConfigOption("GDAL_CACHEMAX", nullptr) == nullptr) GDALSetCacheMax64(64LL << 20);
    });
}

/// Keeps GDAL's complaints for the sentence of the Error instead of the console.
class QuietGdal {
 public:
    QuietGdal() {
        CPLPushErrorHandler(CPLQuietErrorHandler);
        CPLErrorReset();
    }
    ~QuietGdal() { CPLPopErrorHandler(); }
    QuietGdal(const QuietGdal&) = delete;
    QuietGdal& operator=(const QuietGdal&) = delete;
    static std::string last() { return CPLGetLastErrorMsg(); }
};

struct DatasetCloser {
    void operator()(void* dataset) const {
        if (dataset != nullptr) GDALClose(dataset);
    }
};
using Dataset = std::unique_ptr<void, DatasetCloser>;

/// A reference system in whatever form it is written.
class SystemOf {
 public:
    static constexpr const char* work_system_name = "equal area around the data, WGS 84, metres";
    explicit SystemOf(const std::string& text) : handle_(OSRNewSpatialReference(nullptr)) {
        if (OSRSetFromUserInput(handle_, text.c_str()) == OGRERR_NONE) {
            // A system given by its numbers comes without a name; map programs would call it "unknown".
            const char* name = OSRGetName(handle_);
            if (name != nullptr && std::string_view(name) == "unknown") OSRSetProjCS(handle_, work_system_name);
            return;
        }
        OSRDestroySpatialReference(handle_);
        throw models::Error("the reference system \"" + text + "\" is not known", "", "give EPSG:n or a PROJ text");
    }
    ~SystemOf() { OSRDestroySpatialReference(handle_); }
    SystemOf(const SystemOf&) = delete;
    SystemOf& operator=(const SystemOf&) = delete;
    OGRSpatialReferenceH handle() const { return handle_; }

 private:
    OGRSpatialReferenceH handle_;
};

std::string well_known_text(const std::string& system) {
    const SystemOf owner(system);
    char* text = nullptr;
    OSRExportToWkt(owner.handle(), &text);
    std::string out = text == nullptr ? "" : text;
    CPLFree(text);
    return out;
}

Dataset open_raster(const std::filesystem::path& file) {
    register_raster_drivers();
    Dataset dataset(GDALOpenEx(file.string().c_str(), GDAL_OF_RASTER | GDAL_OF_READONLY, nullptr, nullptr, nullptr));
    if (!dataset) {
        throw models::Error(
            "this is no raster that can be read" + (QuietGdal::last().empty() ? "" : " (" + QuietGdal::last() + ")"),
            file.string(), "check the path; GeoTIFF is what this program writes");
    }
    return dataset;
}

RasterFrame frame_of(const Dataset& dataset, const std::filesystem::path& file) {
    RasterFrame frame;
    frame.grid.columns = GDALGetRasterXSize(dataset.get());
    frame.grid.rows = GDALGetRasterYSize(dataset.get());
    double transform[6] = {0.0, 1.0, 0.0, 0.0, 0.0, -1.0};
    GDALGetGeoTransform(dataset.get(), transform);
    if (transform[2] != 0.0 || transform[4] != 0.0 || !(transform[1] > 0.0) || !(transform[5] < 0.0)) {
        throw models::Error("the cells of the raster are turned or lie south up", file.string(),
                            "warp it to a north-up grid first");
    }
    if (std::abs(transform[1] + transform[5]) > 1e-9 * transform[1]) {
        throw models::Error("the cells of the raster are not square", file.string(), "warp it to square cells first");
    }
    frame.grid.cell_m = transform[1];
    frame.grid.x_min_m = transform[0];
    frame.grid.y_max_m = transform[3];
    const char* system = GDALGetProjectionRef(dataset.get());
    frame.system = system == nullptr ? "" : system;
    return frame;
}

}  // namespace

struct RasterWriter::File {
    std::filesystem::path final_name, partial_name;
    int rows = 0, columns = 0;
    Dataset dataset;
    ~File() {
        if (!dataset) return;
        dataset.reset();
        std::error_code ignored;
        std::filesystem::remove(partial_name, ignored);
    }
};

RasterWriter::RasterWriter(std::filesystem::path file, const RasterFrame& frame, const std::vector<std::string>& bands)
    : file_(std::make_unique<File>()) {
    if (frame.grid.rows <= 0 || frame.grid.columns <= 0 || bands.empty()) {
        throw models::Error("a raster of " + std::to_string(frame.grid.rows) + " rows, " +
                                std::to_string(frame.grid.columns) + " columns and " + std::to_string(bands.size()) +
                                " bands is asked for",
                            file.string());
    }
    register_raster_drivers();
    const QuietGdal quiet;
    file_->final_name = std::move(file);
    file_->partial_name = file_->final_name;
    file_->partial_name += ".part";
    file_->rows = frame.grid.rows;
    file_->columns = frame.grid.columns;
    const char* options[] = {"COMPRESS=DEFLATE", "PREDICTOR=3",      "ZLEVEL=1",
                             "INTERLEAVE=BAND",  "BIGTIFF=IF_SAFER", nullptr};
    file_->dataset.reset(GDALCreate(GDALGetDriverByName("GTiff"), file_->partial_name.string().c_str(),
                                    frame.grid.columns, frame.grid.rows, static_cast<int>(bands.size()), GDT_Float64,
                                    const_cast<char**>(options)));
    if (!file_->dataset) {
        throw models::Error("the raster cannot be written (" + QuietGdal::last() + ")", file_->final_name.string(),
                            "check that the folder exists and can be written to");
    }
    double transform[6] = {frame.grid.x_min_m, frame.grid.cell_m, 0.0, frame.grid.y_max_m, 0.0, -frame.grid.cell_m};
    GDALSetGeoTransform(file_->dataset.get(), transform);
    if (!frame.system.empty()) GDALSetProjection(file_->dataset.get(), well_known_text(frame.system).c_str());
    for (std::size_t k = 0; k < bands.size(); ++k) {
        GDALRasterBandH band = GDALGetRasterBand(file_->dataset.get(), static_cast<int>(k) + 1);
        GDALSetDescription(band, bands[k].c_str());
        GDALSetRasterNoDataValue(band, std::numeric_limits<double>::quiet_NaN());
    }
}

RasterWriter::~RasterWriter() = default;
RasterWriter::RasterWriter(RasterWriter&&) noexcept = default;
RasterWriter& RasterWriter::operator=(RasterWriter&&) noexcept = default;

void RasterWriter::write_rows(int band, int first_row, int rows, const double* values) {
    const QuietGdal quiet;
    const CPLErr result =
        GDALRasterIO(GDALGetRasterBand(file_->dataset.get(), band + 1), GF_Write, 0, first_row, file_->columns, rows,
                     const_cast<double*>(values), file_->columns, rows, GDT_Float64, 0, 0);
    if (result != CE_None) {
        throw models::Error("writing the raster failed (" + QuietGdal::last() + ")", file_->final_name.string(),
                            "check that the disk has room");
    }
}

void RasterWriter::write_band(int band, const Eigen::MatrixXd& values) {
    if (values.rows() != file_->rows || values.cols() != file_->columns) {
        throw models::Error("a band of " + std::to_string(values.rows()) + " x " + std::to_string(values.cols()) +
                                " does not fit a raster of " + std::to_string(file_->rows) + " x " +
                                std::to_string(file_->columns),
                            file_->final_name.string());
    }
    const Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor> by_rows = values;
    write_rows(band, 0, file_->rows, by_rows.data());
}

void RasterWriter::finish() {
    const QuietGdal quiet;
    GDALFlushCache(file_->dataset.get());
    const bool written = CPLGetLastErrorType() < CE_Failure;
    const std::string complaint = QuietGdal::last();
    file_->dataset.reset();
    std::error_code problem;
    if (written) std::filesystem::rename(file_->partial_name, file_->final_name, problem);
    if (!written || problem) {
        std::error_code ignored;
        std::filesystem::remove(file_->partial_name, ignored);
        throw models::Error("writing the raster failed (" + (written ? problem.message() : complaint) + ")",
                            file_->final_name.string(), "check that the disk has room");
    }
}

RasterFrame read_raster_frame(const std::filesystem::path& file) {
    const QuietGdal quiet;
    return frame_of(open_raster(file), file);
}

bool same_system(const std::string& a, const std::string& b) {
    const QuietGdal quiet;
    return OSRIsSame(SystemOf(a).handle(), SystemOf(b).handle()) != 0;
}

Raster read_raster(const std::filesystem::path& file) {
    const QuietGdal quiet;
    const Dataset dataset = open_raster(file);
    Raster raster;
    raster.frame = frame_of(dataset, file);
    const int rows = raster.frame.grid.rows, columns = raster.frame.grid.columns;
    for (int k = 1; k <= GDALGetRasterCount(dataset.get()); ++k) {
        GDALRasterBandH band = GDALGetRasterBand(dataset.get(), k);
        Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor> values(rows, columns);
        if (GDALRasterIO(band, GF_Read, 0, 0, columns, rows, values.data(), columns, rows, GDT_Float64, 0, 0) !=
            CE_None) {
            throw models::Error("reading the raster failed (" + QuietGdal::last() + ")", file.string());
        }
        int has_nodata = 0;
        const double nodata = GDALGetRasterNoDataValue(band, &has_nodata);
        if (has_nodata != 0 && !std::isnan(nodata)) {
            values = (values.array() == nodata).select(std::numeric_limits<double>::quiet_NaN(), values);
        }
        raster.bands.emplace_back(values);
        const char* description = GDALGetDescription(band);
        raster.descriptions.emplace_back(description == nullptr ? "" : description);
    }
    return raster;
}

}  // namespace geo
