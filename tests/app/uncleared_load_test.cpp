#include <catch2/catch.hpp>

#include "app/stages/grain_fit.h"
#include "app/stages/grain_in_bins.h"
#include "tests/app/loads_at_pit.h"

using namespace loads_at_pit;

TEST_CASE("a load lies uncleared by the whole clearing rule and not by its own result alone") {
    app::SeasonData data = pit_of({"L1", "L2"});
    const models::Limit limit = data.limits.at(0);  // over 1.0 mg/kg
    const app::LoadUnderLimit lies{0, 0, 10.0, limit};
    models::OwnResult under{"T-1", models::Reading::value, 0.72}, over{"T-2", models::Reading::value, 1.3},
        coarse{"T-3", models::Reading::below, 2.5};
    using Why = app::UnclearedLoad::Why;
    const auto judged = [&](const std::vector<models::OwnResult>& results, std::optional<double> chance,
                            std::optional<double> upper_cap = {}) {
        models::ClearingCaps caps;
        caps.upper_cap = upper_cap;
        return app::why_uncleared(data, lies, results, chance, caps);
    };
    CHECK_FALSE(judged({under}, std::nullopt));
    CHECK_FALSE(judged({under}, 0.05));
    const auto by_fields = judged({under}, 0.96);
    REQUIRE(by_fields);
    CHECK(by_fields->why == Why::chance);
    CHECK(app::in_words(*by_fields) ==
          "load L1 (10.0 t) lies in bin S uncleared: its own result is not over; by all that is known 96 % chance over "
          "1.0, and at most 5 % clears it");
    // A result that is over is never outvoted.
    CHECK(judged({under, over}, 0.01)->why == Why::over);
    CHECK(judged({over}, 0.01)->test == "T-2");
    // Grain that nobody tested may be cleared by what is known of its fields, and so may a result that cannot tell.
    CHECK_FALSE(judged({}, 0.04));
    CHECK_FALSE(judged({coarse}, 0.04));
    CHECK(judged({}, std::nullopt)->why == Why::no_result);
    CHECK(judged({}, 0.3)->why == Why::no_result);
    CHECK(judged({}, 0.3)->reason == "it has no result of its own; 30 % chance over 1.0");
    CHECK(judged({coarse}, 0.3)->why == Why::cannot_decide);
    under.contradicted = true;
    CHECK(judged({under}, 0.01)->why == Why::contradicted);
    // Above the user's own cap it is over without a result that says so.
    CHECK(judged({}, 0.7, 0.6)->why == Why::over);
    CHECK(judged({}, 0.7, 0.6)->test.empty());
    CHECK(judged({}, 0.7, 0.6)->reason ==
          "its chance of being over 1.0, 70 %, is above the 60 % from which you take grain as over");
    CHECK(judged({}, 0.5, 0.6)->why == Why::no_result);
}

TEST_CASE("a strip under the limit does not hide what its fields say of a load that was put into a food bin") {
    app::SeasonData data = pit_of({"L1", "L2"});
    sampled(data, "G1", "L1", "", july(10, 9), 0.72);
    moved(data, "M1", "L1", "S", july(10, 10), models::MoveKind::dumped, "H");
    app::ContaminationView view;
    view.load_of = {0, 1};
    view.input.loads = {{"L1", {}}, {"L2", {}}};
    const auto ask = [](const app::FitAsked& asked) {
        app::GrainFit fit;
        fit.known = true;
        fit.worlds.draws = asked.draws;
        // Of a hundred worlds 96 are over 1.0.
        fit.worlds.loads[0] = Eigen::VectorXd::Constant(asked.draws, 1.4);
        for (Eigen::Index i = 0; i < asked.draws; i += 25) fit.worlds.loads[0][i] = 0.8;
        fit.worlds.loads[1] = Eigen::VectorXd::Constant(asked.draws, 0.3);
        return fit;
    };
    app::BinsSettings settings;
    settings.season = 2026;
    settings.draws = 2000;
    const app::BinsView bins = app::bins_of_season(data, view, settings, ask);
    CHECK(bins.chances_judged);
    REQUIRE(bins.uncleared.size() == 1);
    CHECK(bins.uncleared[0].why == app::UnclearedLoad::Why::chance);
    CHECK(*bins.uncleared[0].exceedance == Approx(0.96));
    // Against the advice, so that nothing more comes on top of it until it is settled.
    const std::string against =
        "10.0 t of load L1 lie in it against the advice and uncleared: its own result is not over; by all that is "
        "known "
        "96 % chance over 1.0, and at most 5 % clears it";
    CHECK(closed_because(bins, "S") == against);
    app::QueueSettings asked;
    asked.season = 2026;
    app::QueueView queue = app::queue_of_season(data, bins, asked);
    CHECK(queue.frozen.empty());
    REQUIRE(queue.other_bins.size() == 1);
    REQUIRE(queue.other_bins[0].means.size() == 1);
    CHECK_THAT(queue.other_bins[0].means[0], Catch::Contains("L1 (10.0 t) lies in bin S uncleared"));
    // Who takes such grain as over has the bin closed by it, for one truck's advice as for the plan.
    settings.upper_cap = 0.5;
    for (const bool one_truck : {false, true}) {
        settings.next = one_truck ? std::optional<std::string>("L2") : std::nullopt;
        const app::BinsView closed = app::bins_of_season(data, view, settings, ask);
        CHECK(closed_because(closed, "S") ==
              "10.0 t of load L1 lie in it: its chance of being over 1.0, 96 %, is above the 50 % from which you take "
              "grain as over");
        CHECK(app::queue_of_season(data, closed, asked).frozen.size() == 1);
    }
    // Else one truck's advice asks the chances of such loads alone, and says so.
    settings.upper_cap.reset();
    const app::BinsView next = app::bins_of_season(data, view, settings, ask);
    CHECK_FALSE(next.chances_judged);
    CHECK(closed_because(next, "S") == against);
    // A load that went where it was advised and is no longer cleared closes nothing by its chance: what lay there when
    // it came did not thin it, and the bin's own cap says whether more may come.
    data.moves[0].advised_bin = "S";
    CHECK(closed_because(app::bins_of_season(data, view, settings, ask), "S").empty());
    settings.next.reset();
    const app::BinsView advised = app::bins_of_season(data, view, settings, ask);
    CHECK(closed_because(advised, "S").empty());
    REQUIRE(advised.uncleared.size() == 1);
    CHECK_FALSE(advised.uncleared[0].against_advice);
}

TEST_CASE(
    "against the advice is grain that lies where more is asked than where it was to go, until that is put right") {
    app::SeasonData data = pit_of({"L1"});
    const auto against = [&](int season = 2026) {
        const models::BinLedger ledger = models::ledger_of_possible_moves(data.bins, data.loads, data.moves);
        const auto lying = app::loads_under_limits(data, ledger, models::day_of(season, 7, 20));
        REQUIRE(lying.size() == 1);
        return lying[0].against_advice;
    };
    const auto dumped = [&](const char* into, const char* advised) {
        data.moves.clear();
        moved(data, "M1", "L1", into, july(10, 10), models::MoveKind::dumped, advised);
        return against();
    };
    CHECK_FALSE(dumped("S", ""));
    CHECK_FALSE(dumped("S", "S"));
    CHECK_FALSE(dumped("S", "T"));  // as good a bin as the one advised
    CHECK_FALSE(dumped("F", "S"));  // food grain among feed harms nobody's limit
    CHECK(dumped("F", "H"));
    CHECK(dumped("S", "H"));
    CHECK(dumped("S", "F"));
    // No bin was advised: whatever has a limit asks more. A move of which nobody asked the program says nothing
    // (above).
    CHECK(dumped("S", app::none_advised));
    CHECK(dumped("F", app::none_advised));
    dumped("S", "F");
    // What was seen later does not speak of the season before.
    data.moves[0].time = *models::parse_stamp("2027-07-10T10:00:00+02:00");
    CHECK_FALSE(against(2026));
    CHECK(against(2027));
    // Put right: it was moved on to the bin that it was to go into.
    dumped("S", "F");
    moved(data, "M2", "S", "F", july(10, 11), models::MoveKind::turned);
    CHECK_FALSE(against());
    // Moved on to another food bin it still lies where it was not to go.
    data.moves.back().to = "T";
    CHECK(against());
}
