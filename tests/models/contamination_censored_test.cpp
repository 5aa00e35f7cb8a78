// Without space and with everything known but level, slope and one deviation the contamination model is censored
// regression: its evidence is the likelihood that survival::survreg of R maximises.
#include <cmath>
#include <functional>
#include <vector>

#include <Eigen/Dense>
#include <catch2/catch.hpp>

#include "models/contamination/contamination.h"
#include "models/contamination/within_field.h"

using namespace models;

namespace {

// The ovarian cancer trial that R's package survival ships (Edmunson et al. 1979, Cancer Treat Rep 63, 241-247): days
// to death, or (event 0) to the last that was seen of the patient, and age.
const std::vector<double> ovarian_days{59,  115, 156, 421,  431,  448,  464,  475,  477, 563, 638, 744, 769,
                                       770, 803, 855, 1040, 1106, 1129, 1206, 1227, 268, 329, 353, 365, 377};
const std::vector<double> ovarian_event{1, 1, 1, 0, 1, 0, 1, 1, 0, 1, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 0};
const std::vector<double> ovarian_age{72.3315, 74.4932, 66.4658, 53.3644, 50.3397, 56.4301, 56.9370, 59.8548, 64.1753,
                                      55.1781, 56.7562, 50.1096, 59.6301, 57.0521, 39.2712, 43.1233, 38.8932, 44.6000,
                                      53.9068, 44.2055, 59.5890, 74.5041, 43.1370, 63.2192, 64.4247, 58.3096};
// survival 3.5-3: survreg(Surv(futime, fustat) ~ I((age - 56) / 10), ovarian, dist = "lognormal"): intercept, slope,
// scale, loglik and the diagonal of vcov for intercept, slope and log scale. tests/reference/contamination_survreg.sh
// asks R again.
const std::vector<double> ovarian_fit{6.676784328264, -0.838201391339, 0.806352649996, -89.734924147309};
const std::vector<double> ovarian_vcov{0.049213643925, 0.043911361720, 0.047763373201};

// Contents of fields by the logit of their risk, mg/kg: 0 is no end. Values; below 0.25; above 6; and between two.
const std::vector<double> mixed_risk{-2.6, -2.4, -2.3, -2.0, -1.9, -1.7, -1.6, -1.4, -1.3, -1.1, -1.0, -0.8,
                                     -0.7, -0.5, -0.4, -0.2, 0.0,  0.1,  0.3,  0.4,  0.6,  0.8,  0.9,  1.2};
const std::vector<double> mixed_low{0,   0,    0.12, 0,   0.31, 0.2, 0,   0.44, 0.2, 0.29, 1.05, 0,
                                    0.6, 0.52, 1.9,  0.5, 0.95, 2.7, 0.5, 1.2,  6,   3.4,  6,    2.2};
const std::vector<double> mixed_high{0.25, 0.25, 0.12, 0.25, 0.31, 0.8, 0.25, 0.44, 0.8, 0.29, 1.05, 0.25,
                                     0.6,  0.52, 1.9,  2,    0.95, 2.7, 2,    4.8,  0,   3.4,  0,    2.2};
// survreg(Surv(low, high, type = "interval2") ~ risk, dist = "lognormal"), the ends that are 0 as NA.
const std::vector<double> mixed_fit{0.396937614677, 1.109378459621, 0.597502645650, -16.057940256169};
const std::vector<double> mixed_vcov{0.024736442904, 0.018451001045, 0.033609906407};
// The same ~ 1, without those between two: mean, scale, loglik.
const std::vector<double> mean_fit{-0.534408464714, 1.719842565899, -27.512746931813};

struct CensoredContent {
    double x, low, high;  ///< low = high: a value; 0: no end
};

/// Reads the content with an error of this deviation.
void add_censored(ContaminationInput& input, const CensoredContent& content, double error_sd) {
    const std::size_t i = input.field_seasons.size();
    FieldSeason field{"F" + std::to_string(i), "", 2026, content.x - 1.0};  // so that the slope's factor is x itself
    input.field_seasons.push_back(field);
    GrainSample sample;
    sample.sample = "S" + std::to_string(i);
    sample.index = i;
    input.samples.push_back(sample);
    const auto read = [&](Reading reading, double don_mg_per_kg) {
        AssayResult result;
        result.test = "T" + std::to_string(input.results.size());
        result.sample = i;
        result.reading = reading;
        result.don_mg_per_kg = don_mg_per_kg;
        result.curve_log_variance = error_sd * error_sd;
        input.results.push_back(result);
    };
    if (content.low == content.high) return read(Reading::value, content.low);
    if (content.low > 0.0) read(Reading::above, content.low);
    if (content.high > 0.0) read(Reading::below, content.high);
}

/// Log likelihood of level, slope and log scale. The scale is shared out between fields and errors, which add up; so
/// two readings, one under the upper end and one over the lower, are an interval as long as an error as large as its
/// width has no chance: P(reading 1 < high and reading 2 > low) = P(< high) - P(< low) + P(reading 1 > high, reading 2
/// < low).
double censored_log_likelihood(const std::vector<CensoredContent>& contents, const Eigen::Vector3d& at,
                               double error_share) {
    const double variance = std::exp(2.0 * at[2]);
    ContaminationInput input;
    for (const CensoredContent& content : contents) add_censored(input, content, std::sqrt(error_share * variance));
    ContaminationPriors priors;
    priors.level_mean = at[0];
    priors.slope_mean = at[1];
    priors.level_sd = priors.slope_sd = 0.0;
    priors.fixed = {true, 0.0, std::sqrt((1.0 - error_share) * variance), 0.0, 0.0, 0.0, 1.0};
    ContaminationSettings settings;
    settings.threads = 1;
    settings.strip_error.own_sampling_cv = settings.strip_error.own_preparation_cv =
        settings.strip_error.own_analysis_cv = 0.0;
    return fit_contamination(input, priors, settings).learnt().log_evidence;
}

/// The top of a function by one step of Newton from a place close to it, and minus the inverse of the curvature there.
struct CensoredTop {
    double value;
    Eigen::Vector3d step;
    Eigen::Matrix3d covariance;
};

CensoredTop top_about(const Eigen::Vector3d& at, const Eigen::Vector3d& size,
                      const std::function<double(const Eigen::Vector3d&)>& f) {
    const auto moved = [&](int i, double a, int j = 0, double b = 0.0) {
        Eigen::Vector3d x = at;
        x[i] += a * size[i];
        x[j] += b * size[j];
        return f(x);
    };
    CensoredTop top{f(at), {}, {}};
    Eigen::Vector3d slope;
    Eigen::Matrix3d bend;
    for (int i = 0; i < 3; ++i) {
        const double far_up = moved(i, 0.2), up = moved(i, 0.1), down = moved(i, -0.1), far_down = moved(i, -0.2);
        slope[i] = (8.0 * (up - down) - (far_up - far_down)) / (1.2 * size[i]);
        bend(i, i) = (16.0 * (up + down) - (far_up + far_down) - 30.0 * top.value) / (0.12 * size[i] * size[i]);
        for (int j = 0; j < i; ++j)
            bend(i, j) = bend(j, i) =
                (moved(i, 0.1, j, 0.1) + moved(i, -0.1, j, -0.1) - moved(i, 0.1, j, -0.1) - moved(i, -0.1, j, 0.1)) /
                (0.04 * size[i] * size[j]);
    }
    top.covariance = (-bend).inverse();
    top.step = top.covariance * slope;
    return top;
}

/// At survreg's answer the model's evidence has survreg's value, its top and its curvature.
void check_survreg(const std::vector<CensoredContent>& contents, const std::vector<double>& fit,
                   const std::vector<double>& vcov, double error_share, double margin) {
    const Eigen::Vector3d at(fit[0], fit[1], std::log(fit[2])), variance(vcov[0], vcov[1], vcov[2]);
    const Eigen::Vector3d sd = variance.cwiseSqrt();
    const CensoredTop top =
        top_about(at, sd, [&](const Eigen::Vector3d& x) { return censored_log_likelihood(contents, x, error_share); });
    CAPTURE(top.value - fit[3], top.step.transpose(), (top.covariance.diagonal() - variance).transpose());
    CHECK(top.value == Approx(fit[3]).margin(margin).epsilon(0.0));
    for (int i = 0; i < 3; ++i) {
        CHECK(std::abs(top.step[i]) < 1e-4 * sd[i]);
        CHECK(top.covariance(i, i) == Approx(variance[i]).epsilon(1e-3));
    }
}

}  // namespace

TEST_CASE("days of ovarian cancer patients some of them unfinished have the regression on age that R gives them") {
    std::vector<CensoredContent> contents;
    for (std::size_t i = 0; i < ovarian_days.size(); ++i)
        contents.push_back(
            {(ovarian_age[i] - 56.0) / 10.0, ovarian_days[i], ovarian_event[i] > 0.0 ? ovarian_days[i] : 0.0});
    check_survreg(contents, ovarian_fit, ovarian_vcov, 0.5, 1e-6);
}

TEST_CASE("values and contents below and above and between have the regression on risk that R gives them") {
    std::vector<CensoredContent> contents;
    for (std::size_t i = 0; i < mixed_risk.size(); ++i)
        contents.push_back({mixed_risk[i], mixed_low[i], mixed_high[i]});
    check_survreg(contents, mixed_fit, mixed_vcov, 0.15, 2e-5);
}

TEST_CASE("placed results without structure have the likelihood of censored values about a mean") {
    std::vector<PlacedResult> results;
    double logs = 0.0;  // their density is that of logs
    for (std::size_t i = 0; i < mixed_low.size(); ++i) {
        const bool value = mixed_low[i] == mixed_high[i];
        if (!value && mixed_low[i] > 0.0 && mixed_high[i] > 0.0) continue;
        PlacedResult result;
        result.place = {10.0 * static_cast<double>(i), 0.0};
        result.reading = value ? Reading::value : mixed_low[i] > 0.0 ? Reading::above : Reading::below;
        result.don_mg_per_kg = std::max(mixed_low[i], mixed_high[i]);
        logs += value ? std::log(result.don_mg_per_kg) : 0.0;
        results.push_back(result);
    }
    const auto at = [&](double mean, double log_scale) {
        WithinFieldSettings settings;
        settings.known_means = {{mean, 0.0}};
        return within_field_log_likelihood(results, {std::exp(log_scale), 0.0, 1.0}, settings) - logs;
    };
    const double scale = std::log(mean_fit[1]), top = at(mean_fit[0], scale);
    CHECK(top == Approx(mean_fit[2]).margin(1e-6).epsilon(0.0));
    for (const double step : {-1e-3, 1e-3}) {
        CHECK(at(mean_fit[0] + step, scale) < top);
        CHECK(at(mean_fit[0], scale + step) < top);
    }
}
