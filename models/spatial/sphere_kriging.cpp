#include "models/spatial/sphere_kriging.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <Eigen/Cholesky>
#include <fmt/format.h>

#include "models/error.h"
#include "models/spatial/kriging_system.h"
#include "models/spatial/parallel.h"

namespace models {

namespace {

constexpr double earth_radius_m = 6371008.8;
constexpr Eigen::Index most_points_on_sphere = 5000;

void check_valid_on_sphere(const VariogramModel& model) {
    model.check();
    const std::string where = "variogram \"" + model.to_text() + "\"";
    const double half_way_round = std::numbers::pi * earth_radius_m;
    for (const VariogramTerm& term : model.terms) {
        using enum VariogramShape;
        if (term.ratio != 1.0) {
            throw Error("there is no anisotropy on the sphere: north turns from place to place", where,
                        "leave azimuth and ratio out");
        }
        const bool ends = term.shape == spherical || term.shape == pentaspherical;
        const bool valid = term.shape == nugget || term.shape == error || term.shape == exponential || ends ||
                           (term.shape == matern && term.smoothness <= 0.5);
        if (!valid) {
            throw Error(fmt::format("a {} term{} is no valid variogram of great-circle distances", name_of(term.shape),
                                    term.shape == matern ? " smoother than 0.5" : ""),
                        where, "take exponential, spherical, pentaspherical, or matern up to smoothness 0.5");
        }
        if (ends && term.range_m > half_way_round) {
            throw Error(fmt::format("the range {} m is longer than half the way round the Earth", term.range_m), where,
                        "give at most 20,015,114 m");
        }
    }
}

void check_places(const Eigen::MatrixX2d& places_deg, const char* what) {
    for (Eigen::Index i = 0; i < places_deg.rows(); ++i) {
        const double longitude = places_deg(i, 0), latitude = places_deg(i, 1);
        if (!std::isfinite(longitude) || !std::isfinite(latitude)) {
            throw Error("the place has no coordinates", fmt::format("{} {}", what, i + 1), "leave it out");
        }
        if (std::abs(latitude) > 90.0 || longitude < -180.0 || longitude > 360.0) {
            throw Error(fmt::format("longitude {}, latitude {} is no place on the globe{}", longitude, latitude,
                                    std::abs(longitude) <= 90.0 ? ": the axes look swapped" : ""),
                        fmt::format("{} {}", what, i + 1), "give degrees, longitude first");
        }
    }
}

}  // namespace

double great_circle_distance_m(double longitude_a_deg, double latitude_a_deg, double longitude_b_deg,
                               double latitude_b_deg) {
    // Haversines keep their digits at small distances.
    constexpr double radians = std::numbers::pi / 180.0;
    const double north = std::sin(0.5 * radians * (latitude_b_deg - latitude_a_deg)),
                 east = std::sin(0.5 * radians * (longitude_b_deg - longitude_a_deg));
    const double half_chord_squared =
        north * north + std::cos(radians * latitude_a_deg) * std::cos(radians * latitude_b_deg) * east * east;
    return 2.0 * earth_radius_m * std::asin(std::min(1.0, std::sqrt(half_chord_squared)));
}

KrigingEstimates krige_on_sphere(const SphereData& data, const VariogramModel& model,
                                 const Eigen::MatrixX2d& targets_deg, std::optional<double> known_mean,
                                 const Progress& progress) {
    check_valid_on_sphere(model);
    check_places(data.places_deg, "point");
    check_places(targets_deg, "target");
    KrigingSettings settings;
    settings.known_mean = known_mean;
    // Checks, merging and error variances as in the plane; a place is told from another by its two numbers.
    const PreparedData prepared({data.places_deg, data.values, data.error_variances, {}}, model, settings);
    const Eigen::Index n = prepared.x.size(), m = targets_deg.rows();
    if (n > most_points_on_sphere) {
        throw Error(fmt::format("{} points are too many for great-circle kriging", n), "",
                    fmt::format("give at most {}, or work in a projected system", most_points_on_sphere));
    }
    const double nugget = model.nugget(), structured = model.structured_sill();
    const auto covariance = [&](double longitude_a, double latitude_a, double longitude_b, double latitude_b) {
        const double distance = great_circle_distance_m(longitude_a, latitude_a, longitude_b, latitude_b);
        double sum = distance == 0.0 ? nugget : 0.0;
        for (const VariogramTerm& term : model.terms) {
            if (term.shape == VariogramShape::nugget || term.shape == VariogramShape::error) continue;
            sum += term.partial_sill * (1.0 - term.unit_semivariance(distance));
        }
        return sum;
    };
    Eigen::MatrixXd matrix(n, n);
    parallel_blocks(
        n, 0,
        [&](long long j) {
            for (Eigen::Index i = j; i < n; ++i) {
                matrix(i, j) = covariance(prepared.x[i], prepared.y[i], prepared.x[j], prepared.y[j]);
            }
            matrix(j, j) += prepared.error_variances[j];
        },
        progress, "kriging");
    const Eigen::LLT<Eigen::MatrixXd, Eigen::Lower> factor(matrix);
    if (factor.info() != Eigen::Success ||
        !(factor.matrixLLT().diagonal().minCoeff() > 1e-8 * factor.matrixLLT().diagonal().maxCoeff())) {
        throw Error("the covariances of the points cannot be told apart (their matrix is singular)",
                    "variogram \"" + model.to_text() + "\"",
                    "give the observations an error variance, or add a small nugget");
    }
    const Eigen::VectorXd ones = Eigen::VectorXd::Ones(n);
    const Eigen::VectorXd of_ones = factor.solve(ones);
    const double information = ones.dot(of_ones);
    const double mean = known_mean ? *known_mean : of_ones.dot(prepared.values) / information;
    const Eigen::VectorXd weights = factor.solve(Eigen::VectorXd(prepared.values.array() - mean));
    KrigingEstimates found;
    found.estimate.resize(m);
    found.variance.resize(m);
    if (!known_mean) found.lagrange.resize(m);
    parallel_blocks(
        m, 0,
        [&](long long k) {
            Eigen::VectorXd near(n);
            for (Eigen::Index i = 0; i < n; ++i) {
                near[i] = covariance(prepared.x[i], prepared.y[i], targets_deg(k, 0), targets_deg(k, 1));
            }
            found.estimate[k] = mean + near.dot(weights);
            const double gap = 1.0 - near.dot(of_ones);
            factor.matrixL().solveInPlace(near);
            double variance = structured + nugget - near.squaredNorm();
            if (!known_mean) {
                variance += gap * gap / information;
                found.lagrange[k] = gap / information;
            }
            found.variance[k] = std::max(0.0, variance);
        },
        progress, "kriging");
    return found;
}

}  // namespace models
