#include <array>
#include <cmath>
#include <set>
#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "models/assay/variance_components.h"
#include "models/error.h"

using namespace models;
using Catch::Matchers::Contains;

namespace {

/// lme4::Pastes (Davies & Goldsmith 1972, Statistical Methods in Research and Production, table 6.5): ten batches,
/// three casks of each, two readings of each cask, in the order of the package.
constexpr std::array<double, 60> pastes = {62.8, 62.6, 60.1, 62.3, 62.7, 63.1, 60,   61.4, 57.5, 56.9, 61.1, 58.9,
                                           58.7, 57.5, 63.9, 63.1, 65.4, 63.7, 57.1, 56.4, 56.9, 58.6, 64.7, 64.5,
                                           55.1, 55.1, 54.7, 54.2, 58.8, 57.5, 63.4, 64.9, 59.3, 58.1, 60.5, 60,
                                           62.5, 62.6, 61,   58.7, 56.9, 57.7, 59.2, 59.4, 65.2, 66,   64.8, 64.1,
                                           54.8, 54.8, 64,   64,   57.7, 56.8, 58.3, 59.3, 59.2, 59.2, 58.9, 56.6};

/// Its strengths as logs of contents: the batch is the sample, the cask the portion.
std::vector<DuplicateReading> pastes_as_duplicates(const std::set<std::size_t>& without = {}, bool two_lots = false) {
    std::vector<DuplicateReading> out;
    for (std::size_t i = 0; i < pastes.size(); ++i) {
        if (without.count(i + 1) != 0) continue;
        const std::size_t batch = i / 6;
        out.push_back({two_lots && batch >= 4 ? "two" : "one", "batch " + std::to_string(batch),
                       "cask " + std::to_string(i / 2 % 3), std::exp(pastes[i] - 60.0)});
    }
    return out;
}

Test strip(const std::string& name, const std::string& sample, double don) {
    Test test;
    test.test = name;
    test.sample = sample;
    test.don_mg_per_kg = don;
    return test;
}
Sample of_load(const std::string& name, const std::string& load, const std::string& parent = "") {
    Sample sample;
    sample.sample = name;
    sample.stage = Stage::truck;
    sample.load = load;
    sample.parent = parent;
    return sample;
}

}  // namespace

TEST_CASE("variance components of nested duplicates are those of lme4") {
    // lme4 1.1-31: lmer(strength ~ 1 + (1 | batch) + (1 | sample), Pastes), vcov of VarCorr and REMLcrit.
    const VarianceComponents fit = variance_components(pastes_as_duplicates());
    CHECK(fit.settled);
    CHECK(fit.sampling.log_variance == Approx(1.657308).epsilon(2e-5));
    CHECK(fit.preparation.log_variance == Approx(8.433668).epsilon(2e-6));
    CHECK(fit.analysis.log_variance == Approx(0.678000).epsilon(2e-6));
    CHECK(fit.reml_criterion == Approx(246.990745853).epsilon(1e-10));
    CHECK(fit.lots == 1);
    CHECK(fit.samples == 10);
    CHECK(fit.portions == 30);
    CHECK(fit.readings == 60);
    // 90 % intervals by the profile of the same criterion, written with dense matrices in R (optim, uniroot): the
    // script tests/reference/variance_components.sh.
    CHECK(fit.sampling.low90 == 0.0);
    CHECK(fit.sampling.high90 == Approx(8.3250262).epsilon(1e-5));
    CHECK(fit.preparation.low90 == Approx(5.0919468).epsilon(1e-5));
    CHECK(fit.preparation.high90 == Approx(15.06521).epsilon(1e-5));
    CHECK(fit.analysis.low90 == Approx(0.45600266).epsilon(1e-5));
    CHECK(fit.analysis.high90 == Approx(1.0707979).epsilon(1e-5));
}

TEST_CASE("duplicates of several lots and of uneven number have the components of lme4") {
    // The same package and data without eleven rows, batches A to D one lot and the rest another:
    // lmer(strength ~ 0 + lot + (1 | batch) + (1 | sample), Pastes[-c(2, 7, 8, 13, 20, 31, 32, 33, 34, 49, 60), ]).
    const VarianceComponents fit =
        variance_components(pastes_as_duplicates({2, 7, 8, 13, 20, 31, 32, 33, 34, 49, 60}, true));
    CHECK(fit.settled);
    CHECK(fit.sampling.log_variance == Approx(1.709733).epsilon(2e-5));
    CHECK(fit.preparation.log_variance == Approx(8.661312).epsilon(2e-6));
    CHECK(fit.analysis.log_variance == Approx(0.631907).epsilon(2e-6));
    CHECK(fit.reml_criterion == Approx(201.96615197).epsilon(1e-10));
    CHECK(fit.sampling.high90 == Approx(9.6495473).epsilon(1e-5));
    CHECK(fit.preparation.low90 == Approx(5.0565882).epsilon(1e-5));
    CHECK(fit.analysis.high90 == Approx(1.0858104).epsilon(1e-5));
}

TEST_CASE("one level of duplicates has the pooled variance of its pairs") {
    // Pairs of readings, each of a lot of its own: s^2 = sum d^2 / (2 n) of the logs.
    std::vector<DuplicateReading> pairs;
    double sum = 0.0;
    const std::vector<std::pair<double, double>> contents = {
        {1.0, 1.1}, {0.5, 0.42}, {2.0, 2.3}, {0.9, 0.9}, {3.1, 2.6}};
    for (const auto& [a, b] : contents) {
        const std::string lot = "lot " + std::to_string(pairs.size());
        pairs.push_back({lot, "s", "p", a});
        pairs.push_back({lot, "s", "p", b});
        sum += std::pow(std::log(a / b), 2);
    }
    const VarianceComponents fit = variance_components(pairs);
    CHECK(fit.analysis.told);
    CHECK(fit.analysis.log_variance == Approx(sum / 10.0).epsilon(1e-6));
    CHECK(fit.analysis.low90 < fit.analysis.log_variance);
    CHECK(fit.analysis.high90 > fit.analysis.log_variance);
    CHECK_FALSE(fit.sampling.told);
    CHECK_FALSE(fit.preparation.told);
    CHECK_THAT(fit.sampling.message, Contains("no lot has two samples"));
    CHECK_THAT(fit.preparation.message, Contains("no sample has two portions, and no step above it has duplicates"));
}

TEST_CASE("a step without duplicates is told as part of the step above it") {
    // Duplicate portions, each read once: the analysis cannot be parted from them.
    std::vector<DuplicateReading> readings;
    for (const double x : {0.5, 0.7, 1.2, 3.0}) {
        readings.push_back({"lot" + std::to_string(x), "s", "", x});
        readings.push_back({"lot" + std::to_string(x), "s", "", x * 1.2});
    }
    const VarianceComponents fit = variance_components(readings);
    CHECK(fit.preparation.told);
    CHECK(fit.preparation.log_variance == Approx(0.5 * std::pow(std::log(1.2), 2)).epsilon(1e-6));
    CHECK_THAT(fit.preparation.message, Contains("holds the analysis as well"));
    CHECK_FALSE(fit.analysis.told);
    CHECK_THAT(fit.analysis.message, Contains("it is part of preparation"));
    const ErrorModel own = own_errors(fit);
    CHECK_FALSE(own.own_sampling_cv);
    CHECK(*own.own_preparation_cv == Approx(fit.preparation.cv()));
    CHECK(*own.own_analysis_cv == 0.0);
    CHECK_THAT(describe(fit).at(1), Contains("Preparation: coefficient of variation") && Contains("90 % interval"));
    CHECK(pairs_of(fit).sampling == 0);
    CHECK(pairs_of(fit).preparation == 4);
    CHECK_THAT(describe(fit).at(1), Contains(" % from 4 pairs (") && Contains("; fewer than 8 pairs tell little"));
    CHECK_THAT(describe(fit).at(2), Contains("Analysis cannot be told: no portion was read twice"));
}

TEST_CASE("own errors belong to the median mass and portion of the duplicates that told them") {
    std::vector<DuplicateReading> readings;
    for (int lot = 0; lot < 4; ++lot)
        for (int sample = 0; sample < 2; ++sample)
            for (int portion = 0; portion < 2; ++portion)
                for (int reading = 0; reading < 2; ++reading)
                    readings.push_back({"l" + std::to_string(lot), "s" + std::to_string(sample),
                                        "p" + std::to_string(portion),
                                        1.0 + 0.3 * sample + 0.11 * portion + 0.05 * reading + 0.01 * lot * reading,
                                        sample == 0 ? 400.0 : 600.0, lot == 0 ? std::nullopt : std::optional(10.0)});
    const VarianceComponents fit = variance_components(readings);
    CHECK(fit.sample_mass_g == 500.0);
    CHECK(fit.portion_g == 10.0);
    const ErrorModel own = own_errors(fit);
    CHECK(own.own_sampling_mass_g == 500.0);
    CHECK(own.own_portion_g == 10.0);
    CHECK(own.assumed_mass_g == 500.0);
    CHECK_THAT(describe(fit)[0], Contains(" % for samples of 500 g from 4 pairs (90 % interval"));
    CHECK(pairs_of(fit).analysis == 16);
    CHECK_THAT(describe(fit)[2], Contains(" % from 16 pairs (") && !Contains("tell little"));
    // Of a sum of steps only a part would go with 1 / mass: it belongs to none.
    for (DuplicateReading& r : readings) r.portion.clear();
    readings.resize(4);
    readings[1].portion_g = readings[0].portion_g = 10.0;
    const ErrorModel sum = own_errors(variance_components(readings));
    CHECK(sum.own_analysis_cv == 0.0);
    CHECK_FALSE(sum.own_portion_g);
}

TEST_CASE("a variance component is never negative") {
    // Samples agree better than their portions let expect: the estimate by mean squares would be below 0.
    const VarianceComponents fit = variance_components({{"l", "a", "1", 1.0},
                                                        {"l", "a", "2", 1.5},
                                                        {"l", "b", "1", 1.02},
                                                        {"l", "b", "2", 1.5},
                                                        {"l", "c", "1", 1.01},
                                                        {"l", "c", "2", 1.52}});
    CHECK(fit.sampling.told);
    CHECK(fit.sampling.log_variance >= 0.0);
    CHECK(fit.sampling.log_variance < 1e-6);
    CHECK(fit.sampling.low90 == 0.0);
    CHECK(fit.sampling.high90 > 0.0);
    CHECK(fit.preparation.log_variance > 0.0);
}

TEST_CASE("a duplicate study that can tell nothing is refused") {
    CHECK_THROWS_WITH(variance_components({{"a", "s", "", 1.0}, {"b", "s", "", 1.2}}),
                      Contains("no reading of 2 readings has a duplicate"));
    CHECK_THROWS_WITH(variance_components({}), Contains("no reading of 0 readings has a duplicate"));
    CHECK_THROWS_WITH(variance_components({{"a", "s", "p", 0.0}, {"a", "s", "p", 1.2}}),
                      Contains("0 mg/kg has no logarithm") && Contains("sample \"s\""));
    CHECK_THROWS_WITH(variance_components({{"", "s", "p", 1.0}}), Contains("does not say its lot and sample"));
    CHECK_THROWS_WITH(
        variance_components({{"a", "s", "p", 1.1}, {"a", "s", "p", 1.1}, {"b", "s", "p", 2.0}, {"b", "s", "p", 2.0}}),
        Contains("the readings of a portion agree to the last digit"));
    CHECK_THROWS_WITH(variance_components({{"a", "s", "1", 0.7}, {"a", "s", "2", 0.7}}),
                      Contains("the portions of a sample agree to the last digit"));
}

TEST_CASE("records tell which readings are duplicates of which") {
    const std::vector<Sample> samples = {of_load("S1", "L1"), of_load("S1a", "L1", "S1"), of_load("S1b", "L1", "S1"),
                                         of_load("S2", "L1"), of_load("S3", "L2")};
    std::vector<Test> tests = {strip("T1", "S1a", 1.0), strip("T2", "S1a", 1.1), strip("T3", "S1b", 1.3),
                               strip("T4", "S2", 0.9),  strip("T5", "S3", 2.0),  strip("T6", "S3", 2.2)};
    tests.push_back(strip("T7", "S3", 0.25));
    tests.back().reading = Reading::below;
    const std::vector<DuplicateReading> readings = duplicate_readings(tests, samples);
    REQUIRE(readings.size() == 6);
    CHECK(readings[0].sample == "S1");
    CHECK(readings[0].portion == "S1a");
    CHECK(readings[3].sample == "S2");
    CHECK(readings[3].portion.empty());
    CHECK(readings[0].lot == readings[3].lot);
    CHECK(readings[0].lot != readings[4].lot);
    const VarianceComponents fit = variance_components(readings);
    CHECK(fit.lots == 2);
    CHECK(fit.samples == 3);
    CHECK(fit.portions == 5);
    CHECK(fit.sampling.told);
    CHECK(fit.preparation.told);
    CHECK(fit.analysis.told);

    // Two bases in one lot are two contents: that lot is left out.
    tests[4].basis = Basis::dry;
    CHECK(duplicate_readings(tests, samples).size() == 4);
}

TEST_CASE("samples of one field on different days or on no known day are no duplicates") {
    const auto of_field = [](const std::string& name, const char* taken) {
        Sample sample;
        sample.sample = name;
        sample.field = "F1";
        sample.taken_time = parse_stamp(taken);
        return sample;
    };
    const auto lots_of = [](const Sample& a, const Sample& b) {
        const auto readings = duplicate_readings({strip("T1", a.sample, 1.0), strip("T2", b.sample, 1.2)}, {a, b});
        REQUIRE(readings.size() == 2);
        return readings[0].lot == readings[1].lot ? 1 : 2;
    };
    CHECK(lots_of(of_field("A", "2026-07-01T10:00+02:00"), of_field("B", "2026-07-01T15:00+02:00")) == 1);
    CHECK(lots_of(of_field("A", "2026-07-01T10:00+02:00"), of_field("B", "2026-07-02T10:00+02:00")) == 2);
    CHECK(lots_of(of_field("A", ""), of_field("B", "")) == 2);
    Sample point = of_field("P", "2026-07-01T10:00+02:00");
    point.kind = SampleKind::point;
    CHECK(duplicate_readings({strip("T1", "P", 1.0)}, {point}).empty());
}

TEST_CASE("a duplicate of a duplicate is refused by the samples that it goes through") {
    const std::vector<Sample> samples = {of_load("S1", "L1"), of_load("S1a", "L1", "S1"), of_load("S1a2", "L1", "S1a")};
    CHECK_THROWS_WITH(duplicate_readings({strip("T1", "S1a2", 1.0)}, samples),
                      Contains("sample S1a2 was split from S1a, which was itself split from S1") &&
                          Contains("a duplicate of a duplicate") && Contains("give S1a2 the parent S1"));
}
