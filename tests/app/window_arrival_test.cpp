#include <GLFW/glfw3.h>
#include <catch2/catch.hpp>

#include "app/commands/add_command.h"
#include "app/language.h"
#include "app/window/pit_arrival.h"
#include "app/window/told_frame.h"
#include "geo/store/store.h"
#include "tests/app/pit_at_window.h"

/// A truck that has just come is written down in the window, as the command line would write it; a lot is thought of.
using namespace app::window;
using Catch::Matchers::Contains;
using pit_tests::AtThePit;
using pit_tests::PitFarm;
using pit_tests::run_command;
using std::chrono::milliseconds;

namespace {

/// All that a load is, with its parts.
std::vector<std::string> loads_of(const std::filesystem::path& file) {
    const geo::Store store = geo::Store::open(file, geo::Store::Access::read_only);
    const auto number = [](const std::optional<double>& value) { return value ? std::to_string(*value) : "none"; };
    std::vector<std::string> lines;
    for (const models::Load& load : store.loads()) {
        std::string line = load.load + " " + models::to_text(load.time) + " " + load.ticket + " " + load.supplier +
                           " " + (load.commodity ? std::to_string(static_cast<int>(*load.commodity)) : "none") + " " +
                           number(load.gross_t) + " " + number(load.tare_t) + " " + number(load.net_t) + " " +
                           number(load.moisture_pct) + " " + std::to_string(static_cast<int>(load.status)) + " " +
                           load.keep_apart;
        for (const models::LoadPart& part : load.parts)
            line += " | " + part.field + " " + part.part + " " + std::to_string(part.share);
        lines.push_back(line);
    }
    return lines;
}

void type_into(AtThePit& at, const std::string& column, const std::string& words) {
    at.window->click("arrival " + column);
    at.window->write(words);
}

}  // namespace

TEST_CASE("a truck that has come is written down in the window as on the command line, and taken back") {
    const PitFarm of_the_window, of_the_line;
    const std::filesystem::path by_hand = of_the_window.store(), by_line = of_the_line.store();
    const auto before = loads_of(by_hand);
    AtThePit at(by_hand);
    const std::vector<app::Command> commands{app::commands::make_add_command()};
    at.at("10:30");
    at.window->press('A');
    REQUIRE(at.pit().arrives);
    CHECK(at.window->shows("arrival"));
    CHECK(at.pit().arrives->typed.at("load") == "T9");  // after T8
    type_into(at, "ticket", "9009");
    type_into(at, "supplier", "G9");
    type_into(at, "net_t", "11.5");
    type_into(at, "moisture_pct", "14.2");
    type_into(at, "keep_apart", "organic");
    type_into(at, "parts", "Fen 0.25; Mill Piece, north 75 %");
    at.window->click("arrival");  // out of the box
    CHECK(loads_of(by_hand) == before);
    at.window->hold(GLFW_KEY_F9, milliseconds(1200));
    CHECK_FALSE(at.pit().arrives);
    CHECK_FALSE(nothing_works(*at.window->session));  // it is being read
    at.window->settle();
    CHECK(at.pit().load == "T9");
    CHECK(at.pit().truck->load == "T9");
    REQUIRE(at.pit().truck->next);
    CHECK(at.pit().truck->next->mass_t == 11.5);
    CHECK_THAT(at.pit().said, Contains("load T9 has come"));
    const auto line = [&](std::vector<std::string> words) {
        words.insert(words.begin() + 1, by_line.string());
        return run_command(commands, std::move(words));
    };
    line({"add", "loads", "load=T9", "time=2025-08-01T10:30:00+02:00", "ticket=9009", "supplier=G9", "net_t=11.5",
          "moisture_pct=14.2", "commodity=wheat", "keep_apart=organic"});
    line({"add", "load-parts", "load=T9", "field=Fen", "share=0.25"});
    line({"add", "load-parts", "load=T9", "field=Mill Piece", "part=north", "share=0.75"});
    CHECK(loads_of(by_hand) == loads_of(by_line));
    REQUIRE(loads_of(by_hand).size() == 9);

    // Bought grain has no parts; gross and tare are a mass, too.
    at.window->click("truck arrives");
    REQUIRE(at.pit().arrives);
    CHECK(at.pit().arrives->typed.at("load") == "T10");
    type_into(at, "gross_t", "38.5");
    type_into(at, "tare_t", "14.1");
    at.window->click("arrival yes");
    at.window->settle();
    line({"add", "loads", "load=T10", "time=2025-08-01T10:30:00+02:00", "gross_t=38.5", "tare_t=14.1",
          "commodity=wheat"});
    CHECK(loads_of(by_hand) == loads_of(by_line));
    CHECK(at.pit().truck->next->mass_t == Approx(24.4));

    apply(*at.window->session, Undo{});
    CHECK_THAT(at.pit().said, Contains("Taken back: load T10 came"));
    at.window->settle();
    CHECK(at.pit().load != "T10");
    apply(*at.window->session, Undo{});
    at.window->settle();
    CHECK(loads_of(by_hand) == before);
    // A name that was taken back is proposed to no other load.
    at.window->press('A');
    REQUIRE(at.pit().arrives);
    CHECK(at.pit().arrives->typed.at("load") == "T11");
    at.window->click("arrival no");
    apply(*at.window->session, Redo{});
    apply(*at.window->session, Redo{});
    at.window->settle();
    CHECK(loads_of(by_hand) == loads_of(by_line));
}

TEST_CASE("what is wrong with a truck that has come stands beside its box in the words of the import") {
    const PitFarm farm;
    AtThePit at(farm.store());
    const std::string before = at.last_record();
    const auto refused = [&](const std::string& column, const std::string& value) {
        ArrivedTruck truck = new_arrival(at.pit().plan->view().data, 2025, at.now);
        truck.typed["net_t"] = "12";
        truck.typed[column] = value;
        apply(*at.window->session, ArriveAtPit{truck});
        apply(*at.window->session, RecordArrival{});
        REQUIRE(at.pit().arrives);
        CHECK(at.last_record() == before);  // nothing of it: neither the load nor the parts before the wrong one
        at.window->frames(2);
        CHECK(at.window->shows("arrival refused"));
        CHECK(at.pit().arrival_refused.column == column);
        return at.pit().arrival_refused.words;
    };
    CHECK_THAT(refused("net_t", "1,25"), Contains("\"1,25\" has a decimal comma. To mend it: write 1.25"));
    CHECK_THAT(refused("moisture_pct", "140"), Contains("column moisture_pct: 140 is out of range"));
    CHECK_THAT(refused("load", "T8"), Contains("load T8 is there already, with other content"));
    CHECK_THAT(refused("load", ""), Contains("column load"));
    CHECK_THAT(refused("time", "noon"), Contains("column time"));
    CHECK_THAT(refused("commodity", "corn flakes"), Contains("column commodity"));
    CHECK_THAT(refused("parts", "Fen 0.5; Moor 0.5"), Contains("there is no field \"Moor\" in the store"));
    CHECK_THAT(refused("parts", "Fen 60 %; Mill Piece 60 %"), Contains("the shares of load T9 add up to 1.2"));
    at.window->click("arrival no");
    CHECK_FALSE(at.pit().arrives);
}

TEST_CASE("a scanner fills the box in which the cursor stands and never writes a truck down") {
    const PitFarm farm;
    AtThePit at(farm.store());
    const std::string before = at.last_record();
    at.window->press('A');
    at.window->click("arrival ticket");
    at.window->scan("40-777", GLFW_KEY_ENTER);
    REQUIRE(at.pit().arrives);
    CHECK(at.pit().arrives->typed.at("ticket") == "40-777");
    at.window->scan("40-778", GLFW_KEY_ENTER);
    CHECK(at.pit().arrives->typed.at("ticket") == "40-778");
    at.window->click("arrival load");
    at.window->scan("W25-900", GLFW_KEY_ENTER);
    at.window->frames(3);
    CHECK(at.pit().arrives->typed.at("load") == "W25-900");
    CHECK(at.pit().arrives->typed.at("ticket") == "40-778");
    at.window->click("arrival");
    for (const char* burst : {"y", "yes", "A", "RRR", "T2", "", "   "})
        for (const int last : {GLFW_KEY_ENTER, GLFW_KEY_KP_ENTER, GLFW_KEY_TAB, GLFW_KEY_F9}) {
            at.window->scan(burst, last);
            at.window->settle();
            CHECK(at.last_record() == before);
            REQUIRE(at.pit().arrives);
        }
    at.window->hold(GLFW_KEY_ENTER, milliseconds(3000));
    at.window->hold(GLFW_KEY_F9, milliseconds(700));
    CHECK(at.last_record() == before);
}

TEST_CASE("a load that comes has the name after that of the season's newest") {
    const PitFarm farm;
    const geo::Store store = geo::Store::open(farm.store(), geo::Store::Access::read_only);
    app::SeasonData data = app::read_season_data(store);
    CHECK(next_load_name(data, 2025) == "T9");
    data.loads.back().load = "W25-099";
    CHECK(next_load_name(data, 2025) == "W25-100");
    data.loads.back().load = "first";
    CHECK(next_load_name(data, 2025) == "first-2");
    CHECK(next_load_name(data, 2031) == "L31-01");
}

TEST_CASE("what this window wrote and took back is no record of somebody else") {
    const PitFarm farm;
    AtThePit at(farm.store());
    at.choose("T1");
    at.window->click("record");
    at.window->click("question yes");
    CHECK_FALSE(nothing_works(*at.window->session));
    CHECK(at.pit().said_of == "T1");
    at.window->settle();
    CHECK_THAT(at.pit().said, Contains("Recorded: load T1"));
    CHECK(at.pit().load == "T1");  // what was done stays in sight
    const app::drawing::Rect list = *at.window->places.find("queue");
    at.window->click("next truck");
    at.window->settle();
    CHECK(at.pit().load != "T1");
    CHECK(at.window->shows("said"));  // below the queue: it names its truck
    // No row has moved under the hand.
    CHECK(at.window->places.find("queue")->y == list.y);
    CHECK(at.window->places.find("said")->y >= list.y + at.window->places.find("queue")->height - 1.0);
    apply(*at.window->session, Undo{});
    CHECK_FALSE(nothing_works(*at.window->session));
    CHECK(at.pit().said == "Taken back: load T1 into bin M1.");
    CHECK(at.pit().cautions.empty());
    at.window->settle();
    CHECK(nothing_works(*at.window->session));
    REQUIRE(at.pit().load == "T1");  // it stands on the scale again
    at.window->click("record");
    at.window->click("question yes");
    CHECK(at.pit().refused == "");  // nobody else wrote anything
    CHECK_FALSE(at.pit().asks);
    CHECK_THAT(at.pit().said, Contains("with move M2"));  // M1 keeps its name where it was taken back
    apply(*at.window->session, EnterRoom{Room::contamination});
    apply(*at.window->session, EnterRoom{Room::bins});
    CHECK(at.pit().said.empty());
}

TEST_CASE("a result of the bench is read as soon as the bench is left") {
    const PitFarm farm;
    AtThePit at(farm.store());
    at.choose("T1");
    apply(*at.window->session, EnterRoom{Room::bench});
    geo::Store store = geo::Store::open(farm.store());
    at.window->session->history.write(
        store, {{"samples", {{"sample", "NEW"}, {"stage", "truck"}, {"kind", "composite"}, {"load", "T1"}}}});
    CHECK(own_records_wait(*at.window->session));
    apply(*at.window->session, EnterRoom{Room::bins});
    CHECK_FALSE(own_records_wait(*at.window->session));
    CHECK(at.window->session->working);
    at.window->settle();
    CHECK(app::sample_index(at.pit().plan->view().data, "NEW"));
}

TEST_CASE("a lot from a bin is answered as bins --outbound answers it, and nothing is recorded") {
    const PitFarm farm;
    AtThePit at(farm.store());
    at.choose("T1");
    at.window->click("record");
    at.window->click("question yes");
    at.window->settle();
    const std::string before = at.last_record();
    apply(*at.window->session, AskLotAtPit{LotAsked{"M1", 5.0}});
    at.window->settle();
    REQUIRE(at.pit().lot);
    CHECK(at.window->shows("lot"));
    const models::LotOutlook* lot = first_lot_of(*at.pit().lot);
    REQUIRE(lot != nullptr);
    app::OutboundAsked asked;
    asked.lot_t = 5.0;
    asked.from = "M1";
    asked.buyer.plan.increments = 10;
    const app::SeasonView& view = at.pit().plan->view();
    const auto sold = app::outbound_of_bins(view.data, *view.bins, 2025, asked).bins.front();
    double worst = 0.0;
    for (const models::BinOutbound& way : sold.ways) worst = std::max(worst, way.lots.front().rejected);
    CHECK(lot->rejected == worst);
    CHECK(lot->lot.mass_t() == 5.0);
    at.window->views.pit.lot_t = "many";
    at.window->click("lot show");
    at.window->frames(2);
    CHECK(at.window->shows("lot refused"));
    apply(*at.window->session, AskLotAtPit{LotAsked{"H1", 5.0}});
    at.window->settle();
    CHECK_THAT(at.pit().lot->refused, Contains("bin H1 is empty"));
    CHECK(at.last_record() == before);
}

TEST_CASE("a truck that came is typed with the commas of the language and written with points") {
    const PitFarm farm;
    AtThePit at(farm.store());
    const app::SeasonData& data = at.pit().plan->view().data;
    ArrivedTruck truck = new_arrival(data, 2025, at.now);
    truck.typed["net_t"] = "27,85";
    truck.typed["moisture_pct"] = "13,9";
    truck.typed["parts"] = "Fen 0,25, Mill Piece, north 0,75";
    const auto written = [](const std::vector<geo::RowToWrite>& rows) {
        std::string all;
        for (const geo::RowToWrite& row : rows)
            for (const auto& [column, value] : row.values)
                if (column != "load" && column != "time" && column != "commodity") all += column + "=" + value + " ";
        return all;
    };
    {
        const app::SpokenIn german("de");
        CHECK(written(rows_of_arrival(data, truck)) ==
              "net_t=27.85 moisture_pct=13.9 field=Fen share=0.25 field=Mill Piece part=north share=0.75 ");
    }
    // In English a comma is no mark of a number, and is refused by the table's words.
    CHECK_THAT(written(rows_of_arrival(data, truck)), Contains("net_t=27,85 moisture_pct=13,9 "));
}
