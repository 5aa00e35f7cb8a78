// Fields that are alike where they are near, against slow and obvious computations of the same model.
#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <vector>

#include <Eigen/Dense>
#include <catch2/catch.hpp>

#include "models/contamination/contamination.h"
#include "models/contamination/parameter_mode.h"
#include "models/contamination/propagation.h"

using namespace models;

namespace region_oracle {

constexpr double circle_ratio = std::numbers::pi;

struct ReadingOf {
    int field;
    models::Reading side;
    double y;
};

struct Ground {
    std::vector<double> risk, east_m, north_m;
    std::vector<ReadingOf> readings;
    double season_sd = 0.5, field_sd = 0.4, region_sd = 0.6, range_m = 8000.0;
    std::size_t size() const { return risk.size(); }
};

double cdf(double x) {
    return 0.5 * std::erfc(-x / std::sqrt(2.0));
}

/// P(reading | ln of the field mean), of a point without variation within the field: Whitaker's relative variance of
/// 454 g, 25 g, one analysis at the true content.
double likelihood(const ReadingOf& r, double m) {
    const double content = std::max(std::exp(m), 0.05);
    const double q = std::log(1.0 + 0.118 * std::pow(content, 0.833 - 2.0));
    const double z = (std::log(r.y) - m + q / 2.0) / std::sqrt(q);
    if (r.side == models::Reading::below) return cdf(z);
    if (r.side == models::Reading::above) return cdf(-z);
    return std::exp(-z * z / 2.0) / (r.y * std::sqrt(2.0 * circle_ratio * q));
}

/// Mean and covariance of ln field means before any reading.
std::pair<Eigen::VectorXd, Eigen::MatrixXd> prior(const Ground& g) {
    const auto n = static_cast<Eigen::Index>(g.size());
    Eigen::VectorXd mean(n);
    Eigen::MatrixXd covariance(n, n);
    for (std::size_t i = 0; i < g.size(); ++i) {
        const auto row = static_cast<Eigen::Index>(i);
        mean[row] = std::log(0.5) + 0.9 * (g.risk[i] + 1.0);
        for (std::size_t j = 0; j < g.size(); ++j) {
            const double distance = std::hypot(g.east_m[i] - g.east_m[j], g.north_m[i] - g.north_m[j]);
            covariance(row, static_cast<Eigen::Index>(j)) =
                1.0 + 0.25 * (g.risk[i] + 1.0) * (g.risk[j] + 1.0) + g.season_sd * g.season_sd +
                g.region_sd * g.region_sd * std::exp(-distance / g.range_m) + (i == j ? g.field_sd * g.field_sd : 0.0);
        }
    }
    return {mean, covariance};
}

ContaminationModel fitted(const Ground& g) {
    ContaminationInput input;
    for (std::size_t i = 0; i < g.size(); ++i) {
        FieldSeason field{"F" + std::to_string(i), "", 2026, g.risk[i]};
        field.place_m = PointM{g.east_m[i], g.north_m[i]};
        input.field_seasons.push_back(field);
    }
    for (std::size_t i = 0; i < g.readings.size(); ++i) {
        GrainSample sample;
        sample.sample = "S" + std::to_string(i);
        sample.index = static_cast<std::size_t>(g.readings[i].field);
        input.samples.push_back(sample);
        AssayResult result;
        result.test = "T" + std::to_string(i);
        result.sample = i;
        result.reading = g.readings[i].side;
        result.don_mg_per_kg = g.readings[i].y;
        input.results.push_back(result);
    }
    ContaminationPriors priors;
    priors.fixed = {true, g.season_sd, g.field_sd, 0.0, 0.0, g.region_sd, g.range_m};
    return fit_contamination(input, priors);
}

double log_variance(const Content& c) {
    return std::pow(std::log(c.high90 / c.low90) / (2.0 * 1.6448536269514722), 2);
}

}  // namespace region_oracle

TEST_CASE("two near fields and an untested one between them agree with brute-force quadrature") {
    using namespace region_oracle;
    Ground g;
    g.risk = {-0.6, -1.6, -1.1};
    g.east_m = {0.0, 4000.0, 1500.0};
    g.north_m = {0.0, 1000.0, 2000.0};
    g.readings = {{0, models::Reading::value, 1.9}, {1, models::Reading::below, 0.3}, {0, models::Reading::above, 1.2}};
    const ContaminationModel model = fitted(g);

    const auto [mean, covariance] = prior(g);
    const Eigen::Matrix2d tested = covariance.topLeftCorner(2, 2);
    const Eigen::Matrix2d precision = tested.inverse();
    const Eigen::Vector2d with_tested = covariance.col(2).head(2);
    const Eigen::Vector2d weight = precision * with_tested;
    const double left = covariance(2, 2) - weight.dot(with_tested);
    const int steps = 900;
    const double reach = 8.0, cell = std::pow(2.0 * reach / steps, 2);
    std::vector<double> x0, x1, l0, l1;
    for (int i = 0; i <= steps; ++i) {
        x0.push_back(mean[0] + reach * (2.0 * i / steps - 1.0));
        x1.push_back(mean[1] + reach * (2.0 * i / steps - 1.0));
        l0.push_back(likelihood(g.readings[0], x0.back()) * likelihood(g.readings[2], x0.back()));
        l1.push_back(likelihood(g.readings[1], x1.back()));
    }
    double mass = 0.0;
    Eigen::Vector3d first = Eigen::Vector3d::Zero(), second = Eigen::Vector3d::Zero();
    for (std::size_t i = 0; i < x0.size(); ++i)
        for (std::size_t j = 0; j < x1.size(); ++j) {
            const Eigen::Vector2d d{x0[i] - mean[0], x1[j] - mean[1]};
            const double p = std::exp(-0.5 * d.dot(precision * d)) /
                             (2.0 * circle_ratio * std::sqrt(tested.determinant())) * l0[i] * l1[j] * cell;
            const double between = mean[2] + weight.dot(d);
            mass += p;
            first += p * Eigen::Vector3d{x0[i], x1[j], between};
            second += p * Eigen::Vector3d{x0[i] * x0[i], x1[j] * x1[j], between * between + left};
        }
    first /= mass;
    second = second / mass - first.cwiseProduct(first);
    // As without a region: 0.004 in means on the log scale, 4 % in variances. The evidence only weighs sets of
    // parameters against one another: to 1 %.
    CHECK(model.learnt().log_evidence == Approx(std::log(mass)).margin(0.01).epsilon(0.0));
    for (std::size_t f = 0; f < 3; ++f) {
        const auto k = static_cast<Eigen::Index>(f);
        CHECK(std::log(model.field_season(f)->median) == Approx(first[k]).margin(0.004).epsilon(0.0));
        CHECK(log_variance(*model.field_season(f)) == Approx(second[k]).epsilon(0.04));
    }
}

TEST_CASE("twenty fields of one region agree with a long Gibbs chain") {
    using namespace region_oracle;
    Ground g;
    for (int f = 0; f < 24; ++f) {  // the last four without a reading
        g.risk.push_back(-2.2 + 0.12 * ((f * 7) % 20));
        g.east_m.push_back(1000.0 * ((f * 5) % 23));
        g.north_m.push_back(900.0 * ((f * 11) % 19));
        if (f >= 20) continue;
        const double y = 0.5 * std::exp(0.9 * std::sin(g.east_m.back() / 6000.0) + 0.5 * std::cos(3.0 * f));
        g.readings.push_back(y < 0.3   ? ReadingOf{f, models::Reading::below, 0.3}
                             : y > 1.3 ? ReadingOf{f, models::Reading::above, 1.3}
                                       : ReadingOf{f, models::Reading::value, y});
    }
    const ContaminationModel model = fitted(g);

    // One content after the other from its law given all others (normal, by the prior's precision) times its own
    // likelihood, on a grid of 300 values.
    const auto [mean, covariance] = prior(g);
    const Eigen::MatrixXd precision = covariance.inverse();
    constexpr int cells = 300;
    constexpr double low = -6.0, width = 10.0;
    std::vector<double> x(cells);
    for (std::size_t k = 0; k < cells; ++k) x[k] = low + width * (static_cast<double>(k) + 0.5) / cells;
    std::vector<std::vector<double>> of_reading(24, std::vector<double>(cells, 1.0));
    for (const ReadingOf& r : g.readings)
        for (std::size_t k = 0; k < cells; ++k) of_reading[static_cast<std::size_t>(r.field)][k] *= likelihood(r, x[k]);
    std::mt19937_64 engine(5);
    std::uniform_real_distribution<double> uniform(0.0, 1.0);
    Eigen::VectorXd m = mean;
    Eigen::VectorXd sum = Eigen::VectorXd::Zero(24), square = Eigen::VectorXd::Zero(24);
    constexpr int sweeps = 24000, burned = 1000;
    std::vector<double> up_to(cells);
    for (int sweep = 0; sweep < sweeps; ++sweep) {
        for (Eigen::Index i = 0; i < 24; ++i) {
            const double own = precision(i, i);
            const double centre = m[i] - precision.row(i).dot(m - mean) / own;
            double total = 0.0;
            for (std::size_t k = 0; k < cells; ++k) {
                const double d = x[k] - centre;
                up_to[k] = total += std::exp(-0.5 * own * d * d) * of_reading[static_cast<std::size_t>(i)][k];
            }
            const double u = uniform(engine) * total;
            const auto at = std::lower_bound(up_to.begin(), up_to.end() - 1, u) - up_to.begin();
            m[i] = x[static_cast<std::size_t>(at)] + (uniform(engine) - 0.5) * width / cells;
        }
        if (sweep < burned) continue;
        sum += m;
        square += m.cwiseProduct(m);
    }
    sum /= sweeps - burned;
    square = square / (sweeps - burned) - sum.cwiseProduct(sum);
    // Neighbours in the chain are alike: some 23,000 / 15 independent values leave a standard error of 0.026 sd in a
    // mean and of 3.7 % in a variance. Four of them; half of the readings are bounds, and the propagation's own error
    // (0.01 in contents) is small beside that.
    for (std::size_t f = 0; f < 24; ++f) {
        const auto k = static_cast<Eigen::Index>(f);
        const double sd = std::sqrt(square[k]);
        CHECK(std::log(model.field_season(f)->median) == Approx(sum[k]).margin(0.1 * sd).epsilon(0.0));
        CHECK(log_variance(*model.field_season(f)) == Approx(square[k]).epsilon(0.15));
    }
}

TEST_CASE("a block with readings that widen has the posterior of plain matrix algebra") {
    using namespace contamination;
    std::mt19937_64 engine(3);
    std::normal_distribution<double> normal;
    const Eigen::Index n = 12, r = 3;
    GaussianLaw law;
    law.mean = Eigen::VectorXd::NullaryExpr(n, [&] { return normal(engine); });
    law.design = RowMatrix::NullaryExpr(n, r, [&] { return normal(engine); });
    law.own_variance = Eigen::VectorXd::Zero(n);
    law.column_precision = Eigen::VectorXd::Ones(r);
    const Eigen::MatrixXd half = Eigen::MatrixXd::NullaryExpr(n, n, [&] { return 0.3 * normal(engine); });
    LatentBlock block;
    block.covariance = half * half.transpose() + 0.2 * Eigen::MatrixXd::Identity(n, n);
    for (int i = 0; i < n; ++i) block.bundles.push_back({{i}, {}});
    law.blocks.push_back(block);
    GaussianSites sites{Eigen::VectorXd::LinSpaced(n, 0.5, 6.0),
                        Eigen::VectorXd::NullaryExpr(n, [&] { return normal(engine); })};
    sites.tau[2] = 0.0;
    sites.tau[5] = -0.3;
    sites.tau[9] = -0.15;
    const GaussianPosterior found = posterior(law, sites);
    REQUIRE(found.proper);

    const Eigen::MatrixXd prior = block.covariance + law.design * law.design.transpose();
    const Eigen::MatrixXd precision = prior.inverse() + Eigen::MatrixXd(sites.tau.asDiagonal());
    const Eigen::MatrixXd covariance = precision.inverse();
    const Eigen::VectorXd shift = prior.inverse() * law.mean + sites.nu;
    const Eigen::VectorXd mean = covariance * shift;
    const Eigen::MatrixXd m =
        Eigen::MatrixXd(sites.tau.asDiagonal()) *
        (Eigen::MatrixXd::Identity(n, n) + block.covariance * Eigen::MatrixXd(sites.tau.asDiagonal())).inverse();
    CHECK((found.marginal_mean - mean).cwiseAbs().maxCoeff() < 1e-11);
    CHECK((found.marginal_variance - covariance.diagonal()).cwiseAbs().maxCoeff() < 1e-11);
    CHECK((found.precision[0].times(Eigen::MatrixXd::Identity(n, n)) - m).cwiseAbs().maxCoeff() < 1e-11);
    CHECK((found.precision[0].form(half) - half.transpose() * m * half).cwiseAbs().maxCoeff() < 1e-11);
    CHECK((found.precision[0].form_diagonal(half) - (half.transpose() * m * half).diagonal()).cwiseAbs().maxCoeff() <
          1e-11);
    const double log_integral = 0.5 * shift.dot(mean) - 0.5 * law.mean.dot(prior.inverse() * law.mean) +
                                0.5 * std::log(covariance.determinant() / prior.determinant());
    CHECK(found.log_integral == Approx(log_integral).margin(1e-10).epsilon(0.0));
    // Widened beyond what the others leave of it there is no law.
    sites.tau[5] = -1000.0;
    CHECK_FALSE(posterior(law, sites).proper);
}

TEST_CASE("samples of one field in one bundle have the posterior of plain matrix algebra over all of them") {
    using namespace contamination;
    std::mt19937_64 engine(8);
    std::normal_distribution<double> normal;
    // Nine sites of four bundles in two blocks, the second a bundle alone.
    const Eigen::Index n = 9, r = 3;
    const std::vector<std::vector<int>> sites_of_bundle = {{0, 3, 4}, {1}, {2, 6}, {5, 7, 8}};
    GaussianLaw law;
    law.mean = Eigen::VectorXd::NullaryExpr(n, [&] { return normal(engine); });
    law.design = RowMatrix::NullaryExpr(n, r, [&] { return normal(engine); });
    law.own_variance = Eigen::VectorXd::LinSpaced(n, 0.0, 0.4);
    law.column_precision = Eigen::VectorXd::Ones(r);
    const Eigen::MatrixXd half = Eigen::MatrixXd::NullaryExpr(3, 3, [&] { return 0.5 * normal(engine); });
    law.blocks.resize(2);
    law.blocks[0].covariance = half * half.transpose() + 0.1 * Eigen::MatrixXd::Identity(3, 3);
    law.blocks[1].covariance = Eigen::MatrixXd::Constant(1, 1, 0.7);
    Eigen::MatrixXd bundle_of = Eigen::MatrixXd::Zero(n, 4);
    for (std::size_t k = 0; k < 4; ++k) {
        law.blocks[k < 3 ? 0 : 1].bundles.push_back({sites_of_bundle[k], {}});
        for (const int site : sites_of_bundle[k]) bundle_of(site, static_cast<Eigen::Index>(k)) = 1.0;
    }
    Eigen::MatrixXd local = Eigen::MatrixXd::Zero(4, 4);
    local.topLeftCorner(3, 3) = law.blocks[0].covariance;
    local(3, 3) = 0.7;

    // Sharp, dull and silent sites; sites and a whole bundle that widen.
    Eigen::VectorXd tau(n);
    tau << 40.0, 5.0, 0.2, 0.0, -0.05, 3.0, -0.25, 1e-10, 4.0;
    const GaussianSites sites{tau, Eigen::VectorXd::NullaryExpr(n, [&] { return normal(engine); })};
    const GaussianPosterior found = posterior(law, sites);
    REQUIRE(found.proper);

    const Eigen::MatrixXd own = law.own_variance.asDiagonal();
    const Eigen::MatrixXd prior = bundle_of * local * bundle_of.transpose() + own + law.design * law.design.transpose();
    const Eigen::MatrixXd joint = Eigen::MatrixXd::Identity(n, n) + prior * Eigen::MatrixXd(tau.asDiagonal());
    const Eigen::MatrixXd covariance = joint.inverse() * prior;
    const Eigen::VectorXd mean = joint.inverse() * (law.mean + prior * sites.nu);
    CHECK((found.marginal_mean - mean).cwiseAbs().maxCoeff() < 1e-11);
    CHECK((found.marginal_variance - covariance.diagonal()).cwiseAbs().maxCoeff() < 1e-11);
    // ln of the integral of N(z; mean, prior) exp(nu z - tau z^2 / 2).
    const Eigen::VectorXd shift = sites.nu - tau.cwiseProduct(law.mean);
    const double log_integral = sites.nu.dot(law.mean) - 0.5 * law.mean.dot(tau.cwiseProduct(law.mean)) +
                                0.5 * shift.dot(covariance * shift) - 0.5 * std::log(joint.determinant());
    CHECK(found.log_integral == Approx(log_integral).margin(1e-10).epsilon(0.0));
    // The local parts: of their covariance with the sites, by Gaussian conditioning on factors.
    const Eigen::MatrixXd with_sites = local * bundle_of.transpose();
    const Eigen::VectorXd expected = with_sites * (shift - tau.cwiseProduct(covariance * shift));
    const Eigen::VectorXd weight = found.f - found.m_design * found.beta;
    CHECK((local * weight - expected).cwiseAbs().maxCoeff() < 1e-11);
}

TEST_CASE("the most probable parameters of a normal evidence are its mode and Laplace is exact for it") {
    using namespace contamination;
    Eigen::Matrix3d curvature;
    curvature << 40.0, 6.0, 0.0, 6.0, 9.0, -1.0, 0.0, -1.0, 2.0;
    const Eigen::Vector3d centre{0.8, -1.4, 2.1};
    const auto log_evidence = [&](const Eigen::MatrixXd& points) {
        Eigen::VectorXd value(points.rows());
        for (Eigen::Index i = 0; i < points.rows(); ++i) {
            const Eigen::Vector3d d = points.row(i).transpose() - centre;
            value[i] = -7.0 - 0.5 * d.dot(curvature * d);
        }
        return value;
    };
    const ParameterMode mode = most_probable_parameters(Eigen::Vector3d::Zero(), log_evidence);
    const Eigen::Matrix3d total = curvature + Eigen::Matrix3d::Identity();
    const Eigen::Vector3d at = total.inverse() * curvature * centre;
    CHECK(mode.settled);
    CHECK((mode.law.centre.transpose() - at).cwiseAbs().maxCoeff() < 1e-6);
    CHECK((mode.law.covariance - total.inverse()).cwiseAbs().maxCoeff() < 1e-6);
    const double exact =
        -7.0 - 0.5 * centre.dot(curvature * centre) + 0.5 * at.dot(total * at) - 0.5 * std::log(total.determinant());
    CHECK(mode.laplace_log_evidence == Approx(exact).margin(1e-6).epsilon(0.0));
    // Points drawn about it integrate the same.
    const WeightedPoints points = integrate_parameters(
        256, 3, 30.0, 1, [&](const Eigen::MatrixXd& x, const WeightedPoints&) { return log_evidence(x); }, mode.law);
    CHECK(points.rounds == 1);
    CHECK(points.log_evidence == Approx(exact).margin(0.03).epsilon(0.0));
    CHECK((points.weight.transpose() * points.points - mode.law.centre).cwiseAbs().maxCoeff() < 0.1);
}
