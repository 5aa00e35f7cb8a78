#include <algorithm>
#include <filesystem>
#include <tuple>

#include <catch2/catch.hpp>
#include <unistd.h>

#include "app/commands/bins_command.h"
#include "app/commands/record_cautions.h"
#include "app/stages/next_stage.h"
#include "app/stages/outbound_stage.h"
#include "app/stages/pit_stage.h"
#include "app/workflow.h"
#include "geo/import.h"
#include "geo/store/store.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"
#include "tests/app/captured_output.h"
#include "tests/app/loads_at_pit.h"

namespace {

namespace fs = std::filesystem;
using namespace loads_at_pit;

/// A mill without fields: bought loads, one food bin, one for feed, one to hold; B1 is low, B2 high, B3 not tested.
class Mill {
 public:
    explicit Mill(const char* name)
        : folder_(fs::temp_directory_path() / (std::string("pit_test_") + name + std::to_string(::getpid()))) {
        fs::remove_all(folder_);
        fs::create_directories(folder_);
        store = (folder_ / "mill.lodicule").string();
        geo::Store made = geo::Store::create(store);
        const auto add = [&](const char* kind, std::vector<std::pair<std::string, std::string>> values) {
            geo::add_row(made, kind, values);
        };
        add("bins", {{"bin", "M1"},
                     {"capacity_t", "60"},
                     {"purpose", "food"},
                     {"limit_id", "eu-food-wheat"},
                     {"draw_off", "first_in"}});
        add("bins", {{"bin", "O1"},
                     {"capacity_t", "60"},
                     {"purpose", "food"},
                     {"limit_id", "eu-food-wheat"},
                     {"keep_apart", "organic"}});
        add("bins", {{"bin", "H1"}, {"capacity_t", "30"}, {"purpose", "hold"}});
        for (const auto& [load, don] : {std::pair{"B1", "<0.2"}, std::pair{"B2", "4.1"}, std::pair{"B3", ""}}) {
            const std::string of = load;
            add("loads",
                {{"load", of}, {"time", "2026-08-01T10:00:00+02:00"}, {"commodity", "wheat"}, {"net_t", "24"}});
            if (*don == '\0') continue;
            add("samples",
                {{"sample", "S" + of}, {"stage", "truck"}, {"kind", "composite"}, {"load", of}, {"increments", "10"}});
            add("tests", {{"test", "T" + of},
                          {"time", "2026-08-01T10:20:00+02:00"},
                          {"sample", "S" + of},
                          {"don", don},
                          {"unit", "mg/kg"}});
        }
    }
    ~Mill() { fs::remove_all(folder_); }

    /// What is printed; `code` is what the command returns.
    std::string bins(std::vector<std::string> words) {
        words.insert(words.begin(), {"lodicule", "bins", store, "--season", "2026"});
        std::vector<const char*> bare;
        for (const std::string& word : words) bare.push_back(word.c_str());
        const tests::CapturedOutput out(stdout), error(stderr);
        code = app::run_command_line({app::commands::make_bins_command()}, static_cast<int>(bare.size()), bare.data());
        return out.text() + error.text();
    }
    geo::Store open() const { return geo::Store::open(store, geo::Store::Access::read_only); }

    std::string store;
    int code = -1;

 private:
    fs::path folder_;
};

}  // namespace

TEST_CASE("a probe of a bin that reads over closes it and the bin that its grain is turned into") {
    app::SeasonData data = pit_of({"L1", "L2"});
    sampled(data, "G1", "L1", "", july(10, 9), 0.4);
    moved(data, "M1", "L1", "S", july(10, 10));
    CHECK(closed_because(bins_of(data), "S").empty());
    sampled(data, "P1", "", "S", july(11, 8), 1.6);
    CHECK(closed_because(bins_of(data), "S") == "its probe P1 is over (test T-P1)");
    moved(data, "M2", "S", "T", july(11, 9), models::MoveKind::turned);
    const app::BinsView turned = bins_of(data);
    CHECK(closed_because(turned, "S").empty());
    CHECK(closed_because(turned, "T") == "10.0 t in it lay in S when its probe P1 was over (test T-P1)");
    // A laboratory that tests the same probe stands in the strip's place; a second probe under does not.
    sampled(data, "P2", "", "T", july(11, 10), 0.3);
    CHECK_FALSE(closed_because(bins_of(data), "T").empty());
    models::Test laboratory;
    laboratory.test = "LAB";
    laboratory.sample = "P1";
    laboratory.method = models::Method::laboratory;
    laboratory.don_mg_per_kg = 0.7;
    laboratory.time = july(12, 8);
    data.tests.push_back(laboratory);
    CHECK(closed_because(bins_of(data), "T").empty());
    // Of grain that came in after the probe it says nothing.
    moved(data, "M3", "L2", "S", july(11, 12));
    CHECK(closed_because(bins_of(data), "S").empty());
}

TEST_CASE("a probe corrects what is thought of an opening content and one that contradicts it closes the bin") {
    app::SeasonData data = pit_of({});
    data.bins[0].opening_mass_t = 40.0;
    data.bins[0].opening_mean_mg_per_kg = 1.3;
    data.bins[0].opening_sd_mg_per_kg = 0.6;
    const double before = bins_of(data).plan.bins[0].mean_mg_per_kg.value();
    CHECK(before == Approx(1.3).epsilon(0.0).margin(0.05));
    sampled(data, "P1", "", "S", july(11, 8), 0.5);
    const app::BinsView probed = bins_of(data);
    CHECK(probed.plan.bins[0].mean_mg_per_kg.value() < 0.85);
    CHECK(probed.plan.bins[0].mean_mg_per_kg.value() > 0.65);
    CHECK_THAT(app::in_words(probed.probes.at(0)),
               Catch::StartsWith("probe P1 of bin S: by its loads the bin held 1.3"));
    data.bins[0].opening_mean_mg_per_kg = 0.1;
    data.bins[0].opening_sd_mg_per_kg = 0.02;
    data.tests[0].don_mg_per_kg = 0.95;
    data.tests[0].portion_g = 500.0;  // a strip of 25 g is so unsure at 0.1 that it contradicts next to nothing
    data.samples[0].mass_g = 5000.0;
    const app::BinsView contradicted = bins_of(data);
    CHECK(closed_because(contradicted, "S") == "its probe P1 and its loads contradict one another");
    CHECK(contradicted.plan.bins[0].mean_mg_per_kg.value() == Approx(0.1).epsilon(0.0).margin(0.01));
    // A probe before anything lay there counts for nothing.
    data.samples[0].bin = "T";
    CHECK(app::in_words(bins_of(data).probes.at(0)) ==
          "probe P1 of bin T counts for nothing: by the moves the bin was empty then");
}

TEST_CASE("loads wait by age, each with its state and what it waits for") {
    app::SeasonData data = pit_of({"L1", "L2", "L3", "L4", "L5", "L6"});
    data.loads[1].time = july(10, 6);
    sampled(data, "G2", "L2", "", july(10, 9), std::nullopt);
    sampled(data, "G3", "L3", "", july(10, 9), 0.4);
    data.loads[3].status = models::LoadStatus::directed;
    moved(data, "M1", "L5", "S", july(10, 12));
    data.loads[5].status = models::LoadStatus::dumped;
    const app::QueueView queue = queue_of(data);
    REQUIRE(queue.waiting.size() == 4);
    CHECK(queue.waiting[0].load == "L2");
    CHECK(queue.waiting[0].waits_h.value() == Approx(6.0));
    CHECK(queue.waiting[0].waits_for == "the result of G2");
    CHECK(queue.waiting[0].state.status == models::LoadStatus::probed);
    CHECK(queue.waiting[0].state.derived);
    CHECK(queue.waiting[1].load == "L1");
    CHECK(queue.waiting[1].waits_for == "a probe");
    CHECK(queue.waiting[2].waits_for == "a decision");
    CHECK(queue.waiting[3].waits_for == "to be dumped");
    CHECK(queue.waiting[3].told ==
          "load L4 was directed and nothing of it was moved; the last word of it is 4 h 00 min old");
    CHECK(queue.at_last_record);
    CHECK(queue.odd ==
          std::vector<std::string>{"load L5: its status still says arrived, and by the moves it was dumped",
                                   "load L6: its status says dumped, and no move says into which bin"});
    CHECK(queue_of(data, july(10, 10)).waiting[3].told.empty());
}

TEST_CASE("a result after dumping finds its bin and freezes what that bin is for") {
    app::SeasonData data = pit_of({"L1", "L2"});
    moved(data, "M1", "L1", "S", july(10, 10));
    moved(data, "M2", "L2", "T", july(10, 11));
    sampled(data, "G1", "L1", "", july(10, 12), 1.8);
    sampled(data, "G2", "L2", "", july(10, 13), 0.5);
    app::QueueView queue = queue_of(data);
    REQUIRE(queue.late.size() == 2);
    CHECK(queue.late[0].load == "L1");
    CHECK(queue.late[0].bin == "S");
    CHECK(queue.late[0].over);
    CHECK(queue.late[0].says == "1.8 is over 1.0: nothing more into S");
    CHECK(queue.late[1].says == "0.5 meets 1.0");
    REQUIRE(queue.frozen.size() == 1);
    CHECK(queue.frozen[0].bin == "S");
    CHECK(queue.frozen[0].because == "10.0 t of load L1 by test T-G1");
    CHECK(queue.frozen[0].may_become ==
          std::vector<models::Purpose>{models::Purpose::feed, models::Purpose::other, models::Purpose::hold});
    CHECK_FALSE(closed_because(bins_of(data), "S").empty());
    // Worsened to feed, its limit is met, and the bin may be filled again.
    data.bins[0].purpose = models::Purpose::feed;
    data.bins[0].limit_id = "feed";
    CHECK(queue_of(data).frozen.empty());
    CHECK(closed_because(bins_of(data), "S").empty());
    // What left is told, too.
    moved(data, "M3", "S", "out", july(11, 8), models::MoveKind::withdrawn);
    queue = queue_of(data);
    CHECK(queue.late[0].bin == "out");
    CHECK(queue.late[0].says == "left bin S with move M3: tell who has it");
}

TEST_CASE("a bin that was used against the advice is told with what that means until it is put right") {
    app::SeasonData data = pit_of({"L1"});
    sampled(data, "G1", "L1", "", july(10, 9), 1.8);
    moved(data, "M1", "L1", "S", july(10, 10), models::MoveKind::dumped, "H");
    const app::QueueView queue = queue_of(data);
    REQUIRE(queue.other_bins.size() == 1);
    CHECK(queue.other_bins[0].advised == "H");
    CHECK(queue.other_bins[0].means ==
          std::vector<std::string>{
              "load L1 (10.0 t) lies in bin S uncleared: its test T-G1 is over (over 1.0 mg/kg breaks the limit)"});
    // It is of the season of its load: the queue of another harvest says nothing of it.
    app::QueueSettings before;
    before.season = 2025;
    CHECK(app::queue_of_season(data, bins_of(data), before).other_bins.empty());
    moved(data, "M2", "L1", "H", july(10, 11), models::MoveKind::corrected);
    const app::QueueView after = queue_of(data);
    CHECK(after.other_bins[0].put_right);
    CHECK(after.other_bins[0].means.empty());
    CHECK(after.frozen.empty());
}

TEST_CASE("a contract under the legal limit rejects lots that the law would pass") {
    app::SeasonData data = pit_of({});
    data.bins[0].opening_mass_t = 60.0;
    data.bins[0].opening_mean_mg_per_kg = 0.6;
    data.bins[0].opening_sd_mg_per_kg = 0.1;
    data.bins[2].opening_mass_t = 10.0;
    const app::BinsView bins = bins_of(data);
    app::OutboundAsked asked;
    asked.lot_t = 25.0;
    const app::OutboundView own = app::outbound_of_bins(data, bins, 2026, asked);
    REQUIRE(own.bins.size() == 2);
    REQUIRE(own.bins[0].ways.size() == 1);
    CHECK(own.bins[0].ways[0].lots.size() == 3);
    CHECK(own.bins[1].why_not == "nothing is known of opening of F");
    asked.limit = "0.5";
    asked.from = "S";
    const app::OutboundView contract = app::outbound_of_bins(data, bins, 2026, asked);
    REQUIRE(contract.bins.size() == 1);
    CHECK(contract.bins[0].ways[0].rejected_lots > own.bins[0].ways[0].rejected_lots + 1.0);
    asked.from = "Q";
    CHECK_THROWS_WITH(app::outbound_of_bins(data, bins, 2026, asked), Catch::Contains("there is no bin \"Q\""));
    asked.from = "H";
    CHECK_THROWS_WITH(app::outbound_of_bins(data, bins, 2026, asked), Catch::Contains("bin H is empty"));
}

TEST_CASE("an unknown way of drawing off gives the range and a limit on dry matter its own basis") {
    app::SeasonData data = pit_of({"L1", "L2"});
    data.bins[0].opening_mass_t = 25.0;
    data.bins[0].opening_mean_mg_per_kg = 0.9;
    data.bins[0].opening_sd_mg_per_kg = 0.1;
    data.bins[0].draw_off = models::DrawOff::unknown;
    app::OutboundAsked asked;
    asked.lot_t = 25.0;
    asked.from = "S";
    const app::OutboundView as_is = app::outbound_of_bins(data, bins_of(data), 2026, asked);
    REQUIRE(as_is.bins[0].ways.size() == 3);
    data.limits[0].basis = models::Basis::dry;
    data.loads[0].moisture_pct = 20.0;  // the median that stands in for grain nobody weighed in
    const app::OutboundView dry = app::outbound_of_bins(data, bins_of(data), 2026, asked);
    CHECK(dry.bins[0].ways[0].lots[0].mean_mg_per_kg ==
          Approx(as_is.bins[0].ways[0].lots[0].mean_mg_per_kg / 0.8).epsilon(0.0).margin(1e-9));
    CHECK(dry.bins[0].ways[0].rejected_lots > as_is.bins[0].ways[0].rejected_lots);
}

TEST_CASE("a buyer's plan is read by its parts and a slip in it is named") {
    const models::SamplingPlan plan =
        app::buyer_plan_from_text("increments=40,mass_g=3000,portion_g=50.5,analyses=2", {});
    CHECK(plan.increments == 40);
    CHECK(plan.sample_mass_g == 3000.0);
    CHECK(plan.portion_g == 50.5);
    CHECK(plan.analyses == 2);
    CHECK(plan.samples == 1);
    CHECK_THROWS_WITH(
        app::buyer_plan_from_text("increment=40", {}),
        Catch::Contains("\"increment=40\" is no part of a buyer's plan") && Catch::Contains("increments"));
    CHECK_THROWS_WITH(app::buyer_plan_from_text("mass_g=-5", {}), Catch::Contains("\"-5\" is no mass_g"));
    CHECK_THROWS_WITH(app::buyer_plan_from_text("analyses=1.5", {}), Catch::Contains("1.5 analyses are not whole"));
    CHECK_THROWS_WITH(app::buyer_plan_from_text("", {}), Catch::Contains("is no part of a buyer's plan"));
}

TEST_CASE("advice is recorded with who decided and the load's status in one go") {
    Mill mill("record");
    const std::string said =
        mill.bins({"--next", "B1", "--record", "M1", "--operator", "Ada", "--at", "2026-08-01T11:00:00+02:00"});
    INFO(said);
    REQUIRE(mill.code == 0);
    CHECK_THAT(said, Catch::Contains("Recorded: 24 t of load B1 into bin M1 with move M1, 2026-08-01T11:00:00+02:00."));
    CHECK_THAT(said, Catch::Contains("Advised: M1, and followed."));
    const geo::Store store = mill.open();
    REQUIRE(store.moves().size() == 1);
    CHECK(store.moves()[0].advised_bin == "M1");
    CHECK(store.moves()[0].operator_name == "Ada");
    CHECK(store.loads()[0].status == models::LoadStatus::dumped);
}

TEST_CASE("what breaks a hard rule is not recorded unless it has happened and says why") {
    Mill mill("rules");
    const std::string at = "2026-08-01T11:00:00+02:00";
    std::string said = mill.bins({"--next", "B2", "--record", "M1", "--at", at});
    CHECK(mill.code == 1);
    CHECK_THAT(said, Catch::Contains("load B2 does not go into M1: own strip 4.1 is over 1.0"));
    CHECK_THAT(said, Catch::Contains("--happened --reason WHY"));
    said = mill.bins({"--next", "B1", "--record", "O1", "--at", at});
    CHECK(mill.code == 1);
    CHECK_THAT(said, Catch::Contains("bin O1 keeps organic apart, and it is wheat without a tag"));
    said = mill.bins({"--next", "B3", "--record", "M1", "--at", at});
    CHECK(mill.code == 1);
    CHECK_THAT(said, Catch::Contains("load B3 does not go into M1") && Catch::Contains("take a sample"));
    said = mill.bins({"--next", "B1", "--record", "M9", "--at", at});
    CHECK_THAT(said, Catch::Contains("there is no bin \"M9\""));
    said = mill.bins({"--next", "B1", "--record", "M1", "--mass", "-3", "--at", at});
    CHECK_THAT(said, Catch::Contains("a mass of -3 t cannot be moved"));
    said = mill.bins({"--next", "B1", "--record", "M1", "--mass", "240", "--at", at});
    CHECK(mill.code == 1);
    CHECK_THAT(said, Catch::Contains("240.0 t are to leave load B1, which has 24.0 t left of its 24.0 t"));
    said = mill.bins({"--next", "B9", "--record", "M1", "--at", at});
    CHECK_THAT(said, Catch::Contains("there is no load \"B9\""));
    said = mill.bins({"--next", "B2", "--record", "M1", "--happened", "--at", at});
    CHECK_THAT(said, Catch::Contains("what happened is recorded with its reason: --reason WHY"));
    CHECK(mill.open().moves().empty());
    CHECK(mill.open().loads()[0].status == models::LoadStatus::arrived);  // nothing half done
    said = mill.bins({"--next", "B2", "--record", "M1", "--happened", "--reason", "slide stuck", "--at", at});
    INFO(said);
    CHECK(mill.code == 0);
    CHECK_THAT(said, Catch::Contains("Caution: load B2 (24.0 t) lies in bin M1 uncleared: its test TB2 is over"));
    CHECK(mill.open().moves().at(0).reason == "slide stuck");
    CHECK(mill.open().loads().at(1).status == models::LoadStatus::dumped);
    said = mill.bins({"--next", "B3", "--record", "out", "--at", at});
    CHECK(mill.code == 0);
    CHECK_THAT(said, Catch::Contains("turned away with move M2"));
    CHECK(mill.open().loads().at(2).status == models::LoadStatus::turned_away);
}

TEST_CASE("a load that is sent to a bin is kept as directed with that bin and the queue shows it until it is dumped") {
    Mill mill("direct");
    const std::string at = "2026-08-01T11:00:00+02:00";
    std::string said = mill.bins({"--next", "B1", "--direct", "M1", "--operator", "Ada"});
    INFO(said);
    REQUIRE(mill.code == 0);
    CHECK_THAT(said, Catch::Contains("Load B1 is sent to bin M1; it is not dumped yet.") &&
                         Catch::Contains("Advised: M1, and followed."));
    CHECK(mill.open().moves().empty());
    CHECK(mill.open().loads()[0].status == models::LoadStatus::directed);
    said = mill.bins({"--queue", "--at", at});
    CHECK_THAT(said, Catch::Contains("directed") && Catch::Contains("to be dumped in M1"));
    CHECK_THAT(said, !Catch::Contains("was sent to"));
    CHECK_THAT(mill.bins({"--queue", "--at", at, "--json"}), Catch::Contains("\"directed_bin\": \"M1\""));
    // Elsewhere than advised: told when it is written, and in the queue.
    said = mill.bins({"--next", "B1", "--direct", "H1"});
    REQUIRE(mill.code == 0);
    CHECK_THAT(said, Catch::Contains("Advised: M1, not followed.") && Catch::Contains("no reason is written"));
    CHECK_THAT(mill.bins({"--queue", "--at", at}),
               Catch::Contains("load B1 was sent to H1, and by what is known now the plan says M1:"));
    // Dumped, it is directed no more.
    mill.bins({"--next", "B1", "--record", "M1", "--at", at});
    REQUIRE(mill.code == 0);
    CHECK(mill.open().loads()[0].status == models::LoadStatus::dumped);
    CHECK_THAT(mill.bins({"--queue", "--at", at}), !Catch::Contains("to be dumped"));
    CHECK_THAT(mill.bins({"--next", "B1", "--direct", "M1"}), Catch::Contains("load B1 does not wait any more"));
}

TEST_CASE("a load is not sent where it may not lie nor with what belongs to a move") {
    Mill mill("direct_rules");
    std::string said = mill.bins({"--next", "B2", "--direct", "M1"});
    CHECK(mill.code == 1);
    CHECK_THAT(said, Catch::Contains("load B2 does not go into M1: own strip 4.1 is over 1.0") &&
                         Catch::Contains("take another bin"));
    CHECK_THAT(mill.bins({"--next", "B1", "--direct", "M9"}), Catch::Contains("there is no bin \"M9\""));
    CHECK_THAT(mill.bins({"--next", "B1", "--direct", "out"}),
               Catch::Contains("a load is not sent out of the gate ahead") && Catch::Contains("--record out"));
    CHECK_THAT(mill.bins({"--direct", "M1"}), Catch::Contains("name it: --next LOAD"));
    CHECK_THAT(mill.bins({"--next", "B1", "--direct", "M1", "--record", "M1"}),
               Catch::Contains("give --direct BIN first, and --record BIN once it is dumped"));
    CHECK_THAT(mill.bins({"--next", "B1", "--direct", "M1", "--mass", "3"}),
               Catch::Contains("--mass belongs to a move, and a load that is sent has not moved"));
    CHECK_THAT(mill.bins({"--next", "B1", "--direct", "M1", "--happened"}), Catch::Contains("--happened belongs to a"));
    CHECK(mill.open().loads()[0].status == models::LoadStatus::arrived);
}

TEST_CASE("rows that belong together go in together or not at all") {
    Mill mill("together");
    geo::Store store = geo::Store::open(mill.store);
    const geo::RowToWrite good{
        "moves",
        {{"move", "M1"}, {"time", "2026-08-01T11:00:00+02:00"}, {"from", "B1"}, {"to", "M1"}, {"mass_t", "24"}}};
    CHECK_THROWS_WITH(geo::write_rows(store, {good, {"moves", {{"move", "M2"}, {"from", "B1"}}}}),
                      Catch::Contains("time"));
    CHECK(store.moves().empty());
    const auto reports = geo::write_rows(store, {good});
    CHECK(reports.at(0).added == 1);
    CHECK(store.moves().size() == 1);
}

TEST_CASE("a step that a load does not take and a purpose that its grain forbids are told to who writes them") {
    Mill mill("steps");
    geo::Store store = geo::Store::open(mill.store);
    geo::ImportOptions correct;
    correct.correct_because = "slip";
    const auto told = [&](const char* kind, const std::vector<std::pair<std::string, std::string>>& values) {
        return app::commands::cautions_of_records(store, geo::add_row(store, kind, values, correct));
    };
    CHECK(told("loads", {{"load", "B1"}, {"status", "directed"}}).empty());
    CHECK(told("loads", {{"load", "B1"}, {"status", "awaiting"}}).empty());
    CHECK(told("loads", {{"load", "B3"}, {"status", "dumped"}}).empty());
    CHECK(told("loads", {{"load", "B3"}, {"status", "arrived"}}).empty());  // it never was: no move is left
    CHECK(told("loads", {{"load", "B1"}, {"status", "arrived"}}) ==
          std::vector<std::string>{
              "load B1: a load that is awaiting is not arrived next; after it comes directed, dumped, turned away"});
    geo::add_row(
        store, "moves",
        {{"move", "M1"}, {"time", "2026-08-01T11:00:00+02:00"}, {"from", "B2"}, {"to", "H1"}, {"mass_t", "24"}});
    const auto raised = told("bins", {{"bin", "H1"}, {"purpose", "food"}, {"limit_id", "eu-food-wheat"}});
    REQUIRE(raised.size() == 1);
    CHECK_THAT(raised[0], Catch::Contains("load B2 (24.0 t) lies in bin H1 uncleared") &&
                              Catch::EndsWith("kept or lowered while such grain is in it, and never raised"));
}

TEST_CASE("questions that do not go together are refused in one sentence") {
    Mill mill("questions");
    CHECK_THAT(mill.bins({"--queue", "--outbound", "25"}), Catch::Contains("are three questions"));
    CHECK(mill.code == 1);
    CHECK_THAT(mill.bins({"--record", "M1"}), Catch::Contains("name it: --next LOAD"));
    CHECK_THAT(mill.bins({"--next", "B1", "--operator", "Ada"}), Catch::Contains("give --record BIN, too"));
    CHECK_THAT(mill.bins({"--lots"}), Catch::Contains("give --outbound TONNES, too"));
    CHECK_THAT(mill.bins({"--outbound", "-25"}), Catch::Contains("a lot of -25 t is none"));
    CHECK_THAT(mill.bins({"--outbound", "25", "--buyer-bias", "-100"}), Catch::Contains("a bias of -100 % is none"));
    CHECK_THAT(mill.bins({"--queue", "--at", "noon"}), Catch::Contains("\"noon\" is no time"));
    CHECK_THAT(mill.bins({"--queue", "--directed-for", "-1"}), Catch::Contains("-1 hours are none"));
    CHECK(mill.open().moves().empty());
}

TEST_CASE("the truck on the scale is told what each bin costs and whether a second sample pays") {
    Mill mill("next");
    const std::string low = mill.bins({"--next", "B1"});
    INFO(low);
    CHECK_THAT(low, Catch::Contains("M1 (advised)"));
    CHECK_THAT(low, Catch::Contains("A second sample is not needed: it is cleared"));
    const std::string high = mill.bins({"--next", "B2"});
    CHECK_THAT(high, Catch::Contains("A second sample does not lift a result over the limit"));
    const auto view = [&] {
        app::Question question;
        question.upto = app::Upto::bins;
        return app::look_at_season(mill.open(), question);
    }();
    const app::NextLoad next = app::next_load(view.data, *view.bins, "B3", false);
    REQUIRE(next.second);
    CHECK(next.second->worth() > 0.0);
    CHECK(next.second->clears > 0.1);
    CHECK(next.second->clears + next.second->over < 1.0 + 1e-9);
    for (const app::BinChoice& choice : next.choices)
        if (choice.bin == "M1") CHECK(choice.against == choice.clearing.in_short);
    // What another test is goes by what is recorded of the load.
    CHECK_THAT(next.second_says, Catch::StartsWith("a first sample would clear it with a chance of "));
    CHECK_THAT(mill.bins({"--next", "B3"}), Catch::Contains("A first sample would clear it"));
    geo::Store store = geo::Store::open(mill.store);
    geo::add_row(store, "samples", {{"sample", "SB3"}, {"stage", "truck"}, {"kind", "composite"}, {"load", "B3"}});
    CHECK_THAT(mill.bins({"--next", "B3"}), Catch::Contains("The result of SB3 would clear it"));
}

TEST_CASE("a load over for food and undecided for feed is told of a sample for feed, in one voice") {
    Mill mill("feed");
    geo::Store store = geo::Store::open(mill.store);
    geo::add_row(store, "limits",
                 {{"limit_id", "feed-own"},
                  {"limit_mg_per_kg", "4.2"},
                  {"basis", "as_is"},
                  {"purpose", "feed"},
                  {"commodity", "wheat"},
                  {"comparison", "over"},
                  {"mixing", "forbidden"},
                  {"jurisdiction", "own"},
                  {"from", "2020-01-01"},
                  {"kind", "contract"},
                  {"source", "of this test"}});
    geo::add_row(store, "bins", {{"bin", "F1"}, {"capacity_t", "60"}, {"purpose", "feed"}, {"limit_id", "feed-own"}});
    const std::string said = mill.bins({"--next", "B2", "--explain"});
    INFO(said);
    std::string flat = said;
    std::replace(flat.begin(), flat.end(), '\n', ' ');
    CHECK_THAT(flat, Catch::Contains("A second sample would clear it for feed with a chance of"));
    CHECK_THAT(flat, Catch::Contains("for food it does not lift a result over the limit"));
    // The list of bins and the sentence of the plan are of one rule.
    CHECK_THAT(flat, Catch::Contains("H1 (advised)"));
}
