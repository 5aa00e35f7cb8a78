#include "app/stages/load_advice.h"

#include <algorithm>
#include <filesystem>

#include <catch2/catch.hpp>
#include <imgui.h>
#include <nlohmann/json.hpp>
#include <unistd.h>

#include "app/commands/bins_command.h"
#include "app/stages/load_decision.h"
#include "app/stages/next_stage.h"
#include "app/stages/pit_stage.h"
#include "app/window/pit_arrival.h"
#include "app/window/rooms/pit_parts.h"
#include "app/workflow.h"
#include "geo/check.h"
#include "geo/import.h"
#include "geo/store/store.h"
#include "tests/app/loads_at_pit.h"
#include "tests/app/pit_at_window.h"

/// What somebody does with a truck now, above all with one that no bin takes: in the stage, at the command line and in
/// the window.
namespace {

using app::NextStep;
using Catch::Matchers::Contains;
using Catch::Matchers::StartsWith;
namespace fs = std::filesystem;

/// A mill without fields: a food bin of 60 t, a hold bin of 30 t, and bought trucks of 24 t.
class HoldMill {
 public:
    explicit HoldMill(const char* name)
        : folder_(fs::temp_directory_path() / (std::string("load_advice_") + name + std::to_string(::getpid()))) {
        fs::remove_all(folder_);
        fs::create_directories(folder_);
        file = folder_ / "mill.lodicule";
        geo::Store::create(file);
        add("bins", {{"bin", "M1"}, {"capacity_t", "60"}, {"purpose", "food"}, {"limit_id", "eu-food-wheat"}});
        add("bins", {{"bin", "H1"}, {"capacity_t", "30"}, {"purpose", "hold"}});
    }
    ~HoldMill() { fs::remove_all(folder_); }
    void add(const char* kind, const std::vector<std::pair<std::string, std::string>>& values) {
        geo::Store store = geo::Store::open(file);
        geo::add_row(store, kind, values);
    }
    void truck(const std::string& load, const std::string& time, const std::string& don = "") {
        add("loads", {{"load", load}, {"time", time}, {"commodity", "wheat"}, {"net_t", "24"}});
        if (don.empty()) return;
        add("samples", {{"sample", "S" + load}, {"stage", "truck"}, {"kind", "composite"}, {"load", load}});
        add("tests", {{"test", "T" + load}, {"time", time}, {"sample", "S" + load}, {"don", don}, {"unit", "mg/kg"}});
    }
    app::SeasonView look() const {
        app::Question question;
        question.upto = app::Upto::bins;
        return app::look_at_season(geo::Store::open(file, geo::Store::Access::read_only), question);
    }
    std::string bins(const std::vector<std::string>& more) const {
        std::vector<std::string> words{"bins", file.string(), "--season", "2026"};
        words.insert(words.end(), more.begin(), more.end());
        return pit_tests::run_command({app::commands::make_bins_command()}, std::move(words));
    }
    fs::path file;

 private:
    fs::path folder_;
};

bool says(const std::vector<std::string>& sentences, const std::string& words) {
    return std::any_of(sentences.begin(), sentences.end(),
                       [&](const std::string& one) { return one.find(words) != std::string::npos; });
}

models::Stamp at_time(const char* text) {
    return *models::parse_stamp(text);
}

}  // namespace

TEST_CASE("a truck that its strip alone condemns stays on the truck for a laboratory, and what could take it is said") {
    HoldMill mill("over");
    mill.truck("B2", "2026-08-01T10:00:00+02:00", "4.1");
    const app::SeasonView view = mill.look();
    const app::NextLoad next = app::next_load(view.data, *view.bins, "B2", false);
    CHECK(next.advised.empty());
    CHECK(next.advice.step == NextStep::laboratory);
    CHECK(next.advice.says == "no bin takes it now: keep it on the truck and have a laboratory test its sample SB2");
    CHECK(next.advice.why == "own strip 4.1 is over 1.0 (food)");
    CHECK(says(next.advice.ways,
               "H1 (hold) has room for 30.0 t, but hold is for grain that is undecided, and B2 is over for food"));
    CHECK(says(next.advice.ways, "M1 would take it only if a laboratory's test of the same sample met 1.0"));
    CHECK(next.advice.ways.back() == "if it cannot wait: turn it away, or find a buyer with a higher limit");
    // The command line and its JSON say the same.
    std::string flat = mill.bins({"--next", "B2"});
    std::replace(flat.begin(), flat.end(), '\n', ' ');
    CHECK_THAT(flat, Contains("What to do: " + next.advice.says + "."));
    for (const std::string& way : next.advice.ways) CHECK_THAT(flat, Contains("- " + way + "."));
    const auto json = nlohmann::json::parse(mill.bins({"--next", "B2", "--json"})).at("next");
    CHECK(json.at("step") == "laboratory");
    CHECK(json.at("do_now") == next.advice.says);
    CHECK(json.at("ways") == next.advice.ways);
    CHECK(json.at("holds").at("median_mg_per_kg") == *next.evidence.median_mg_per_kg);

    // A laboratory that agrees: no other test decides it.
    mill.add("tests", {{"test", "LB2"},
                       {"time", "2026-08-02T10:00:00+02:00"},
                       {"sample", "SB2"},
                       {"don", "3.8"},
                       {"unit", "mg/kg"},
                       {"method", "laboratory"}});
    const app::SeasonView after = mill.look();
    const app::NextLoad condemned = app::next_load(after.data, *after.bins, "B2", false);
    CHECK(condemned.advice.step == NextStep::turn_away);
    CHECK_THAT(condemned.advice.says, StartsWith("no bin here may take it: turn it away"));
}

TEST_CASE("a hold bin that is kept for others says for which trucks and how long they wait") {
    HoldMill mill("kept");
    mill.truck("C1", "2026-08-01T10:00:00+02:00");
    mill.truck("C2", "2026-08-01T12:00:00+02:00");
    const app::SeasonView view = mill.look();
    const auto next = [&](const char* load, const char* at) {
        return app::next_load(view.data, *view.bins, load, false, at_time(at));
    };
    const app::NextLoad held = next("C1", "2026-08-01T14:30:00+02:00");
    CHECK(held.advised == "H1");
    CHECK(held.advice.step == NextStep::dump);
    CHECK(held.advice.says == "on hold in H1 until it is settled: take a sample");
    CHECK(held.advice.ways.empty());
    const app::NextLoad left = next("C2", "2026-08-01T14:30:00+02:00");
    CHECK(left.advised.empty());
    CHECK(left.advice.step == NextStep::sample);
    CHECK(left.advice.says == "no bin takes it now: keep it on the truck and take a sample");
    CHECK(
        left.advice.ways.front() ==
        "H1 (hold) has room for 30.0 t, kept for C1: so the fewest trucks go without a place; the longest wait decides "
        "only between equal plans");
    // After days in the yard somebody should look whether they are there.
    const app::NextLoad stale = next("C2", "2026-08-05T12:00:00+02:00");
    CHECK(stale.advice.ways.back() == "it came 4 d 0 h ago: if it is gone, turn it away or withdraw it");
    app::QueueSettings queue;
    queue.season = 2026;
    queue.at = at_time("2026-08-01T14:30:00+02:00");
    CHECK(app::queue_of_season(view.data, *view.bins, queue).stale.says.empty());
    queue.at = at_time("2026-08-05T12:00:00+02:00");
    const app::StaleLoads told = app::queue_of_season(view.data, *view.bins, queue).stale;
    CHECK(told.loads == std::vector<std::string>{"C1", "C2"});
    CHECK(told.longest_h == Approx(98.0));
    REQUIRE(told.kept.size() == 1);
    CHECK(told.kept[0].bin == "H1");
    CHECK(told.kept[0].mass_t == Approx(24.0));
    CHECK(told.says ==
          "all 2 trucks have waited for more than 2 d 0 h, the first for 4 d 2 h: are they there at all? Turn away or "
          "withdraw those that are gone; until then the plan keeps room for them: H1 (24.0 t)");
    CHECK_THAT(mill.bins({"--queue", "--at", "2026-08-05T12:00:00+02:00"}), Contains("Look: all 2 trucks have waited"));
    CHECK_THAT(mill.bins({"--queue", "--at", "2026-08-05T12:00:00+02:00", "--json"}), Contains("\"waiting_too_long\""));
    // A sample that lies there is read, not taken again.
    mill.add("samples", {{"sample", "SC2"}, {"stage", "truck"}, {"kind", "composite"}, {"load", "C2"}});
    const app::SeasonView sampled = mill.look();
    const app::NextLoad read = app::next_load(sampled.data, *sampled.bins, "C2", false);
    CHECK(read.advice.step == NextStep::read);
    CHECK_THAT(read.advice.says, Contains("read its sample SC2"));
}

TEST_CASE("another sample pays only where it saves more than it costs") {
    HoldMill mill("costs");
    mill.truck("B1", "2026-08-01T08:00:00+02:00", "<0.2");
    mill.truck("B2", "2026-08-01T09:00:00+02:00", "4.1");
    mill.truck("C1", "2026-08-01T10:00:00+02:00");
    for (const auto& [name, value] :
         {std::pair{"wrong_acceptance_per_t", "40"}, std::pair{"wrong_rejection_per_t", "20"}, std::pair{"test", "10"},
          std::pair{"sample", "5"}})
        mill.add("costs", {{"name", name}, {"value", value}});
    const app::SeasonView cheap = mill.look();
    const app::NextLoad pays = app::next_load(cheap.data, *cheap.bins, "C1", false);
    REQUIRE(pays.second);
    CHECK(pays.in_money);
    CHECK(pays.test_cost == Approx(15.0));
    CHECK(pays.second->worth() > 15.0);
    CHECK(pays.second_pays);
    CHECK_THAT(pays.second_says, Contains(" and pays: the expected loss falls from ") &&
                                     Contains(" in the currency of the costs, and it costs 15"));
    app::SeasonView dear = cheap;
    for (models::Cost& cost : dear.data.costs)
        if (cost.name == "test") cost.value = pays.second->worth();
    const app::NextLoad costs = app::next_load(dear.data, *dear.bins, "C1", false);
    CHECK(costs.second->worth() == pays.second->worth());
    CHECK_FALSE(costs.second_pays);
    CHECK_THAT(costs.second_says, Contains(" and does not pay: the expected loss falls from "));
}

TEST_CASE("what a truck holds stands beside what its own strip and its field's other results read") {
    const pit_tests::PitFarm farm;
    app::Question question;
    question.upto = app::Upto::bins;
    question.season = 2025;
    const app::SeasonView view =
        app::look_at_season(geo::Store::open(farm.store(), geo::Store::Access::read_only), question);
    const auto evidence = [&](const char* load) { return app::next_load(view.data, *view.bins, load, false).evidence; };
    // T2 and T3 of the same field read 3.4 and 2.9; T4 is of two fields and speaks for neither.
    const app::LoadEvidence high = evidence("T5");
    CHECK(high.own_results == 1);
    CHECK_THAT(high.says, StartsWith("its strip reads 1.6, but ") &&
                              Contains(" other results of its field Mill Piece read about ") &&
                              Contains(": together "));
    CHECK(*high.low90_mg_per_kg < *high.median_mg_per_kg);
    CHECK(*high.median_mg_per_kg < *high.high90_mg_per_kg);
    CHECK(high.field_results == evidence("T8").field_results - 1);  // its own is none of the others
    CHECK_THAT(evidence("T8").says, StartsWith("it has no result of its own; "));
    CHECK_THAT(evidence("T1").says, StartsWith("its 2 results read below 0.20: with the season's other results "));
}

TEST_CASE("a bound among a field's results stays a bound in what is said of the truck") {
    app::SeasonData data = loads_at_pit::pit_of({"L1", "L2", "L3", "L4"});
    for (models::Load& load : data.loads) load.parts.emplace_back().field = "Long Acre";
    const Eigen::VectorXd draws = Eigen::VectorXd::Constant(100, 1.4);
    const auto read = [&](const std::string& load, double don, models::Reading reading) {
        loads_at_pit::sampled(data, "G-" + load, load, "", loads_at_pit::july(10, 9), don);
        data.tests.back().reading = reading;
    };
    const auto says = [&](const std::vector<models::OwnResult>& own) {
        return app::evidence_of_load(data, data.loads[0], own, draws).says;
    };
    using models::Reading;
    const models::OwnResult low{"T-1", Reading::value, 0.72}, high{"T-1", Reading::value, 3.4},
        coarse{"T-1", Reading::below, 2.5};
    read("L2", 2.5, Reading::below);
    CHECK(says({}) ==
          "it has no result of its own; another result of its field Long Acre reads below 2.5: so it holds about 1.4 "
          "mg/kg (90 %: 1.4 to 1.4)");
    // 0.72 may well be what "below 2.5" stands for, and 3.4 is not.
    CHECK_THAT(says({low}), StartsWith("its strip reads 0.72, and another result of its field Long Acre reads below"));
    CHECK_THAT(says({high}), StartsWith("its strip reads 3.4, but another result of its field Long Acre reads below"));
    CHECK_THAT(says({coarse}), StartsWith("its strip reads below 2.5, and another"));
    read("L3", 5.0, Reading::above);
    read("L4", 3.1, Reading::value);
    CHECK_THAT(says({low}), Contains(", but 3 other results of its field Long Acre read about 3.1: together"));
    data.tests.back().reading = Reading::above;
    CHECK_THAT(says({low}), Contains(", but 3 other results of its field Long Acre read above 3.1: together"));
    CHECK_THAT(says({low, high}), StartsWith("its 2 results read about 2.1, "));
}

TEST_CASE("when a truck came is typed as it is said and written as the tables have it") {
    using app::window::arrival_time_text, app::window::arrival_time_typed;
    using std::chrono::minutes;
    const models::Stamp came = at_time("2026-11-07T09:05:00+01:00");
    CHECK(arrival_time_text(came) == "7 Nov 2026 09:05");
    CHECK(arrival_time_typed("7 Nov 2026 09:05", minutes(60)) == came);
    CHECK(arrival_time_typed(" 7 Nov  2026  9:05", minutes(60)) == came);
    CHECK(models::to_text(*arrival_time_typed("7 Nov 2026 09:05", minutes(-210))) == "2026-11-07T09:05:00-03:30");
    CHECK(arrival_time_typed("2026-11-07T09:05:00+01:00", minutes(0)) == came);
    for (const char* none : {"", "noon", "31 Nov 2026 09:05", "7 Nov 2026 25:05", "7 Nov 09:05", "7 Nov 2026"}) {
        CAPTURE(none);
        CHECK_FALSE(arrival_time_typed(none, minutes(60)));
    }
    const app::SpokenIn german("de");
    CHECK_THAT(arrival_time_text(came), !Contains("7 Nov 2026"));
    CHECK(arrival_time_typed(arrival_time_text(came), minutes(60)) == came);
    CHECK(arrival_time_typed("7 Nov 2026 09:05", minutes(60)) == came);
}

TEST_CASE("the bin and its button are in sight at twice the size of text in a small window") {
    const pit_tests::PitFarm farm;
    pit_tests::AtThePit at(farm.store());
    at.choose("T1");
    at.window->bake(2.0 * at.window->brushes.fonts.text_px());
    for (const auto& [width, height] : {std::pair{1440.0F, 900.0F}, std::pair{1024.0F, 700.0F}}) {
        CAPTURE(width, height);
        ImGui::GetIO().DisplaySize = {width, height};
        at.window->frames(4);
        const double foot = at.window->places.find("queue")->y + at.window->places.find("queue")->height;
        for (const char* name : {"answer", "record", "another bin"}) {
            CAPTURE(name);
            const auto* place = at.window->places.find(name);
            REQUIRE(place != nullptr);
            CHECK(place->y + place->height <= foot + 1.0);
            CHECK(place->x + place->width <= static_cast<double>(width));
        }
    }
}

TEST_CASE("no box or button of a truck that comes moves when something of it is refused") {
    const pit_tests::PitFarm farm;
    pit_tests::AtThePit at(farm.store());
    at.window->press('A');
    at.window->frames(3);
    const auto before = at.window->places.all();
    at.window->click("arrival net_t");
    at.window->write("1,25");
    at.window->click("arrival yes");
    at.window->frames(3);
    REQUIRE(at.window->shows("arrival refused"));
    for (const char* name : {"arrival load", "arrival moisture_pct", "arrival parts", "arrival yes", "arrival no"}) {
        CAPTURE(name);
        CHECK(at.window->places.find(name)->y == before.at(name).y);
        CHECK(at.window->places.find(name)->x == before.at(name).x);
    }
}

TEST_CASE("a load that no bin was advised for and that went into one all the same is told and closes that bin") {
    HoldMill mill("none");
    mill.truck("C1", "2026-08-01T09:00:00+02:00");
    mill.truck("C2", "2026-08-01T10:00:00+02:00", "0.85");
    const app::SeasonView before = mill.look();
    const app::NextLoad next = app::next_load(before.data, *before.bins, "C2", false);
    REQUIRE(next.advised.empty());
    REQUIRE(app::choice_named(next, "M1")->not_cleared);
    const std::vector<std::string> record{"--next",
                                          "C2",
                                          "--record",
                                          "M1",
                                          "--happened",
                                          "--reason",
                                          "gate",
                                          "--operator",
                                          "Ada",
                                          "--at",
                                          "2026-08-01T11:00:00+02:00"};
    std::string said = mill.bins(record);
    std::replace(said.begin(), said.end(), '\n', ' ');
    INFO(said);
    // Its own strip meets the limit, and yet it is not cleared by all that is known.
    CHECK_THAT(said, Contains("Caution: load C2 is not cleared for M1: "));
    CHECK_THAT(said, Contains("No bin was advised."));
    geo::Store store = geo::Store::open(mill.file);
    REQUIRE(store.moves().size() == 1);
    CHECK(store.moves()[0].advised_bin == app::none_advised);
    for (const geo::CheckFinding& finding : geo::check_store(store)) {
        INFO(finding.what << ": " << finding.detail);
        CHECK(finding.good);
    }
    const app::SeasonView after = mill.look();
    REQUIRE(after.bins->uncleared.size() == 1);
    CHECK(after.bins->uncleared[0].against_advice);
    CHECK_THAT(loads_at_pit::closed_because(*after.bins, "M1"),
               Contains("of load C2 lie in it against the advice and uncleared"));
    app::QueueSettings queue;
    queue.season = 2026;
    const app::QueueView seen = app::queue_of_season(after.data, *after.bins, queue);
    REQUIRE(seen.other_bins.size() == 1);
    CHECK(seen.other_bins[0].advised == app::none_advised);
    CHECK(seen.other_bins[0].means.size() == 1);

    // The same move as somebody wrote it who had not asked: nothing of the program's advice was passed over.
    HoldMill imported("imported");
    imported.truck("C1", "2026-08-01T09:00:00+02:00");
    imported.truck("C2", "2026-08-01T10:00:00+02:00", "0.85");
    imported.add("moves", {{"move", "M1"},
                           {"time", "2026-08-01T11:00:00+02:00"},
                           {"from", "C2"},
                           {"to", "M1"},
                           {"mass_t", "24"},
                           {"reason", "gate"}});
    const app::SeasonView unasked = imported.look();
    REQUIRE(unasked.bins->uncleared.size() == 1);
    CHECK_FALSE(unasked.bins->uncleared[0].against_advice);
    CHECK(loads_at_pit::closed_because(*unasked.bins, "M1").empty());
    CHECK(app::queue_of_season(unasked.data, *unasked.bins, queue).other_bins.empty());
}

namespace {

/// The bins of a pit whose loads hold what is said, and the advice for one of them.
app::NextLoad next_of(const app::SeasonData& data, const std::string& load,
                      const std::vector<std::pair<double, int>>& contents) {
    app::ContaminationView view;
    for (std::size_t l = 0; l < data.loads.size(); ++l) {
        view.load_of.push_back(l);
        view.input.loads.push_back({data.loads[l].load, {}});
    }
    const auto ask = [&](const app::FitAsked& asked) {
        app::GrainFit fit;
        fit.known = true;
        fit.worlds.draws = asked.draws;
        Eigen::VectorXd draws(asked.draws);
        Eigen::Index i = 0;
        while (i < draws.size())
            for (const auto& [mg_per_kg, times] : contents)
                for (int k = 0; k < times && i < draws.size(); ++k) draws[i++] = mg_per_kg;
        for (std::size_t l = 0; l < data.loads.size(); ++l) fit.worlds.loads[l] = draws;
        return fit;
    };
    app::BinsSettings settings;
    settings.season = 2026;
    settings.draws = 2000;
    return app::next_load(data, app::bins_of_season(data, view, settings, ask), load, false);
}

}  // namespace

TEST_CASE("no sample is advised that would hardly clear a truck, and heading, step and last line say one thing") {
    app::SeasonData data = loads_at_pit::pit_of({"L1", "L2"});
    std::erase_if(data.bins, [](const models::Bin& bin) { return bin.bin == "F"; });
    data.bins.back().capacity_t = 10.0;  // on hold there is room for one
    const app::NextLoad held = next_of(data, "L1", {{1.4, 1}});
    REQUIRE(held.second);
    CHECK(held.second->clears < 0.05);
    CHECK(held.advised == "H");
    CHECK(
        held.advice.says ==
        "over 99 % chance over 1.0 (food): a strip would hardly clear it (under 1 % chance); hold it in H, or turn it "
        "away");
    CHECK_THAT(held.second_says, Contains("would hardly help"));
    const app::NextLoad left = next_of(data, "L2", {{1.4, 1}});
    REQUIRE(left.advised.empty());
    CHECK(left.advice.step == NextStep::turn_away);
    CHECK(
        left.advice.says ==
        "over 99 % chance over 1.0 (food): a strip would hardly clear it (under 1 % chance); turn it away, or hold it "
        "where there is room");
    CHECK_FALSE(says(left.advice.ways, "sample"));
    // More likely good than not, and no strip can tell: that is no reason to turn it away.
    const app::NextLoad close = next_of(data, "L2", {{0.95, 4}, {1.05, 1}});
    REQUIRE(close.advised.empty());
    CHECK(close.advice.step == NextStep::laboratory);
    CHECK_THAT(close.advice.says,
               StartsWith("20 % chance over 1.0 (food): a strip would hardly clear it (") &&
                   Catch::Matchers::EndsWith("; keep it on the truck and have a laboratory test it"));
    // A strip that is likely to clear it is advised as before.
    const app::NextLoad open = next_of(data, "L2", {{0.3, 4}, {3.0, 1}});
    CHECK(open.advice.step == NextStep::sample);
    CHECK_THAT(open.advice.says, Contains("take a sample (80 % chance that it clears it for S)"));
    // A sample that was taken is read, whatever it is likely to say.
    loads_at_pit::sampled(data, "G2", "L2", "", loads_at_pit::july(10, 9), std::nullopt);
    const app::NextLoad taken = next_of(data, "L2", {{1.4, 1}});
    CHECK(taken.advice.step == NextStep::read);
    CHECK(taken.second_says == "the result of G2 clears it with a chance of under 1 % only");
}

TEST_CASE("a sample that would hardly clear a truck for food is asked what it says for feed") {
    app::SeasonData data = loads_at_pit::pit_of({"L1", "L2"});
    for (models::Bin& bin : data.bins)
        if (bin.bin == "H") bin.capacity_t = 10.0;
    const app::NextLoad next = next_of(data, "L2", {{2.0, 2}, {7.0, 1}});
    REQUIRE(next.advised.empty());
    CHECK(next.no_test_for == std::vector<models::Purpose>{models::Purpose::food});
    CHECK(next.second_bin == "F");
    CHECK(next.advice.step == NextStep::sample);
    CHECK_THAT(next.advice.says, Contains("take a sample (") && Contains("that it clears it for F)"));
    CHECK_THAT(next.second_says, StartsWith("a first sample would clear it for feed with a chance of "));
    // Where no bin for feed has room it would give the truck no place.
    for (models::Bin& bin : data.bins)
        if (bin.bin == "F") bin.capacity_t = 4.0;
    const app::NextLoad shut = next_of(data, "L2", {{2.0, 2}, {7.0, 1}});
    CHECK(shut.second_bin != "F");
    CHECK(shut.advice.step == NextStep::turn_away);
    CHECK_THAT(shut.advice.says, Contains("a strip would hardly clear it"));
}

TEST_CASE("bins that are out of the question are named with their reasons, those of one reason together") {
    app::SeasonData data = loads_at_pit::pit_of({"L1"});
    for (models::Bin& bin : data.bins) {
        if (bin.bin == "S" || bin.bin == "T") bin.keep_apart = "durum";
        if (bin.bin == "F") bin.capacity_t = 4.0;
    }
    CHECK(next_of(data, "L1", {{0.3, 1}}).advice.elsewhere == "S, T (kept for durum); F (too full)");
    data.loads[0].keep_apart = "durum";
    data.bins[2].capacity_t = 100.0;
    CHECK(next_of(data, "L1", {{0.3, 1}}).advice.elsewhere.empty());
    // What keeps it out of a bin on hold that others have is said as well.
    data = loads_at_pit::pit_of({"L1", "L2", "L3"});
    data.loads[0].keep_apart = "organic";
    data.bins.back().capacity_t = 20.0;
    const app::NextLoad organic = next_of(data, "L1", {{0.3, 1}, {5.0, 1}});
    REQUIRE(organic.advised.empty());
    CHECK(says(organic.advice.ways,
               "H (hold) has room for 20.0 t, kept for L2 and L3, which it may not join: so the fewest trucks go "
               "without a place"));
}

TEST_CASE("what is advised has the button that stands out, and a laboratory is sent the sample that is there") {
    HoldMill mill("button");
    mill.truck("B2", "2025-08-01T09:00:00+02:00", "4.1");
    pit_tests::AtThePit at(mill.file);
    at.choose("B2");
    REQUIRE(at.pit().truck->next->advice.step == NextStep::laboratory);
    CHECK_THAT(at.pit().truck->next->advice.says, Contains("have a laboratory test its sample SB2"));
    at.window->places.note_texts();
    at.window->frames(2);
    const auto shown = [&](const std::string& words) {
        return std::any_of(at.window->places.texts()->begin(), at.window->places.texts()->end(),
                           [&](const auto& text) { return text.words == words; });
    };
    // Another sample is not what is advised: it stands behind what can be done at once.
    CHECK(shown("Take another sample ..."));
    CHECK(at.window->places.find("take sample")->x > at.window->places.find("turn away")->x);
    at.window->click("take sample");
    at.window->frames(2);
    REQUIRE(at.pit().asks);
    CHECK(at.pit().asks->kind == app::window::PitQuestion::Kind::sample);
    CHECK_THAT(
        app::window::question_in_words(*at.window->session, *at.pit().asks),
        StartsWith("Record that a sample of load B2 was taken, with the code ") && Catch::Matchers::EndsWith("?"));
}

TEST_CASE("the button for a sample says what it is for and stands out where it is advised") {
    const auto button = [](NextStep step, bool sampled) {
        const app::window::SampleButton one = app::window::sample_button(step, sampled);
        return std::string(one.advised ? "advised: " : "") + models::spoken(*one.words);
    };
    CHECK(button(NextStep::laboratory, false) == "advised: Take a sample for the laboratory ...");
    CHECK(button(NextStep::laboratory, true) == "Take another sample ...");
    CHECK(button(NextStep::sample, false) == "advised: Take a sample ...");
    CHECK(button(NextStep::sample, true) == "advised: Take another sample ...");
    CHECK(button(NextStep::dump, false) == "Take a sample ...");
}

TEST_CASE("a bin that is closed is called closed though it has no room either") {
    app::Question question;
    question.season = 2026;
    question.upto = app::Upto::bins;
    const app::SeasonView view =
        app::look_at_season(geo::Store::open(tests::demo_store(), geo::Store::Access::read_only), question);
    const app::NextLoad next = app::next_load(view.data, *view.bins, "W26-35", false);
    const auto s1 =
        std::find_if(next.choices.begin(), next.choices.end(), [](const auto& one) { return one.bin == "S1"; });
    REQUIRE(s1 != next.choices.end());
    REQUIRE(s1->too_small);
    REQUIRE_FALSE(s1->closed_because.empty());
    CHECK_THAT(next.advice.elsewhere, Contains("S1, ") && Contains("(closed)") && !Contains("too full"));
}
