#include <cmath>

#include <catch2/catch.hpp>

#include "models/error.h"
#include "models/spatial/variogram_likelihood.h"
#include "tests/models/spatial_reference.h"
#include "tests/support/shared_data.h"

using Catch::Matchers::Contains;
using models::LikelihoodKind;
using models::VariogramModel;

namespace {

models::SpatialData zinc_with_river(const std::filesystem::path& shared, bool with_drift) {
    models::SpatialData data = tests::meuse_log_zinc(shared);
    if (with_drift) data.drift = tests::reference_table(shared, "data/meuse.csv").numbers("dist").array().sqrt();
    return data;
}

}  // namespace

TEST_CASE("log-likelihoods at fixed parameters equal a direct dense formula in R") {
    NEEDS_SHARED_DATA(shared);
    // Rows of the table loglik_fixed_parameters_meuse_logzinc: nugget 0.05, sill 0.6.
    struct Case {
        const char* model;
        bool drift;
        LikelihoodKind kind;
        double expected;
    };
    const char* spherical = "nugget 0.05 + spherical 0.6 range 900";
    const char* exponential = "nugget 0.05 + exponential 0.6 range 300";
    const char* gaussian = "nugget 0.05 + gaussian 0.6 range 300";
    for (const Case& one : {Case{spherical, false, LikelihoodKind::full, -101.98346316243142},
                            Case{spherical, false, LikelihoodKind::restricted, -100.14475297153569},
                            Case{spherical, true, LikelihoodKind::full, -86.930171003475692},
                            Case{spherical, true, LikelihoodKind::restricted, -83.938417523075913},
                            Case{exponential, false, LikelihoodKind::full, -113.06436017152998},
                            Case{exponential, false, LikelihoodKind::restricted, -111.23181628502761},
                            Case{exponential, true, LikelihoodKind::full, -98.002085334854598},
                            Case{exponential, true, LikelihoodKind::restricted, -95.008094386585483},
                            Case{gaussian, false, LikelihoodKind::full, -110.04302317287721},
                            Case{gaussian, false, LikelihoodKind::restricted, -108.41413922583676},
                            Case{gaussian, true, LikelihoodKind::full, -95.927362174409282},
                            Case{gaussian, true, LikelihoodKind::restricted, -93.267728181426634}}) {
        INFO(one.model);
        const double found =
            models::log_likelihood(zinc_with_river(shared, one.drift), VariogramModel::parse(one.model), one.kind);
        CHECK(std::abs(found - one.expected) < 1e-9);
    }
}

TEST_CASE("the most likely variogram is at least as likely as the one found in R and by nlme") {
    NEEDS_SHARED_DATA(shared);
    struct Case {
        const char* shape;
        bool drift;
        LikelihoodKind kind;
        double expected, range_m;
    };
    // Table ml_reml_optimum_meuse_logzinc; nlme's gls reaches the same -99.1287776 and -74.9204663 for ML.
    for (const Case& one :
         {Case{"exponential", false, LikelihoodKind::full, -99.128777624275997, 2144.9166438185207},
          Case{"exponential", true, LikelihoodKind::full, -74.920466269620718, 169.7990258269507},
          Case{"exponential", true, LikelihoodKind::restricted, -73.617688210424177, 192.51413775400908},
          Case{"spherical", false, LikelihoodKind::full, -97.880646178821081, 1200.5114448672634},
          Case{"spherical", true, LikelihoodKind::restricted, -73.330408259245033, 752.04196660109062},
          Case{"gaussian", false, LikelihoodKind::restricted, -97.116126447008327, 610.80682410223631},
          Case{"gaussian", true, LikelihoodKind::full, -73.720916230128097, 217.90960786350132}}) {
        INFO(one.shape << (one.drift ? " with drift" : ""));
        const auto shapes = VariogramModel::parse(std::string("nugget 0 + ") + one.shape + " 0 range 1");
        const auto fit = models::fit_variogram_by_likelihood(zinc_with_river(shared, one.drift), shapes, one.kind);
        CHECK(fit.settled);
        CHECK(fit.objective >= one.expected - 1e-7);
        // Where R's search stopped at a lower maximum the ranges differ, and ours is the likelier.
        if (fit.objective < one.expected + 1e-6) CHECK(fit.model.terms[1].range_m == Approx(one.range_m).epsilon(1e-3));
        CHECK(models::log_likelihood(zinc_with_river(shared, one.drift), fit.model, one.kind) ==
              Approx(fit.objective).epsilon(1e-10));
    }
}

TEST_CASE("a likelihood that rises for ever with the range is stopped at a bound and says so") {
    NEEDS_SHARED_DATA(shared);
    const auto fit = models::fit_variogram_by_likelihood(tests::meuse_log_zinc(shared),
                                                         VariogramModel::parse("nugget 0 + exponential 0 range 1"));
    CHECK_FALSE(fit.settled);
    CHECK_THAT(fit.message, Contains("the likelihood still rises with the range"));
}

TEST_CASE("error variances known beforehand take the place of the nugget") {
    NEEDS_SHARED_DATA(shared);
    models::SpatialData data = zinc_with_river(shared, true);
    const auto shapes = VariogramModel::parse("nugget 0 + exponential 0 range 1");
    const auto without = models::fit_variogram_by_likelihood(data, shapes);
    data.error_variances = Eigen::VectorXd::Constant(155, 0.5 * without.model.nugget());
    const auto with = models::fit_variogram_by_likelihood(data, shapes);
    // Half of the nugget is explained beforehand: the other half remains and nothing else changes.
    CHECK(with.objective == Approx(without.objective).epsilon(1e-8));
    CHECK(with.model.nugget() == Approx(0.5 * without.model.nugget()).epsilon(1e-2));
    CHECK(with.model.terms[1].range_m == Approx(without.model.terms[1].range_m).epsilon(1e-2));
}

TEST_CASE("likelihoods that cannot be are refused in words") {
    models::SpatialData data;
    data.positions_m = Eigen::MatrixX2d::Random(10, 2);
    data.values = Eigen::VectorXd::Random(10);
    CHECK_THROWS_WITH(models::fit_variogram_by_likelihood(data, VariogramModel::parse("linear 1")),
                      Contains("has no likelihood"));
    CHECK_THROWS_WITH(models::fit_variogram_by_likelihood(data, VariogramModel::parse("nugget 1")),
                      Contains("one or two terms with a range"));
    data.values.setConstant(3.0);
    CHECK(
        models::fit_variogram_by_likelihood(data, VariogramModel::parse("nugget 0 + spherical 0 range 1")).pure_nugget);
}
