// The parts that the contamination model is made of.
#include <cmath>
#include <functional>
#include <numbers>
#include <vector>

#include <catch2/catch.hpp>

#include "models/contamination/assay_site.h"
#include "models/contamination/counter_random.h"
#include "models/contamination/normal.h"
#include "models/contamination/normal_mixture.h"
#include "models/contamination/parameter_points.h"
#include "models/contamination/quadrature.h"

using namespace models;
using namespace models::contamination;

namespace {

double plain_density(double x, double mean, double variance) {
    return std::exp(-0.5 * (x - mean) * (x - mean) / variance) / std::sqrt(2.0 * std::numbers::pi * variance);
}

}  // namespace

TEST_CASE("the normal law agrees with printed tables far into its tails") {
    // Abramowitz & Stegun (1964), tables 26.1, 26.2 and 26.6.
    CHECK(normal::quantile(0.975) == Approx(1.959963984540054).epsilon(1e-14));
    CHECK(normal::quantile(1e-10) == Approx(-6.361340902404056).epsilon(1e-13));
    CHECK(normal::cdf(-3.0) == Approx(1.349898031630095e-3).epsilon(1e-12));
    CHECK(normal::log_cdf(-40.0) == Approx(-804.6084420137538).epsilon(1e-12));
    CHECK(normal::log_cdf(-29.999999) == Approx(normal::log_cdf(-30.000001)).epsilon(1e-6));
    for (const double p : {1e-12, 1e-4, 0.07, 0.5, 0.93, 1.0 - 1e-9})
        CHECK(normal::cdf(normal::quantile(p)) == Approx(p).epsilon(1e-11));
}

TEST_CASE("the quadrature rule knows the moments of the normal law") {
    // Even moments 1, 1, 3, 15, ..., (2k-1)!!, exact up to degree 2 N - 1.
    double moment = 1.0;
    for (int k = 0; k <= 11; ++k) {
        double sum = 0.0;
        for (std::size_t i = 0; i < 12; ++i) sum += short_rule().weight[i] * std::pow(short_rule().node[i], 2 * k);
        CHECK(sum == Approx(moment).epsilon(1e-11));
        moment *= 2 * k + 1;
    }
}

TEST_CASE("the first Sobol points are those of the published construction") {
    // Joe & Kuo (2008): 1/2 everywhere, then 3/4 1/4 1/4, 1/4 3/4 3/4, 3/8 3/8 5/8 in the first three dimensions.
    const Eigen::MatrixXd p = sobol_points(4, 3);
    const Eigen::RowVector3d expected[] = {
        {0.5, 0.5, 0.5}, {0.75, 0.25, 0.25}, {0.25, 0.75, 0.75}, {0.375, 0.375, 0.625}};
    for (Eigen::Index i = 0; i < 4; ++i) CHECK((p.row(i) - expected[i]).cwiseAbs().maxCoeff() < 1e-9);
}

TEST_CASE("each Sobol dimension fills its binary intervals evenly") {
    const Eigen::MatrixXd p = sobol_points(255, 10);
    for (Eigen::Index d = 0; d < 10; ++d) {
        std::vector<int> count(16, 0);
        for (Eigen::Index i = 0; i < 255; ++i) ++count[static_cast<std::size_t>(p(i, d) * 16.0)];
        for (const int c : count) CHECK((c == 16 || c == 15));  // the point at the origin is left out
    }
}

TEST_CASE("a sharp evidence is integrated over the prior by closing in on it") {
    // Evidence prod N(x_d; centre_d, 0.05^2) against a standard normal prior: ln of N(centre; 0, 1 + 0.0025) each.
    const Eigen::RowVector4d centre{1.0, -0.5, 0.3, 1.6};
    const auto evidence = [&](const Eigen::MatrixXd& points, const WeightedPoints&) {
        Eigen::VectorXd log_evidence(points.rows());
        for (Eigen::Index i = 0; i < points.rows(); ++i) {
            log_evidence[i] = 0.0;
            for (Eigen::Index d = 0; d < 4; ++d)
                log_evidence[i] += std::log(plain_density(points(i, d), centre[d], 0.0025) + 1e-300);
        }
        return log_evidence;
    };
    const WeightedPoints found = integrate_parameters(256, 4, 30.0, 1, evidence);
    double exact = 0.0;
    for (Eigen::Index d = 0; d < 4; ++d) exact += std::log(plain_density(centre[d], 0.0, 1.0025));
    CHECK(found.rounds > 1);
    CHECK(found.effective >= 30.0);
    CHECK(found.log_evidence == Approx(exact).margin(0.1).epsilon(0.0));
    const Eigen::RowVectorXd mean = found.weight.transpose() * found.points;
    CHECK((mean - centre / 1.0025).cwiseAbs().maxCoeff() < 0.01);
}

TEST_CASE("a mixture's quantile is where its distribution has that value") {
    NormalMixture mixture;
    mixture.add(0.2, -3.0, 0.1);
    mixture.add(0.5, 0.4, 1.5);
    mixture.add(0.3, 6.0, 0.02);
    for (const double p : {0.001, 0.05, 0.2, 0.5, 0.7, 0.95})
        CHECK(mixture.cdf(mixture.quantile(p)) == Approx(p).margin(1e-9).epsilon(0.0));
    CHECK(mixture.expectation() == Approx(0.2 * -3.0 + 0.5 * 0.4 + 0.3 * 6.0));
}

TEST_CASE("numbers drawn by counters are spread like their law and independent of neighbours") {
    double sum = 0.0, square = 0.0, product = 0.0;
    const int n = 20000;
    for (int i = 0; i < n; ++i) {
        const auto k = static_cast<std::uint64_t>(i);
        const double x = counter_normal(5, k, 3), y = counter_normal(5, k, 4);
        sum += x;
        square += x * x;
        product += x * y;
    }
    // Four standard errors: 1, sqrt 2 and 1 over sqrt n.
    CHECK(std::abs(sum / n) < 4.0 / std::sqrt(n));
    CHECK(std::abs(square / n - 1.0) < 4.0 * std::sqrt(2.0 / n));
    CHECK(std::abs(product / n) < 4.0 / std::sqrt(n));
}

TEST_CASE("readings that share their sample and portions agree with integrating over both errors on a grid") {
    const ErrorModel error;
    SiteSample sample;
    sample.mass_g = 500.0;
    sample.sampling_error = &error;
    const auto reading = [&](Reading side, double y) { return SiteReading{side, y, 1, &error, -1.0}; };
    sample.portions.push_back(
        {10.0, {reading(Reading::value, 0.8), reading(Reading::above, 0.7), reading(Reading::below, 1.5)}});
    sample.portions.push_back({10.0, {reading(Reading::above, 0.6)}});
    for (const double z : {-1.0, -0.2, 0.4}) {
        const LogVariance q = log_variance(std::exp(z), {500.0, 10.0, 1}, error);
        const auto one = [&](const SiteReading& r, double t) {
            const double u = (std::log(r.don_mg_per_kg) - t + 0.5 * q.analysis) / std::sqrt(q.analysis);
            if (r.reading == Reading::below) return 0.5 * std::erfc(-u / std::sqrt(2.0));
            if (r.reading == Reading::above) return 0.5 * std::erfc(u / std::sqrt(2.0));
            return std::exp(-0.5 * u * u) / std::sqrt(2.0 * std::numbers::pi * q.analysis) / r.don_mg_per_kg;
        };
        double total = 0.0;
        const int steps = 240;
        const double reach = 7.0;
        for (int i = 0; i < steps; ++i) {
            const double x = -reach + 2.0 * reach * (i + 0.5) / steps;
            double product = plain_density(x, 0.0, 1.0) * 2.0 * reach / steps;
            const double e_s = -0.5 * q.sampling + std::sqrt(q.sampling) * x;
            for (const SitePortion& portion : sample.portions) {
                double sum = 0.0;
                for (int j = 0; j < steps; ++j) {
                    const double u = -reach + 2.0 * reach * (j + 0.5) / steps;
                    double p = plain_density(u, 0.0, 1.0) * 2.0 * reach / steps;
                    const double e_p = -0.5 * q.preparation + std::sqrt(q.preparation) * u;
                    for (const SiteReading& r : portion.readings) p *= one(r, z + e_s + e_p);
                    sum += p;
                }
                product *= sum;
            }
            total += product;
        }
        // 12 nodes for a bound seen through a shared error leave under a thousandth.
        CHECK(site_log_likelihood(sample, z) == Approx(std::log(total)).margin(1e-3).epsilon(0.0));
    }
}

TEST_CASE("the table of a site is the site as far as three standard errors and only falls beyond") {
    const ErrorModel error;
    SiteSample sample;
    sample.sampling_error = &error;
    for (const Reading side : {Reading::value, Reading::below, Reading::above}) {
        sample.portions = {{std::nullopt, {{side, 1.3, 1, &error, -1.0}}}};
        const SiteTable table(sample);
        double peak = -1e300;
        for (int k = -600; k < 600; ++k) peak = std::max(peak, site_log_likelihood(sample, 0.01 * k));
        int compared = 0;
        for (int k = -60; k < 60; ++k) {
            const double exact = site_log_likelihood(sample, 0.1 * k);
            if (peak - exact > 4.4) continue;
            CHECK(table(0.1 * k) == Approx(exact).margin(2e-4).epsilon(0.0));
            ++compared;
        }
        CHECK(compared > 10);
        if (side == Reading::below) continue;
        // By itself the lognormal law, whose spread grows, falls less and less towards small contents.
        double slope = 0.0;
        for (int k = 12; k < 36; ++k) {
            const double step = table(-0.25 * k) - table(-0.25 * (k + 1));
            CHECK(step >= slope - 1e-6);
            slope = step;
        }
        CHECK(slope > 0.2);
    }
}

TEST_CASE("samples that read the same share a table, and each has the table that it has alone") {
    ErrorModel strip, laboratory;
    laboratory.sampling_coefficient *= 0.5;
    laboratory.analysis_coefficient *= 0.5;
    const auto sample_of = [&](const std::function<void(SiteSample&)>& change) {
        SiteSample sample;
        sample.mass_g = 500.0;
        sample.sampling_error = &strip;
        sample.portions = {{10.0, {{Reading::value, 1.3, 1, &strip, -1.0, 0.0}}}};
        change(sample);
        return sample;
    };
    const auto reading = [](SiteSample& s) -> SiteReading& { return s.portions.front().readings.front(); };
    // Each differs from the first in one thing.
    const std::vector<SiteSample> kinds = {
        sample_of([](SiteSample&) {}),
        sample_of([](SiteSample& s) { s.mass_g = 900.0; }),
        sample_of([](SiteSample& s) { s.mass_g.reset(); }),
        sample_of([](SiteSample& s) { s.sampling_error = nullptr; }),
        sample_of([&](SiteSample& s) { s.sampling_error = &laboratory; }),
        sample_of([](SiteSample& s) { s.sampling_inside = false; }),
        sample_of([](SiteSample& s) { s.preparation_inside = false; }),
        sample_of([](SiteSample& s) { s.portions.front().portion_g = 25.0; }),
        sample_of([](SiteSample& s) { s.portions.push_back(s.portions.front()); }),
        sample_of([&](SiteSample& s) { s.portions.front().readings.push_back(reading(s)); }),
        sample_of([&](SiteSample& s) { reading(s).reading = Reading::below; }),
        sample_of([&](SiteSample& s) { reading(s).don_mg_per_kg = 1.31; }),
        sample_of([&](SiteSample& s) { reading(s).analyses = 2; }),
        sample_of([&](SiteSample& s) { reading(s).error = &laboratory; }),
        sample_of([&](SiteSample& s) { reading(s).stated_relative_variance = 0.01; }),
        sample_of([&](SiteSample& s) { reading(s).curve_log_variance = 0.02; }),
    };
    std::vector<SiteSample> samples = kinds;
    samples.insert(samples.end(), kinds.begin(), kinds.end());
    for (const int threads : {1, 3}) {
        const std::vector<SiteTable> tables = tables_of(samples, threads);
        REQUIRE(tables.size() == samples.size());
        for (std::size_t i = 0; i < samples.size(); ++i) {
            const SiteTable alone(samples[i]);
            bool same = alone.start_mean() == tables[i].start_mean() &&
                        alone.start_variance() == tables[i].start_variance() && alone.high() == tables[i].high();
            for (int k = -60; k < 60; ++k) same = same && alone(0.1 * k) == tables[i](0.1 * k);
            CHECK(same);
            for (std::size_t j = 0; j < i; ++j) CHECK(tables[i].shares_with(tables[j]) == (j + kinds.size() == i));
        }
    }
}
