#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <sstream>

#include <catch2/catch.hpp>

#include "geo/point_table.h"
#include "geo/raster.h"
#include "tests/app/captured_output.h"
#include "tests/app/krige_bench.h"

using Catch::Matchers::Contains;
using Catch::Matchers::StartsWith;
using tests::KrigeBench;

namespace {

std::string content(const std::string& file) {
    std::ifstream stream(file, std::ios::binary);
    std::ostringstream text;
    text << stream.rdbuf();
    return text.str();
}

}  // namespace

TEST_CASE("krige writes the same numbers to a table and to a raster") {
    KrigeBench bench;
    const std::string points = bench.path("points.csv");
    REQUIRE(bench.run({"krige", points, "--value", "don", "--variogram", bench.model, "--cell", "5", "--out",
                       bench.path("map.csv"), "--limit", "1.2"}) == 0);
    REQUIRE(bench.run({"krige", points, "--value", "don", "--variogram", bench.model, "--cell", "5", "--out",
                       bench.path("map.tif"), "--limit", "1.2"}) == 0);
    const auto table = geo::PointTable::read(bench.path("map.csv"));
    const auto raster = geo::read_raster(bench.path("map.tif"));
    CHECK(table.columns() == std::vector<std::string>{"x", "y", "estimate", "variance", "exceedance"});
    CHECK(raster.descriptions == std::vector<std::string>{"estimate", "variance", "exceedance"});
    REQUIRE(table.rows() == raster.frame.grid.cells());
    const int columns = raster.frame.grid.columns;
    for (long i = 0; i < table.rows(); i += 7) {
        const auto row = static_cast<int>(i / columns), column = static_cast<int>(i % columns);
        CHECK(table.numbers("estimate")[i] == raster.bands[0](row, column));
        CHECK(table.numbers("variance")[i] == raster.bands[1](row, column));
        CHECK(table.numbers("exceedance")[i] == raster.bands[2](row, column));
        CHECK(table.numbers("x")[i] == raster.frame.grid.centre(row, column).x_m);
    }
    REQUIRE(bench.run({"krige", points, "--value", "don", "--variogram", bench.model, "--like", bench.path("map.tif"),
                       "--out", bench.path("again.tif")}) == 0);
    CHECK(geo::read_raster(bench.path("again.tif")).bands[0] == raster.bands[0]);
}

TEST_CASE("krige gives places of a table back in their order and with seventeen digits") {
    KrigeBench bench;
    const std::string points = bench.path("points.csv");
    REQUIRE(bench.run({"krige", points, "--value", "don", "--variogram", bench.model, "--at", points, "--out",
                       bench.path("back.csv"), "--residuals", bench.path("residuals.csv"), "--json"}) == 0);
    const auto in = geo::PointTable::read(points), out = geo::PointTable::read(bench.path("back.csv"));
    CHECK(out.numbers("x") == in.numbers("x"));
    CHECK(out.numbers("estimate").isApprox(in.numbers("don"), 1e-12));
    CHECK(geo::PointTable::read(bench.path("residuals.csv")).rows() == 30);
    const std::string first = content(bench.path("back.csv"));
    REQUIRE(bench.run({"krige", points, "--value", "don", "--variogram", bench.model, "--at", points, "--out",
                       bench.path("back.csv")}) == 0);
    CHECK(content(bench.path("back.csv")) == first);
}

TEST_CASE("krige in degrees works in metres and answers in degrees") {
    KrigeBench bench;
    const std::string points = bench.path("points.csv");
    REQUIRE(bench.run({"krige", points, "--x", "lon", "--y", "lat", "--value", "don", "--variogram",
                       "nugget 0.01 + spherical 0.2 range 600", "--cell", "100", "--out", bench.path("map.csv")}) == 0);
    const auto table = geo::PointTable::read(bench.path("map.csv"));
    // 0.0099 degrees of longitude at 47 degrees north are 753 m, 0.0089 of latitude 990 m.
    CHECK(table.rows() > 60);
    CHECK(table.rows() < 120);
    CHECK(table.numbers("x").minCoeff() > 18.99);
    CHECK(table.numbers("x").maxCoeff() < 19.02);
    CHECK(bench.run({"krige", points, "--x", "lat", "--y", "lon", "--value", "don", "--variogram", bench.model,
                     "--cell", "100", "--out", bench.path("no.csv")}) == 1);
}

TEST_CASE("with log both the median and the unbiased mean are written") {
    KrigeBench bench;
    const std::string points = bench.path("points.csv");
    REQUIRE(bench.run({"krige", points, "--value", "don", "--log", "--variogram", bench.model, "--cell", "10", "--out",
                       bench.path("map.csv")}) == 0);
    const auto table = geo::PointTable::read(bench.path("map.csv"));
    CHECK(table.numbers("median").isApprox(table.numbers("estimate").array().exp().matrix(), 1e-14));
    CHECK(table.numbers("mean").minCoeff() > 0.0);
}

TEST_CASE("krige simulates the same maps by table and raster for a seed") {
    KrigeBench bench;
    const std::string points = bench.path("points.csv");
    const auto simulate = [&](const std::string& out, const std::string& seed, std::vector<std::string> more) {
        std::vector<std::string> words{"krige",     points,   "--value", "don",          "--variogram",
                                       bench.model, "--cell", "5",       "--simulate",   "6",
                                       "--seed",    seed,     "--out",   bench.path(out)};
        words.insert(words.end(), more.begin(), more.end());
        return bench.run(words);
    };
    REQUIRE(simulate("maps.csv", "7", {"--limit", "1.2"}) == 0);
    REQUIRE(simulate("maps.tif", "7", {"--limit", "1.2"}) == 0);
    const auto table = geo::PointTable::read(bench.path("maps.csv"));
    const auto raster = geo::read_raster(bench.path("maps.tif"));
    REQUIRE(raster.bands.size() == 7);
    CHECK(raster.descriptions.front() == "simulation 1");
    CHECK(raster.descriptions.back() == "exceedance");
    const int columns = raster.frame.grid.columns;
    Eigen::VectorXd over = Eigen::VectorXd::Zero(table.rows());
    for (int k = 0; k < 6; ++k) {
        const Eigen::VectorXd values = table.numbers("simulation_" + std::to_string(k + 1));
        over += (values.array() > 1.2).cast<double>().matrix();
        for (long i = 0; i < table.rows(); i += 11) {
            CHECK(values[i] == raster.bands[static_cast<std::size_t>(k)](i / columns, i % columns));
        }
    }
    CHECK(table.numbers("exceedance").isApprox(over / 6.0, 1e-14));
    REQUIRE(simulate("other.csv", "8", {}) == 0);
    CHECK(content(bench.path("other.csv")) != content(bench.path("maps.csv")));
    REQUIRE(bench.run({"krige", points, "--value", "don", "--log", "--variogram", bench.model, "--at", points,
                       "--simulate", "3", "--out", bench.path("at.csv")}) == 0);
    // At the data every realisation is the datum itself.
    CHECK(geo::PointTable::read(bench.path("at.csv"))
              .numbers("simulation_2")
              .isApprox(geo::PointTable::read(points).numbers("don"), 1e-9));
    CHECK(simulate("no.csv", "-1", {}) == 1);
    CHECK(simulate("no.csv", "1", {"--neighbours", "8"}) == 1);
    CHECK(bench.run({"krige", points, "--value", "don", "--variogram", bench.model, "--simulate", "3"}) == 1);
    CHECK_FALSE(std::filesystem::exists(bench.path("no.csv")));
}

TEST_CASE("krige gives normal scores back as median and mean and chances by indicators") {
    KrigeBench bench;
    const std::string points = bench.path("points.csv");
    REQUIRE(bench.run({"krige", points, "--value", "don", "--normal-score", "--variogram", "spherical 1 range 60",
                       "--at", points, "--limit", "1.2", "--out", bench.path("scores.csv")}) == 0);
    const auto scores = geo::PointTable::read(bench.path("scores.csv"));
    CHECK(scores.columns() ==
          std::vector<std::string>{"x", "y", "estimate", "variance", "median", "mean", "exceedance"});
    const Eigen::VectorXd don = geo::PointTable::read(points).numbers("don");
    CHECK(scores.numbers("median").isApprox(don, 1e-6));
    REQUIRE(bench.run({"krige", points, "--value", "don", "--indicator", "0.9,1.2,1.5", "--variogram", bench.model,
                       "--cell", "10", "--out", bench.path("chances.tif")}) == 0);
    const auto chances = geo::read_raster(bench.path("chances.tif"));
    CHECK(chances.descriptions == std::vector<std::string>{"at_or_under_0.9", "at_or_under_1.2", "at_or_under_1.5"});
    CHECK((chances.bands[1] - chances.bands[0]).minCoeff() >= 0.0);
    CHECK((chances.bands[2] - chances.bands[1]).minCoeff() >= 0.0);
    CHECK(chances.bands[2].maxCoeff() <= 1.0);
    REQUIRE(bench.run({"krige", points, "--value", "don", "--indicator", "0.9,1.2", "--at", points, "--json", "--out",
                       bench.path("chances.csv")}) == 0);
    const auto at = geo::PointTable::read(bench.path("chances.csv"));
    CHECK(at.columns().back() == "at_or_under_1.2");
    CHECK(bench.run({"krige", points, "--value", "don", "--indicator", "1.2,0.9", "--at", points, "--out",
                     bench.path("no.csv")}) == 1);
    CHECK(bench.run({"krige", points, "--value", "don", "--normal-score", "--log", "--at", points, "--out",
                     bench.path("no.csv")}) == 1);
    CHECK_FALSE(std::filesystem::exists(bench.path("no.csv")));
}

TEST_CASE("krige shares its neighbours among sectors and leaves out places with too few") {
    KrigeBench bench;
    const std::string points = bench.path("points.csv");
    REQUIRE(bench.run({"krige", points, "--value", "don", "--variogram", bench.model, "--cell", "5", "--neighbours",
                       "8", "--sectors", "4", "--out", bench.path("sectors.csv")}) == 0);
    REQUIRE(bench.run({"krige", points, "--value", "don", "--variogram", bench.model, "--cell", "5", "--neighbours",
                       "8", "--out", bench.path("nearest.csv")}) == 0);
    CHECK(geo::PointTable::read(bench.path("sectors.csv")).numbers("estimate") !=
          geo::PointTable::read(bench.path("nearest.csv")).numbers("estimate"));
    const std::string said =
        bench.refusal({"krige", points, "--value", "don", "--variogram", bench.model, "--at", points, "--within",
                       "0.001", "--at-least", "2", "--out", bench.path("few.csv")});
    CHECK_THAT(said, Contains("fewer than 2 points within reach"));
}

TEST_CASE("variogram maps indicators and residuals and fits by likelihood") {
    KrigeBench bench;
    const std::string points = bench.path("points.csv");
    CHECK(bench.run({"variogram", points, "--value", "don", "--map", "--width", "10"}) == 0);
    CHECK(bench.run({"variogram", points, "--value", "don", "--indicator", "1.2", "--json"}) == 0);
    CHECK(bench.run({"variogram", points, "--value", "don", "--drift", "y", "--gls"}) == 0);
    CHECK(bench.run({"variogram", points, "--value", "don", "--fit", "reml", "--shape", "nugget + exponential"}) == 0);
    CHECK(bench.run({"variogram", points, "--value", "don", "--gls"}) == 1);
    CHECK(bench.run({"variogram", points, "--value", "don", "--fit", "remi"}) == 1);
    CHECK(bench.run({"variogram", points, "--value", "don", "--log", "--indicator", "1.2"}) == 1);
}

TEST_CASE("how a variogram is to be fitted is said alike to krige and variogram") {
    KrigeBench bench;
    const std::string points = bench.path("points.csv"), out = bench.path("fitted.csv");
    const std::vector<std::string> ways[] = {{"variogram", points, "--value", "don"},
                                             {"krige", points, "--value", "don", "--at", points, "--out", out}};
    for (const std::vector<std::string>& way : ways) {
        const auto said = [&](std::vector<std::string> more) {
            more.insert(more.begin(), way.begin(), way.end());
            return bench.refusal(more);
        };
        CHECK_THAT(said({"--shape", "nugget + gaussian", "--weights", "equal"}), StartsWith("exit 0"));
        CHECK_THAT(said({"--fit", "ml", "--shape", "nugget + exponential", "--fit-neighbours", "8"}),
                   StartsWith("exit 0"));
        CHECK_THAT(said({"--fit", "ml", "--fit-neighbours", "0"}), Contains("0 neighbours are asked for"));
        CHECK_THAT(said({"--fit-neighbours", "8"}), Contains("least squares take all pairs"));
        CHECK_THAT(said({"--fit", "reml", "--weights", "equal"}), Contains("a likelihood has no weights"));
        CHECK_THAT(said({"--weights", "equall"}), Contains("did you mean \"equal\"?"));
        CHECK_THAT(said({"--fit", "remi"}), Contains("there is no way to fit called \"remi\""));
    }
    REQUIRE(bench.run({"krige", points, "--value", "don", "--shape", "nugget + gaussian", "--at", points, "--out",
                       bench.path("gaussian.csv")}) == 0);
    CHECK(geo::PointTable::read(out).numbers("variance") !=
          geo::PointTable::read(bench.path("gaussian.csv")).numbers("variance"));
    CHECK_THAT(bench.refusal({"krige", points, "--value", "don", "--variogram", bench.model, "--shape", "spherical",
                              "--at", points, "--out", out}),
               Contains("--variogram and --fit exclude one another"));
}

TEST_CASE("bad input to krige and variogram is refused in words and nothing is written") {
    KrigeBench bench;
    const std::string points = bench.path("points.csv"), out = bench.path("out.csv");
    const auto table = [&](const char* name, const char* rows) {
        std::ofstream(bench.path(name)) << rows;
        return bench.path(name);
    };
    const auto krige = [&](const std::string& file, std::vector<std::string> more) {
        std::vector<std::string> words{"krige", file, "--value", "don", "--out", out};
        words.insert(words.end(), more.begin(), more.end());
        const std::string said = bench.refusal(words);
        CHECK_THAT(said, StartsWith("exit 1:"));
        CHECK_FALSE(std::filesystem::exists(out));
        CHECK_FALSE(std::filesystem::exists(out + ".part"));
        return said;
    };
    const std::string model = bench.model;
    const std::vector<std::string> grid = {"--variogram", model, "--cell", "5"};
    const std::string one = table("one.csv", "x,y,don\n3,4,1.5\n"), two = table("two.csv", "x,y,don\n3,4,1.5\n9,9,2\n"),
                      equal = table("equal.csv", "x,y,don\n0,0,2\n5,5,2\n9,1,2\n3,8,2\n");
    CHECK_THAT(krige(one, {"--cell", "5"}), Contains("compares pairs of points, and there is 1 point"));
    CHECK_THAT(bench.refusal({"variogram", one, "--value", "don"}), Contains("there is 1 point"));
    // Two points and equal values are answered, and say what they are worth.
    CHECK_THAT(bench.refusal({"krige", two, "--value", "don", "--cell", "5", "--out", bench.path("two_out.csv")}),
               Contains("exit 0"));
    {
        const tests::CapturedOutput printed(stdout);
        CHECK(bench.run({"krige", equal, "--value", "don", "--cell", "5", "--out", bench.path("equal_out.csv")}) == 0);
        CHECK_THAT(printed.text(), Contains("4 points, no variogram") && Contains("all values are the same"));
    }
    CHECK_THAT(krige(table("infinite.csv", "x,y,don\n0,0,inf\n5,5,2\n"), grid), Contains("inf"));
    CHECK_THAT(krige(points, {"--variogram", "spherical 1 range 0", "--cell", "5"}),
               Contains("a range must be greater than 0"));
    CHECK_THAT(krige(points, {"--variogram", "spherical 1 range -3", "--cell", "5"}),
               Contains("a range must be greater than 0"));
    CHECK_THAT(krige(points, {"--variogram", "spherical 0 range 30", "--cell", "5"}),
               Contains("sill is greater than 0"));
    CHECK_THAT(krige(points, {"--variogram", "sperical 1 range 30", "--cell", "5"}),
               Contains("did you mean \"spherical\"?"));
    CHECK_THAT(krige(points, {"--variogram", model, "--cell", "5", "--neighbours", "12", "--sectors", "5"}),
               Contains("5 sectors are asked for") && Contains("give 4 or 8"));
    CHECK_THAT(krige(points, {"--variogram", model, "--cell", "5", "--neighbours", "10", "--sectors", "4"}),
               Contains("10 neighbours cannot be shared out evenly to 4 sectors") && Contains("a multiple of 4"));
    CHECK_THAT(krige(points, {"--variogram", model, "--cell", "5", "--sectors", "4"}),
               Contains("give --neighbours or --within too"));
    const std::string drift = table("drift.csv",
                                    "x,y,don,same,east,error\n0,0,1,4,0,0.1\n50,20,2,4,50,-0.2\n"
                                    "10,80,1.5,4,10,0.1\n90,90,2.5,4,90,0.1\n30,40,2.2,4,30,0.1\n");
    CHECK_THAT(krige(drift, {"--variogram", model, "--at", drift, "--drift", "same"}),
               Contains("is the same at all points"));
    CHECK_THAT(krige(drift, {"--variogram", model, "--at", drift, "--drift", "x,east"}),
               Contains("follow from one another"));
    CHECK_THAT(krige(drift, {"--variogram", model, "--cell", "5", "--error-variance", "error"}),
               Contains("a variance cannot be negative"));
    CHECK_THAT(krige(points, {"--variogram", model, "--cell", "0.003"}), Contains("say --yes if so many are meant"));
    // A drift missing at a target is counted; the other targets are estimated.
    const std::string gap = table("gap.csv", "x,y,east\n5,5,5\n6,6,NA\n");
    CHECK_THAT(bench.refusal({"krige", drift, "--value", "don", "--variogram", model, "--at", gap, "--drift", "east",
                              "--out", bench.path("gap_out.csv")}),
               Contains("1 of 2 places was not estimated: a drift column has no value there"));
    // Duplicates with different values are merged and named.
    const std::string twice = table("twice.csv", "x,y,don\n0,0,1\n0,0,3\n50,20,2\n90,90,2.5\n");
    CHECK_THAT(bench.refusal({"krige", twice, "--value", "don", "--variogram", model, "--cell", "20", "--out",
                              bench.path("twice_out.csv")}),
               Contains("the largest difference at one place is 2"));
    // Points in a line are no trouble; a raster of another system is.
    const std::string line = table("line.csv", "x,y,don\n0,0,1\n10,10,2\n20,20,2.5\n30,30,2\n");
    CHECK_THAT(bench.refusal({"krige", line, "--value", "don", "--variogram", model, "--cell", "10", "--out",
                              bench.path("line_out.csv")}),
               Contains("exit 0"));
    const std::string metres = table("metres.csv", "x,y,don\n371000,5229000,1\n371900,5229300,2\n371500,5229900,3\n");
    REQUIRE(bench.run({"krige", metres, "--value", "don", "--crs", "EPSG:32634", "--variogram", "spherical 1 range 500",
                       "--cell", "100", "--out", bench.path("utm.tif")}) == 0);
    CHECK_THAT(krige(metres, {"--crs", "EPSG:3857", "--variogram", model, "--like", bench.path("utm.tif")}),
               Contains("another reference system"));
    CHECK_THAT(krige(points, {"--x", "lon", "--y", "lat", "--crs", "EPSG:32634", "--variogram", model, "--cell", "5"}),
               Contains("these are degrees"));
    CHECK_THAT(krige(points, {"--x", "lat", "--y", "lon", "--variogram", model, "--cell", "5"}),
               Contains("the axes are swapped"));
}

TEST_CASE("krige by great circles agrees with the plane nearby and refuses what is no variogram there") {
    KrigeBench bench;
    const std::string points = bench.path("points.csv");
    const auto krige = [&](const std::string& model, const std::string& out, std::vector<std::string> more) {
        std::vector<std::string> words{"krige",   points, "--value",     "don",          "--x",  "lon",
                                       "--y",     "lat",  "--variogram", model,          "--at", points,
                                       "--limit", "1.2",  "--out",       bench.path(out)};
        words.insert(words.end(), more.begin(), more.end());
        return bench.refusal(words);
    };
    const std::string model = "error 0.01 + exponential 0.2 range 600";
    REQUIRE_THAT(krige(model, "flat.csv", {}), StartsWith("exit 0"));
    REQUIRE_THAT(krige(model, "round.csv", {"--great-circle"}), StartsWith("exit 0"));
    const auto flat = geo::PointTable::read(bench.path("flat.csv")),
               round = geo::PointTable::read(bench.path("round.csv"));
    CHECK(flat.columns() == round.columns());
    // The Earth is no sphere: its distances differ from one's by up to 0.6 %.
    CHECK(flat.numbers("estimate").isApprox(round.numbers("estimate"), 2e-3));
    CHECK(flat.numbers("variance").isApprox(round.numbers("variance"), 2e-2));
    CHECK_THAT(krige("gaussian 0.2 range 600", "no.csv", {"--great-circle"}),
               Contains("no valid variogram of great-circle distances"));
    CHECK_THAT(krige(model, "no.csv", {"--great-circle", "--neighbours", "8"}), Contains("serve values at the places"));
    CHECK_THAT(bench.refusal({"krige", points, "--value", "don", "--variogram", model, "--at", points, "--great-circle",
                              "--out", bench.path("no.csv")}),
               Contains("need longitude and latitude"));
    CHECK_FALSE(std::filesystem::exists(bench.path("no.csv")));
}

TEST_CASE("what krige and variogram cannot do they refuse and write nothing") {
    KrigeBench bench;
    const std::string points = bench.path("points.csv"), out = bench.path("out.csv");
    const auto refused = [&](std::vector<std::string> more) {
        std::vector<std::string> words{"krige", points, "--value", "don", "--out", out};
        words.insert(words.end(), more.begin(), more.end());
        return bench.run(words);
    };
    CHECK(refused({"--variogram", "sphercal 1 range 3", "--cell", "5"}) == 1);
    CHECK(refused({"--variogram", bench.model, "--cell", "0.001"}) == 1);
    CHECK(refused({"--variogram", bench.model, "--cell", "-5"}) == 1);
    CHECK(refused({"--variogram", bench.model, "--cell", "5", "--drift", "soil"}) == 1);
    CHECK(refused({"--variogram", bench.model, "--cell", "5", "--extent", "5,5,1,1"}) == 1);
    CHECK(refused({"--variogram", bench.model, "--cell", "5", "--block", "40"}) == 1);
    CHECK(refused({"--variogram", bench.model, "--cell", "5", "--log", "--block", "5x5"}) == 1);
    CHECK(refused({"--variogram", bench.model, "--fit", "least-squares", "--cell", "5"}) == 1);
    CHECK(refused({"--fit", "east-squares", "--cell", "5"}) == 1);
    CHECK(refused({"--variogram", bench.model}) == 1);
    CHECK(bench.run({"krige", points, "--value", "dom", "--variogram", bench.model, "--cell", "5", "--out", out}) == 1);
    CHECK(bench.run({"variogram", points}) == 2);
    CHECK(bench.run({"variogram", points, "--value", "don", "--cutoff", "0"}) == 1);
    CHECK_FALSE(std::filesystem::exists(out));
    CHECK_FALSE(std::filesystem::exists(out + ".part"));
    CHECK(bench.run({"variogram", points, "--value", "don", "--shape", "nugget + exponential", "--json"}) == 0);
    CHECK(bench.run({"krige", points, "--value", "don", "--fit", "least-squares", "--cross-validate"}) == 0);
    CHECK(bench.run({"krige", points, "--value", "don", "--variogram", bench.model, "--folds", "5", "--json"}) == 0);
    CHECK(bench.run({"krige", points, "--value", "don", "--variogram", bench.model, "--folds", "1"}) == 1);
    CHECK(bench.run({"krige", points, "--value", "don", "--variogram", bench.model, "--folds", "31"}) == 1);
}

TEST_CASE("a variogram has four digits on the screen and all of them as JSON") {
    KrigeBench bench;
    const auto printed = [&](std::vector<std::string> more) {
        std::vector<std::string> words{"variogram", bench.path("points.csv"), "--value", "don"};
        words.insert(words.end(), more.begin(), more.end());
        const tests::CapturedOutput out(stdout);
        REQUIRE(bench.run(words) == 0);
        return out.text();
    };
    const auto longest_number = [](const std::string& text) {
        std::size_t longest = 0, digits = 0;
        for (const char letter : text) {
            digits = letter >= '0' && letter <= '9' ? digits + 1 : letter == '.' ? digits : 0;
            longest = std::max(longest, digits);
        }
        return longest;
    };
    const std::string screen = printed({});
    CHECK(longest_number(screen) <= 8);  // 0.001234
    CHECK_THAT(screen,
               Catch::Contains("Ranges and distances in the unit of x and y; sills and gamma in the unit of don, "
                               "squared."));
    CHECK_THAT(printed({"--log", "--x", "lon", "--y", "lat"}),
               Catch::Contains("in metres; sills and gamma in the square of the natural logarithm of don"));
    CHECK(longest_number(printed({"--json"})) >= 15);
}
