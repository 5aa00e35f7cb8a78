#include <cmath>
#include <map>

#include <catch2/catch.hpp>

#include "models/error.h"
#include "models/spatial/indicator.h"
#include "models/spatial/variogram_fit.h"
#include "models/spatial/variogram_map.h"
#include "tests/models/spatial_reference.h"
#include "tests/support/shared_data.h"

using Catch::Matchers::Contains;
using models::VariogramModel;

TEST_CASE("the variogram map of the Meuse zinc has gstat's counts in every square") {
    NEEDS_SHARED_DATA(shared);
    const auto meuse = tests::meuse_log_zinc(shared);
    const auto expected = tests::reference_table(shared, "variogram/meuse_logzinc_map_c1500_w150.csv");
    std::map<std::pair<double, double>, models::VariogramMapCell> found;
    for (const auto& cell : models::variogram_map(meuse.positions_m, meuse.values, 1500.0, 150.0)) {
        found[{cell.dx_m, cell.dy_m}] = cell;
    }
    const Eigen::VectorXd dx = expected.numbers("dx"), dy = expected.numbers("dy"), gamma = expected.numbers("gamma"),
                          pairs = expected.numbers("np");
    long long squares = 0;
    for (Eigen::Index i = 0; i < dx.size(); ++i) {
        // The centre also holds each point with itself in no program; gstat's 61 there are pairs under 75 m.
        const auto here = found.find({dx[i], dy[i]});
        REQUIRE((here == found.end()) == (pairs[i] == 0.0));
        if (here == found.end()) continue;
        ++squares;
        CHECK(static_cast<double>(here->second.pairs) == pairs[i]);
        CHECK(here->second.gamma == Approx(gamma[i]).epsilon(1e-12));
    }
    CHECK(squares == static_cast<long long>(found.size()));
}

TEST_CASE("the variogram of generalised residuals and of an indicator agree with gstat") {
    NEEDS_SHARED_DATA(shared);
    auto meuse = tests::meuse_log_zinc(shared);
    meuse.drift = tests::reference_table(shared, "data/meuse.csv").numbers("dist").array().sqrt();
    const auto compare = [&](const std::vector<models::VariogramClass>& classes, const char* file) {
        INFO(file);
        const auto expected = tests::reference_table(shared, file);
        REQUIRE(static_cast<long>(classes.size()) == expected.rows());
        for (std::size_t k = 0; k < classes.size(); ++k) {
            const auto row = static_cast<Eigen::Index>(k);
            CHECK(static_cast<double>(classes[k].pairs) == expected.numbers("np")[row]);
            CHECK(classes[k].distance_m == Approx(expected.numbers("dist")[row]).epsilon(1e-12));
            CHECK(classes[k].gamma == Approx(expected.numbers("gamma")[row]).epsilon(1e-11));
        }
    };
    const VariogramModel river = VariogramModel::parse("nugget 0.0798 + spherical 0.1485283 range 877.3");
    compare(models::experimental_variogram(meuse.positions_m, models::generalised_residuals(meuse, river)),
            "variogram/meuse_logzinc_gls_resid_sqrtdist.csv");
    const auto jura = tests::reference_table(shared, "data/jura_pred.csv");
    models::VariogramSettings settings;
    settings.cutoff_m = 2.0;
    settings.width_m = 0.1;
    compare(models::experimental_variogram(tests::places_of(jura, "Xloc", "Yloc"),
                                           models::indicators_of(jura.numbers("Cd"), 0.8), settings),
            "variogram/jura_indicator_Cd_le_0.8.csv");
}

TEST_CASE("every pair of a variogram map counts once each way") {
    Eigen::MatrixX2d places(3, 2);
    places << 0, 0, 10, 3, -4, 20;
    const auto map = models::variogram_map(places, Eigen::Vector3d(1, 2, 4), 30.0, 10.0);
    long long pairs = 0;
    for (const auto& cell : map) {
        pairs += cell.pairs;
        const bool mirrored = std::any_of(map.begin(), map.end(), [&](const models::VariogramMapCell& other) {
            return other.dx_m == -cell.dx_m && other.dy_m == -cell.dy_m && other.gamma == cell.gamma;
        });
        CHECK(mirrored);
    }
    CHECK(pairs == 6);
    CHECK_THROWS_WITH(models::variogram_map(places, Eigen::Vector3d(1, 2, 4), 30.0, 0.0),
                      Contains("both must be greater than 0"));
    CHECK_THROWS_WITH(models::variogram_map(places, Eigen::Vector3d(1, 2, 4), 3e6, 1.0),
                      Contains("more than a million squares"));
}
