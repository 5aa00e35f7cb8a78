#include "models/decision/season_review.h"

#include <algorithm>
#include <cmath>

#include <catch2/catch.hpp>

#include "models/decision/review.h"
#include "models/error.h"
#include "tests/support/shared_data.h"
#include "tests/support/table.h"

using Catch::Contains;

namespace {

/// Twelve fields of three seasons of five, four and three.
models::SeasonCases twelve_fields() {
    models::SeasonCases cases;
    cases.predicted.resize(12);
    cases.predicted << .10, .30, .25, .60, .35, .05, .15, .30, .20, .70, .45, .80;
    cases.happened = {false, true, false, true, false, false, false, true, false, true, false, true};
    cases.season = {2021, 2021, 2021, 2021, 2021, 2022, 2022, 2022, 2022, 2023, 2023, 2023};
    return cases;
}

/// Four seasons in which the published chances are far too low, alike in all.
models::SeasonCases too_low(int seasons) {
    models::SeasonCases cases;
    cases.predicted.resize(seasons * 10);
    for (int s = 0; s < seasons; ++s) {
        for (int f = 0; f < 10; ++f) {
            cases.predicted[s * 10 + f] = 0.04 + 0.02 * f;
            cases.happened.push_back(f >= (s % 2 == 0 ? 4 : 5));
            cases.season.push_back(2020 + s);
        }
    }
    return cases;
}

}  // namespace

TEST_CASE("skill is told against the share that happened in the other seasons") {
    const auto cases = twelve_fields();
    // By hand: events 2 of 5, 1 of 4, 2 of 3; the others of 2021 have 3 of 7, of 2022 4 of 8, of 2023 3 of 9.
    const Eigen::VectorXd shares = models::climatology_of_others(cases);
    CHECK(shares[0] == Approx(3.0 / 7.0));
    CHECK(shares[5] == Approx(4.0 / 8.0));
    CHECK(shares[9] == Approx(3.0 / 9.0));
    // R 4.2: 1 - mean((p - o)^2) / mean((share - o)^2), and the same without each season.
    CHECK(*models::skill_against_climatology(cases) == Approx(0.45928343949).epsilon(1e-10));
    CHECK(*models::skill_against_climatology(models::without_season(cases, 2021)) ==
          Approx(0.662796833773).epsilon(1e-10));
    // Who says the share of the other seasons has no skill against it.
    auto like_climatology = cases;
    like_climatology.predicted = shares;
    CHECK(*models::skill_against_climatology(like_climatology) == Approx(0.0).margin(1e-15).epsilon(0.0));
    const auto one = models::only_season(cases, 2022);
    CHECK_FALSE(models::skill_against_climatology(one));
    CHECK_THROWS_WITH(models::climatology_of_others(one), Contains("1 season has no other seasons beside it"));
    auto never = cases;
    std::fill(never.happened.begin(), never.happened.end(), false);
    CHECK_FALSE(models::skill_against_climatology(never));
}

TEST_CASE("fields of one season are ranked among themselves") {
    const auto cases = twelve_fields();
    CHECK(*models::area_under_curve(cases) == Approx(31.0 / 35.0));
    // By hand: 5 of 6 pairs of 2021 in order, all 3 of 2022, both of 2023.
    CHECK(*models::area_within_seasons(cases) == Approx(10.0 / 11.0));
    CHECK(*models::area_under_curve(cases) ==
          Approx(models::rank_skill(cases.predicted, cases.happened).auc).epsilon(1e-14));
    // A score that tells seasons apart and no fields ranks nothing within them.
    auto by_season = cases;
    for (Eigen::Index i = 0; i < 12; ++i) by_season.predicted[i] = cases.season[static_cast<std::size_t>(i)];
    CHECK(*models::area_within_seasons(by_season) == Approx(0.5));
    CHECK_FALSE(models::area_within_seasons(models::SeasonCases{}));
    const auto tallies = models::tally_of_seasons(cases);
    REQUIRE(tallies.size() == 3);
    CHECK(tallies[0].n == 5);
    CHECK(tallies[0].events == 2);
    CHECK(tallies[0].mean_predicted == Approx(0.32));
    CHECK(*tallies[0].auc == Approx(5.0 / 6.0));
    CHECK(*tallies[1].brier == Approx(0.13875));
    CHECK_FALSE(models::tally_of_seasons(by_season)[0].brier);
}

TEST_CASE("the area under the operating curve is the area that ranks tell") {
    auto cases = twelve_fields();
    cases.predicted[4] = 0.30;  // a tie of an event and a non-event: one slanting step
    const auto curve = models::operating_curve(cases);
    double area = 0.0;
    for (std::size_t i = 1; i < curve.size(); ++i)
        area += (curve[i].non_events - curve[i - 1].non_events) * 0.5 * (curve[i].events + curve[i - 1].events);
    CHECK(area == Approx(*models::area_under_curve(cases)));
    CHECK(curve.front().events == 0.0);
    CHECK(curve.back().non_events == 1.0);
    CHECK(curve.back().events == 1.0);
    CHECK(models::operating_curve(models::SeasonCases{}).empty());
}

TEST_CASE("an interval over seasons leaves each season out in turn") {
    const auto cases = twelve_fields();
    // The delete-m jackknife of Busing et al. (1999) written out in R 4.2 from its formula, not from this program.
    const auto auc = models::over_seasons(cases, models::area_under_curve, 0.0, 1.0);
    CHECK(*auc.value == Approx(0.885714285714));
    CHECK(*auc.without[0].value == Approx(0.916666666667));
    CHECK(*auc.without[1].value == Approx(0.875));
    CHECK(*auc.without[2].value == Approx(0.888888888889));
    CHECK(*auc.standard_error == Approx(0.0204296560612).epsilon(1e-10));
    CHECK(*auc.low95 == Approx(0.797812570295).epsilon(1e-9));
    CHECK(*auc.high95 == Approx(0.973616001134).epsilon(1e-9));
    const auto brier = models::over_seasons(cases, models::brier_score, 0.0, 1.0);
    CHECK(*brier.standard_error == Approx(0.0165727782906).epsilon(1e-10));
    CHECK(*brier.low95 == Approx(0.0730680902485).epsilon(1e-9));
    const auto skill = models::over_seasons(cases, models::skill_against_climatology, -1e9, 1.0);
    CHECK(*skill.standard_error == Approx(0.170007040916).epsilon(1e-10));
    CHECK(*skill.high95 == 1.0);  // 1.19 by the formula; no skill is above 1
}

TEST_CASE("seasons of one size give the error of a mean over seasons") {
    // A closed form: the standard error of the mean of four numbers, whatever the fields in them.
    models::SeasonCases cases;
    cases.predicted.resize(8);
    cases.predicted << .1, .2, .3, .4, .5, .6, .7, .8;
    cases.happened = std::vector<bool>(8, false);
    cases.season = {1, 1, 2, 2, 3, 3, 4, 4};
    const double means[] = {(.01 + .04) / 2, (.09 + .16) / 2, (.25 + .36) / 2, (.49 + .64) / 2};
    double mean = 0.0, squares = 0.0;
    for (const double one : means) mean += one / 4.0;
    for (const double one : means) squares += (one - mean) * (one - mean);
    CHECK(*models::over_seasons(cases, models::brier_score, 0.0, 1.0).standard_error ==
          Approx(std::sqrt(squares / 3.0 / 4.0)));
}

TEST_CASE("fewer than three seasons tell nothing of other seasons") {
    const auto two = models::without_season(twelve_fields(), 2023);
    const auto auc = models::over_seasons(two, models::area_under_curve, 0.0, 1.0);
    CHECK(auc.value);
    CHECK_FALSE(auc.low95);
    CHECK(auc.not_told == "from 2 seasons nothing can be told of other seasons; it takes 3");
    CHECK_THAT(models::over_seasons(models::SeasonCases{}, models::brier_score, 0.0, 1.0).not_told,
               Contains("from 0 seasons"));
    // All events in one season: without it there is nothing to rank.
    auto one_bad_season = twelve_fields();
    for (std::size_t i = 0; i < 12; ++i) one_bad_season.happened[i] = i == 9 || i == 11;
    CHECK_THAT(models::over_seasons(one_bad_season, models::area_under_curve, 0.0, 1.0).not_told,
               Contains("without season 2023 the number cannot be worked out"));
    CHECK_THAT(models::local_calibration(two).reason, Contains("2 seasons cannot show that it helps in another"));
    CHECK_FALSE(models::local_calibration(two).offered);
    CHECK_THROWS_WITH(models::local_calibration(models::only_season(two, 2021)),
                      Contains("cannot be held back from a fit to others"));
}

TEST_CASE("a local calibration is judged by seasons that it had not seen") {
    const auto local = models::local_calibration(twelve_fields());
    // R 4.2, optim (BFGS) on the log likelihood with N(0, 1) and N(1, 0.5^2): of all, and without each season.
    CHECK(local.intercept == Approx(0.317166161).epsilon(1e-6));
    CHECK(local.slope == Approx(1.205005170).epsilon(1e-6));
    REQUIRE(local.without.size() == 3);
    CHECK(local.without[0].intercept == Approx(0.193300374).epsilon(1e-6));
    CHECK(local.without[0].slope == Approx(1.141507361).epsilon(1e-6));
    CHECK(local.without[0].brier_local == Approx(0.159889272555).epsilon(1e-6));
    CHECK(local.without[2].intercept == Approx(0.356571047).epsilon(1e-6));
    CHECK(local.without[2].brier_published == Approx(0.110833333333));
    CHECK(local.brier_published == Approx(0.144375));
    CHECK(local.brier_local == Approx(0.139595220597).epsilon(1e-6));
    CHECK(*local.gain_standard_error == Approx(0.00347117791728).epsilon(1e-4));
    CHECK(local.offered);
    CHECK(local.apply(0.5) == Approx(1.0 / (1.0 + std::exp(-local.intercept))));
    CHECK(local.apply(0.0) > 0.0);
    CHECK(local.apply(1.0) < 1.0);
}

TEST_CASE("a local calibration is offered where a model is off in every season alike") {
    const auto local = models::local_calibration(too_low(4));
    CHECK(local.offered);
    CHECK_THAT(local.reason, Contains("it helps by more than its error over seasons"));
    CHECK(local.brier_local < 0.7 * local.brier_published);
    CHECK(local.apply(0.1) > 0.3);

    // A model that is right leaves nothing to win.
    models::SeasonCases right;
    right.predicted.resize(40);
    for (int i = 0; i < 40; ++i) {
        right.predicted[i] = i % 10 < 5 ? 0.2 : 0.8;
        right.happened.push_back(i % 10 == 0 || (i % 10 >= 5 && i % 10 != 9));
        right.season.push_back(2020 + i / 10);
    }
    const auto none = models::local_calibration(right);
    CHECK_FALSE(none.offered);
    CHECK_THAT(none.reason, Contains("not offered"));

    // A model that is upside down is not mended by turning the order over.
    auto turned = too_low(4);
    for (std::size_t i = 0; i < turned.happened.size(); ++i) turned.happened[i] = i % 10 < 2;
    for (Eigen::Index i = 0; i < 40; ++i) turned.predicted[i] = i % 10 < 2 ? 0.02 : 0.98;
    models::CalibrationPrior loose;
    loose.slope_sd = 10.0;
    CHECK_THAT(models::local_calibration(turned, loose).reason, Contains("turn the order of fields over"));
}

TEST_CASE("a strong prior holds a local calibration to what was published") {
    models::CalibrationPrior strong;
    strong.intercept_sd = strong.slope_sd = 1e-4;
    const auto held = models::local_calibration(too_low(4), strong);
    CHECK(held.intercept == Approx(0.0).margin(1e-5).epsilon(0.0));
    CHECK(held.slope == Approx(1.0).margin(1e-5).epsilon(0.0));
    // Chances of 0.5 have a logit of 0, so that the slope stays and the intercept solves 7 - 10 / (1 + exp(-a)) = a;
    // R 4.2, uniroot.
    models::SeasonCases halves;
    halves.predicted = Eigen::VectorXd::Constant(10, 0.5);
    for (int i = 0; i < 10; ++i) {
        halves.happened.push_back(i < 7);
        halves.season.push_back(2020 + i % 2);
    }
    const auto local = models::local_calibration(halves);
    CHECK(local.intercept == Approx(0.582825971698).epsilon(1e-9));
    CHECK(local.slope == Approx(1.0));
    strong.slope_sd = 0.0;
    CHECK_THROWS_WITH(models::local_calibration(halves, strong), Contains("standard deviations above 0"));
    halves.predicted[0] = 1.2;
    CHECK_THROWS_WITH(models::local_calibration(halves), Contains("an index has a rank only"));
    halves.season.pop_back();
    CHECK_THROWS_WITH(models::local_calibration(halves), Contains("10 predictions, 10 findings and 9 seasons"));
}

TEST_CASE("logistic regression with a normal prior stands where the posterior is highest") {
    NEEDS_SHARED_DATA(shared);
    // Hosmer & Lemeshow's low birth weight cases: weight about 130 lb in 30 lb and smoking, with N(0, 1), N(0, 0.5^2)
    // and N(0.5, 0.3^2). R 4.2, optim (BFGS) of the log posterior; standard errors from its second derivatives.
    const tests::Table table(shared / "data" / "stats" / "birthwt.csv");
    const auto n = static_cast<Eigen::Index>(table.rows());
    Eigen::MatrixXd design(n, 3);
    std::vector<bool> low;
    for (std::size_t r = 0; r < table.rows(); ++r) {
        const auto row = static_cast<Eigen::Index>(r);
        design.row(row) << 1.0, (table.number(r, "\"lwt\"") - 130.0) / 30.0, table.number(r, "\"smoke\"");
        low.push_back(table.number(r, "\"low\"") == 1.0);
    }
    models::CoefficientPrior prior;
    prior.mean = Eigen::Vector3d(0.0, 0.0, 0.5);
    prior.sd = Eigen::Vector3d(1.0, 0.5, 0.3);
    const auto fit = models::fit_logistic(design, low, prior);
    CHECK(fit.settled);
    CHECK(fit.coefficients[0] == Approx(-1.02523136).epsilon(1e-6));
    CHECK(fit.coefficients[1] == Approx(-0.35144392).epsilon(1e-6));
    CHECK(fit.coefficients[2] == Approx(0.56136577).epsilon(1e-6));
    CHECK(fit.standard_errors[0] == Approx(0.18421031502).epsilon(1e-6));
    CHECK(fit.standard_errors[2] == Approx(0.218472413382).epsilon(1e-6));
    CHECK(fit.log_likelihood == Approx(-112.285992903).epsilon(1e-9));
}

TEST_CASE("the interval of a share is Wilson's") {
    // R 4.2: prop.test(3, 10, correct = FALSE), and of 0 in 7.
    const auto three = models::share_interval(3, 10);
    CHECK(three.share == Approx(0.3));
    CHECK(three.low95 == Approx(0.1077912674063).epsilon(1e-9));
    CHECK(three.high95 == Approx(0.6032218525389).epsilon(1e-9));
    CHECK(models::share_interval(0, 7).low95 == Approx(0.0).margin(1e-15).epsilon(0.0));
    CHECK(models::share_interval(0, 7).high95 == Approx(0.3543304350667).epsilon(1e-9));
    CHECK_THROWS_WITH(models::share_interval(3, 2), Contains("3 of 2 is no share"));
}
