#include <cmath>

#include <catch2/catch.hpp>

#include "models/assay/duplicates.h"
#include "models/error.h"

namespace {

using models::Duplicated;

/// A bench with samples S1, S2 split from it, S3 split from S2, and a control.
struct TwiceRead {
    std::vector<models::Sample> samples;
    std::vector<models::Test> tests;
    TwiceRead() {
        const char* names[][2] = {{"S1", ""}, {"S2", "S1"}, {"S3", "S2"}, {"S4", "S1"}, {"C1", ""}};
        for (const auto& name : names) {
            models::Sample sample;
            sample.sample = name[0];
            sample.parent = name[1];
            sample.stage = name[0][0] == 'C' ? models::Stage::control : models::Stage::truck;
            samples.push_back(sample);
        }
    }
    models::Test& read(const std::string& name, const std::string& sample, double don_mg_per_kg, int day = 1) {
        models::Test test;
        test.test = name;
        test.sample = sample;
        test.don_mg_per_kg = don_mg_per_kg;
        test.kit_lot = "K77";
        test.time = *models::parse_stamp("2026-08-0" + std::to_string(day) + "T09:00:00+02:00");
        return tests.emplace_back(test);
    }
    models::DuplicatesFound found() const { return models::duplicates_of(tests, samples); }
};

std::vector<models::DuplicatePair> pairs_of(const std::vector<double>& first, const std::vector<double>& second) {
    std::vector<models::DuplicatePair> pairs;
    for (std::size_t i = 0; i < first.size(); ++i) {
        models::DuplicatePair pair;
        pair.first_test = "A" + std::to_string(i);
        pair.second_test = "B" + std::to_string(i);
        pair.first_mg_per_kg = first[i];
        pair.second_mg_per_kg = second[i];
        pairs.push_back(pair);
    }
    return pairs;
}

}  // namespace

TEST_CASE("one sample read twice is a pair and a third reading is refused as a duplicate of a duplicate") {
    TwiceRead bench;
    bench.read("T1", "S1", 1.0);
    bench.read("T2", "S1", 1.1);
    bench.read("T3", "S1", 1.2);
    const auto found = bench.found();
    REQUIRE(found.pairs.size() == 1);
    CHECK(found.pairs[0].first_test == "T1");
    CHECK(found.pairs[0].second_test == "T2");
    REQUIRE(found.refused.size() == 1);
    CHECK(found.refused[0].why ==
          "test T3 is result number 3 of sample S1: a duplicate of a duplicate is no pair, the first two are");
}

TEST_CASE("a split sample is a pair with its parent and a split of a split is refused") {
    TwiceRead bench;
    bench.read("T1", "S1", 1.0);
    bench.read("T2", "S2", 1.1);
    bench.read("T3", "S3", 1.2);
    bench.read("T4", "S4", 1.3);
    const auto found = bench.found();
    REQUIRE(found.pairs.size() == 1);
    CHECK(found.pairs[0].what == Duplicated::split);
    CHECK(found.pairs[0].second_test == "T2");
    REQUIRE(found.refused.size() == 2);
    CHECK(found.refused[0].why ==
          "test T3 is of sample S3, split from S2, which was itself split from S1: a duplicate "
          "of a duplicate is no pair");
    CHECK(found.refused[1].why == "test T4 is of sample S4, and S1 was split before: its pair is test T2");
}

TEST_CASE("readings of another day or kit lot or method are no duplicates and neither are controls") {
    TwiceRead bench;
    bench.read("T1", "S1", 1.0);
    bench.read("T2", "S1", 1.1, 2);
    bench.read("T3", "S1", 1.1).kit_lot = "K78";
    bench.read("T4", "S1", 1.1).method = models::Method::laboratory;
    bench.read("T5", "S1", 1.1).reading = models::Reading::invalid;
    bench.read("T6", "C1", 1.0);
    bench.read("T7", "C1", 1.0);
    CHECK(bench.found().pairs.empty());
    CHECK(bench.found().refused.empty());
    bench.read("T8", "S1", 0.2).reading = models::Reading::below;
    REQUIRE(bench.found().refused.size() == 1);
    CHECK(bench.found().refused[0].why ==
          "tests T1 and T8 are no pair: a reading below or above the range has no difference");
}

TEST_CASE("repeatability from pairs is the root of half the mean squared log difference with its interval") {
    const auto pairs = pairs_of({0.50, 0.80, 1.20, 2.10, 3.40, 0.95}, {0.55, 0.83, 1.18, 2.40, 3.60, 1.02});
    const models::Repeatability found = models::repeatability_of(pairs);
    // R 4.2: d <- log(a) - log(b); s <- sqrt(sum(d^2)/12); s*sqrt(6/qchisq(c(.95,.05),6)); sqrt(exp(s^2)-1)
    CHECK(found.log_sd == Approx(0.0554332372));
    CHECK(*found.low90 == Approx(0.0382653444));
    CHECK(*found.high90 == Approx(0.1061783912));
    CHECK(found.cv() == Approx(0.0554758489));
}

TEST_CASE("a pair is over the limit exactly where its log difference is over 2.8 repeatabilities") {
    const models::Repeatability stated = models::stated_repeatability(0.10);
    const double factor = std::exp(2.8 * stated.log_sd);
    const auto chart =
        models::duplicate_chart(pairs_of({1.0, 1.0}, {factor * 0.9999, factor * 1.0001}), Duplicated::reading, 0.10);
    REQUIRE(chart.pairs.size() == 2);
    CHECK_FALSE(chart.pairs[0].over_limit);
    CHECK(chart.pairs[1].over_limit);
    // by hand: |x1 - x2| over the mean of both
    CHECK(chart.pairs[1].relative_difference == Approx((factor * 1.0001 - 1.0) / (0.5 * (factor * 1.0001 + 1.0))));
    CHECK(stated.relative_limit() == Approx((factor - 1.0) / (0.5 * (factor + 1.0))));
    // ISO 5725-6: r = 2.8 s_r; with CV 10 % about 28 % of the mean
    CHECK(stated.relative_limit() == Approx(0.28).margin(0.003).epsilon(0.0));
}

TEST_CASE("seven pairs set no limit and eight do") {
    const std::vector<double> ones(7, 1.0), others = {1.1, 0.9, 1.05, 1.0, 0.95, 1.1, 3.0};
    const auto seven = models::duplicate_chart(pairs_of(ones, others), Duplicated::reading);
    CHECK_FALSE(seven.limit_holds);
    CHECK(seven.says == "7 pairs of one sample read twice: too few for a repeatability limit, which takes 8");
    CHECK_FALSE(seven.pairs[6].over_limit);
    auto eight = pairs_of(std::vector<double>(8, 1.0), {1.1, 0.9, 1.05, 1.0, 0.95, 1.1, 1.0, 1.02});
    CHECK(models::duplicate_chart(eight, Duplicated::reading).limit_holds);
    CHECK(models::duplicate_chart(eight, Duplicated::split).says == "no pair of one sample split and ground twice");
    for (auto& pair : eight) pair.second_mg_per_kg = 1.0;
    CHECK_THAT(models::duplicate_chart(eight, Duplicated::reading).says, Catch::Contains("that do not differ"));
}

TEST_CASE("repeatability of nothing is refused") {
    CHECK_THROWS_WITH(models::repeatability_of({}), Catch::Contains("there is no pair of duplicates"));
    CHECK_THROWS_WITH(models::repeatability_of(pairs_of({1.0}, {0.0})), Catch::Contains("not above zero"));
    CHECK_THROWS_WITH(models::stated_repeatability(0.0), Catch::Contains("a repeatability of 0 % is none"));
}
