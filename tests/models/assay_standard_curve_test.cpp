#include <cmath>
#include <vector>

#include <catch2/catch.hpp>

#include "models/assay/standard_curve.h"
#include "models/error.h"

namespace {

using Catch::Matchers::Contains;
using models::Calibrator;
using models::Reading;
using models::StandardCurve;

const StandardCurve curve_1_2 = {1.20, 1.10, 0.90, 0.08};

/// Seven contents in duplicate; tests/reference/standard_curve_nls.sh fits the same in R.
std::vector<Calibrator> fourteen_calibrators(bool weighed) {
    const std::vector<double> contents = {0, 0, 0.25, 0.25, 0.5, 0.5, 1, 1, 2, 2, 5, 5, 7.5, 7.5};
    const std::vector<double> signals = {1.213, 1.190, 0.975, 0.991, 0.826, 0.808, 0.601,
                                         0.615, 0.404, 0.413, 0.233, 0.221, 0.178, 0.183};
    const std::vector<double> sds = {0.034, 0.034, 0.029, 0.03,  0.027, 0.026, 0.022,
                                     0.022, 0.018, 0.018, 0.015, 0.014, 0.014, 0.014};
    std::vector<Calibrator> all;
    for (std::size_t i = 0; i < contents.size(); ++i) {
        all.push_back({contents[i], signals[i], weighed ? std::optional(sds[i]) : std::nullopt});
    }
    return all;
}

std::string refusal_of_curve(StandardCurve curve) {
    try {
        models::check_curve(curve);
    } catch (const models::Error& error) {
        return error.what();
    }
    return "";
}

std::string refusal_of_points(const std::vector<Calibrator>& points) {
    try {
        models::fit_curve(points);
    } catch (const models::Error& error) {
        return error.what();
    }
    return "";
}

}  // namespace

// The curve a 1.20, b 1.10, c 0.90, d 0.08 in R 4.2: y <- function(x) 0.08 + 1.12/(1 + (x/0.9)^1.1);
// sprintf("%.8f", y(c(0.25, 0.5, 1, 2, 5, 7.5))); backwards uniroot(function(x) y(x) - 0.5, c(0.1, 9), tol = 1e-12).
TEST_CASE("a standard curve gives the signals of a worked example") {
    const auto y = [](double x) { return models::signal_at(curve_1_2, x); };
    CHECK(y(0.0) == 1.20);
    CHECK(y(0.25) == Approx(0.98004596).margin(5e-9).epsilon(0.0));
    CHECK(y(0.5) == Approx(0.81498438).margin(5e-9).epsilon(0.0));
    CHECK(y(1.0) == Approx(0.60758524).margin(5e-9).epsilon(0.0));
    CHECK(y(2.0) == Approx(0.40874023).margin(5e-9).epsilon(0.0));
    CHECK(y(5.0) == Approx(0.22746973).margin(5e-9).epsilon(0.0));
    CHECK(y(7.5) == Approx(0.17910186).margin(5e-9).epsilon(0.0));
    CHECK(y(1e300) == Approx(0.08));
}

TEST_CASE("a standard curve read backwards gives the content and error of a worked example") {
    CHECK(models::content_at(curve_1_2, 0.5).value() == Approx(1.4319346).margin(5e-8).epsilon(0.0));
    const models::CurveVariance v = models::log_content_variance(curve_1_2, 0.5, 0.02);
    CHECK(std::sqrt(v.signal) * 1.4319346 == Approx(0.099182).margin(5e-7).epsilon(0.0));  // dx/dy -4.959081
    CHECK(v.curve == 0.0);
    CHECK_FALSE(models::content_at(curve_1_2, 1.25));
    CHECK_FALSE(models::content_at(curve_1_2, 0.05));
    for (const double content : {0.001, 0.3, 1.0, 8.0, 400.0}) {
        CHECK(models::content_at(curve_1_2, models::signal_at(curve_1_2, content)).value() ==
              Approx(content).epsilon(1e-9));
    }
}

TEST_CASE("the log content's slopes by the curve's parameters are those of small steps") {
    const auto gradient = models::log_content_variance(curve_1_2, 0.5, 0.0).gradient;
    const double step = 1e-6;
    for (int i = 0; i < 4; ++i) {
        StandardCurve up = curve_1_2, down = curve_1_2;
        double* const ups[] = {&up.a, &up.b, &up.c, &up.d};
        double* const downs[] = {&down.a, &down.b, &down.c, &down.d};
        *ups[i] += step, *downs[i] -= step;
        const double slope = std::log(*models::content_at(up, 0.5) / *models::content_at(down, 0.5)) / (2.0 * step);
        CHECK(gradient(i) == Approx(slope).epsilon(1e-7));
    }
}

TEST_CASE("more strips shrink the signal's part of the variance and leave the curve's as it is") {
    const StandardCurve curve = models::fit_curve(fourteen_calibrators(false)).curve;
    const auto one = models::log_content_variance(curve, 0.5, 0.02);
    const auto four = models::log_content_variance(curve, 0.5, 0.02, 4);
    CHECK(four.signal == Approx(one.signal / 4.0));
    CHECK(four.curve == one.curve);
    CHECK(one.curve > 0.0);
    CHECK(one.total() == one.signal + one.curve);
    // Two results of a lot err together by the curve: near the middle almost by the same share.
    const auto near = models::log_content_variance(curve, 0.52, 0.02);
    const double shared = models::shared_covariance(curve, one, near);
    CHECK(shared / std::sqrt(one.curve * near.curve) > 0.98);
    CHECK(shared <= std::sqrt(one.curve * near.curve));
}

TEST_CASE("the contents between are those of the delta method in the middle and open near an end") {
    StandardCurve curve = models::fit_curve(fourteen_calibrators(false)).curve;
    const double sd = 0.004;
    const auto v = models::log_content_variance(curve, 0.5, sd);
    const double content = *models::content_at(curve, 0.5);
    const auto narrow = models::content_between(curve, 0.5, sd, 1.0);
    CHECK(*narrow.low_mg_per_kg == Approx(content * std::exp(-std::sqrt(v.total()))).epsilon(2e-3));
    CHECK(*narrow.high_mg_per_kg == Approx(content * std::exp(std::sqrt(v.total()))).epsilon(2e-3));

    const auto low = models::content_between(curve, curve.a - 0.005, 0.02);
    CHECK_FALSE(low.low_mg_per_kg);
    CHECK(low.high_mg_per_kg.value() > 0.01);
    const auto high = models::content_between(curve, curve.d + 0.005, 0.02);
    CHECK(high.low_mg_per_kg.value() > 5.0);
    CHECK_FALSE(high.high_mg_per_kg);
    const auto past = models::content_between(curve, curve.d - 0.02, 0.02);  // no content of its own
    CHECK(past.low_mg_per_kg.value() > 5.0);
    CHECK_FALSE(past.high_mg_per_kg);

    // At each end the band just holds the signal.
    curve.covariance.reset();
    const auto plain = models::content_between(curve, 0.5, 0.02, 2.0);
    CHECK(models::signal_at(curve, *plain.low_mg_per_kg) == Approx(0.54).epsilon(1e-9));
    CHECK(models::signal_at(curve, *plain.high_mg_per_kg) == Approx(0.46).epsilon(1e-9));
}

TEST_CASE("an extra dilution multiplies content and range once and the lot's own dilution never") {
    const models::WorkingRange range{0.2, 6.0};
    const auto plain = models::read_signal(curve_1_2, 0.5, range);
    CHECK(plain.reading == Reading::value);
    CHECK(plain.don_mg_per_kg == Approx(1.4319346).margin(5e-8).epsilon(0.0));
    const auto thinned = models::read_signal(curve_1_2, 0.5, range, 5.0);
    CHECK(thinned.don_mg_per_kg == Approx(5.0 * 1.4319346).margin(5e-7).epsilon(0.0));
    const auto low = models::read_signal(curve_1_2, 1.1, range, 5.0);
    CHECK(low.reading == Reading::below);
    CHECK(low.don_mg_per_kg == 1.0);
    const auto high = models::read_signal(curve_1_2, 0.17, range, 5.0);
    CHECK(high.reading == Reading::above);
    CHECK(high.don_mg_per_kg == 30.0);
}

TEST_CASE("a signal past either end of the curve lies outside the range and a stray one is refused") {
    const models::WorkingRange range{0.2, 6.0};
    CHECK(models::read_signal(curve_1_2, 1.25, range).reading == Reading::below);
    CHECK(models::read_signal(curve_1_2, 0.05, range).reading == Reading::above);
    const auto nothing_left = models::read_signal(curve_1_2, 0.0, range);  // of much DON, where d is low
    CHECK(nothing_left.reading == Reading::above);
    CHECK(nothing_left.don_mg_per_kg == 6.0);
    CHECK_THROWS_WITH(models::read_signal(curve_1_2, 3.2, range),
                      Contains("a signal of 3.2 is none that this lot gives: its curve runs from 1.2 without DON down "
                               "to 0.08") &&
                          Contains("saturated"));
    CHECK_THROWS_WITH(models::read_signal({4.0, 1.1, 0.9, 1.5}, 0.1, range), Contains("is none that this lot gives"));
    CHECK_THROWS_WITH(models::read_signal(curve_1_2, -0.1, range),
                      Contains("a signal of -0.1 is none that a reader gives"));
    CHECK_THROWS_WITH(models::read_signal(curve_1_2, std::nan(""), range), Contains("is none that a reader gives"));
    CHECK_THROWS_WITH(models::read_signal(curve_1_2, 0.5, range, 0.5),
                      Contains("an extra dilution of 0.5 thins nothing"));
    CHECK_THROWS_WITH(models::read_signal(curve_1_2, 0.5, {6.0, 0.2}),
                      Contains("a working range of 6 to 0.2 mg/kg is empty"));
}

// R 4.2: nls(y ~ d + (a - d) / (1 + (x / c)^b)), run each time by tests/reference/standard_curve_nls.sh
TEST_CASE("a fitted curve has the parameters and standard errors of R") {
    const models::CurveFit plain = models::fit_curve(fourteen_calibrators(false));
    REQUIRE(plain.settled);
    CHECK(plain.curve.a == Approx(1.201470554).epsilon(1e-7));
    CHECK(plain.curve.b == Approx(1.110321735).epsilon(1e-7));
    CHECK(plain.curve.c == Approx(0.8944608681).epsilon(1e-7));
    CHECK(plain.curve.d == Approx(0.08364381386).epsilon(1e-7));
    CHECK(plain.residual_sd == Approx(0.00882707099553).epsilon(1e-7));
    const Eigen::Vector4d plain_errors = plain.standard_errors().value();
    CHECK(plain_errors(0) == Approx(0.006178991468).epsilon(1e-6));
    CHECK(plain_errors(1) == Approx(0.03021456178).epsilon(1e-6));
    CHECK(plain_errors(2) == Approx(0.02605154393).epsilon(1e-6));
    CHECK(plain_errors(3) == Approx(0.01245996053).epsilon(1e-6));
    CHECK((*plain.curve.covariance)(1, 2) == Approx(-4.687225226e-04).epsilon(1e-6));
    CHECK((*plain.curve.covariance)(0, 3) == Approx(-1.540713683e-05).epsilon(1e-6));
    CHECK(*plain.curve.signal_sd == Approx(plain.residual_sd));
    CHECK(plain.message == "settled on 14 calibrators of 7 contents");
    CHECK_NOTHROW(models::check_curve(plain.curve));
}

TEST_CASE("a curve fitted with weights has the parameters and standard errors of R") {
    const models::CurveFit weighed = models::fit_curve(fourteen_calibrators(true));
    REQUIRE(weighed.settled);
    CHECK(weighed.curve.a == Approx(1.201291729).epsilon(1e-7));
    CHECK(weighed.curve.b == Approx(1.110786278).epsilon(1e-7));
    CHECK(weighed.curve.c == Approx(0.8942657431).epsilon(1e-7));
    CHECK(weighed.curve.d == Approx(0.08362930815).epsilon(1e-7));
    CHECK(weighed.residual_sd == Approx(0.36804823897).epsilon(1e-7));
    const Eigen::Vector4d weighed_errors = weighed.standard_errors().value();
    CHECK(weighed_errors(0) == Approx(0.008664436515).epsilon(1e-6));
    CHECK(weighed_errors(1) == Approx(0.0298616681).epsilon(1e-6));
    CHECK(weighed_errors(2) == Approx(0.02158637414).epsilon(1e-6));
    CHECK(weighed_errors(3) == Approx(0.009647992919).epsilon(1e-6));
}

// R 4.2: n <- nls(y ~ d + (a - d)/(1 + (x/c)^b)); g <- n$m$gradient(); rstudent(lm(resid(n) ~ 0 + g)) with y[8] as
// below
TEST_CASE("the calibrator that lies far from the curve of the others is named") {
    const models::CurveFit good = models::fit_curve(fourteen_calibrators(false));
    REQUIRE(good.farthest);
    CHECK(good.farthest->point == 0);
    CHECK(good.farthest->sds == Approx(2.12697597).epsilon(1e-4));
    CHECK(good.cautions.empty());
    std::vector<Calibrator> points = fourteen_calibrators(false);
    points[7].signal = 0.715;
    const models::CurveFit fit = models::fit_curve(points);
    REQUIRE(fit.farthest);
    CHECK(fit.farthest->point == 7);
    CHECK(fit.farthest->sds == Approx(10.76740689).epsilon(1e-4));
    CHECK(fit.farthest->chance < 0.01);
    REQUIRE(fit.cautions.size() == 1);
    CHECK_THAT(fit.cautions[0], Contains("the calibrator of 1 mg/kg that reads 0.715 lies ") &&
                                    Contains("standard deviations from the curve of the others"));
}

TEST_CASE("a curve that runs below zero says that its high end is a guess") {
    const StandardCurve deep{1.2, 0.9, 3.0, -0.2};
    std::vector<Calibrator> points;
    double off = 0.002;
    for (const double content : {0.0, 0.3, 0.8, 1.5, 3.0, 6.0})
        points.push_back({content, models::signal_at(deep, content) + (off = -off)});
    const models::CurveFit fit = models::fit_curve(points);
    REQUIRE(fit.settled);
    REQUIRE(fit.curve.d < 0.0);
    REQUIRE_FALSE(fit.cautions.empty());
    CHECK_THAT(fit.cautions.back(), Contains("which no strip gives: its high end is a guess"));
}

TEST_CASE("a fit finds the curve that its points lie on") {
    for (const StandardCurve& truth :
         {curve_1_2, StandardCurve{2.4, 0.7, 3.0, 0.3}, StandardCurve{900.0, 2.2, 0.5, 60.0}}) {
        std::vector<Calibrator> points;
        for (const double content : {0.0, 0.1, 0.3, 0.8, 2.0, 5.0, 20.0})
            points.push_back({content, models::signal_at(truth, content)});
        const models::CurveFit fit = models::fit_curve(points);
        REQUIRE(fit.settled);
        CHECK(fit.curve.a == Approx(truth.a).epsilon(1e-7));
        CHECK(fit.curve.b == Approx(truth.b).epsilon(1e-7));
        CHECK(fit.curve.c == Approx(truth.c).epsilon(1e-7));
        CHECK(fit.curve.d == Approx(truth.d).epsilon(1e-6));
    }
}

TEST_CASE("four points settle a curve and not how sure it is") {
    std::vector<Calibrator> points;
    for (const double content : {0.0, 0.5, 2.0, 8.0})
        points.push_back({content, models::signal_at(curve_1_2, content)});
    const models::CurveFit fit = models::fit_curve(points);
    REQUIRE(fit.settled);
    CHECK(fit.curve.c == Approx(0.9).epsilon(1e-6));
    CHECK_FALSE(fit.standard_errors());
    CHECK_FALSE(fit.curve.signal_sd);
    CHECK_THAT(fit.message, Contains("nothing says how sure the curve is"));
}

TEST_CASE("calibrators that settle no curve are refused and what to do is said") {
    CHECK_THAT(refusal_of_points({{1.0, 0.6}, {1.0, 0.6}, {1.0, 0.6}, {1.0, 0.6}}),
               Contains("4 calibrators have only 1 content, and a curve has four numbers to settle") &&
                   Contains("run strips of at least four different contents"));
    CHECK_THAT(refusal_of_points({{0.0, 1.2}, {1.0, 0.6}, {5.0, 0.2}}),
               Contains("3 calibrators cannot settle the four numbers of a curve") &&
                   Contains("or enter the curve's parameters"));
    CHECK_THAT(refusal_of_points({{0.0, 0.6}, {0.5, 0.6}, {1.0, 0.6}, {2.0, 0.6}}), Contains("signals are flat"));
    CHECK_THAT(refusal_of_points({{0, 0.9}, {0, 1.1}, {0.5, 1.0}, {0.5, 0.8}, {1, 0.9}, {1, 1.1}, {2, 0.95}, {2, 0.9}}),
               Contains("signals are flat") && Contains("no more than strips of one content scatter"));
    CHECK_THAT(refusal_of_points({{0.0, 0.1}, {0.5, 0.4}, {1.0, 0.6}, {2.0, 0.9}}),
               Contains("signals rise") && Contains("test over control, not control over test"));
    CHECK_THAT(refusal_of_points({{0.0, 1.2}, {0.5, 0.6}, {1.0, 0.81}, {2.0, 0.4}, {5.0, 0.2}}),
               Contains("the curve is not monotone: the signal rises from 0.6 at 0.5 mg/kg to 0.81 at 1 mg/kg, and one "
                        "signal would have two contents"));
    CHECK_THAT(refusal_of_points({{0.0, 1.2}, {0.5, -0.6}, {1.0, 0.5}, {2.0, 0.4}}),
               Contains("the calibrator of 0.5 mg/kg has a signal of -0.6"));
    CHECK_THAT(refusal_of_points({{0.0, 1.2}, {-0.5, 0.6}, {1.0, 0.5}, {2.0, 0.4}}),
               Contains("a calibrator has a content of -0.5 mg/kg"));
    CHECK_THAT(refusal_of_points({{0.0, 1.2, 0.1}, {0.5, 0.8}, {1.0, 0.5}, {2.0, 0.4}}),
               Contains("1 of 4 calibrators have a standard deviation"));
}

TEST_CASE("calibrators on one side of the fall do not settle a curve and the fit says so") {
    const models::CurveFit fit =
        models::fit_curve({{1.0, 0.40}, {2.0, 0.30}, {3.0, 0.2000001}, {4.0, 0.10}, {5.0, 0.0}});
    CHECK_FALSE(fit.settled);
    CHECK_THAT(fit.message, Contains("the calibrators do not settle a curve") && Contains("both sides of the middle"));
}

TEST_CASE("a curve that cannot be a strip's is refused") {
    CHECK(refusal_of_curve(curve_1_2).empty());
    CHECK_THAT(refusal_of_curve({1.2, -1.1, 0.9, 0.08}),
               Contains("a slope b that is not above zero") && Contains("exchange"));
    CHECK_THAT(refusal_of_curve({1.2, 1.1, 0.0, 0.08}), Contains("its middle c at no content above zero"));
    CHECK_THAT(refusal_of_curve({1.2, 1.1, 0.9, 1.2}), Contains("is flat"));
    CHECK_THAT(refusal_of_curve({0.08, 1.1, 0.9, 1.2}), Contains("rises, and a strip for DON is competitive"));
    CHECK_THAT(refusal_of_curve({std::nan(""), 1.1, 0.9, 1.2}), Contains("a number that is none"));
    StandardCurve sure = curve_1_2;
    sure.covariance = Eigen::Matrix4d(Eigen::Matrix4d::Identity() * 1e-4);
    CHECK(refusal_of_curve(sure).empty());
    (*sure.covariance)(0, 1) = 0.5;
    CHECK_THAT(refusal_of_curve(sure), Contains("is not symmetric"));
    (*sure.covariance)(1, 0) = 0.5;  // a correlation of 5000
    CHECK_THAT(refusal_of_curve(sure), Contains("gives a variance below zero"));
}
