#include <cmath>
#include <numbers>

#include <catch2/catch.hpp>

#include "models/error.h"
#include "models/spatial/kriging_shapes.h"
#include "tests/models/spatial_reference.h"
#include "tests/support/shared_data.h"

using Catch::Matchers::Contains;
using models::OutlineM;
using models::ShapeNodes;
using models::VariogramModel;

namespace {

OutlineM rectangle(double x, double y, double width, double height) {
    return {{{{x, y}, {x + width, y}, {x + width, y + height}, {x, y + height}}, {}}};
}

models::SpatialData waves() {
    models::SpatialData data{Eigen::MatrixX2d(40, 2), Eigen::VectorXd(40), {}, {}};
    for (int i = 0; i < 40; ++i) {
        data.positions_m.row(i) << (i * 37) % 101 * 3.0, (i * 53) % 97 * 2.0;
        data.values[i] = std::sin(i * 0.7) + 2.0;
    }
    return data;
}

}  // namespace

TEST_CASE("blocks as shapes agree with the quadruple precision answer and with gstat") {
    NEEDS_SHARED_DATA(shared);
    const auto data = tests::meuse_log_zinc(shared);
    const Eigen::MatrixX2d cells = tests::places_of(tests::reference_table(shared, "data/meuse_grid.csv"));
    const auto shapes_of = [&](const Eigen::MatrixX2d& offsets, const Eigen::VectorXd& weights) {
        std::vector<ShapeNodes> shapes;
        for (Eigen::Index i = 0; i < cells.rows(); ++i) {
            shapes.push_back({offsets.col(0).array() + cells(i, 0), offsets.col(1).array() + cells(i, 1), weights});
        }
        return shapes;
    };
    const auto grid_of = [](const std::vector<double>& x, const std::vector<double>& y) {
        Eigen::MatrixX2d offsets(static_cast<Eigen::Index>(x.size() * y.size()), 2);
        Eigen::Index k = 0;
        for (const double dx : x) {
            for (const double dy : y) offsets.row(k++) << dx, dy;
        }
        return offsets;
    };
    const auto even = [](const Eigen::MatrixX2d& offsets) {
        return Eigen::VectorXd(Eigen::VectorXd::Constant(offsets.rows(), 1.0 / static_cast<double>(offsets.rows())));
    };
    const auto check = [&](const std::string& file, const Eigen::MatrixX2d& offsets, const Eigen::VectorXd& weights,
                           double tolerance) {
        INFO(file);
        const auto expected = tests::reference_table(shared, file);
        const auto found = models::krige_shapes(data, tests::meuse_model(), shapes_of(offsets, weights));
        CHECK(tests::largest_difference(found.estimate, expected.numbers("pred")) < tolerance);
        CHECK(tests::largest_difference(found.variance, expected.numbers("var")) < tolerance);
    };
    // The ten-digit Gauss-Legendre constants of gstat and of its exact counterpart.
    const double outer = 0.4305681558 * 40.0, inner = 0.1699905218 * 40.0;
    const Eigen::MatrixX2d nodes = grid_of({-outer, -inner, inner, outer}, {-outer, -inner, inner, outer});
    const double weight[4] = {0.1739274226, 0.3260725774, 0.3260725774, 0.1739274226};
    Eigen::VectorXd products(16);
    for (int i = 0; i < 4; ++i) {
        for (int j = 0; j < 4; ++j) products[4 * i + j] = weight[i] * weight[j];
    }
    check("exact/meuse_ok_block40_gauss4x4.csv", nodes, products, 1e-12);
    // gstat keeps block weights in 32-bit floats; sixteenths and sixty-fourths are exact there.
    const Eigen::MatrixX2d four = grid_of({-15, -5, 5, 15}, {-15, -5, 5, 15});
    check("kriging/meuse_ok_block40_uniform4x4.csv", four, even(four), 1e-11);
    const std::vector<double> eighths = {-17.5, -12.5, -7.5, -2.5, 2.5, 7.5, 12.5, 17.5};
    const Eigen::MatrixX2d eight = grid_of(eighths, eighths);
    check("kriging/meuse_ok_block40_uniform8x8.csv", eight, even(eight), 1e-11);
    const Eigen::MatrixX2d tall = grid_of({-15, -5, 5, 15}, {-30, -10, 10, 30});
    check("kriging/meuse_ok_block_irregular16.csv", tall, even(tall), 1e-11);
}

TEST_CASE("the mean of the whole Meuse bank agrees with gstat") {
    NEEDS_SHARED_DATA(shared);
    const Eigen::MatrixX2d cells = tests::places_of(tests::reference_table(shared, "data/meuse_grid.csv"));
    const auto expected = tests::reference_table(shared, "kriging/meuse_ok_whole_area_mean.csv");
    const auto found =
        models::krige_shapes(tests::meuse_log_zinc(shared), tests::meuse_model(), {models::nodes_of_places(cells)});
    // gstat keeps the 3,103 equal weights in 32-bit floats.
    CHECK(std::abs(found.estimate[0] - expected.numbers("pred")[0]) < 5e-7);
    CHECK(std::abs(found.variance[0] - expected.numbers("var")[0]) < 5e-8);
}

TEST_CASE("the ten metre block of Isaaks and Srivastava agrees with gstat") {
    NEEDS_SHARED_DATA(shared);
    const auto points = tests::reference_table(shared, "published/isaaks_srivastava_7_points.csv");
    const auto expected = tests::reference_table(shared, "published/isaaks_srivastava_block10_uniform4x4.csv");
    Eigen::MatrixX2d nodes(16, 2);
    for (int k = 0; k < 16; ++k) nodes.row(k) << 61.25 + 2.5 * (k / 4), 133.25 + 2.5 * (k % 4);
    const auto found = models::krige_shapes({tests::places_of(points), points.numbers("v"), {}, {}},
                                            VariogramModel::parse("exponential 10 range 3.3333333333333335"),
                                            {models::nodes_of_places(nodes)});
    CHECK(found.estimate[0] == Approx(expected.numbers("pred")[0]).epsilon(1e-13));
    CHECK(found.variance[0] == Approx(expected.numbers("var")[0]).epsilon(1e-12));
}

TEST_CASE("nodes of an area are shares of it and integrate polynomials exactly") {
    // An L with a hole and a part apart: 100 x 60 less 50 x 30 less a hole of 10 x 10, and 20 x 20 elsewhere.
    const OutlineM outline = {
        {{{0, 0}, {100, 0}, {100, 30}, {50, 30}, {50, 60}, {0, 60}}, {{{10, 10}, {20, 10}, {20, 20}, {10, 20}}}},
        {{{200, 0}, {220, 0}, {220, 20}, {200, 20}}, {}}};
    const auto nodes = models::nodes_of_area(outline);
    CHECK(nodes.weight.minCoeff() > 0.0);
    CHECK(nodes.weight.sum() == Approx(1.0).epsilon(1e-14));
    const auto integral = [](double x0, double y0, double x1, double y1) {  // of x^3 y^2
        return (std::pow(x1, 4) - std::pow(x0, 4)) / 4.0 * (std::pow(y1, 3) - std::pow(y0, 3)) / 3.0;
    };
    const double area = 100.0 * 30.0 + 50.0 * 30.0 - 100.0 + 400.0;
    const double expected =
        (integral(0, 0, 100, 30) + integral(0, 30, 50, 60) - integral(10, 10, 20, 20) + integral(200, 0, 220, 20)) /
        area;
    CHECK((nodes.weight.array() * nodes.x.array().cube() * nodes.y.array().square()).sum() ==
          Approx(expected).epsilon(1e-12));
    // A triangle: the mean place is its centroid.
    const auto triangle = models::nodes_of_area({{{{0, 0}, {90, 10}, {30, 80}}, {}}});
    CHECK(triangle.weight.dot(triangle.x) == Approx(40.0).epsilon(1e-12));
    CHECK(triangle.weight.dot(triangle.y) == Approx(30.0).epsilon(1e-12));
    const auto line = models::nodes_of_line({{0, 0}, {30, 40}, {30, 100}});
    CHECK(line.weight.sum() == Approx(1.0).epsilon(1e-14));
    CHECK(line.weight.dot(line.x) == Approx((50.0 * 15.0 + 60.0 * 30.0) / 110.0).epsilon(1e-13));
}

TEST_CASE("a square outline is the block of that size and parts add up to the whole") {
    const auto data = waves();
    const VariogramModel model = VariogramModel::parse("nugget 0.1 + exponential 1 range 60");
    models::KrigingSettings block;
    block.block = {40.0, 40.0};
    Eigen::MatrixX2d centre(1, 2);
    centre << 120.0, 100.0;
    const auto by_block = models::Kriging(data, model, block).at(centre);
    const auto by_shape = models::krige_shapes(data, model, {models::nodes_of_area(rectangle(100, 80, 40, 40), 1)});
    CHECK(by_shape.estimate[0] == Approx(by_block.estimate[0]).epsilon(1e-9));  // ten against sixteen digits of nodes
    CHECK(by_shape.variance[0] == Approx(by_block.variance[0]).epsilon(1e-7));
    CHECK(by_shape.lagrange[0] == Approx(by_block.lagrange[0]).epsilon(1e-7));
    const auto parts = models::krige_shapes(
        data, model,
        {models::nodes_of_area(rectangle(100, 80, 40, 40), 8), models::nodes_of_area(rectangle(100, 80, 10, 40), 8),
         models::nodes_of_area(rectangle(110, 80, 30, 40), 8), models::nodes_of_line({{100, 100}, {140, 100}})});
    CHECK(parts.estimate[0] == Approx(0.25 * parts.estimate[1] + 0.75 * parts.estimate[2]).epsilon(1e-6));
    CHECK(parts.variance[0] < parts.variance[1]);
    CHECK(parts.variance[3] > 0.0);
    // A line is the limit of thin blocks.
    const auto thin = models::krige_shapes(data, model, {models::nodes_of_area(rectangle(100, 99.99, 40, 0.02), 8)});
    CHECK(parts.estimate[3] == Approx(thin.estimate[0]).epsilon(1e-6));
}

TEST_CASE("a shape of equal values has that value and a drift is taken at its mean") {
    auto data = waves();
    data.values.setConstant(3.25);
    const VariogramModel model = VariogramModel::parse("nugget 0.1 + spherical 1 range 150");
    const auto shape = models::nodes_of_area(rectangle(20, 10, 90, 70));
    CHECK(models::krige_shapes(data, model, {shape}).estimate[0] == Approx(3.25).epsilon(1e-13));
    data.drift = data.positions_m;
    data.values = 1.0 + 0.5 * data.positions_m.col(0).array() - 0.25 * data.positions_m.col(1).array();
    Eigen::MatrixXd mean(1, 2);
    mean << shape.weight.dot(shape.x), shape.weight.dot(shape.y);
    const auto found = models::krige_shapes(data, model, {shape}, {}, mean);
    CHECK(found.estimate[0] == Approx(1.0 + 0.5 * mean(0, 0) - 0.25 * mean(0, 1)).epsilon(1e-11));
    // Without a sill the mean is estimated all the same.
    const auto linear = models::krige_shapes(waves(), VariogramModel::parse("nugget 0.1 + linear 0.01"), {shape});
    CHECK(linear.variance[0] > 0.0);
    CHECK(std::isfinite(linear.estimate[0]));
}

TEST_CASE("an area with a hole is its outline less the hole and parts count by their areas") {
    const auto data = waves();
    const VariogramModel model =
        VariogramModel::parse("nugget 0.1 + gaussian 1 range 150");  // smooth: exact quadrature
    const models::RingM outer{{30, 20}, {210, 40}, {180, 170}, {50, 150}}, hole{{90, 70}, {140, 80}, {110, 120}};
    const models::PolygonM inner{hole, {}}, ring{outer, {hole}}, filled{outer, {}},
        apart{{{205, 30}, {240, 30}, {230, 90}}, {}};
    const OutlineM with_hole = {ring}, whole = {filled}, pond = {inner}, island = {apart}, parts = {ring, apart};
    std::vector<ShapeNodes> shapes;
    for (const OutlineM& one : {with_hole, whole, pond, island, parts}) {
        shapes.push_back(models::nodes_of_area(one, 8));
    }
    const auto found = models::krige_shapes(data, model, shapes);
    const double a = models::area_m2(whole), b = models::area_m2(pond), c = models::area_m2(island);
    CHECK(models::area_m2(with_hole) == Approx(a - b).epsilon(1e-12));
    CHECK(found.estimate[0] == Approx((a * found.estimate[1] - b * found.estimate[2]) / (a - b)).epsilon(1e-9));
    CHECK(found.estimate[4] ==
          Approx(((a - b) * found.estimate[0] + c * found.estimate[3]) / (a - b + c)).epsilon(1e-9));
    CHECK(shapes[0].weight.dot(shapes[0].x) == Approx(models::centroid(with_hole).x_m).epsilon(1e-12));
    CHECK(shapes[4].weight.dot(shapes[4].y) == Approx(models::centroid(parts).y_m).epsilon(1e-12));
}

TEST_CASE("nodes of an area agree with thousands of cells inside it") {
    const auto data = waves();
    const OutlineM outline = {{{{30, 20}, {210, 40}, {180, 170}, {50, 150}}, {{{90, 70}, {140, 80}, {110, 120}}}},
                              {{{205, 30}, {240, 30}, {230, 90}}, {}}};
    std::vector<models::PointM> inside;
    for (double x = 30.5; x < 240.0; x += 2.0) {
        for (double y = 20.5; y < 170.0; y += 2.0) {
            if (models::side_of(outline, {x, y}) == models::Side::inside) inside.push_back({x, y});
        }
    }
    Eigen::MatrixX2d cells(static_cast<Eigen::Index>(inside.size()), 2);
    for (Eigen::Index i = 0; i < cells.rows(); ++i) {
        cells.row(i) << inside[static_cast<std::size_t>(i)].x_m, inside[static_cast<std::size_t>(i)].y_m;
    }
    for (const char* text : {"nugget 0.1 + spherical 1 range 120", "nugget 0.1 + exponential 1 range 10",
                             "nugget 0.1 + spherical 1 range 30", "nugget 0.1 + spherical 1 range 15"}) {
        INFO(text);
        const VariogramModel model = VariogramModel::parse(text);
        const int across = models::cuts_for(model, 210.0, 8, 24);
        const auto found =
            models::krige_shapes(data, model, {models::nodes_of_area(outline, across), models::nodes_of_places(cells)});
        // The cells have errors of their own, of the order of (2 m / range)^2 and their ragged edge.
        CHECK(std::abs(found.estimate[0] - found.estimate[1]) < 0.005 * std::sqrt(found.variance[1]));
        CHECK(found.variance[0] == Approx(found.variance[1]).epsilon(2e-3));
    }
}

TEST_CASE("a shape is cut in sixths of the shortest range within bounds") {
    const auto cuts = [](const char* model, double extent) {
        return models::cuts_for(VariogramModel::parse(model), extent, 8, 24);
    };
    CHECK(cuts("nugget 1 + spherical 1 range 120", 210.0) == 11);
    CHECK(cuts("nugget 1 + spherical 1 range 900 + spherical 0.1 range 120 ratio 0.5", 210.0) == 21);
    CHECK(cuts("spherical 1 range 120", 10.0) == 8);
    CHECK(cuts("spherical 1 range 120", 1e6) == 24);
    CHECK(cuts("nugget 1 + linear 0.1", 1e6) == 8);
}

TEST_CASE("an outline and a track of thousands of corners cost no more than plain ones") {
    models::PolygonM disc;
    std::vector<models::PointM> spiral;
    for (int k = 0; k < 20000; ++k) {
        const double turn = 2.0 * std::numbers::pi * k / 20000.0;
        disc.outer.push_back({100.0 + 80.0 * std::cos(turn), 90.0 + 80.0 * std::sin(turn)});
        spiral.push_back({100.0 + (1.0 + 79.0 * k / 20000.0) * std::cos(3.0 * turn),
                          90.0 + (1.0 + 79.0 * k / 20000.0) * std::sin(3.0 * turn)});
    }
    const auto nodes = models::nodes_of_area({disc}, 8), track = models::nodes_of_line(spiral, 8);
    CHECK(nodes.x.size() < 20000);
    CHECK(track.x.size() < 1000);
    CHECK(nodes.weight.minCoeff() > 0.0);
    CHECK(nodes.weight.dot(nodes.x) == Approx(100.0).epsilon(1e-9));
    CHECK(nodes.weight.dot(nodes.y) == Approx(90.0).epsilon(1e-5));
    // The mean square distance from the middle of a disc is half the square of its radius.
    CHECK(nodes.weight.dot(((nodes.x.array() - 100.0).square() + (nodes.y.array() - 90.0).square()).matrix()) ==
          Approx(3200.0).epsilon(1e-4));
    double length = 0.0, moment = 0.0;  // of the spiral, from its pieces
    for (std::size_t k = 1; k < spiral.size(); ++k) {
        const double own = models::distance_m(spiral[k - 1], spiral[k]);
        length += own;
        moment += own * 0.5 * (spiral[k - 1].x_m + spiral[k].x_m);
    }
    CHECK(track.weight.sum() == Approx(1.0).epsilon(1e-12));
    CHECK(track.weight.dot(track.x) == Approx(moment / length).epsilon(1e-6));
    // Two lines are one shape, each by its length.
    const auto both = models::nodes_of_lines({{{0, 0}, {30, 0}}, {{0, 50}, {0, 140}}});
    CHECK(both.weight.dot(both.x) == Approx(30.0 / 120.0 * 15.0).epsilon(1e-13));
    CHECK(both.weight.dot(both.y) == Approx(90.0 / 120.0 * 95.0).epsilon(1e-13));
    // A hundred small parts far apart are all seen, by their areas.
    OutlineM specks;
    double area = 0.0, east = 0.0;
    for (int k = 0; k < 100; ++k) {
        const double x = 1000.0 * (k % 10), y = 1000.0 * (k / 10), side = 3.0 + k % 7;
        specks.push_back({{{x, y}, {x + side, y + 1.0}, {x + side, y + side}, {x, y + side}}, {}});
        area += models::area_m2(OutlineM{specks.back()});
        east += models::area_m2(OutlineM{specks.back()}) * models::centroid({specks.back()}).x_m;
    }
    const auto speckled = models::nodes_of_area(specks);
    CHECK(speckled.weight.dot(speckled.x) == Approx(east / area).epsilon(1e-9));
}

TEST_CASE("shapes that are none are refused in words") {
    CHECK_THROWS_WITH(models::nodes_of_area({{{{0, 0}, {10, 10}, {20, 20}}, {}}}), Contains("has no area"));
    CHECK_THROWS_WITH(models::nodes_of_line({{5, 5}, {5, 5}}), Contains("has no length"));
    models::KrigingSettings near;
    near.neighbourhood.count = 5;
    CHECK_THROWS_WITH(models::krige_shapes(waves(), VariogramModel::parse("spherical 1 range 50"), {}, near),
                      Contains("neither a block nor a neighbourhood"));
}
