#include <cmath>
#include <random>

#include <Eigen/Eigenvalues>
#include <Eigen/Geometry>
#include <catch2/catch.hpp>

#include "models/error.h"
#include "models/spatial/sphere_kriging.h"
#include "tests/models/spatial_reference.h"

using Catch::Matchers::Contains;
using models::SphereData;
using models::VariogramModel;

namespace {

SphereData around_the_globe(int n, unsigned seed) {
    std::mt19937 generator(seed);
    const auto uniform = [&] { return static_cast<double>(generator()) / 4294967296.0; };
    SphereData data{Eigen::MatrixX2d(n, 2), Eigen::VectorXd(n), {}};
    for (Eigen::Index i = 0; i < n; ++i) {
        const double latitude = std::asin(2.0 * uniform() - 1.0) * 180.0 / std::acos(-1.0);
        data.places_deg.row(i) << 360.0 * uniform() - 180.0, latitude;
        data.values[i] = std::sin(latitude / 20.0) + uniform();
    }
    return data;
}

/// The globe turned about an axis that is no pole.
Eigen::MatrixX2d turned(const Eigen::MatrixX2d& places_deg) {
    const double radians = std::acos(-1.0) / 180.0;
    const Eigen::AngleAxisd turn(0.8, Eigen::Vector3d(1.0, 2.0, -0.5).normalized());
    Eigen::MatrixX2d out(places_deg.rows(), 2);
    for (Eigen::Index i = 0; i < out.rows(); ++i) {
        const double longitude = places_deg(i, 0) * radians, latitude = places_deg(i, 1) * radians;
        const Eigen::Vector3d there =
            turn * Eigen::Vector3d(std::cos(latitude) * std::cos(longitude), std::cos(latitude) * std::sin(longitude),
                                   std::sin(latitude));
        out.row(i) << std::atan2(there.y(), there.x()) / radians, std::asin(there.z()) / radians;
    }
    return out;
}

}  // namespace

TEST_CASE("great-circle distances are those of the sphere") {
    // A degree along the equator and along any meridian: 6,371,008.8 m times pi / 180.
    CHECK(models::great_circle_distance_m(10, 0, 11, 0) == Approx(111195.080233533).epsilon(1e-9));
    CHECK(models::great_circle_distance_m(10, 46, 10, 47) == Approx(111195.080233533).epsilon(1e-9));
    CHECK(models::great_circle_distance_m(-70, -20, 110, 20) == Approx(std::acos(-1.0) * 6371008.8).epsilon(1e-12));
    CHECK(models::great_circle_distance_m(179.5, 0, -179.5, 0) == Approx(111195.080233533).epsilon(1e-9));
    CHECK(models::great_circle_distance_m(190, 30, -170, 30) == Approx(0.0).margin(1e-6).epsilon(0.0));
}

TEST_CASE("kriging on the sphere does not know where the poles are") {
    const SphereData data = around_the_globe(80, 4);
    const Eigen::MatrixX2d targets = around_the_globe(40, 5).places_deg;
    for (const char* text : {"nugget 0.1 + exponential 1 range 2e6", "spherical 1 range 1.5e7",
                             "error 0.2 + matern 1 range 3e6 smoothness 0.3", "pentaspherical 1 range 2e7"}) {
        INFO(text);
        const VariogramModel model = VariogramModel::parse(text);
        const auto here = models::krige_on_sphere(data, model, targets);
        const auto there = models::krige_on_sphere({turned(data.places_deg), data.values, {}}, model, turned(targets));
        CHECK(tests::largest_difference(here.estimate, there.estimate) < 1e-7);
        CHECK(tests::largest_difference(here.variance, there.variance) < 1e-7);
        CHECK(here.variance.minCoeff() >= 0.0);
    }
}

TEST_CASE("over a few kilometres kriging on the sphere is kriging in the plane") {
    SphereData globe{Eigen::MatrixX2d(30, 2), Eigen::VectorXd(30), {}};
    models::SpatialData plane{Eigen::MatrixX2d(30, 2), Eigen::VectorXd(30), {}, {}};
    const double metre = 180.0 / std::acos(-1.0) / 6371008.8, latitude = 47.0,
                 squeeze = std::cos(latitude * std::acos(-1.0) / 180.0);
    const auto to_degrees = [&](double x, double y) {
        return Eigen::RowVector2d(19.0 + x * metre / squeeze, latitude + y * metre);
    };
    for (int i = 0; i < 30; ++i) {
        const double x = (i * 37) % 101 * 10.0, y = (i * 53) % 97 * 10.0;
        plane.positions_m.row(i) << x, y;
        globe.places_deg.row(i) = to_degrees(x, y);
        plane.values[i] = globe.values[i] = std::sin(i * 0.7);
    }
    const VariogramModel model = VariogramModel::parse("nugget 0.1 + exponential 1 range 300");
    Eigen::MatrixX2d places(2, 2), degrees(2, 2);
    places << 450, 500, 120, 900;
    for (Eigen::Index k = 0; k < 2; ++k) degrees.row(k) = to_degrees(places(k, 0), places(k, 1));
    const auto flat = models::Kriging(plane, model).at(places);
    const auto round = models::krige_on_sphere(globe, model, degrees);
    // A kilometre north the meridians stand nearer by 1.7e-4.
    CHECK(tests::largest_difference(flat.estimate, round.estimate) < 2e-4);
    CHECK(tests::largest_difference(flat.variance, round.variance) < 2e-4);
    CHECK(tests::largest_difference(flat.lagrange, round.lagrange) < 2e-4);
    const auto at_data = models::krige_on_sphere(globe, model, globe.places_deg);
    CHECK(tests::largest_difference(at_data.estimate, globe.values) < 1e-10);
}

TEST_CASE("variograms that are none on the sphere are refused in words") {
    const SphereData data = around_the_globe(20, 6);
    const auto refusal = [&](const char* text) {
        try {
            models::krige_on_sphere(data, VariogramModel::parse(text), data.places_deg);
        } catch (const models::Error& error) {
            return std::string(error.what());
        }
        return std::string("not refused");
    };
    CHECK_THAT(refusal("gaussian 1 range 1e6"), Contains("no valid variogram of great-circle distances"));
    CHECK_THAT(refusal("matern 1 range 1e6 smoothness 1.5"), Contains("smoother than 0.5"));
    CHECK_THAT(refusal("circular 1 range 1e6"), Contains("no valid variogram"));
    CHECK_THAT(refusal("linear 1"), Contains("no valid variogram"));
    CHECK_THAT(refusal("spherical 1 range 3e7"), Contains("longer than half the way round"));
    CHECK_THAT(refusal("spherical 1 range 1e6 azimuth 30 ratio 0.5"), Contains("no anisotropy on the sphere"));
    SphereData wrong = data;
    wrong.places_deg.row(3) << 47.0, 119.0;
    CHECK_THROWS_WITH(models::krige_on_sphere(wrong, VariogramModel::parse("exponential 1 range 1e6"), data.places_deg),
                      Contains("the axes look swapped"));
    // And rightly: a gaussian covariance of a range like the Earth's has negative eigenvalues there.
    Eigen::MatrixXd gaussian(20, 20);
    for (Eigen::Index i = 0; i < 20; ++i) {
        for (Eigen::Index j = 0; j < 20; ++j) {
            const double h = models::great_circle_distance_m(data.places_deg(i, 0), data.places_deg(i, 1),
                                                             data.places_deg(j, 0), data.places_deg(j, 1)) /
                             1e7;
            gaussian(i, j) = std::exp(-h * h);
        }
    }
    CHECK(Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd>(gaussian).eigenvalues().minCoeff() < -1e-3);
}
