#include "geo/point_table.h"

#include <cmath>
#include <filesystem>
#include <fstream>

#include <catch2/catch.hpp>
#include <unistd.h>

#include "geo/work_system.h"
#include "models/error.h"

using Catch::Matchers::Contains;

namespace {

geo::PointTable table_of(const std::string& text) {
    const auto file =
        std::filesystem::temp_directory_path() / ("lodicule_point_table_" + std::to_string(::getpid()) + ".csv");
    std::ofstream(file, std::ios::binary) << text;
    const auto table = geo::PointTable::read(file);
    std::filesystem::remove(file);
    return table;
}

Eigen::VectorXd numbers(std::initializer_list<double> list) {
    Eigen::VectorXd out(static_cast<Eigen::Index>(list.size()));
    Eigen::Index at = 0;
    for (const double value : list) out[at++] = value;
    return out;
}

}  // namespace

TEST_CASE("a point table keeps seventeen digits and knows missing cells") {
    const auto table = table_of("\xEF\xBB\xBFx,y,don\r\n1,2,0.10000000000000001\r\n3,4,NA\r\n5,\"6\",\r\n");
    CHECK(table.rows() == 3);
    CHECK(table.columns() == std::vector<std::string>{"x", "y", "don"});
    CHECK(table.numbers("don")[0] == 0.1);
    CHECK(std::isnan(table.numbers("don")[1]));
    CHECK(std::isnan(table.numbers("don")[2]));
    CHECK(table.numbers("y")[2] == 6.0);
    CHECK(table_of("a;b\n1;2\n").numbers("b")[0] == 2.0);
}

TEST_CASE("a wrong cell or column of a point table is refused in words") {
    const auto table = table_of("easting,northing,don\n1,2,3\n4,5,inf\n7,8,abc\n");
    CHECK_THROWS_WITH(table.numbers("eastng"), Contains("did you mean \"easting\"?"));
    CHECK_THROWS_WITH(table.numbers("don"), Contains("row 3, column don: \"inf\" is no finite number"));
    CHECK_THROWS_WITH(table_of("x,y\n1,2,3\n"), Contains("row 2: the row has 3 cells and the header 2"));
    CHECK_THROWS_WITH(table_of(""), Contains("the file is empty"));
    CHECK_THROWS_WITH(geo::PointTable::read("/no/such/file.csv"), Contains("cannot be read"));
}

TEST_CASE("degrees are projected to metres and come back") {
    const Eigen::VectorXd lon = numbers({19.30, 19.31, 19.35}), lat = numbers({47.20, 47.21, 47.15});
    const geo::TablePlane plane("longitude_deg", "latitude_deg", lon, lat, "");
    CHECK(plane.from_degrees());
    CHECK_THAT(plane.notes().at(0), Contains("were projected to metres"));
    const Eigen::MatrixX2d places = plane.positions_m(lon, lat);
    const geo::WorkSystem work = geo::WorkSystem::around(19.325, 47.18);
    for (Eigen::Index i = 0; i < 3; ++i) {
        const auto expected = work.from_degrees(lon[i], lat[i]);
        CHECK(places(i, 0) == Approx(expected.x_m).margin(1e-6).epsilon(0.0));
        CHECK(places(i, 1) == Approx(expected.y_m).margin(1e-6).epsilon(0.0));
        const auto back = plane.table_coordinates({places(i, 0), places(i, 1)});
        // PROJ goes back from this projection to 4e-9 degrees, 0.4 mm.
        CHECK(back.x_m == Approx(lon[i]).margin(1e-8).epsilon(0.0));
        CHECK(back.y_m == Approx(lat[i]).margin(1e-8).epsilon(0.0));
    }
    CHECK(geo::TablePlane("a", "b", lon, lat, "EPSG:4326").from_degrees());
}

TEST_CASE("degrees given as metres and swapped metres are refused in words") {
    const Eigen::VectorXd lon = numbers({19.3, 19.4}), lat = numbers({47.2, 47.3});
    CHECK_THROWS_WITH(geo::TablePlane("x", "y", lon, lat, "EPSG:32634"), Contains("these are degrees"));
    // UTM zone 34 north at 47 degrees north: 500 km east, 5,200 km north.
    const Eigen::VectorXd easting = numbers({371000.0, 372000.0}), northing = numbers({5229000.0, 5231000.0});
    CHECK(geo::TablePlane("x", "y", easting, northing, "EPSG:32634").system() == "EPSG:32634");
    CHECK_THROWS_WITH(geo::TablePlane("x", "y", northing, easting, "EPSG:32634"), Contains("the axes look swapped"));
    CHECK(geo::TablePlane("x", "y", northing, easting, "planar").notes().empty());
}

TEST_CASE("swapped axes and half-named degrees are refused in words") {
    const Eigen::VectorXd lon = numbers({100.0, 101.0}), lat = numbers({47.20, 47.21});
    CHECK_THROWS_WITH(geo::TablePlane("lat", "lon", lat, lon, ""), Contains("the axes are swapped"));
    CHECK_THROWS_WITH(geo::TablePlane("lon", "lat", lat, lon, ""), Contains("longitude and latitude look swapped"));
    CHECK_THROWS_WITH(geo::TablePlane("lon", "y", lon, lat, ""), Contains("one is in degrees and the other is not"));
    CHECK_THROWS_WITH(geo::TablePlane("lon", "lat", 1e5 * lon, lat, ""), Contains("say --crs planar"));
    CHECK_THROWS_WITH(geo::TablePlane("x", "y", lon, lat, "EPSG:abc"), Contains("is not known"));
    const geo::TablePlane planar("x", "y", numbers({19.3, 19.4}), numbers({47.2, 47.3}), "");
    CHECK_FALSE(planar.from_degrees());
    CHECK_THAT(planar.notes().at(0), Contains("should they be degrees"));
    CHECK(geo::TablePlane("x", "y", numbers({19.3, 19.4}), numbers({47.2, 47.3}), "planar").notes().empty());
}
