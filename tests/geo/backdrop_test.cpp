#include "geo/backdrop.h"

#include <cmath>
#include <filesystem>
#include <fstream>
#include <functional>
#include <memory>

#include <catch2/catch.hpp>
#include <gdal_priv.h>
#include <ogr_spatialref.h>
#include <unistd.h>

#include "geo/gdal_errors.h"
#include "geo/outlines.h"
#include "geo/reference_system.h"
#include "geo/work_system.h"
#include "models/error.h"

/// The picture that a user lays behind the map: where it lies, its colours, what is refused.
using Catch::Matchers::Contains;
using geo::Backdrop;
using geo::BackdropWanted;

namespace {

namespace fs = std::filesystem;

struct PictureFolder {
    fs::path path = fs::temp_directory_path() / ("lodicule_backdrop_" + std::to_string(::getpid()));
    PictureFolder() {
        fs::remove_all(path);
        fs::create_directories(path);
    }
    ~PictureFolder() { fs::remove_all(path); }
};

const geo::WorkSystem work(19.3, 47.2);
constexpr double west_m = 370'000.0, north_m = 5'231'000.0;  // EPSG:32634, some 400 m from the centre of `work`
constexpr int side = 120;
constexpr double pixel_m = 10.0;

struct Picture {
    fs::path file;
    int columns = side, rows = side, bands = 1;
    GDALDataType type = GDT_Byte;
    const char* system = "EPSG:32634";
    bool placed = true;
    double cell_m = pixel_m;
    /// value of a band at column and row
    std::function<double(int band, int column, int row)> value;
    std::function<void(GDALDataset&)> finish = [](GDALDataset&) {};
    const char* const* options = nullptr;
};

void write(const Picture& picture) {
    geo::register_gdal();
    GDALDriver* driver = GetGDALDriverManager()->GetDriverByName("GTiff");
    REQUIRE(driver != nullptr);
    GDALDatasetUniquePtr made(driver->Create(picture.file.string().c_str(), picture.columns, picture.rows,
                                             picture.bands, picture.type, const_cast<char**>(picture.options)));
    REQUIRE(made);
    if (picture.placed) {
        double transform[6] = {west_m, picture.cell_m, 0.0, north_m, 0.0, -picture.cell_m};
        REQUIRE(made->SetGeoTransform(transform) == CE_None);
    }
    if (picture.system != nullptr) {
        OGRSpatialReference system;
        REQUIRE(system.SetFromUserInput(picture.system) == OGRERR_NONE);
        REQUIRE(made->SetSpatialRef(&system) == CE_None);
    }
    std::vector<double> line(static_cast<std::size_t>(picture.columns));
    for (int band = 1; band <= picture.bands; ++band)
        for (int row = 0; row < picture.rows; ++row) {
            for (int column = 0; column < picture.columns; ++column)
                line[static_cast<std::size_t>(column)] = picture.value(band, column, row);
            REQUIRE(made->GetRasterBand(band)->RasterIO(GF_Write, 0, row, picture.columns, 1, line.data(),
                                                        picture.columns, 1, GDT_Float64, 0, 0) == CE_None);
        }
    picture.finish(*made);
}

/// A place of the picture, in pixels from its north-west corner, in the work system.
models::PointM place_of(double column, double row) {
    static const geo::ToDegrees to_degrees("EPSG:32634");
    const auto degrees = to_degrees(west_m + column * pixel_m, north_m - row * pixel_m);
    REQUIRE(degrees);
    return work.from_degrees(degrees->longitude_deg, degrees->latitude_deg);
}

BackdropWanted all_of_it() {
    BackdropWanted wanted;
    wanted.system = work.proj_text();
    const models::BoxM box = models::bounding_box(
        std::vector<models::PointM>{place_of(0, 0), place_of(side, 0), place_of(0, side), place_of(side, side)});
    wanted.box = {box.x_min_m - 100.0, box.y_min_m - 100.0, box.x_max_m + 100.0, box.y_max_m + 100.0};
    return wanted;
}

struct Rgba {
    int red, green, blue, alpha;
};
Rgba at(const Backdrop& picture, const models::PointM& place) {
    const int column =
        static_cast<int>(std::floor((place.x_m - picture.box.x_min_m) / picture.box.width_m() * picture.width));
    const int row =
        static_cast<int>(std::floor((picture.box.y_max_m - place.y_m) / picture.box.height_m() * picture.height));
    REQUIRE(column >= 0);
    REQUIRE(row >= 0);
    REQUIRE(column < picture.width);
    REQUIRE(row < picture.height);
    const std::uint32_t packed = picture.rgba[static_cast<std::size_t>(row) * static_cast<std::size_t>(picture.width) +
                                              static_cast<std::size_t>(column)];
    return {static_cast<int>(packed & 255U), static_cast<int>(packed >> 8 & 255U),
            static_cast<int>(packed >> 16 & 255U), static_cast<int>(packed >> 24)};
}

void check_colour(const Rgba& found, const Rgba& wanted) {
    CHECK(found.red == wanted.red);
    CHECK(found.green == wanted.green);
    CHECK(found.blue == wanted.blue);
    CHECK(found.alpha == wanted.alpha);
}

}  // namespace

TEST_CASE("a picture in another projection lies on the map where its pixels lie on the ground") {
    const PictureFolder folder;
    const fs::path file = folder.path / "air.tif";
    // Red west of column 70, blue east of it; green says the row.
    write({.file = file, .bands = 3, .value = [](int band, int column, int row) {
               return band == 1 ? (column < 70 ? 200 : 0) : band == 3 ? (column < 70 ? 0 : 200) : 2 * row;
           }});
    const Backdrop picture = geo::read_backdrop(file, all_of_it());
    CHECK(picture.is_finest);
    CHECK(picture.metres_per_px == Approx(pixel_m).epsilon(0.0).margin(0.05));
    for (const double row : {10.5, 60.5, 110.5}) {
        CAPTURE(row);
        const Rgba west = at(picture, place_of(67.5, row)), east = at(picture, place_of(72.5, row));
        CHECK(west.red == 200);
        CHECK(west.blue == 0);
        CHECK(east.red == 0);
        CHECK(east.blue == 200);
        // A row is 2 of green: within half a pixel of where it lies.
        CHECK(std::abs(west.green - 2.0 * (row - 0.5)) <= 1.5);
    }
    // The sheet is turned against the map: beyond its edges there is nothing.
    CHECK(at(picture, place_of(side - 2.0, side - 2.0)).alpha == 255);
    const models::PointM corner{picture.box.x_min_m + 1.0, picture.box.y_max_m - 1.0};
    CHECK(at(picture, corner).alpha == 0);
}

TEST_CASE("a palette gives its colours and a file of one band is grey") {
    const PictureFolder folder;
    const fs::path plan = folder.path / "plan.tif", grey = folder.path / "grey.tif";
    write({.file = plan,
           .value = [](int, int column, int) { return column < 60 ? 3 : 7; },
           .finish =
               [](GDALDataset& made) {
                   GDALColorTable colours;
                   const GDALColorEntry meadow{20, 160, 40, 255}, road{250, 240, 10, 255};
                   colours.SetColorEntry(3, &meadow);
                   colours.SetColorEntry(7, &road);
                   REQUIRE(made.GetRasterBand(1)->SetColorTable(&colours) == CE_None);
               }});
    write({.file = grey, .value = [](int, int, int) { return 77; }});
    const Backdrop coloured = geo::read_backdrop(plan, all_of_it());
    check_colour(at(coloured, place_of(30, 60)), {20, 160, 40, 255});
    check_colour(at(coloured, place_of(90, 60)), {250, 240, 10, 255});
    check_colour(at(geo::read_backdrop(grey, all_of_it()), place_of(30, 60)), {77, 77, 77, 255});
}

TEST_CASE("numbers of 16 bits are stretched from their 2 to their 98 percent quantile") {
    const PictureFolder folder;
    const fs::path file = folder.path / "deep.tif";
    // 1,000 to 2,190 from west to east, and one pixel that would flatten it all.
    write({.file = file, .type = GDT_UInt16, .value = [](int, int column, int row) {
               return column == 3 && row == 3 ? 65'000 : 1'000 + 10 * column;
           }});
    const Backdrop picture = geo::read_backdrop(file, all_of_it());
    CHECK(at(picture, place_of(0.9, 60)).red <= 2);
    CHECK(at(picture, place_of(119.0, 60)).red >= 253);
    CHECK(at(picture, place_of(60, 60)).red == Approx(127.5).epsilon(0.0).margin(4.0));
    const Rgba middle = at(picture, place_of(40, 60));
    CHECK(middle.red == middle.green);
    CHECK(middle.red == middle.blue);
}

TEST_CASE("where the file has no value the picture is transparent") {
    const PictureFolder folder;
    const fs::path holes = folder.path / "holes.tif", alpha = folder.path / "alpha.tif";
    const auto pond = [](int column, int row) { return column >= 40 && column < 80 && row >= 40 && row < 80; };
    write({.file = holes,
           .type = GDT_Float32,
           .value = [&](int, int column, int row) { return pond(column, row) ? -9999.0 : 1.0 + column; },
           .finish = [](GDALDataset& made) { REQUIRE(made.GetRasterBand(1)->SetNoDataValue(-9999.0) == CE_None); }});
    write(
        {.file = alpha,
         .bands = 4,
         .value = [&](int band, int column, int row) { return band == 4 ? (pond(column, row) ? 0 : 128) : 50 * band; },
         .finish =
             [](GDALDataset& made) {
                 REQUIRE(made.GetRasterBand(4)->SetColorInterpretation(GCI_AlphaBand) == CE_None);
             }});
    const Backdrop without = geo::read_backdrop(holes, all_of_it());
    CHECK(at(without, place_of(60, 60)).alpha == 0);
    CHECK(at(without, place_of(20, 60)).alpha == 255);
    const Backdrop veiled = geo::read_backdrop(alpha, all_of_it());
    CHECK(at(veiled, place_of(60, 60)).alpha == 0);
    check_colour(at(veiled, place_of(20, 60)), {50, 100, 150, 128});
}

TEST_CASE("a file much finer than what is wanted is read from its overviews and never larger than asked for") {
    const PictureFolder folder;
    const fs::path file = folder.path / "fine.tif";
    const char* const tiled[] = {"TILED=YES", nullptr};
    constexpr int many = 2400;
    // The overview is given another grey, to know it again.
    write({.file = file,
           .columns = many,
           .rows = many,
           .cell_m = pixel_m * side / many,
           .value = [](int, int, int) { return 10; },
           .finish =
               [](GDALDataset& made) {
                   const int levels[] = {8};
                   REQUIRE(made.BuildOverviews("NEAREST", 1, const_cast<int*>(levels), 0, nullptr, nullptr, nullptr) ==
                           CE_None);
                   GDALRasterBand* overview = made.GetRasterBand(1)->GetOverview(0);
                   REQUIRE(overview != nullptr);
                   std::vector<std::uint8_t> pale(
                       static_cast<std::size_t>(overview->GetXSize()) * static_cast<std::size_t>(overview->GetYSize()),
                       210);
                   REQUIRE(overview->RasterIO(GF_Write, 0, 0, overview->GetXSize(), overview->GetYSize(), pale.data(),
                                              overview->GetXSize(), overview->GetYSize(), GDT_Byte, 0, 0) == CE_None);
               },
           .options = tiled});
    BackdropWanted wanted = all_of_it();
    wanted.most_pixels = 20'000;
    const Backdrop coarse = geo::read_backdrop(file, wanted);
    CHECK(static_cast<long long>(coarse.rgba.size()) <= wanted.most_pixels);
    CHECK(static_cast<long long>(coarse.rgba.size()) > wanted.most_pixels / 2);
    CHECK_FALSE(coarse.is_finest);
    CHECK(at(coarse, place_of(60, 60)).red == 210);

    // A tenth of it, near by, has the pixels of the file itself.
    const models::PointM middle = place_of(60, 60);
    wanted.box = {middle.x_m - 20.0, middle.y_m - 20.0, middle.x_m + 20.0, middle.y_m + 20.0};
    const Backdrop fine = geo::read_backdrop(file, wanted);
    CHECK(fine.is_finest);
    CHECK(fine.metres_per_px == Approx(0.5).epsilon(0.0).margin(0.01));
    CHECK(at(fine, middle).red == 10);
}

TEST_CASE("a picture that cannot be laid behind the map is refused with what, where and how to mend") {
    const PictureFolder folder;
    const fs::path missing = folder.path / "none.tif", letter = folder.path / "letter.tif",
                   nowhere = folder.path / "nowhere.tif", unknown = folder.path / "unknown.tif",
                   far = folder.path / "far.tif", cut = folder.path / "cut.tif";
    const auto plain = [](int, int column, int row) { return (column * 7 + row * 13) % 251; };
    std::ofstream(letter) << "no picture";
    write({.file = nowhere, .system = nullptr, .placed = false, .value = plain});
    write({.file = unknown, .system = nullptr, .value = plain});
    write({.file = far, .system = "EPSG:32632", .value = plain});
    write({.file = cut, .value = plain});
    fs::resize_file(cut, fs::file_size(cut) / 2);

    const auto refusal = [&](const fs::path& file) {
        try {
            geo::read_backdrop(file, all_of_it());
        } catch (const models::Error& error) {
            CHECK(error.where() == file.string());
            CHECK_FALSE(error.how_to_mend().empty());
            return std::string(error.what());
        }
        return std::string("not refused");
    };
    CHECK_THAT(refusal(missing), Contains("there is no such file"));
    CHECK_THAT(refusal(letter), Contains("no raster that can be read"));
    CHECK_THAT(refusal(nowhere), Contains("does not say where on the earth it lies") && Contains("gdal_translate"));
    CHECK_THAT(refusal(unknown), Contains("does not say which reference system"));
    // The same numbers two zones of 6 degrees to the west.
    CHECK_THAT(refusal(far), Contains("does not reach the fields: it lies 9") && Contains("km away"));
    CHECK_THAT(refusal(cut), Contains("breaks off or is damaged") && Contains("copy the file again"));
    for (const fs::path& file : {missing, letter, nowhere, unknown})
        CHECK_THROWS_AS(geo::check_backdrop(file), models::Error);
    CHECK_NOTHROW(geo::check_backdrop(far));
}

TEST_CASE("reading a picture says how far it is and stops when it is told to") {
    const PictureFolder folder;
    const fs::path file = folder.path / "long.tif";
    write({.file = file, .bands = 3, .value = [](int band, int, int) { return band; }});
    double last = 0.0;
    int steps = 0;
    geo::read_backdrop(file, all_of_it(), models::Progress([&](std::string_view, double share) {
                           CHECK(share >= last);
                           last = share;
                           ++steps;
                           return true;
                       }));
    CHECK(last == Approx(1.0).epsilon(0.0).margin(1e-9));
    CHECK(steps > 3);
    CHECK_THROWS_AS(geo::read_backdrop(file, all_of_it(),
                                       models::Progress([](std::string_view, double share) { return share < 0.3; })),
                    models::Cancelled);
}
