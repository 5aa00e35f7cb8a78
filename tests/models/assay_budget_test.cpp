#include <cmath>
#include <random>
#include <vector>

#include <catch2/catch.hpp>

#include "models/assay/budget.h"
#include "models/contamination/normal.h"
#include "models/error.h"

using namespace models;
using Catch::Matchers::Contains;

namespace {

MeasuredResult result_of(double don, Reading reading = Reading::value) {
    MeasuredResult r;
    r.reading = reading;
    r.don_mg_per_kg = don;
    r.procedure = {454.0, 25.0, 1};
    return r;
}

/// Results of grain of one content, as the error model says that they come.
class MadeResults {
 public:
    explicit MadeResults(unsigned seed) : engine_(seed) {}
    MeasuredResult next(double content) {
        const double q = log_variance(content, {454.0, 25.0, 1}).total();
        const double u = (static_cast<double>(engine_() >> 11) + 0.5) * 0x1p-53;
        return result_of(std::exp(std::log(content) - 0.5 * q + std::sqrt(q) * normal::quantile(u)));
    }

 private:
    std::mt19937_64 engine_;
};

const Remedy& remedy(const ResultBudget& budget, const std::string& what) {
    for (const Remedy& r : budget.remedies)
        if (r.what == what) return r;
    FAIL("no remedy called " + what);
    return budget.remedies.front();
}

}  // namespace

TEST_CASE("with one error at every content the interval is the textbook one") {
    MeasuredResult r = result_of(1.0);
    r.error.own_sampling_cv = 0.1;
    r.error.own_preparation_cv = 0.15;
    r.error.own_analysis_cv = 0.2;
    const double q = std::log(1.0 + 0.01 + 0.0225 + 0.04);
    const ResultBudget budget = budget_of(r);
    CHECK(*budget.truth.content_mg_per_kg == Approx(std::exp(0.5 * q)).epsilon(1e-9));
    CHECK(*budget.truth.low90_mg_per_kg == Approx(std::exp(0.5 * q - 1.6448536 * std::sqrt(q))).epsilon(1e-7));
    CHECK(*budget.truth.high90_mg_per_kg == Approx(std::exp(0.5 * q + 1.6448536 * std::sqrt(q))).epsilon(1e-7));
    CHECK(budget.parts.total() == Approx(q).epsilon(1e-12));
    CHECK(budget.parts.sampling == Approx(std::log(1.01)).epsilon(1e-12));
}

TEST_CASE("the variance of a result is that of the contents asked about and not of the reading") {
    const ResultBudget budget = budget_of(result_of(0.3));
    const auto pivot = [](double content) {
        const double q = log_variance(content, {454.0, 25.0, 1}).total();
        return (std::log(0.3 / content) + 0.5 * q) / std::sqrt(q);
    };
    CHECK(pivot(*budget.truth.content_mg_per_kg) == Approx(0.0).margin(1e-9).epsilon(0.0));
    CHECK(pivot(*budget.truth.low90_mg_per_kg) == Approx(1.6448536269514722).epsilon(1e-9));
    CHECK(pivot(*budget.truth.high90_mg_per_kg) == Approx(-1.6448536269514722).epsilon(1e-9));
}

TEST_CASE("the interval holds the truth nine times in ten from 0.2 to 0.5 mg/kg and the content errs to neither side") {
    MadeResults made(20261126);
    for (const double content : {0.2, 0.3, 0.4, 0.5}) {
        constexpr int runs = 4000;
        int held = 0, too_high = 0, low_end_over = 0;
        for (int i = 0; i < runs; ++i) {
            const TrueContent t = combined_content({made.next(content)});
            held += *t.low90_mg_per_kg <= content && content <= *t.high90_mg_per_kg ? 1 : 0;
            too_high += *t.content_mg_per_kg > content ? 1 : 0;
            low_end_over += *t.low90_mg_per_kg > content ? 1 : 0;
        }
        INFO(content);
        // Three standard errors of a share of 4000: 1.4, 2.4 and 1.0 %.
        CHECK(held / static_cast<double>(runs) == Approx(0.90).margin(0.014).epsilon(0.0));
        CHECK(too_high / static_cast<double>(runs) == Approx(0.50).margin(0.024).epsilon(0.0));
        CHECK(low_end_over / static_cast<double>(runs) == Approx(0.05).margin(0.010).epsilon(0.0));
    }
}

TEST_CASE("low readings gain no weight where several results of low content are taken together") {
    MadeResults made(7);
    for (const double content : {0.2, 0.3, 0.5}) {
        constexpr int runs = 600, results = 8;
        double bias = 0.0, by_reading = 0.0;
        for (int i = 0; i < runs; ++i) {
            std::vector<MeasuredResult> together;
            double weight = 0.0, weighted = 0.0;
            for (int k = 0; k < results; ++k) {
                together.push_back(made.next(content));
                const double y = together.back().don_mg_per_kg, w = 1.0 / std::pow(y, 0.833);
                weight += w;
                weighted += w * y;
            }
            bias += std::log(*combined_content(together).content_mg_per_kg / content) / runs;
            by_reading += std::log(weighted / weight / content) / runs;
        }
        INFO(content);
        // Three standard errors of the mean of 600 means of eight are 3.3 % at 0.2 mg/kg and 2.1 % at 0.5.
        CHECK(std::abs(bias) < 0.035);
        // The same readings with the variance of each taken at the reading itself, as one must not.
        CHECK(by_reading < -0.09);
    }
}

TEST_CASE("results that share a kit lot do not average its effect out") {
    MeasuredResult r = result_of(1.0);
    r.error.own_sampling_cv = r.error.own_preparation_cv = 0.0;
    r.error.own_analysis_cv = 0.1;
    r.shared = {{"kit lot K77", 0.04}};
    std::vector<MeasuredResult> one_lot(100, r), many_lots(100, r);
    for (std::size_t i = 0; i < many_lots.size(); ++i) many_lots[i].shared[0].what = "kit lot " + std::to_string(i);
    const auto width = [](const TrueContent& t) { return std::log(*t.high90_mg_per_kg / *t.low90_mg_per_kg); };
    const double q = std::log(1.01);
    CHECK(width(combined_content(one_lot)) == Approx(2.0 * 1.6448536 * std::sqrt(0.04 + q / 100.0)).epsilon(1e-6));
    CHECK(width(combined_content(many_lots)) == Approx(2.0 * 1.6448536 * std::sqrt((0.04 + q) / 100.0)).epsilon(1e-6));
    CHECK(budget_of(r).parts.shared == 0.04);
    CHECK(budget_of(r).shared.front().what == "kit lot K77");
}

TEST_CASE("a result outside the range is an inequality that holds in 95 of 100 cases") {
    const ResultBudget below = budget_of(result_of(0.25, Reading::below));
    CHECK_FALSE(below.truth.content_mg_per_kg);
    CHECK_FALSE(below.truth.low90_mg_per_kg);
    const double high = *below.truth.high90_mg_per_kg, q = log_variance(high, {454.0, 25.0, 1}).total();
    CHECK(normal::cdf((std::log(0.25 / high) + 0.5 * q) / std::sqrt(q)) == Approx(0.05).epsilon(1e-8));
    CHECK_THAT(in_words(result_of(0.25, Reading::below), below.truth),
               Contains("below 0.25 mg/kg: the content is at most ") && Contains("95 of 100"));

    const ResultBudget above = budget_of(result_of(6.0, Reading::above));
    CHECK_FALSE(above.truth.high90_mg_per_kg);
    const double low = *above.truth.low90_mg_per_kg, ql = log_variance(low, {454.0, 25.0, 1}).total();
    CHECK(normal::cdf(-(std::log(6.0 / low) + 0.5 * ql) / std::sqrt(ql)) == Approx(0.05).epsilon(1e-8));
    CHECK_THAT(in_words(result_of(6.0, Reading::above), above.truth), Contains("the content is at least "));
    CHECK(low < 6.0);
    CHECK(chance_over(result_of(6.0, Reading::above), 1.0) > 0.999);
    CHECK(chance_over(result_of(0.25, Reading::below), 1.25) < 1e-3);
}

TEST_CASE("each remedy divides what it touches and nothing else") {
    MeasuredResult r = result_of(1.2);
    r.procedure = {500.0, 5.0, 1};
    r.curve_log_variance = 0.003;
    const ResultBudget now = budget_of(r);
    // A remedied result is one that tells the same content by the better procedure.
    const auto width_of = [&](const AssayProcedure& procedure) {
        const auto variance = [&](double c) { return log_variance(c, procedure).total(); };
        MeasuredResult better = r;
        better.procedure = procedure;
        const double c = *now.truth.content_mg_per_kg;
        better.don_mg_per_kg = c * std::exp(-0.5 * variance(c));
        return budget_of(better).log_width;
    };
    CHECK(remedy(now, "a sample of 1000 g").log_width == Approx(width_of({1000.0, 5.0, 1})).epsilon(1e-8));
    CHECK(remedy(now, "a portion of 25 g").log_width == Approx(width_of({500.0, 25.0, 1})).epsilon(1e-8));
    CHECK(remedy(now, "one more strip of the same extract").log_width ==
          Approx(width_of({500.0, 5.0, 2})).epsilon(1e-8));
    CHECK(remedy(now, "a second portion, extracted and read").log_width ==
          Approx(width_of({500.0, 10.0, 2})).epsilon(1e-8));
    CHECK(remedy(now, "a grind half as coarse").log_width == Approx(width_of({500.0, 40.0, 1})).epsilon(1e-8));
    CHECK_THAT(remedy(now, "a grind half as coarse").basis, Contains("theory"));
    // Of a portion of 5 g the preparation is most of the error; the list begins with what narrows most.
    CHECK(now.remedies.front().what == "a grind half as coarse");
    for (std::size_t i = 1; i < now.remedies.size(); ++i)
        CHECK(now.remedies[i].log_width >= now.remedies[i - 1].log_width);
    for (const Remedy& each : now.remedies) CHECK(each.log_width < now.log_width);
}

TEST_CASE("what a laboratory states stands for preparation and analysis together") {
    MeasuredResult r = result_of(1.0);
    r.procedure = {454.0, std::nullopt, 1};
    r.stated_relative_variance = 0.01;
    const ResultBudget budget = budget_of(r);
    const double sampling = relative_variance(*budget.truth.content_mg_per_kg, r.procedure).sampling;
    CHECK(budget.parts.preparation == 0.0);
    CHECK(budget.parts.sampling == Approx(std::log(1.0 + sampling)).epsilon(1e-10));
    CHECK(budget.parts.total() == Approx(std::log(1.0 + sampling + 0.01)).epsilon(1e-10));
    CHECK(budget.assumptions.empty());
    CHECK(remedy(budget, "a second test by the laboratory of the same sample").log_width < budget.log_width);
}

TEST_CASE("few increments of uneven grain widen the sampling and more of them help") {
    MeasuredResult r = result_of(1.0);
    const double alone = budget_of(r).parts.sampling;
    r.increments = 4;
    r.increments_cv = 0.25;
    const ResultBudget budget = budget_of(r);
    CHECK(budget.parts.sampling > alone);
    MeasuredResult more = r;
    more.increments = 8;
    const double c = *budget.truth.content_mg_per_kg;
    const double q = std::log(1.0 + relative_variance(c, r.procedure).total() + 0.0625 / 8.0);
    more.don_mg_per_kg = c * std::exp(-0.5 * q);  // tells the same content
    CHECK(remedy(budget, "8 increments in the sample").log_width == Approx(budget_of(more).log_width).epsilon(1e-8));
    // Own duplicate samples have their increments in them.
    r.error.own_sampling_cv = 0.1;
    CHECK(budget_of(r).parts.sampling == Approx(std::log(1.01)).epsilon(1e-12));
}

TEST_CASE("a larger sample divides an own sampling error of known mass once") {
    MeasuredResult r = result_of(1.0);
    r.procedure = {227.0, 25.0, 1};
    r.error.own_sampling_cv = 0.2;
    r.error.own_sampling_mass_g = 454.0;
    const ResultBudget budget = budget_of(r);
    CHECK(budget.parts.sampling == Approx(std::log(1.08)).epsilon(1e-12));  // 0.2^2 454/227
    MeasuredResult more = r;
    more.procedure.sample_mass_g = 454.0;
    const double c = *budget.truth.content_mg_per_kg;
    more.don_mg_per_kg = c * std::exp(-0.5 * log_variance(c, more.procedure, more.error).total());  // the same content
    CHECK(remedy(budget, "a sample of 454 g").log_width == Approx(budget_of(more).log_width).epsilon(1e-8));
}

TEST_CASE("a step that own duplicates tell only together with the next is not divided by halves") {
    MeasuredResult r = result_of(1.0);
    r.error.own_preparation_cv = 0.2;  // with the analysis in it
    r.error.own_analysis_cv = 0.0;
    std::vector<std::string> offered;
    for (const Remedy& each : budget_of(r).remedies) offered.push_back(each.what);
    CHECK(offered == std::vector<std::string>{"a second portion, extracted and read", "a sample of 908 g"});
    r.error.own_sampling_cv = 0.3;  // with all in it
    r.error.own_preparation_cv = 0.0;
    const ResultBudget budget = budget_of(r);
    REQUIRE(budget.remedies.size() == 1);
    CHECK(budget.remedies[0].what == "a second sample, ground and read");
    CHECK(budget.remedies[0].log_width ==
          Approx(budget.log_width * std::sqrt(std::log(1.045) / std::log(1.09))).epsilon(1e-8));
}

TEST_CASE("the chance to be over a limit takes the error at the limit") {
    const double q = log_variance(1.25, {454.0, 25.0, 1}).total();
    CHECK(chance_over(result_of(1.1), 1.25) ==
          Approx(normal::cdf((std::log(1.1 / 1.25) + 0.5 * q) / std::sqrt(q))).epsilon(1e-12));
    // It is 5 and 95 % where the limit is an end of the interval.
    const TrueContent t = budget_of(result_of(1.1)).truth;
    CHECK(chance_over(result_of(1.1), *t.high90_mg_per_kg) == Approx(0.05).epsilon(1e-8));
    CHECK(chance_over(result_of(1.1), *t.low90_mg_per_kg) == Approx(0.95).epsilon(1e-8));
}

TEST_CASE("a budget of what is no result is refused") {
    CHECK_THROWS_WITH(budget_of(result_of(1.0, Reading::invalid)), Contains("a void test has no uncertainty"));
    CHECK_THROWS_WITH(budget_of(result_of(0.0)), Contains("not above zero") && Contains("<0.05"));
    MeasuredResult r = result_of(1.0);
    r.procedure = {20.0, 25.0, 1};
    CHECK_THROWS_WITH(budget_of(r), Contains("a portion of 25 g is larger than the sample of 20 g"));
    r = result_of(1.0);
    r.curve_log_variance = -0.1;
    CHECK_THROWS_WITH(budget_of(r), Contains("the variance of the curve is -0.1"));
    r = result_of(1.0);
    r.increments = 0;
    CHECK_THROWS_WITH(budget_of(r), Contains("0 increments"));
    CHECK_THROWS_WITH(combined_content({}), Contains("no result"));
    CHECK_THROWS_WITH(combined_content({result_of(0.25, Reading::below)}), Contains("contamination model"));
    CHECK_THROWS_WITH(chance_over(result_of(1.0), 0.0), Contains("no limit"));
}
