#include "models/decision/outbound_lot.h"

#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include "models/contamination/normal.h"
#include "models/error.h"
#include "tests/models/decision/pits.h"

namespace {

using models::DrawOff;

models::BinContent stacked(const std::vector<std::pair<std::string, double>>& loads) {
    models::BinContent content;
    content.bin = "B";
    for (const auto& [load, mass_t] : loads) content.layers.push_back({{{load, models::grams_of(mass_t)}}});
    return content;
}

/// Loads of lognormal contents, independent of one another.
models::SourceDraws draws_of(const std::vector<std::pair<std::string, double>>& medians, double log_sd) {
    models::SourceDraws draws;
    draws.mg_per_kg.resize(tests::pits::n_draws, static_cast<Eigen::Index>(medians.size()));
    for (std::size_t k = 0; k < medians.size(); ++k) {
        draws.sources.push_back(medians[k].first);
        draws.mg_per_kg.col(static_cast<Eigen::Index>(k)) =
            tests::pits::contents(medians[k].second, log_sd, static_cast<int>(k));
    }
    return draws;
}

/// A test whose error is the same share of every content.
models::BuyersTest test_with_cv(double cv) {
    models::BuyersTest buyer;
    buyer.error.own_sampling_cv = cv;
    buyer.error.own_preparation_cv = 0.0;
    buyer.error.own_analysis_cv = 0.0;
    return buyer;
}

}  // namespace

TEST_CASE("one layer of lognormal content is rejected as often as the closed form says") {
    const double median = 0.8, log_sd = 0.3, cv = 0.25;
    models::BuyersTest buyer = test_with_cv(cv);
    for (const double bias : {1.0, 1.1, 0.85}) {
        buyer.plan.bias = bias;
        const auto out =
            models::outbound_of_bin(stacked({{"L1", 100.0}}), 25.0, DrawOff::first_in,
                                    draws_of({{"L1", median}}, log_sd), tests::pits::plan_limit_at(1.0), buyer);
        REQUIRE(out);
        REQUIRE(out->lots.size() == 4);
        // ln y = ln c + ln bias - q/2 + N(0, q), ln c ~ N(ln median, log_sd^2), rejected where y > 1.
        const double q = std::log1p(cv * cv);
        const double closed =
            models::normal::cdf((std::log(median * bias) - 0.5 * q) / std::hypot(log_sd, std::sqrt(q)));
        for (const models::LotOutlook& lot : out->lots) CHECK(lot.rejected == Approx(closed).epsilon(0.0).margin(2e-3));
        CHECK(out->rejected_lots == Approx(4 * closed).epsilon(0.0).margin(8e-3));
        CHECK(out->rejected_t == Approx(100 * closed).epsilon(0.0).margin(0.2));
        // Of one load: the lots are over together.
        CHECK(out->lots[0].over == Approx(models::normal::cdf(std::log(median) / log_sd)).epsilon(0.0).margin(2e-3));
        CHECK(out->any_rejected > closed);
        CHECK(out->any_rejected < 1.0 - std::pow(1.0 - closed, 4));
    }
}

TEST_CASE("one bad truck spoils the lot it leaves with and where the bin is mixed a little of every lot") {
    const auto bin = stacked({{"good 1", 25.0}, {"bad", 25.0}, {"good 2", 50.0}});
    const auto draws = draws_of({{"good 1", 0.3}, {"bad", 2.5}, {"good 2", 0.3}}, 0.05);
    const models::Limit limit = tests::pits::plan_limit_at(1.25);
    const auto first = models::outbound_of_bin(bin, 25.0, DrawOff::first_in, draws, limit, test_with_cv(0.2));
    const auto last = models::outbound_of_bin(bin, 25.0, DrawOff::last_in, draws, limit, test_with_cv(0.2));
    const auto mixed = models::outbound_of_bin(bin, 25.0, DrawOff::mixed, draws, limit, test_with_cv(0.2));
    REQUIRE((first && last && mixed));
    REQUIRE(first->lots.size() == 4);
    CHECK(first->worst == 1);
    CHECK(last->worst == 2);  // two lots of the second good load leave before it
    CHECK(first->lots[first->worst].rejected > 0.99);
    CHECK(first->rejected_lots == Approx(1.0).epsilon(0.0).margin(0.01));
    CHECK(last->rejected_lots == Approx(1.0).epsilon(0.0).margin(0.01));
    CHECK(first->holding_over == Approx(1.0).epsilon(0.0).margin(1e-9));
    // 0.25 x 2.5 + 0.75 x 0.3 = 0.85: every lot is under, and every lot has some of the bad truck in it.
    for (const models::LotOutlook& lot : mixed->lots) {
        CHECK(lot.mean_mg_per_kg == Approx(0.85).epsilon(0.0).margin(0.01));
        CHECK(lot.rejected < 0.1);
        CHECK(lot.holds_over == 1.0);
        CHECK(lot.worst_source == "bad");
    }
    CHECK(mixed->holding_over == 4.0);
    CHECK(mixed->rejected_lots < first->rejected_lots);
}

TEST_CASE("a lot of several trucks is rejected as often as one that is drawn handful by handful") {
    // Half a lot of 0.5 and half of 1.5 mg/kg, and a buyer who takes n handfuls anywhere, each of one truck.
    models::SourceDraws draws;
    draws.sources = {"L1", "L2"};
    draws.mg_per_kg = Eigen::RowVector2d(0.5, 1.5);
    std::mt19937_64 random(20260717);
    std::normal_distribution<double> normal;
    for (const int handfuls : {4, 20}) {
        models::BuyersTest buyer;
        buyer.plan.increments = handfuls;
        buyer.plan.sample_mass_g = 1000.0;
        buyer.plan.bias = 1.05;
        const auto out = models::outbound_of_bin(stacked({{"L1", 10.0}, {"L2", 10.0}}), 20.0, DrawOff::first_in, draws,
                                                 tests::pits::plan_limit_at(1.25), buyer);
        REQUIRE(out);
        REQUIRE(out->lots.size() == 1);
        const double handful_q = std::log1p(buyer.within_load_cv * buyer.within_load_cv);
        const models::RelativeVariance rest = models::relative_variance(1.0, {1000.0, 25.0, 1}, buyer.error);
        const double rest_q = std::log1p(rest.total());
        int over = 0;
        constexpr int lots = 40000;
        for (int i = 0; i < lots; ++i) {
            double sum = 0.0;
            for (int h = 0; h < handfuls; ++h)
                sum +=
                    (random() % 2 == 0 ? 0.5 : 1.5) * std::exp(std::sqrt(handful_q) * normal(random) - 0.5 * handful_q);
            const double y = 1.05 * sum / handfuls * std::exp(std::sqrt(rest_q) * normal(random) - 0.5 * rest_q);
            over += y > 1.25 ? 1 : 0;
        }
        // The sum of handfuls is taken as lognormal, which of four handfuls of two kinds it is not quite.
        CHECK(out->lots[0].rejected ==
              Approx(static_cast<double>(over) / lots).epsilon(0.0).margin(handfuls < 10 ? 0.02 : 0.01));
    }
}

TEST_CASE("lots leave in the order of the draw off and every gram of the bin is in one of them") {
    const auto bin = stacked({{"L1", 10.0}, {"L2", 20.0}, {"L3", 7.5}});
    for (const DrawOff drawn : {DrawOff::first_in, DrawOff::last_in, DrawOff::mixed}) {
        std::int64_t mass_g = 0;
        const auto lots = models::lots_of_bin(bin, 15.0, drawn);
        REQUIRE(lots.size() == 3);
        for (const models::LotToSell& lot : lots) {
            std::int64_t portions_g = 0;
            for (const models::GrainPortion& portion : lot.portions) portions_g += portion.mass_g;
            CHECK(portions_g == lot.mass_g);
            mass_g += lot.mass_g;
        }
        CHECK(mass_g == 37'500'000);
        CHECK(lots.back().mass_t() == Approx(7.5));
        CHECK(lots.front().portions.front().source == (drawn == DrawOff::last_in ? "L3" : "L1"));
        CHECK(lots.front().layered == (drawn != DrawOff::mixed));
    }
    CHECK(models::ways_of_drawing(DrawOff::first_in, true) == std::vector<DrawOff>{DrawOff::first_in});
    CHECK(models::ways_of_drawing(DrawOff::first_in, false).size() == 3);
    CHECK(models::ways_of_drawing(DrawOff::unknown, true).size() == 3);
    CHECK(models::ways_of_drawing(DrawOff::mixed, false).size() == 1);
}

TEST_CASE("a lot at the limit meets it by the limit's own rounding") {
    models::Limit limit = tests::pits::plan_limit_at(2.0);
    models::BuyersTest exact = test_with_cv(1e-6);
    CHECK(models::rejection_of_lot(2.04, 0.0, limit, exact) == Approx(1.0));
    limit.rounding_mg_per_kg = 0.1;
    CHECK(models::rejection_of_lot(2.04, 0.0, limit, exact) == Approx(0.0).margin(1e-9));
    CHECK(models::rejection_of_lot(2.06, 0.0, limit, exact) == Approx(1.0));
    CHECK(models::rejection_of_lot(0.0, 0.0, limit, exact) == 0.0);
}

TEST_CASE("the chance of a lot is that of its plan at every content, bias and shape") {
    const models::Limit limit = tests::pits::plan_limit_at(1.0);
    for (const auto shape : {models::ReadingShape::lognormal, models::ReadingShape::normal}) {
        models::BuyersTest buyer;
        buyer.shape = shape;
        buyer.plan.increments = 7;
        buyer.plan.samples = 2;
        buyer.plan.bias = 1.1;
        models::SourceDraws draws;
        draws.sources = {"L1", "L2"};
        draws.mg_per_kg.resize(1, 2);
        for (const double content : {0.0004, 0.02, 0.3, 0.77, 0.95, 1.4, 20.0}) {
            draws.mg_per_kg << 0.8 * content, 1.2 * content;
            const auto out = models::outbound_of_bin(stacked({{"L1", 10.0}, {"L2", 10.0}}), 20.0, DrawOff::first_in,
                                                     draws, limit, buyer);
            REQUIRE(out);
            CHECK(out->lots[0].rejected ==
                  Approx(models::rejection_of_lot(content, 0.2, limit, buyer)).epsilon(0.0).margin(1e-6));
        }
        buyer.plan.bias = -1.0;
        CHECK_THROWS_WITH(
            models::outbound_of_bin(stacked({{"L1", 10.0}}), 20.0, DrawOff::first_in, draws, limit, buyer),
            Catch::Contains("a bias of -1 is none"));
    }
}

TEST_CASE("an outbound lot that is none is refused and grain of unknown content has no chance") {
    const auto bin = stacked({{"L1", 10.0}, {"found in B", 1.0}});
    const auto draws = draws_of({{"L1", 0.5}}, 0.2);
    const models::Limit limit = tests::pits::plan_limit_at(1.0);
    CHECK_FALSE(models::outbound_of_bin(bin, 5.0, DrawOff::first_in, draws, limit, {}));
    CHECK_FALSE(models::outbound_of_bin(stacked({}), 5.0, DrawOff::first_in, draws, limit, {}));
    CHECK_THROWS_WITH(models::lots_of_bin(bin, -5.0, DrawOff::mixed),
                      Catch::Contains("a lot of -5 t is none") && Catch::Contains("give its mass in tonnes"));
    CHECK_THROWS_WITH(models::lots_of_bin(bin, std::nan(""), DrawOff::mixed), Catch::Contains("is none"));
    CHECK_THROWS_WITH(models::lots_of_bin(bin, 0.001, DrawOff::mixed),
                      Catch::Contains("more than 2000 lots") && Catch::Contains("give a larger lot"));
    CHECK_THROWS_WITH(models::lots_of_bin(bin, 5.0, DrawOff::unknown), Catch::Contains("no way of drawing off"));
    models::BinContent there = bin;
    CHECK_THROWS_WITH(models::draw_off(there, models::grams_of(11.5), DrawOff::mixed),
                      Catch::Contains("11.5 t cannot be drawn off, for 11.0 t lie in it"));
    CHECK(there.mass_g() == bin.mass_g());
}
