#include "models/decision/screening_cutoff.h"

#include <cmath>
#include <limits>

#include <catch2/catch.hpp>

#include "models/assay/interval_law.h"
#include "models/error.h"

using Catch::Matchers::Contains;
using models::ScreeningResponse;
using models::ScreeningStudy;

namespace {

std::vector<models::ScreeningReading> readings_over_days(const std::vector<double>& responses, int days = 5) {
    std::vector<models::ScreeningReading> readings;
    for (std::size_t i = 0; i < responses.size(); ++i) {
        const models::LocalDay day =
            models::LocalDay(*models::parse_day("2026-07-01")) + std::chrono::days(static_cast<int>(i) % days);
        readings.push_back({day, responses[i]});
    }
    return readings;
}

/// Twenty readings in mg/kg at a target of 1.0: mean 1.006, SD 0.0515446.
const std::vector<double> at_target = {1.02, .95,  1.10, .98,  1.05, .92, 1.00, 1.08, .97,  1.03,
                                       .99,  1.06, .94,  1.01, 1.04, .96, 1.07, .93,  1.00, 1.02};

/// Twenty readings of grain known to be free, about 0.1.
std::vector<double> free_of_don() {
    std::vector<double> responses;
    for (int i = 0; i < 20; ++i) responses.push_back(0.05 + 0.01 * (i * 7 % 11));
    return responses;
}

models::ScreeningData validation_data() {
    models::ScreeningData data;
    data.target_mg_per_kg = "1.0";
    data.negative = readings_over_days(free_of_don());
    data.positive = readings_over_days(at_target);
    return data;
}

}  // namespace

TEST_CASE("the t-values of the regulation are those of the quantile function") {
    // (EU) 2023/2782, Annex II, table 3: degrees of freedom, one-tailed 5 %.
    const struct {
        double degrees, t;
    } table[] = {{10, 1.812}, {11, 1.796}, {12, 1.782}, {13, 1.771},  {14, 1.761},
                 {15, 1.753}, {16, 1.746}, {17, 1.740}, {18, 1.734},  {19, 1.729},
                 {20, 1.725}, {21, 1.721}, {22, 1.717}, {23, 1.714},  {24, 1.711},
                 {25, 1.708}, {26, 1.706}, {27, 1.703}, {28, 1.701},  {29, 1.699},
                 {30, 1.697}, {40, 1.684}, {60, 1.671}, {120, 1.658}, {std::numeric_limits<double>::infinity(), 1.645}};
    for (const auto& row : table) {
        INFO(row.degrees << " degrees of freedom");
        // The table has three decimals.
        CHECK(models::interval_law::student_upper_quantile(0.05, row.degrees) ==
              Approx(row.t).margin(5.1e-4).epsilon(0.0));
    }
}

TEST_CASE("tails of Student's distribution are those of R") {
    // R 4.2: pt(c(0, 1, 2.5, -1.3, 8), c(19, 3, 10, 7, 19), lower.tail = FALSE)
    CHECK(models::interval_law::student_upper_tail(0.0, 19) == Approx(0.5));
    CHECK(models::interval_law::student_upper_tail(1.0, 3) == Approx(0.195501109477885).epsilon(1e-12));
    CHECK(models::interval_law::student_upper_tail(2.5, 10) == Approx(0.0157234221183044).epsilon(1e-12));
    CHECK(models::interval_law::student_upper_tail(-1.3, 7) == Approx(0.882616082303811).epsilon(1e-12));
    CHECK(models::interval_law::student_upper_tail(8.0, 19) == Approx(8.37977344140909e-08).epsilon(1e-10));
    CHECK(models::interval_law::student_upper_tail(std::numeric_limits<double>::infinity(), 4) == 0.0);
    CHECK_THROWS_WITH(models::interval_law::student_upper_quantile(0.05, 0.0), Contains("0 degrees of freedom"));
    CHECK_THROWS_WITH(models::interval_law::student_upper_quantile(1.5, 3.0),
                      Contains("a quantile at 1.5 is not defined"));
    CHECK_THROWS_AS(models::interval_law::student_upper_tail(std::nan(""), 3.0), models::Error);
}

TEST_CASE("twenty readings at the target give the cut-off that they give by hand") {
    const models::ScreeningCutoff cutoff = models::screening_cutoff(validation_data());
    // mean 1.006 and SD 0.0515446 of the twenty; t of 19 degrees of freedom 1.729133 (R: qt(0.95, 19)).
    CHECK(cutoff.mean_positive == Approx(1.006).epsilon(1e-12));
    CHECK(cutoff.sd_positive == Approx(0.0515446).epsilon(1e-6));
    CHECK(cutoff.t_value == Approx(1.729133).epsilon(1e-6));
    CHECK(cutoff.before_rounding == Approx(0.916873).margin(5e-7).epsilon(0.0));
    // As many significant figures as 1.0 has.
    CHECK(cutoff.cut_off == 0.92);
    CHECK(cutoff.significant_figures == 2);
    CHECK(cutoff.days == 5);
    CHECK_THAT(cutoff.says, Contains("Cut-off 0.92"));
    CHECK_THAT(cutoff.says, Contains("1.729 times"));
    // Rounding up let a little more than 5 % pass: R: pt((1.006 - 0.92) / 0.0515446, 19, lower.tail = FALSE).
    CHECK(cutoff.false_negative_rate == Approx(0.0558103799354783).epsilon(1e-9));
    CHECK(cutoff.suspects(0.92));
    CHECK(cutoff.suspects(1.4));
    CHECK_FALSE(cutoff.suspects(0.91));
}

TEST_CASE("a falling response mirrors a rising one") {
    models::ScreeningData rising = validation_data(), falling = validation_data();
    falling.response = ScreeningResponse::falling;
    for (auto* readings : {&falling.negative, &falling.positive})
        for (models::ScreeningReading& reading : *readings) reading.response = 3.0 - reading.response;
    const auto up = models::screening_cutoff(rising), down = models::screening_cutoff(falling);
    CHECK(down.before_rounding == Approx(3.0 - up.before_rounding).epsilon(1e-12));
    CHECK(down.cut_off == 2.1);  // two figures of 2.083
    CHECK(down.suspects(2.1));
    CHECK(down.suspects(0.5));
    CHECK_FALSE(down.suspects(2.2));
    CHECK_THAT(down.says, Contains("plus 1.729 times"));
    CHECK_THAT(down.says, Contains("at or below"));
}

TEST_CASE("the share of free samples that are suspected is the tail beyond the cut-off") {
    models::ScreeningData data = validation_data();
    // Free samples that read about 0.7 with a wide spread.
    std::vector<double> wide;
    for (int i = 0; i < 20; ++i) wide.push_back(i % 2 == 0 ? 0.6 : 0.8);
    data.negative = readings_over_days(wide);
    const auto cutoff = models::screening_cutoff(data);
    // SD of ten times 0.6 and 0.8 is 0.1 sqrt(20/19); t = 0.22 / 0.102598 = 2.14430;
    // R: pt(2.14430, 19, lower.tail = FALSE) = 0.022578
    CHECK(cutoff.false_suspect_rate == Approx(0.0225781890318249).epsilon(1e-9));
    // Twice as far away there are fewer.
    data.negative = readings_over_days(free_of_don());
    CHECK(models::screening_cutoff(data).false_suspect_rate < 1e-6);
    // Free samples that all read nothing leave no doubt.
    data.negative = readings_over_days(std::vector<double>(20, 0.0));
    CHECK(models::screening_cutoff(data).false_suspect_rate == 0.0);
}

TEST_CASE("a validation with too little is refused with what it takes") {
    models::ScreeningData data = validation_data();
    data.positive.resize(17);
    CHECK_THROWS_WITH(models::screening_cutoff(data),
                      Contains("at least 20 negative and 20 positive samples; there are 20 and 17") &&
                          Contains("3 more positive at the target"));
    data.negative.resize(19);
    CHECK_THROWS_WITH(models::screening_cutoff(data), Contains("1 more negative and 3 more positive"));
    data = validation_data();
    data.positive = readings_over_days(at_target, 4);
    CHECK_THROWS_WITH(models::screening_cutoff(data), Contains("read on 4 days") && Contains("1 more day"));
    data = validation_data();
    data.positive[3].response = std::nan("");
    CHECK_THROWS_WITH(models::screening_cutoff(data), Contains("positive sample 4 has the response nan"));
    data = validation_data();
    for (auto& reading : data.positive) reading.response = 1.0;
    CHECK_THROWS_WITH(models::screening_cutoff(data), Contains("no spread"));
    data = validation_data();
    std::swap(data.negative, data.positive);
    CHECK_THROWS_WITH(models::screening_cutoff(data), Contains("said to rise with the content"));
    data = validation_data();
    data.target_mg_per_kg = "1,0";
    CHECK_THROWS_WITH(models::screening_cutoff(data), Contains("\"1,0\" is no screening target"));
}

TEST_CASE("significant figures are those that are written") {
    CHECK(models::significant_figures_of("1.0") == 2);
    CHECK(models::significant_figures_of("1.25") == 3);
    CHECK(models::significant_figures_of("0.75") == 2);
    CHECK(models::significant_figures_of("0.050") == 2);
    CHECK(models::significant_figures_of("1000") == 4);
    CHECK(models::significant_figures_of("2") == 1);
    CHECK(models::rounded_to_figures(0.916873, 2) == 0.92);
    CHECK(models::rounded_to_figures(0.916873, 3) == 0.917);
    CHECK(models::rounded_to_figures(1234.5, 2) == 1200.0);
    CHECK(models::rounded_to_figures(9.96, 2) == 10.0);
    CHECK_THROWS_AS(models::significant_figures_of("-1.0"), models::Error);
    CHECK_THROWS_AS(models::significant_figures_of("nan"), models::Error);
}

TEST_CASE("a cut-off holds for a further grain where all ten positive samples are beyond it") {
    const auto cutoff = models::screening_cutoff(validation_data());
    models::ScreeningData more;
    more.target_mg_per_kg = "1.0";
    more.negative = readings_over_days(std::vector<double>(10, 0.1));
    more.positive = readings_over_days(std::vector<double>(10, 0.95));
    const auto good = models::check_cutoff(cutoff, more, ScreeningStudy::new_commodity);
    CHECK(good.holds);
    CHECK_THAT(good.says, Contains("holds for the further grain"));
    more.positive[7].response = 0.92;  // reaches the cut-off and is not above it
    const auto missed = models::check_cutoff(cutoff, more, ScreeningStudy::new_commodity);
    CHECK_FALSE(missed.holds);
    CHECK(missed.positives_missed == 1);
    CHECK_THAT(missed.says, Contains("1 of 10 samples at the target") && Contains("in full (20 + 20)"));
    more.positive.resize(9);
    CHECK_THROWS_WITH(models::check_cutoff(cutoff, more, ScreeningStudy::new_commodity),
                      Contains("at least 10 negative and 10 positive"));
    CHECK_NOTHROW(models::check_cutoff(cutoff, more, ScreeningStudy::verification));
    more.negative.resize(5);
    CHECK_THROWS_WITH(models::check_cutoff(cutoff, more, ScreeningStudy::verification),
                      Contains("at least 6 negative and 6 positive") && Contains("1 more negative"));
    CHECK_THROWS_AS(models::check_cutoff(cutoff, more, ScreeningStudy::full), models::Error);
}

TEST_CASE("a verification that fails asks for the cause first") {
    const auto cutoff = models::screening_cutoff(validation_data());
    models::ScreeningData here;
    here.target_mg_per_kg = "1.0";
    here.negative = readings_over_days(std::vector<double>(6, 1.1));
    here.positive = readings_over_days(std::vector<double>(6, 0.9));
    const auto check = models::check_cutoff(cutoff, here, ScreeningStudy::verification);
    CHECK_FALSE(check.holds);
    CHECK(check.negatives_suspected == 6);
    CHECK_THAT(check.says, Contains("Find the cause"));
}
