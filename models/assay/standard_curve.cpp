#include "models/assay/standard_curve.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include <Eigen/Dense>
#include <fmt/format.h>

#include "models/counted.h"
#include "models/error.h"
#include "models/spoken.h"

namespace models {

namespace standard_curve {

/// (x/c)^b, of which everything else is made.
double bound_share(const StandardCurve& curve, double content) {
    return content > 0.0 ? std::pow(content / curve.c, curve.b) : 0.0;
}

/// Of the signal by (a, b, c, d).
Eigen::Vector4d signal_gradient(const StandardCurve& curve, double content) {
    const double u = bound_share(curve, content);
    const double log_ratio = content > 0.0 ? std::log(content / curve.c) : 0.0;
    const double share = 1.0 / (1.0 + u);
    // u / (1 + u)^2, whole where u is very large
    const double slope = u > 1e150 ? 0.0 : (curve.a - curve.d) * u * share * share;
    return {share, -slope * log_ratio, slope * curve.b / curve.c, 1.0 - share};
}

void require_signal_sd(double signal_sd, int strips) {
    if (!(signal_sd >= 0.0) || !std::isfinite(signal_sd))
        throw Error(fmt::format("the signal's standard deviation is {}", signal_sd), "", "give a number from 0");
    if (strips < 1)
        throw Error(fmt::format("a signal is the mean of {} strips", strips), "", "give the number of strips, from 1");
}

}  // namespace standard_curve

std::string in_words(const StandardCurve& curve) {
    return fmt::format("a {:.6g}, b {:.6g}, c {:.6g}, d {:.6g}", curve.a, curve.b, curve.c, curve.d);
}

void check_curve(const StandardCurve& curve) {
    const std::string which = "the curve " + in_words(curve);
    for (const double number : {curve.a, curve.b, curve.c, curve.d}) {
        if (!std::isfinite(number)) throw Error(which + " has a number that is none", "", "give all four of them");
    }
    if (!(curve.b > 0.0))
        throw Error(which + " has a slope b that is not above zero", "",
                    "a is the signal without DON and d that of very much DON; with a slope below zero the two are "
                    "exchanged: exchange them, and write b without its sign");
    if (!(curve.c > 0.0))
        throw Error(which + " has its middle c at no content above zero", "",
                    "c is the content in mg/kg at which the signal is half-way between a and d");
    if (curve.a == curve.d) throw Error(which + " is flat: every content gives one signal", "", "check a and d");
    if (curve.a < curve.d)
        throw Error(which + " rises, and a strip for DON is competitive: the more DON the weaker its test line", "",
                    "a is the signal without DON and d that of very much DON: check whether they are exchanged, and "
                    "whether the signal is test over control, not control over test");
    if (curve.signal_sd && (!(*curve.signal_sd >= 0.0) || !std::isfinite(*curve.signal_sd)))
        throw Error(fmt::format("the signal's standard deviation is {}", *curve.signal_sd), "", "give a number from 0");
    if (!curve.covariance) return;
    const Eigen::Matrix4d& v = *curve.covariance;
    const double largest = v.diagonal().cwiseAbs().maxCoeff();
    if (!v.allFinite() || !v.isApprox(v.transpose(), 1e-9))
        throw Error("the covariance of " + which + " is not symmetric, or a number of it is none", "",
                    "give all ten: aa, ab, ac, ad, bb, bc, bd, cc, cd, dd");
    // Correlations, so that parameters of different size weigh the same.
    const Eigen::Vector4d scale = v.diagonal().unaryExpr([](double x) { return x > 0.0 ? 1.0 / std::sqrt(x) : 0.0; });
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix4d> eigen(scale.asDiagonal() * v * scale.asDiagonal());
    bool zero_with_company = false;
    for (int i = 0; i < 4; ++i) {
        if (v(i, i) == 0.0) zero_with_company = zero_with_company || v.row(i).cwiseAbs().maxCoeff() > 0.0;
    }
    // Printed with four digits, a strongly correlated covariance may miss by some of the last one.
    if (v.diagonal().minCoeff() < 0.0 || zero_with_company || (largest > 0.0 && eigen.eigenvalues().minCoeff() < -1e-3))
        throw Error("the covariance of " + which + " gives a variance below zero", "",
                    "check its ten numbers; they are variances and covariances, not standard errors and correlations");
}

double signal_at(const StandardCurve& curve, double content_mg_per_kg) {
    return curve.d + (curve.a - curve.d) / (1.0 + standard_curve::bound_share(curve, content_mg_per_kg));
}

std::optional<double> content_at(const StandardCurve& curve, double signal) {
    if (!(signal < curve.a) || !(signal > curve.d)) return std::nullopt;
    const double q = (curve.a - signal) / (signal - curve.d);
    const double content = curve.c * std::pow(q, 1.0 / curve.b);
    if (!(content > 0.0) || !std::isfinite(content)) return std::nullopt;
    return content;
}

CurveVariance log_content_variance(const StandardCurve& curve, double signal, double signal_sd, int strips) {
    standard_curve::require_signal_sd(signal_sd, strips);
    if (!content_at(curve, signal))
        throw Error(fmt::format("a signal of {:.6g} has no content on the curve {}", signal, in_words(curve)), "",
                    "it lies below or above the range");
    const double to_a = curve.a - signal, to_d = signal - curve.d;
    const double by_signal = -(curve.a - curve.d) / (curve.b * to_d * to_a);
    CurveVariance out;
    out.signal = by_signal * by_signal * signal_sd * signal_sd / strips;
    // ln x = ln c + (ln(a - y) - ln(y - d)) / b
    out.gradient = {1.0 / (curve.b * to_a), -std::log(to_a / to_d) / (curve.b * curve.b), 1.0 / curve.c,
                    1.0 / (curve.b * to_d)};
    out.curve = shared_covariance(curve, out, out);
    return out;
}

double shared_covariance(const StandardCurve& curve, const CurveVariance& one, const CurveVariance& other) {
    return curve.covariance ? one.gradient.dot(*curve.covariance * other.gradient) : 0.0;
}

ContentsBetween content_between(const StandardCurve& curve, double signal, double signal_sd, double z, int strips) {
    standard_curve::require_signal_sd(signal_sd, strips);
    if (!(z > 0.0))
        throw Error(fmt::format("an interval of {} standard deviations is none", z), "", "give one above 0");
    // How far the signal lies outside the band at this content; below zero inside.
    const auto outside = [&](double log_content) {
        const double content = std::exp(log_content);
        const Eigen::Vector4d h = standard_curve::signal_gradient(curve, content);
        const double of_curve = curve.covariance ? std::max(0.0, h.dot(*curve.covariance * h)) : 0.0;
        return std::abs(signal_at(curve, content) - signal) - z * std::sqrt(signal_sd * signal_sd / strips + of_curve);
    };
    // Beyond these the curve is its asymptote to twelve digits.
    const double reach = std::log(1e12) / curve.b, middle = std::log(curve.c);
    const double least = middle - reach, most = middle + reach;
    const auto found = content_at(curve, signal);
    const double from = found ? std::clamp(std::log(*found), least, most) : (signal >= curve.a ? least : most);
    const auto end = [&](double towards) -> std::optional<double> {
        constexpr int steps = 400;
        double inside = from;
        for (int i = 1; i <= steps; ++i) {
            double next = from + (towards - from) * i / steps;
            if (outside(next) <= 0.0) {
                inside = next;
                continue;
            }
            for (int halving = 0; halving < 80; ++halving) {
                const double half = 0.5 * (inside + next);
                (outside(half) <= 0.0 ? inside : next) = half;
            }
            return std::exp(inside);
        }
        return std::nullopt;
    };
    ContentsBetween out;
    out.low_mg_per_kg = from == least ? std::nullopt : end(least);
    out.high_mg_per_kg = from == most ? std::nullopt : end(most);
    return out;
}

ReadContent read_signal(const StandardCurve& curve, double signal, const WorkingRange& range, double extra_dilution) {
    if (!std::isfinite(signal) || signal < 0.0)
        throw Error(phrase("a signal of {} is none that a reader gives", signal), "",
                    phrase("a line's signal is a number from 0; subtract no background that is larger than the line"));
    if (!(extra_dilution >= 1.0) || !std::isfinite(extra_dilution))
        throw Error(phrase("an extra dilution of {} thins nothing", extra_dilution), "",
                    phrase("1 is an extract read as the lot's procedure has it; 5 is one part of it in five"));
    if (!(range.low_mg_per_kg >= 0.0) || !(range.low_mg_per_kg < range.high_mg_per_kg))
        throw Error(
            fmt::format("a working range of {} to {} mg/kg is empty", range.low_mg_per_kg, range.high_mg_per_kg), "",
            "check its two ends");
    constexpr double strays_by = 0.25;
    const double beyond = std::max(signal - curve.a, curve.d - signal);
    if (beyond > strays_by * (curve.a - curve.d))
        throw Error(
            phrase("a signal of {:.4g} is none that this lot gives: its curve runs from {:.4g} without DON "
                   "down to {:.4g}",
                   signal, curve.a, curve.d),
            "",
            phrase("a reader that is saturated or a strip of another lot give such signals: check the lot's number "
                   "and read a fresh strip"));
    const WorkingRange ends = range.thinned(extra_dilution);
    ReadContent out;
    const auto content = content_at(curve, signal);
    const bool is_low = content ? *content < range.low_mg_per_kg : signal > 0.5 * (curve.a + curve.d);
    if (is_low) return {Reading::below, ends.low_mg_per_kg, std::nullopt};
    if (!content || *content > range.high_mg_per_kg) return {Reading::above, ends.high_mg_per_kg, std::nullopt};
    out.don_mg_per_kg = *content * extra_dilution;
    if (curve.signal_sd || curve.covariance)
        out.variance = log_content_variance(curve, signal, curve.signal_sd.value_or(0.0));
    return out;
}

}  // namespace models
