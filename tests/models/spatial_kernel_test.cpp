#include <cmath>
#include <vector>

#include <catch2/catch.hpp>

#include "models/error.h"
#include "models/spatial/kernels/kernels.h"
#include "models/spatial/kriging_system.h"

using Catch::Matchers::Contains;

TEST_CASE("every processor level gives the covariances of the model to fourteen digits") {
    const std::vector<std::string> texts = {"exponential 0.5 range 40",
                                            "spherical 0.5 range 90",
                                            "gaussian 0.5 range 60",
                                            "pentaspherical 0.5 range 90",
                                            "circular 0.5 range 90",
                                            "matern 0.5 range 40 smoothness 0.5",
                                            "matern 0.5 range 40 smoothness 1.5",
                                            "matern 0.5 range 40 smoothness 2.5",
                                            "matern 0.5 range 40 smoothness 0.8",
                                            "hole 0.5 range 30 damping 80",
                                            "exponential 0.5 range 80 azimuth 25 ratio 0.4",
                                            "nugget 0.2 + exponential 0.5 range 40 + spherical 0.3 range 100"};
    std::vector<double> x, y;
    for (int i = 0; i < 301; ++i) {
        x.push_back(std::fmod(i * 37.7, 151.0));
        y.push_back(std::fmod(i * 51.3, 97.0));
    }
    CHECK(models::kernels::kernel_levels().front() == "generic");
    for (const std::string& level : models::kernels::kernel_levels()) {
        for (const std::string& text : texts) {
            INFO(level << ": " << text);
            const auto model = models::VariogramModel::parse(text);
            const models::PreparedCovariance covariance(model);
            std::vector<double> found(x.size());
            models::kernels::kernel_table(level).covariances(covariance.arrays(), x.data(), y.data(),
                                                             static_cast<int>(x.size()), x[5], y[5], found.data());
            double worst = 0.0;
            for (std::size_t i = 0; i < x.size(); ++i) {
                const double expected = model.sill() - model.semivariance(x[i] - x[5], y[i] - y[5]);
                worst = std::max(worst, std::abs(found[i] - expected));
            }
            CHECK(worst < 1e-14);
        }
    }
}

TEST_CASE("processor levels agree to twelve digits on a whole kriged tile") {
    const int n = 90, m = 40;
    const auto model = models::VariogramModel::parse("nugget 0.1 + exponential 0.5 range 40");
    const models::PreparedCovariance covariance(model);
    Eigen::VectorXd x(n), y(n), z(n), tx(m), ty(m);
    for (Eigen::Index i = 0; i < n; ++i) {
        const double t = static_cast<double>(i);
        x[i] = std::fmod(t * 37.7, 151.0);
        y[i] = std::fmod(t * 51.3, 97.0);
        z[i] = std::sin(t);
    }
    for (Eigen::Index i = 0; i < m; ++i) {
        const double t = static_cast<double>(i);
        tx[i] = 3.1 * t;
        ty[i] = 2.3 * t;
    }
    std::vector<Eigen::VectorXd> estimates, variances;
    for (const std::string& level : models::kernels::kernel_levels()) {
        const auto& table = models::kernels::kernel_table(level);
        Eigen::MatrixXd factor = Eigen::MatrixXd::Zero(n, n);
        for (Eigen::Index j = 0; j < n; ++j) {
            table.covariances(covariance.arrays(), x.data() + j, y.data() + j, static_cast<int>(n - j), x[j], y[j],
                              factor.col(j).data() + j);
        }
        REQUIRE(table.factor(factor.data(), n) == -1);
        Eigen::VectorXd residual = z;
        table.forward_solve(factor.data(), n, residual.data(), 1);
        models::kernels::SystemArrays system;
        system.covariance = covariance.arrays();
        const models::PreparedBlock point{models::BlockM{}};
        system.block = point.arrays();
        system.n = n;
        system.x = x.data();
        system.y = y.data();
        system.factor = factor.data();
        system.residual = residual.data();
        system.own_covariance = 0.6;
        Eigen::VectorXd estimate(m), variance(m);
        table.dense_tile(system, {m, tx.data(), ty.data(), nullptr, estimate.data(), variance.data(), nullptr});
        estimates.push_back(estimate);
        variances.push_back(variance);
    }
    for (std::size_t level = 1; level < estimates.size(); ++level) {
        CHECK((estimates[level] - estimates[0]).cwiseAbs().maxCoeff() < 1e-12);
        CHECK((variances[level] - variances[0]).cwiseAbs().maxCoeff() < 1e-12);
    }
}

TEST_CASE("a processor level that is not there is refused with those that are") {
    CHECK_THROWS_WITH(models::kernels::kernel_table("avx1024"), Contains("set it to one of generic"));
}
