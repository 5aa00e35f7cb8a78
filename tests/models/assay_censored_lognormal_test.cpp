#include <cmath>

#include <catch2/catch.hpp>

#include "models/assay/censored_lognormal.h"
#include "models/error.h"

using namespace models;
using Catch::Matchers::Contains;

namespace {

std::vector<BoundedContent> ten_results() {
    std::vector<BoundedContent> results(3, {Reading::below, 0.25});
    for (const double x : {0.31, 0.42, 0.55, 0.60, 0.88, 1.30, 2.10}) results.push_back({Reading::value, x});
    return results;
}

}  // namespace

TEST_CASE("the censored lognormal law agrees with two other optimisers to their printed digits") {
    // R 4.2, survival 3.5: survreg(Surv(lo, hi, type = "interval2") ~ 1, dist = "lognormal"), coef, scale and loglik;
    // and optim(c(0, 0), nll, method = "BFGS") with nll of dlnorm and pnorm(log.p = TRUE). Half a unit of the last
    // digit.
    const CensoredLognormal fit = fit_censored_lognormal(ten_results());
    CHECK(fit.settled);
    CHECK(fit.mu == Approx(-0.818335).margin(5.1e-7).epsilon(0.0));
    CHECK(fit.sigma == Approx(0.949658).margin(5.1e-7).epsilon(0.0));
    CHECK(fit.log_likelihood == Approx(-10.085483).margin(5.1e-7).epsilon(0.0));
    CHECK(fit.median_mg_per_kg() == Approx(0.441166).margin(5.1e-7).epsilon(0.0));
    CHECK(fit.mean_mg_per_kg() == Approx(0.692526).margin(5.1e-7).epsilon(0.0));

    std::vector<BoundedContent> with_above = ten_results();
    with_above.push_back({Reading::above, 7.5});
    const CensoredLognormal wider = fit_censored_lognormal(with_above);
    CHECK(wider.mu == Approx(-0.605974).margin(5.1e-7).epsilon(0.0));
    CHECK(wider.sigma == Approx(1.497888).margin(5.1e-7).epsilon(0.0));
    CHECK(wider.log_likelihood == Approx(-14.519124).margin(5.1e-7).epsilon(0.0));
}

TEST_CASE("without bounds the law has the mean and spread of the logs") {
    std::vector<BoundedContent> results;
    double sum = 0.0, sum2 = 0.0;
    for (const double x : {0.4, 0.9, 1.7, 0.2, 3.3}) {
        results.push_back({Reading::value, x});
        sum += std::log(x);
        sum2 += std::log(x) * std::log(x);
    }
    const CensoredLognormal fit = fit_censored_lognormal(results);
    CHECK(fit.mu == Approx(sum / 5.0).epsilon(1e-12));
    CHECK(fit.sigma == Approx(std::sqrt(sum2 / 5.0 - sum * sum / 25.0)).epsilon(1e-12));
}

TEST_CASE("results that bound the content from one side only have no most likely law") {
    const CensoredLognormal low = fit_censored_lognormal({{Reading::below, 0.25}, {Reading::below, 0.2}});
    CHECK_FALSE(low.settled);
    CHECK_THAT(low.message, Contains("all 2 results lie below"));
    const CensoredLognormal one = fit_censored_lognormal({{Reading::value, 0.5}});
    CHECK_FALSE(one.settled);
    CHECK_THAT(one.message, Contains("no spread"));
    CHECK_THAT(fit_censored_lognormal({{Reading::value, 0.5}, {Reading::below, 0.6}}).message, Contains("zero"));
}

TEST_CASE("a content of nothing cannot enter a lognormal law") {
    CHECK_THROWS_WITH(fit_censored_lognormal({{Reading::value, 0.0}}), Contains("no logarithm"));
    CHECK_THROWS_WITH(fit_censored_lognormal({{Reading::invalid, 1.0}}), Contains("no valid result"));
}
