#include "models/decision/bin_probe.h"

#include <cmath>

#include <catch2/catch.hpp>

#include "models/decision/expected.h"
#include "models/error.h"
#include "tests/models/decision/pits.h"

namespace {

using models::ProbeNews;

/// Even quantiles of a lognormal, as many as a season's plan draws.
Eigen::VectorXd lognormal_draws(double median, double log_sd, int n, int step) {
    Eigen::VectorXd out(n);
    const Eigen::VectorXd some = tests::pits::contents(median, log_sd, step);
    for (int i = 0; i < n; ++i) out[i] = some[(i * 7 + i / static_cast<int>(some.size())) % some.size()];
    return out;
}

/// A reading whose error is the same share of every content.
models::BinProbe probe_of(const std::vector<models::GrainPortion>& grain, double reads, double cv) {
    models::BinProbe probe;
    probe.sample = "G1";
    probe.bin = "B";
    probe.grain = grain;
    probe.don_mg_per_kg = reads;
    probe.error.own_sampling_cv = cv;
    probe.error.own_preparation_cv = 0.0;
    probe.error.own_analysis_cv = 0.0;
    return probe;
}

double log_mean(const Eigen::VectorXd& draws) {
    return draws.array().log().mean();
}
double log_sd(const Eigen::VectorXd& draws) {
    const double mean = log_mean(draws);
    return std::sqrt((draws.array().log() - mean).square().mean());
}

}  // namespace

TEST_CASE("a probe of one load moves it as two normal laws say") {
    models::SourceDraws draws;
    draws.sources = {"L1", "L2"};
    draws.mg_per_kg.resize(4000, 2);
    draws.mg_per_kg.col(0) = lognormal_draws(0.8, 0.5, 4000, 0);
    draws.mg_per_kg.col(1) = draws.mg_per_kg.col(0) * 0.5;  // of the same field, and half of it
    const double cv = 0.3, q = std::log1p(cv * cv);
    const auto out = models::draws_after_probes(draws, {probe_of({{"L1", 20'000'000}}, 1.6, cv)});
    REQUIRE(out.news.size() == 1);
    CHECK(out.news[0].what == ProbeNews::What::counted);
    // ln c ~ N(ln 0.8, 0.25) and ln 1.6 + q/2 ~ N(ln c, q).
    const double precision = 1.0 / 0.25 + 1.0 / q;
    const double mean = (std::log(0.8) / 0.25 + (std::log(1.6) + 0.5 * q) / q) / precision;
    CHECK(log_mean(out.draws.mg_per_kg.col(0)) == Approx(mean).epsilon(0.0).margin(0.01));
    CHECK(log_sd(out.draws.mg_per_kg.col(0)) == Approx(std::sqrt(1.0 / precision)).epsilon(0.0).margin(0.01));
    // What shares its field goes with it.
    CHECK(log_mean(out.draws.mg_per_kg.col(1)) == Approx(mean - std::log(2.0)).epsilon(0.0).margin(0.01));
    CHECK(out.news[0].after_mg_per_kg == Approx(out.draws.mg_per_kg.col(0).mean()).epsilon(0.0).margin(0.01));
    CHECK(out.news[0].before_mg_per_kg == Approx(0.8 * std::exp(0.125)).epsilon(0.0).margin(0.01));
    CHECK(out.effective_draws < 4000.0);
    CHECK(out.effective_draws > 1000.0);
}

TEST_CASE("a probe tells most of the load that is least known and nothing of grain elsewhere") {
    models::SourceDraws draws;
    draws.sources = {"known", "opening", "elsewhere"};
    draws.mg_per_kg.resize(4000, 3);
    draws.mg_per_kg.col(0) = lognormal_draws(0.3, 0.1, 4000, 0);
    draws.mg_per_kg.col(1) = lognormal_draws(0.5, 0.9, 4000, 1);
    draws.mg_per_kg.col(2) = lognormal_draws(0.6, 0.4, 4000, 2);
    const auto out =
        models::draws_after_probes(draws, {probe_of({{"known", 20'000'000}, {"opening", 20'000'000}}, 1.2, 0.15)});
    REQUIRE(out.news[0].what == ProbeNews::What::counted);
    // Half and half at 1.2: the opening content is near 2.1 then.
    CHECK(models::quantile_of_draws(out.draws.mg_per_kg.col(1), 0.5) == Approx(2.0).epsilon(0.0).margin(0.2));
    CHECK(models::quantile_of_draws(out.draws.mg_per_kg.col(0), 0.5) == Approx(0.3).epsilon(0.0).margin(0.02));
    CHECK(models::quantile_of_draws(out.draws.mg_per_kg.col(2), 0.5) == Approx(0.6).epsilon(0.0).margin(0.06));
    CHECK(out.news[0].after_high90 - out.news[0].after_low90 < out.news[0].before_high90 - out.news[0].before_low90);
}

TEST_CASE("two probes say what one of both together would and a range says its side") {
    models::SourceDraws draws;
    draws.sources = {"L1"};
    draws.mg_per_kg = lognormal_draws(0.8, 0.5, 4000, 0);
    const double cv = 0.3, q = std::log1p(cv * cv);
    const std::vector<models::GrainPortion> grain{{"L1", 20'000'000}};
    const auto twice = models::draws_after_probes(draws, {probe_of(grain, 1.2, cv), probe_of(grain, 1.2, cv)});
    const double precision = 1.0 / 0.25 + 2.0 / q;
    CHECK(log_sd(twice.draws.mg_per_kg.col(0)) == Approx(std::sqrt(1.0 / precision)).epsilon(0.0).margin(0.01));
    models::BinProbe below = probe_of(grain, 0.4, 0.05);
    below.reading = models::Reading::below;
    const auto under = models::draws_after_probes(draws, {below});
    CHECK(models::quantile_of_draws(under.draws.mg_per_kg.col(0), 0.95) < 0.43);
    CHECK(under.draws.mg_per_kg.rows() == 4000);
}

TEST_CASE("a probe that its loads cannot explain does not count and is named") {
    models::SourceDraws draws;
    draws.sources = {"L1"};
    draws.mg_per_kg = lognormal_draws(0.3, 0.1, 4000, 0);
    const std::vector<models::GrainPortion> grain{{"L1", 20'000'000}};
    const auto out = models::draws_after_probes(draws, {probe_of(grain, 3.0, 0.2)});
    CHECK(out.news[0].what == ProbeNews::What::contradicts);
    CHECK(out.news[0].surprise < 0.001);
    CHECK(out.draws.mg_per_kg == draws.mg_per_kg);
    CHECK(out.effective_draws == Approx(4000.0));
    // Readings of loads and probes at once, each within reach of the other, count.
    CHECK(models::draws_after_probes(draws, {probe_of(grain, 0.4, 0.2)}).news[0].what == ProbeNews::What::counted);
}

TEST_CASE("a probe of an empty bin or of grain nothing is known of says so and a reading of nothing is refused") {
    models::SourceDraws draws;
    draws.sources = {"L1"};
    draws.mg_per_kg = lognormal_draws(0.3, 0.1, 400, 0);
    CHECK(models::draws_after_probes(draws, {probe_of({}, 0.5, 0.2)}).news[0].what == ProbeNews::What::empty_bin);
    const auto found =
        models::draws_after_probes(draws, {probe_of({{"L1", 1'000'000}, {"found in B", 1'000'000}}, 0.5, 0.2)});
    CHECK(found.news[0].what == ProbeNews::What::unknown_grain);
    CHECK(found.news[0].unknown == std::vector<std::string>{"found in B"});
    CHECK(found.draws.mg_per_kg == draws.mg_per_kg);
    CHECK_THROWS_WITH(models::draws_after_probes(draws, {probe_of({{"L1", 1}}, 0.0, 0.2)}),
                      Catch::Contains("a content of 0 mg/kg has no logarithm") && Catch::Contains("probe G1"));
    CHECK_THROWS_WITH(models::draws_after_probes(draws, {probe_of({{"L1", 1}}, -1.0, 0.2)}),
                      Catch::Contains("has no logarithm"));
    models::BinProbe none = probe_of({{"L1", 1}}, 0.5, 0.2);
    none.increments = 0;
    CHECK_THROWS_WITH(models::draws_after_probes(draws, {none}), Catch::Contains("one handful and one reading"));
}
