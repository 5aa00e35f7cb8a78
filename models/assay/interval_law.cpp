#include "models/assay/interval_law.h"

#include <cmath>

#include <fmt/format.h>

#include "models/error.h"

namespace models::interval_law {

namespace {

constexpr double tiny = 1e-300;
constexpr double close_enough = 1e-16;
constexpr int most_terms = 100000;

void require_freedom(double freedom) {
    if (!std::isfinite(freedom) || !(freedom > 0.0)) {
        throw Error(fmt::format("{} degrees of freedom are none", freedom), "", "give more than 0");
    }
}

void require_probability(double probability) {
    if (!(probability > 0.0) || !(probability < 1.0)) {
        throw Error(fmt::format("a quantile at {} is not defined", probability), "",
                    "give a probability between 0 and 1");
    }
}

/// The continued fraction of the incomplete beta function, Abramowitz & Stegun 26.5.8.
double beta_fraction(double a, double b, double x) {
    double c = 1.0, d = 1.0 - (a + b) * x / (a + 1.0);
    if (std::abs(d) < tiny) d = tiny;
    d = 1.0 / d;
    double value = d;
    for (int m = 1; m < most_terms; ++m) {
        const double k = m;
        const double terms[] = {k * (b - k) * x / ((a + 2.0 * k - 1.0) * (a + 2.0 * k)),
                                -(a + k) * (a + b + k) * x / ((a + 2.0 * k) * (a + 2.0 * k + 1.0))};
        double step = 1.0;
        for (const double term : terms) {
            d = 1.0 + term * d;
            if (std::abs(d) < tiny) d = tiny;
            c = 1.0 + term / c;
            if (std::abs(c) < tiny) c = tiny;
            d = 1.0 / d;
            step = d * c;
            value *= step;
        }
        if (std::abs(step - 1.0) < close_enough * 10.0) break;
    }
    return value;
}

/// I_x(a, b) with y = 1 - x given apart, so that neither end loses digits.
double incomplete_beta(double a, double b, double x, double y) {
    if (x <= 0.0) return 0.0;
    if (y <= 0.0) return 1.0;
    const double front =
        std::exp(std::lgamma(a + b) - std::lgamma(a) - std::lgamma(b) + a * std::log(x) + b * std::log(y));
    if (x < (a + 1.0) / (a + b + 2.0)) return front * beta_fraction(a, b, x) / a;
    return 1.0 - front * beta_fraction(b, a, y) / b;
}

template <typename Cdf>
double by_halving(double low, double high, double probability, const Cdf& cdf) {
    for (int i = 0; i < 200 && high - low > 0.0; ++i) {
        const double mid = 0.5 * (low + high);
        if (mid <= low || mid >= high) break;
        (cdf(mid) < probability ? low : high) = mid;
    }
    return 0.5 * (low + high);
}

}  // namespace

double student_cdf(double t, double freedom) {
    require_freedom(freedom);
    const double below = freedom + t * t;
    const double tail = 0.5 * incomplete_beta(0.5 * freedom, 0.5, freedom / below, t * t / below);
    return t > 0.0 ? 1.0 - tail : tail;
}

double student_quantile(double probability, double freedom) {
    require_freedom(freedom);
    require_probability(probability);
    if (probability > 0.5) return -student_quantile(1.0 - probability, freedom);
    if (probability == 0.5) return 0.0;
    double low = -1.0;
    while (student_cdf(low, freedom) > probability) low *= 2.0;
    return by_halving(low, 0.0, probability, [freedom](double t) { return student_cdf(t, freedom); });
}

double chi_square_cdf(double x, double freedom) {
    require_freedom(freedom);
    if (!(x > 0.0)) return 0.0;
    const double a = 0.5 * freedom, half = 0.5 * x;
    const double front = std::exp(a * std::log(half) - half - std::lgamma(a));
    if (half < a + 1.0) {
        double term = 1.0 / a, sum = term;
        for (int k = 1; k < most_terms && term > close_enough * sum; ++k) {
            term *= half / (a + k);
            sum += term;
        }
        return front * sum;
    }
    double b = half + 1.0 - a, c = 1.0 / tiny, d = 1.0 / b, value = d;
    for (int k = 1; k < most_terms; ++k) {
        const double term = -static_cast<double>(k) * (k - a);
        b += 2.0;
        d = term * d + b;
        if (std::abs(d) < tiny) d = tiny;
        c = b + term / c;
        if (std::abs(c) < tiny) c = tiny;
        d = 1.0 / d;
        const double step = d * c;
        value *= step;
        if (std::abs(step - 1.0) < close_enough * 10.0) break;
    }
    return 1.0 - front * value;
}

double chi_square_quantile(double probability, double freedom) {
    require_freedom(freedom);
    require_probability(probability);
    double high = freedom + 1.0;
    while (chi_square_cdf(high, freedom) < probability) high *= 2.0;
    return by_halving(0.0, high, probability, [freedom](double x) { return chi_square_cdf(x, freedom); });
}

}  // namespace models::interval_law
