// The contamination model against slow, obvious computations of the same model.
#include <cmath>
#include <numbers>
#include <random>

#include <Eigen/Dense>
#include <catch2/catch.hpp>

#include "models/contamination/contamination.h"

using namespace models;

namespace {

constexpr double pi = std::numbers::pi;

double slow_cdf(double x) {
    return 0.5 * std::erfc(-x / std::sqrt(2.0));
}

/// Whitaker's relative variance of 454 g, 25 g, one analysis, written out; the floor is 0.05 mg/kg.
double slow_log_variance(double content) {
    return std::log(1.0 + 0.118 * std::pow(std::max(content, 0.05), 0.833) / std::pow(std::max(content, 0.05), 2.0));
}

/// P(reading | content), the density per mg/kg.
double slow_likelihood(Reading reading, double y, double content) {
    const double q = slow_log_variance(content);
    const double z = (std::log(y) - std::log(content) + q / 2.0) / std::sqrt(q);
    if (reading == Reading::below) return slow_cdf(z);
    if (reading == Reading::above) return slow_cdf(-z);
    return std::exp(-z * z / 2.0) / (y * std::sqrt(2.0 * pi * q));
}

struct SlowReading {
    int field;
    Reading reading;
    double y;
    int increments;
};

/// L(reading | m) with the composite's own content integrated on a fine grid.
double slow_composite(const SlowReading& r, double m, double within_sd) {
    const double v = std::log(1.0 + (std::exp(within_sd * within_sd) - 1.0) / r.increments);
    double sum = 0.0;
    const int steps = 400;
    for (int i = 0; i <= steps; ++i) {
        const double x = -8.0 + 16.0 * i / steps;
        sum += std::exp(-x * x / 2.0) / std::sqrt(2.0 * pi) * 16.0 / steps *
               slow_likelihood(r.reading, r.y, std::exp(m - v / 2.0 + std::sqrt(v) * x));
    }
    return sum;
}

ContaminationPriors fixed_priors(double season, double field, double within) {
    ContaminationPriors priors;
    priors.fixed = {true, season, field, within, 0.0};
    return priors;
}

ContaminationInput input_of(const std::vector<double>& risk_logits, const std::vector<SlowReading>& readings) {
    ContaminationInput input;
    for (std::size_t i = 0; i < risk_logits.size(); ++i)
        input.field_seasons.push_back({"F" + std::to_string(i), "", 2026, risk_logits[i]});
    for (std::size_t i = 0; i < readings.size(); ++i) {
        GrainSample sample;
        sample.sample = "S" + std::to_string(i);
        sample.index = static_cast<std::size_t>(readings[i].field);
        sample.increments = readings[i].increments;
        input.samples.push_back(sample);
        AssayResult result;
        result.test = "T" + std::to_string(i);
        result.sample = i;
        result.reading = readings[i].reading;
        result.don_mg_per_kg = readings[i].y;
        input.results.push_back(result);
    }
    return input;
}

/// Mean and covariance of m before any reading, all season terms in.
std::pair<Eigen::VectorXd, Eigen::MatrixXd> slow_prior(const std::vector<double>& l, double season, double field) {
    const auto n = static_cast<Eigen::Index>(l.size());
    Eigen::VectorXd mean(n);
    Eigen::MatrixXd covariance(n, n);
    for (Eigen::Index i = 0; i < n; ++i) {
        const double a = l[static_cast<std::size_t>(i)] + 1.0;
        mean[i] = std::log(0.5) + 0.9 * a;
        for (Eigen::Index j = 0; j < n; ++j)
            covariance(i, j) = 1.0 + 0.25 * a * (l[static_cast<std::size_t>(j)] + 1.0) + season * season +
                               (i == j ? field * field : 0.0);
    }
    return {mean, covariance};
}

}  // namespace

TEST_CASE("two fields with a value and a below and an above agree with brute-force quadrature") {
    const std::vector<double> risk{-0.4, -1.7};
    const std::vector<SlowReading> readings{
        {0, Reading::value, 1.4, 12}, {1, Reading::below, 0.3, 5}, {0, Reading::above, 0.9, 1}};
    const double season = 0.6, field = 0.5, within = 0.45, limit = 1.25;
    const ContaminationModel model = fit_contamination(input_of(risk, readings), fixed_priors(season, field, within));

    const auto [mean, covariance] = slow_prior(risk, season, field);
    const Eigen::Matrix2d precision = covariance.inverse();
    const int steps = 500;
    const double reach = 9.0;
    std::vector<double> likelihood0(steps + 1), likelihood1(steps + 1), x0(steps + 1), x1(steps + 1);
    for (int i = 0; i <= steps; ++i) {
        const auto k = static_cast<std::size_t>(i);
        x0[k] = mean[0] + reach * (2.0 * i / steps - 1.0);
        x1[k] = mean[1] + reach * (2.0 * i / steps - 1.0);
        likelihood0[k] = slow_composite(readings[0], x0[k], within) * slow_composite(readings[2], x0[k], within);
        likelihood1[k] = slow_composite(readings[1], x1[k], within);
    }
    double mass = 0.0, over = 0.0, content = 0.0, third = 0.0;
    Eigen::Vector2d first = Eigen::Vector2d::Zero(), second = Eigen::Vector2d::Zero();
    const double cell = std::pow(2.0 * reach / steps, 2);
    for (std::size_t i = 0; i <= steps; ++i)
        for (std::size_t j = 0; j <= steps; ++j) {
            const Eigen::Vector2d d{x0[i] - mean[0], x1[j] - mean[1]};
            const double p = std::exp(-0.5 * d.dot(precision * d)) / (2.0 * pi * std::sqrt(covariance.determinant())) *
                             likelihood0[i] * likelihood1[j] * cell;
            mass += p;
            first += p * Eigen::Vector2d{x0[i], x1[j]};
            second += p * Eigen::Vector2d{x0[i] * x0[i], x1[j] * x1[j]};
            over += x0[i] > std::log(limit) ? p : 0.0;
            third += p * std::pow(x0[i], 3);
            content += p * std::exp(x0[i]);
        }
    first /= mass;
    second = second / mass - first.cwiseProduct(first);
    over /= mass;
    const double sd0 = std::sqrt(second[0]);
    const double skewness =
        (third / mass - 3.0 * first[0] * (second[0] + first[0] * first[0]) + 2.0 * std::pow(first[0], 3)) /
        std::pow(sd0, 3);

    // A propagation is not exact: tolerances as long Gibbs runs of a prototype were met (0.002 in means on the log
    // scale per unit of spread, 4 % in variances, 0.007 in the log of the evidence).
    CHECK(model.learnt().log_evidence == Approx(std::log(mass)).margin(0.007).epsilon(0.0));
    for (std::size_t f = 0; f < 2; ++f) {
        const auto k = static_cast<Eigen::Index>(f);
        const Content c = *model.field_season(f);
        const double sd = (std::log(c.high90) - std::log(c.low90)) / (2.0 * 1.6448536269514722);
        CHECK(std::log(c.median) == Approx(first[k]).margin(0.004).epsilon(0.0));
        CHECK(sd * sd == Approx(second[k]).epsilon(0.04));
    }
    // Each field's law is Gaussian on the log scale, the true one is skewed by the readings that are bounds. What that
    // may cost is the first term of Edgeworth's series, skewness / 6 |z^2 - 1| phi(z) (Cramer 1946, section 17.7, from
    // memory), beside what the tolerances of mean and variance above make of it.
    const double z = (std::log(limit) - first[0]) / sd0, phi = std::exp(-z * z / 2.0) / std::sqrt(2.0 * pi);
    const double edgeworth = std::abs(skewness) / 6.0 * std::abs(z * z - 1.0) * phi;
    CHECK(*model.exceedance(0, limit) ==
          Approx(over).margin(edgeworth + (0.004 / sd0 + 0.02 * std::abs(z)) * phi).epsilon(0.0));
    CHECK(model.field_season(0)->mean == Approx(content / mass).epsilon(0.02));
}

TEST_CASE("with Gaussian errors and a flat level the field means are the best linear unbiased predictions") {
    // Fixed deviations, errors of a constant coefficient of variation (Gaussian on the log scale), no risk slope known
    // beforehand: generalised least squares and simple kriging of the residual, computed densely here.
    const std::vector<double> risk{-2.0, -1.2, -0.3, 0.4, -0.8, 0.1};
    const std::vector<SlowReading> readings{{0, Reading::value, 0.31, 10}, {1, Reading::value, 0.8, 4},
                                            {1, Reading::value, 0.55, 1},  {2, Reading::value, 1.9, 20},
                                            {3, Reading::value, 2.4, 10},  {3, Reading::value, 3.3, 8}};
    ContaminationPriors priors = fixed_priors(0.0, 0.45, 0.35);
    priors.flat_coefficients = true;
    ContaminationSettings settings;
    settings.strip_error.own_sampling_cv = 0.06;
    settings.strip_error.own_preparation_cv = 0.10;
    settings.strip_error.own_analysis_cv = 0.08;
    const ContaminationModel model = fit_contamination(input_of(risk, readings), priors, settings);

    const double q = std::log(1.0 + 0.06 * 0.06 + 0.10 * 0.10 + 0.08 * 0.08);
    const auto n = static_cast<Eigen::Index>(readings.size());
    Eigen::MatrixXd k(n, n), x(n, 2);
    Eigen::VectorXd y(n);
    for (Eigen::Index i = 0; i < n; ++i) {
        const SlowReading& a = readings[static_cast<std::size_t>(i)];
        const double v = std::log(1.0 + (std::exp(0.35 * 0.35) - 1.0) / a.increments);
        y[i] = std::log(a.y) + v / 2.0 + q / 2.0;
        x.row(i) << 1.0, risk[static_cast<std::size_t>(a.field)] + 1.0;
        for (Eigen::Index j = 0; j < n; ++j)
            k(i, j) =
                (a.field == readings[static_cast<std::size_t>(j)].field ? 0.45 * 0.45 : 0.0) + (i == j ? v + q : 0.0);
    }
    const Eigen::MatrixXd k_inverse = k.inverse();
    const Eigen::Matrix2d b_covariance = (x.transpose() * k_inverse * x).inverse();
    const Eigen::Vector2d b = b_covariance * x.transpose() * k_inverse * y;
    CHECK(model.learnt().parameters[0].mean == Approx(b[0]).margin(1e-10).epsilon(0.0));
    CHECK(model.learnt().parameters[1].mean == Approx(b[1]).margin(1e-10).epsilon(0.0));
    CHECK(model.learnt().parameters[0].sd == Approx(std::sqrt(b_covariance(0, 0))).margin(1e-10).epsilon(0.0));
    CHECK(model.learnt().parameters[1].sd == Approx(std::sqrt(b_covariance(1, 1))).margin(1e-10).epsilon(0.0));
    for (std::size_t f = 0; f < risk.size(); ++f) {
        Eigen::VectorXd c(n);
        for (Eigen::Index i = 0; i < n; ++i)
            c[i] = readings[static_cast<std::size_t>(i)].field == static_cast<int>(f) ? 0.45 * 0.45 : 0.0;
        const Eigen::Vector2d at{1.0, risk[f] + 1.0};
        const Eigen::Vector2d g = at - x.transpose() * k_inverse * c;
        const double mean = at.dot(b) + c.dot(k_inverse * (y - x * b));
        const double variance = 0.45 * 0.45 - c.dot(k_inverse * c) + g.dot(b_covariance * g);
        const Content content = *model.field_season(f);
        CHECK(std::log(content.median) == Approx(mean).margin(1e-10).epsilon(0.0));
        CHECK(std::log(content.high90 / content.low90) ==
              Approx(2.0 * 1.6448536269514722 * std::sqrt(variance)).margin(1e-10).epsilon(0.0));
        CHECK(std::log(content.mean) == Approx(mean + variance / 2.0).margin(1e-10).epsilon(0.0));
    }
}

TEST_CASE("twenty fields of one season agree with nested quadrature over level and slope and each field") {
    // Given the season's level (b0 and the season together) and the slope, fields are independent: a grid over these
    // two and one over each field's content is the whole posterior.
    const double season = 0.5, field = 0.45, within = 0.4;
    std::vector<double> risk;
    std::vector<SlowReading> readings;
    for (int f = 0; f < 20; ++f) {
        risk.push_back(-2.4 + 0.17 * f);
        if (f % 3 == 2) continue;
        const double y = 0.45 * std::exp(0.08 * f + 0.5 * std::sin(2.0 * f));
        readings.push_back(y < 0.4   ? SlowReading{f, Reading::below, 0.4, 8}
                           : y > 1.6 ? SlowReading{f, Reading::above, 1.6, 8}
                                     : SlowReading{f, Reading::value, y, 8});
        if (f % 5 == 0) readings.push_back({f, Reading::value, 1.3 * y, 4});
    }
    const ContaminationModel model = fit_contamination(input_of(risk, readings), fixed_priors(season, field, within));

    const int outer = 80, inner = 240;
    const double level_sd = std::sqrt(1.0 + season * season), slope_sd = 0.5;
    const double low = -7.0, width = 12.0;
    std::vector<std::vector<double>> likelihood(20, std::vector<double>(inner, 1.0));
    std::vector<double> x(inner);
    for (std::size_t k = 0; k < inner; ++k) x[k] = low + width * (static_cast<double>(k) + 0.5) / inner;
    for (const SlowReading& r : readings)
        for (std::size_t k = 0; k < inner; ++k)
            likelihood[static_cast<std::size_t>(r.field)][k] *= slow_composite(r, x[k], within);
    // How much of each cell of x lies inside the 90 % interval that the model gives for the field.
    std::vector<std::vector<double>> inside(20, std::vector<double>(inner));
    for (std::size_t f = 0; f < 20; ++f)
        for (std::size_t k = 0; k < inner; ++k) {
            const Content c = *model.field_season(f);
            const double from = std::max(std::log(c.low90), x[k] - width / inner / 2.0),
                         to = std::min(std::log(c.high90), x[k] + width / inner / 2.0);
            inside[f][k] = std::max(0.0, to - from) / (width / inner);
        }
    double mass = 0.0;
    std::vector<double> first(20, 0.0), held(20, 0.0);
    for (int i = 0; i < outer; ++i)
        for (int j = 0; j < outer; ++j) {
            const double a = -5.0 + 10.0 * (i + 0.5) / outer, b = -5.0 + 10.0 * (j + 0.5) / outer;
            double weight = std::exp(-0.5 * (a * a + b * b)) / (2.0 * pi) * std::pow(10.0 / outer, 2);
            std::vector<double> m1(20), within90(20);
            for (std::size_t f = 0; f < 20; ++f) {
                const double centre = std::log(0.5) + level_sd * a + (0.9 + slope_sd * b) * (risk[f] + 1.0);
                double m0 = 0.0;
                for (std::size_t k = 0; k < inner; ++k) {
                    const double d = (x[k] - centre) / field;
                    const double p =
                        std::exp(-0.5 * d * d) / (field * std::sqrt(2.0 * pi)) * width / inner * likelihood[f][k];
                    m0 += p;
                    m1[f] += p * x[k];
                    within90[f] += p * inside[f][k];
                }
                weight *= m0;
                m1[f] /= m0;
                within90[f] /= m0;
            }
            mass += weight;
            for (std::size_t f = 0; f < 20; ++f) {
                first[f] += weight * m1[f];
                held[f] += weight * within90[f];
            }
        }
    // What its user may ask: contents right to 1 %, and a 90 % interval that the exact law gives 89 to 91 %, though
    // half of these readings are bounds and the exact laws skewed. The evidence only weighs sets of deviations: to 2 %.
    CHECK(model.learnt().log_evidence == Approx(std::log(mass)).margin(0.02).epsilon(0.0));
    for (std::size_t f = 0; f < 20; ++f) {
        CHECK(std::log(model.field_season(f)->median) == Approx(first[f] / mass).margin(0.01).epsilon(0.0));
        CHECK(held[f] / mass == Approx(0.9).margin(0.01).epsilon(0.0));
    }
}

TEST_CASE("a result of a mixed load agrees with weighting draws of its fields by it") {
    const double season = 0.4, field = 0.6, within = 0.4;
    const std::vector<double> risk{-1.5, -0.2, -0.8};
    ContaminationInput input = input_of(risk, {{0, Reading::value, 0.35, 10}});
    input.loads.push_back({"mix", {{0, 0.3}, {1, 0.5}, {2, 0.2}}});
    GrainSample sample;
    sample.sample = "SL";
    sample.from = SampledGrain::load;
    sample.increments = 6;
    input.samples.push_back(sample);
    AssayResult result;
    result.test = "TL";
    result.sample = 1;
    result.don_mg_per_kg = 1.7;
    input.results.push_back(result);
    const ContaminationModel model = fit_contamination(input, fixed_priors(season, field, within));

    // The same by importance: draws from the prior, weighted by both readings.
    const auto [mean, covariance] = slow_prior(risk, season, field);
    const Eigen::MatrixXd factor = covariance.llt().matrixL();
    std::mt19937_64 engine(11);
    std::normal_distribution<double> normal;
    const double v_load = std::log(1.0 + (std::exp(within * within) - 1.0) / 8.0);
    const double v_sample = std::log(1.0 + 0.25 * 0.25 / 6.0);
    const double v_field = std::log(1.0 + (std::exp(within * within) - 1.0) / 10.0);
    std::vector<Content> said;
    for (std::size_t k = 0; k < 4; ++k) said.push_back(k < 3 ? *model.field_season(k) : *model.load(0));
    double mass = 0.0;
    Eigen::Vector4d first = Eigen::Vector4d::Zero(), held = Eigen::Vector4d::Zero();
    for (int i = 0; i < 400000; ++i) {
        const Eigen::Vector3d m = mean + factor * Eigen::Vector3d{normal(engine), normal(engine), normal(engine)};
        const double load = std::log(0.3 * std::exp(m[0]) + 0.5 * std::exp(m[1]) + 0.2 * std::exp(m[2])) -
                            v_load / 2.0 + std::sqrt(v_load) * normal(engine);
        const double sampled = load - v_sample / 2.0 + std::sqrt(v_sample) * normal(engine);
        const double composite = m[0] - v_field / 2.0 + std::sqrt(v_field) * normal(engine);
        const double w = slow_likelihood(Reading::value, 1.7, std::exp(sampled)) *
                         slow_likelihood(Reading::value, 0.35, std::exp(composite));
        const Eigen::Vector4d all{m[0], m[1], m[2], load};
        mass += w;
        first += w * all;
        for (std::size_t k = 0; k < 4; ++k) {
            const double x = std::exp(all[static_cast<Eigen::Index>(k)]);
            held[static_cast<Eigen::Index>(k)] += x >= said[k].low90 && x <= said[k].high90 ? w : 0.0;
        }
    }
    for (std::size_t k = 0; k < 4; ++k) {
        const auto at = static_cast<Eigen::Index>(k);
        // A mix of logs is taken as linear. What its user may ask: contents right to 3 %, a 90 % interval that holds 87
        // to 93 %, the span in which the whole model's intervals are held to be (tests/bench/honesty).
        CHECK(std::log(said[k].median) == Approx(first[at] / mass).margin(0.03).epsilon(0.0));
        CHECK(held[at] / mass == Approx(0.9).margin(0.03).epsilon(0.0));
    }
}
