#include "models/assay/censored_lognormal.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/format.h>

#include "models/contamination/normal.h"
#include "models/counted.h"
#include "models/error.h"

namespace models {

namespace {

/// Log likelihood in (mu, s = ln sigma) with its gradient and Hessian.
struct CensoredSlope {
    double value = 0.0;
    double d_mu = 0.0, d_s = 0.0;
    double d_mu_mu = 0.0, d_mu_s = 0.0, d_s_s = 0.0;
};

CensoredSlope censored_slope(const std::vector<BoundedContent>& results, double mu, double s) {
    const double sigma = std::exp(s);
    CensoredSlope l;
    // With a function h of z = (ln x - mu) / sigma: dz/dmu = -1/sigma and dz/ds = -z.
    const auto add = [&](double z, double h, double h1, double h2) {
        l.value += h;
        l.d_mu -= h1 / sigma;
        l.d_s -= h1 * z;
        l.d_mu_mu += h2 / (sigma * sigma);
        l.d_mu_s += (h2 * z + h1) / sigma;
        l.d_s_s += h2 * z * z + h1 * z;
    };
    for (const BoundedContent& r : results) {
        if (r.reading == Reading::invalid) continue;
        const double log_x = std::log(r.don_mg_per_kg);
        const double z = (log_x - mu) / sigma;
        if (r.reading == Reading::value) {
            add(z, -0.5 * z * z, -z, -1.0);
            l.value -= log_x + s + 0.5 * std::log(2.0 * std::numbers::pi);
            l.d_s -= 1.0;
            continue;
        }
        const double side = r.reading == Reading::below ? 1.0 : -1.0;
        const double u = side * z;
        const double log_f = normal::log_cdf(u);
        const double mills = std::exp(-0.5 * u * u - 0.5 * std::log(2.0 * std::numbers::pi) - log_f);
        add(z, log_f, side * mills, -mills * (u + mills));
    }
    return l;
}

}  // namespace

double CensoredLognormal::median_mg_per_kg() const {
    return std::exp(mu);
}
double CensoredLognormal::mean_mg_per_kg() const {
    return std::exp(mu + 0.5 * sigma * sigma);
}

CensoredLognormal fit_censored_lognormal(const std::vector<BoundedContent>& results) {
    int values = 0, below = 0, above = 0;
    double sum = 0.0, sum2 = 0.0;
    double first = 0.0;
    bool values_differ = false;
    for (const BoundedContent& r : results) {
        if (r.reading == Reading::invalid) continue;
        if (!(r.don_mg_per_kg > 0.0) || !std::isfinite(r.don_mg_per_kg))
            throw Error(fmt::format("a content of {} mg/kg has no logarithm", r.don_mg_per_kg), "",
                        "give a result that is not above zero as below the lowest content that the test can read");
        if (r.reading == Reading::below) ++below;
        if (r.reading == Reading::above) ++above;
        if (r.reading == Reading::value) {
            if (values == 0) first = r.don_mg_per_kg;
            values_differ = values_differ || r.don_mg_per_kg != first;
            ++values;
        }
        sum += std::log(r.don_mg_per_kg);
        sum2 += std::log(r.don_mg_per_kg) * std::log(r.don_mg_per_kg);
    }
    const int n = values + below + above;
    if (n == 0) throw Error("there is no valid result to fit a law to", "", "give at least one value");
    CensoredLognormal fit;
    if (values == 0 && (below == 0 || above == 0)) {
        fit.message = fmt::format("all {} results lie {} the range: no law is more likely than every other", n,
                                  below > 0 ? "below" : "above");
        return fit;
    }
    if (!values_differ && below + above == 0) {
        fit.mu = std::log(first);
        fit.message = n == 1 ? "one value has no spread" : fmt::format("all {} values are equal: no spread", n);
        return fit;
    }
    double mu = sum / n;
    double s = 0.5 * std::log(std::max(sum2 / n - mu * mu, 0.01));
    CensoredSlope at = censored_slope(results, mu, s);
    for (int step = 1; step <= 200; ++step) {
        // Newton; where the surface is not a hill yet, the Hessian is leaned on a multiple of the identity.
        double lean = 0.0;
        double a = 0.0, b = 0.0, c = 0.0, det = 0.0;
        for (;; lean = std::max(2.0 * lean, 1e-3 * n)) {
            a = -at.d_mu_mu + lean;
            b = -at.d_mu_s;
            c = -at.d_s_s + lean;
            det = a * c - b * b;
            if (a > 0.0 && det > 1e-12 * a * c) break;
        }
        const double to_mu = (c * at.d_mu - b * at.d_s) / det;
        const double to_s = (a * at.d_s - b * at.d_mu) / det;
        double length = 1.0;
        CensoredSlope next = at;
        for (int halving = 0; halving < 40; ++halving, length *= 0.5) {
            next = censored_slope(results, mu + length * to_mu, s + length * to_s);
            if (std::isfinite(next.value) && next.value >= at.value - 1e-12 * std::abs(at.value)) break;
        }
        mu += length * to_mu;
        s += length * to_s;
        const double moved = std::abs(length * to_mu) * std::exp(-s) + std::abs(length * to_s);
        at = next;
        if (s < -30.0) break;
        if (moved < 1e-12) {
            fit.settled = true;
            fit.message = "settled after " + counted(step, "step");
            break;
        }
    }
    if (!fit.settled) fit.message = "the spread runs towards zero or does not settle: too little is known of it";
    fit.mu = mu;
    fit.sigma = std::exp(s);
    fit.log_likelihood = at.value;
    return fit;
}

}  // namespace models
