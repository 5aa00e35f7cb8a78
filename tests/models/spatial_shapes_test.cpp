#include <cmath>

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

TEST_CASE("shapes that are none are refused in words") {
    CHECK_THROWS_WITH(models::nodes_of_area({{{{0, 0}, {10, 10}, {20, 20}}, {}}}), Contains("has no area"));
    CHECK_THROWS_WITH(models::nodes_of_line({{5, 5}, {5, 5}}), Contains("has no length"));
    models::KrigingSettings near;
    near.neighbourhood.count = 5;
    CHECK_THROWS_WITH(models::krige_shapes(waves(), VariogramModel::parse("spherical 1 range 50"), {}, near),
                      Contains("neither a block nor a neighbourhood"));
}
