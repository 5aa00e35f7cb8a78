#include "geo/raster.h"

#include <cmath>
#include <filesystem>
#include <limits>

#include <catch2/catch.hpp>
#include <unistd.h>

#include "geo/work_system.h"
#include "models/error.h"

using Catch::Matchers::Contains;

namespace {

struct RasterFolder {
    std::filesystem::path path =
        std::filesystem::temp_directory_path() / ("lodicule_raster_" + std::to_string(::getpid()));
    RasterFolder() { std::filesystem::create_directories(path); }
    ~RasterFolder() { std::filesystem::remove_all(path); }
};

}  // namespace

TEST_CASE("a raster reads back as it was written with its system and its missing cells") {
    const RasterFolder folder;
    const auto file = folder.path / "map.tif";
    const geo::WorkSystem work(19.3, 47.2);
    const geo::RasterFrame frame{{-500.0, 300.0, 12.5, 7, 4}, work.proj_text()};
    Eigen::MatrixXd median(4, 7), variance = Eigen::MatrixXd::Random(4, 7);
    for (int i = 0; i < 28; ++i) median(i / 7, i % 7) = 0.1 * i;
    median(2, 3) = std::numeric_limits<double>::quiet_NaN();
    geo::RasterWriter writer(file, frame, {"median DON, mg/kg", "variance"});
    writer.write_band(0, median);
    const Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor> rows = variance;
    writer.write_rows(1, 0, 3, rows.data());
    writer.write_rows(1, 3, 1, rows.data() + 21);
    CHECK_FALSE(std::filesystem::exists(file));
    writer.finish();

    const geo::Raster raster = geo::read_raster(file);
    CHECK(raster.frame.grid.columns == 7);
    CHECK(raster.frame.grid.rows == 4);
    CHECK(raster.frame.grid.cell_m == 12.5);
    CHECK(raster.frame.grid.x_min_m == -500.0);
    CHECK(raster.frame.grid.y_max_m == 300.0);
    CHECK(geo::same_system(raster.frame.system, work.proj_text()));
    CHECK_FALSE(geo::same_system(raster.frame.system, "EPSG:25832"));
    REQUIRE(raster.bands.size() == 2);
    CHECK(raster.descriptions[0] == "median DON, mg/kg");
    CHECK(std::isnan(raster.bands[0](2, 3)));
    median(2, 3) = 0.0;
    Eigen::MatrixXd found = raster.bands[0];
    found(2, 3) = 0.0;
    CHECK(found == median);
    CHECK(raster.bands[1] == variance);
}

TEST_CASE("a raster that is not finished leaves nothing behind") {
    const RasterFolder folder;
    const auto file = folder.path / "half.tif";
    {
        geo::RasterWriter writer(file, {{0.0, 10.0, 1.0, 10, 10}, ""}, {"estimate"});
        writer.write_band(0, Eigen::MatrixXd::Ones(10, 10));
    }
    CHECK(std::filesystem::is_empty(folder.path));
}

TEST_CASE("a raster that cannot be written or read is refused in words") {
    const RasterFolder folder;
    CHECK_THROWS_WITH(geo::RasterWriter("/no/such/folder/map.tif", {{0.0, 1.0, 1.0, 1, 1}, ""}, {"estimate"}),
                      Contains("check that the folder exists"));
    CHECK_THROWS_WITH(geo::RasterWriter(folder.path / "m.tif", {{0.0, 1.0, 1.0, 1, 1}, "EPSG:0"}, {"estimate"}),
                      Contains("is not known"));
    CHECK_THROWS_WITH(geo::read_raster(folder.path / "none.tif"), Contains("no raster that can be read"));
}
