#include <catch2/catch.hpp>

#include "tests/app/bench_farm.h"

namespace bench_tests {

TEST_CASE("a kit lot that the store does not know is refused with the one that was meant") {
    BenchFarm bench;
    CHECK_THAT(bench.say("kit k7"), Contains("kit lot k7 is not in the store (did you mean \"K7\"?); none is in use. A "
                                             "new lot is entered outside: lodicule add STORE kit-lots kit_lot=k7 "
                                             "commodity=... dilution=... low_mg_per_kg=... high_mg_per_kg=..."));
    CHECK(bench.refused);
    CHECK(bench.desk->view().kept.count("kit_lot") == 0);
    CHECK_THAT(bench.say("kit lot"), Contains("kit lot: not said"));
    CHECK_THAT(bench.say("kit lot K7"), Contains("kit lot K7, until it is changed"));
    CHECK_THAT(bench.say("kit lot"), Contains("kit lot: K7"));
    CHECK_THAT(bench.say("kit K9"), Contains("K7 stays in use"));
    CHECK_THAT(bench.say("kit lot K9"), Contains("kit lot K9 is not in the store"));
    CHECK_THAT(bench.say("kit a new box"), Contains("kit lot a new box is not in the store; K7 stays in use"));
    CHECK(bench.desk->view().kept.at("kit_lot") == "K7");
    CHECK_THAT(bench.say("kit lot -"), Contains("kit lot: not said any more"));
    // One that somebody enters meanwhile is known at once.
    bench.farm.import_text("kit-lots", "kit_lot,commodity,dilution,low_mg_per_kg,high_mg_per_kg\nK9,wheat,6,0.2,6\n");
    CHECK_THAT(bench.say("kit K9"), Contains("kit lot K9, until it is changed"));
}

TEST_CASE("a strip that was started with an unknown kit lot is read with the one in use") {
    BenchFarm bench;
    geo::add_row(bench.farm.store, "strips",
                 {{"strip", "X1"}, {"sample", "S1"}, {"started", "2025-07-20T09:29:00+02:00"}, {"kit_lot", "K9"}});
    bench.say("kit K7");
    CHECK_THAT(bench.say("S1"), Contains("in hand: S1 (field Fen), strip X1, 5:10 left"));
    bench.later(320);
    CHECK_THAT(bench.say("0.4"), Contains("strip X1, kit lot K7, ran 6:20: 0.4 mg/kg"));
}

TEST_CASE("a line that was typed ahead is asked for again and is no sample") {
    BenchFarm bench;
    for (const char* line :
         {"again S1", "void", "void spilt", "kit K7", "show", "end", "new S99", "mistake wrong bag"}) {
        CHECK_THAT(bench.say(line, LineFrom::scanner),
                   Contains("\"" + std::string(line) +
                            "\" came too fast to be typed, or while the bench was at work: "
                            "type it again") &&
                       !Contains("no sample"));
        CHECK(bench.refused);
    }
    CHECK(bench.running().empty());
    CHECK(bench.desk->view().kept.empty());
    // What was meant in place of a result drops it; what leaves it alone does not.
    bench.say("S1");
    bench.later(400);
    bench.say("0.42");
    bench.say("show", LineFrom::scanner);
    CHECK(bench.question == "yes records it, no drops it");
    CHECK_THAT(bench.say("void spilt", LineFrom::scanner),
               Contains("the result of S1 was not confirmed and is not recorded"));
    CHECK(bench.question.empty());
    bench.say("0.42");
    CHECK_THAT(bench.say("0.43", LineFrom::scanner),
               Contains("the result of S1 was not confirmed") &&
                   Contains("where it is a result it came too fast (results and their yes are typed): type it again"));
    CHECK_THAT(bench.say("yes"), Contains("nothing waits for a yes"));
    CHECK(bench.tests().empty());
}

TEST_CASE("a word of the bench is no sample") {
    BenchFarm bench;
    CHECK_THAT(bench.say("show me"), Contains("\"show me\" is no sample's code: `show` is a word of the bench; help"));
    CHECK_THAT(bench.say("yes please"), Contains("`yes` is a word of the bench"));
    CHECK_THAT(bench.say("again void"), Contains("`void` is a word of the bench") && !Contains("did you mean"));
    CHECK_THAT(bench.say("again S99"), Contains("there is no sample \"S99\" in the store"));
    CHECK_THAT(bench.say("new Void"), Contains("\"Void\" is a word of the bench: give the sample another code"));
    CHECK(bench.question.empty());
    CHECK_THAT(bench.say("shwo"), Contains("(did you mean \"show\"?)"));
}

TEST_CASE("a look at the bench leaves its question open") {
    BenchFarm bench;
    bench.say("result S1 0.4");
    bench.say("show");
    CHECK(bench.question == "yes records it, no drops it");
    bench.say("");
    CHECK(bench.question == "yes records it, no drops it");
    CHECK_THAT(bench.say("yes"), Contains("recorded"));
    bench.say("new S99");
    bench.say("help");
    CHECK_THAT(bench.question, Contains("new sample S99: what was sampled?"));
    bench.say("barge");
    CHECK_THAT(bench.question, Contains("new sample S99: what was sampled?"));
}

TEST_CASE("keys and bytes that are no text and codes without end are no samples") {
    BenchFarm bench;
    for (const LineFrom from : {LineFrom::keys, LineFrom::scanner}) {
        CHECK_THAT(bench.say("\x1b[A", from), Contains("an arrow key or the like is in the line"));
        CHECK_THAT(bench.say("S1\x1b[D\x1b[D2", from), Contains("an arrow key or the like is in the line"));
        CHECK_THAT(bench.say("S\xff"
                             "1",
                             from),
                   Contains("the line has bytes that are no letters (UTF-8)"));
        CHECK_THAT(bench.say("S\x01"
                             "1",
                             from),
                   Contains("signs in it that cannot be seen"));
        CHECK_THAT(
            bench.say(std::string(300, 'X'), from),
            Contains("no sample has a code of 300 letters, and 64 are the most of a new one") && !Contains("new X"));
        CHECK(bench.refused);
    }
    CHECK_THAT(bench.say("new " + std::string(65, 'X')), Contains("a code of 65 letters is too long: 64 are the most"));
    std::string umlauts;
    for (int i = 0; i < 300; ++i) umlauts += "ä";
    CHECK_THAT(bench.say(umlauts), Contains("a code of 300 letters"));  // and not of 600
    CHECK(bench.running().empty());
    // What a scanner sends about a code is none of it.
    CHECK_THAT(bench.say("\x02S1\r", LineFrom::scanner), Contains("its clock runs"));
}

TEST_CASE("grain that is not that of the sample's load takes no result and loses no clock") {
    BenchFarm bench;
    bench.farm.import_text("loads",
                           "load,time,commodity,net_t\nW26-33,2025-07-20T08:00+02:00,wheat,20\n"
                           "D1,2025-07-20T08:00+02:00,durum,20\nU1,2025-07-20T08:00+02:00,,20\n");
    bench.farm.import_text("samples",
                           "sample,stage,kind,load\nN2,truck,composite,W26-33\nN3,truck,composite,D1\n"
                           "N4,truck,composite,U1\n");
    bench.say("kit K7");
    bench.say("grain barley");
    CHECK_THAT(bench.say("result N2 1.1"),
               Contains("the load is wheat (W26-33), and the grain in use is barley: it is not recorded. Write `grain "
                        "wheat`, then the result; where the load is written down wrong, correct it: lodicule add STORE "
                        "loads load=W26-33 commodity=barley --correct REASON"));
    CHECK(bench.refused);
    CHECK_THAT(bench.say("N2"), Contains("strip B250720-01: its clock runs from 09:30:00; read it at 6:10 to 6:40") &&
                                    Contains("the load is wheat (W26-33), and the grain in use is barley: the strip is "
                                             "started without one, and its result is taken when the grain is said "
                                             "right (grain wheat)"));
    REQUIRE(bench.running().size() == 1);
    CHECK(bench.running()[0].commodity.empty());
    bench.later(380);
    CHECK_THAT(bench.say("1.1"), Contains("the load is wheat (W26-33)"));
    bench.say("grain wheat");
    CHECK_THAT(bench.say("1.1"), Contains("ran 6:20: 1.1 mg/kg"));
    bench.say("yes");
    REQUIRE(bench.tests().size() == 1);
    CHECK(bench.tests()[0].commodity == "wheat");
    // Strips for wheat are used for durum; a load that does not say its grain contradicts none.
    CHECK_THAT(bench.say("result N3 1.1"), Contains("1.1 mg/kg") && !Contains("the load is"));
    bench.say("grain barley");
    CHECK_THAT(bench.say("result N4 1.1"), Contains("1.1 mg/kg") && !Contains("the load is"));
    CHECK_THAT(bench.say("result S1 1.1"), !Contains("the load is"));
}

TEST_CASE("a strip whose start names another grain than its load takes the grain in use where that is right") {
    BenchFarm bench;
    bench.farm.import_text("loads", "load,time,commodity,net_t\nW26-33,2025-07-20T08:00+02:00,wheat,20\n");
    bench.farm.import_text("samples", "sample,stage,kind,load\nN2,truck,composite,W26-33\n");
    geo::add_row(bench.farm.store, "strips",
                 {{"strip", "X1"},
                  {"sample", "N2"},
                  {"started", "2025-07-20T09:29:00+02:00"},
                  {"kit_lot", "K7"},
                  {"commodity", "barley"}});
    bench.say("N2");
    bench.later(320);
    CHECK_THAT(bench.say("0.4"), !Contains("the load is"));  // no grain is in use
    bench.say("grain wheat");
    CHECK_THAT(bench.say("0.4"), Contains("0.4 mg/kg"));
    bench.say("yes");
    REQUIRE(bench.tests().size() == 1);
    CHECK(bench.tests()[0].commodity == "wheat");
}

TEST_CASE("a strip that would have been started before there was grain for it is told as a doubt and recorded") {
    BenchFarm bench;  // 09:30
    bench.farm.import_text("loads", "load,time,net_t\nW1,2025-07-20T09:28+02:00,20\n");
    bench.farm.import_text("samples",
                           "sample,stage,kind,load,field,taken_time\nN1,truck,composite,W1,,2025-07-20T09:28+02:00\n"
                           "N2,truck,composite,W1,,\nN3,standing,composite,,Fen,2025-07-20T08:00+02:00\n");
    bench.say("kit K7");
    const std::string early = "the strip would have been started at 2025-07-20T09:23:40+02:00";
    const std::string so = "it did not run so long, or one of the clocks is wrong";
    bench.say("N1");
    CHECK_THAT(bench.say("0.42 after 6:20"), Contains(early) && Contains(so) &&
                                                 Contains("its clock was started 6:20 too late") &&
                                                 Contains("its sample N1 was taken only at 2025-07-20T09:28"));
    CHECK_FALSE(bench.refused);
    bench.say("yes");
    REQUIRE(bench.tests().size() == 1);  // clocks differ: it is recorded
    CHECK_THAT(bench.say("result N2 0.42 after 6:20"),
               Contains(early) && Contains(so) &&
                   Contains("load W1, of which its sample N2 is, came only at 2025-07-20T09:28"));
    CHECK_THAT(bench.say("result N3 0.42 after 6:20"), !Contains("would have been started"));
    CHECK_THAT(bench.say("result N2 0.42"), !Contains("would have been started"));  // nobody says how long it ran
    // A truck that is still to come.
    bench.farm.import_text("loads", "load,time,net_t\nW2,2025-07-20T09:50+02:00,20\n");
    bench.farm.import_text("samples", "sample,stage,kind,load\nN4,truck,composite,W2\n");
    CHECK_THAT(bench.say("N4"), Contains("its clock runs") && Contains("came only at 2025-07-20T09:50"));
}

TEST_CASE("a grain that nobody said is that of the sample's load or field") {
    BenchFarm bench;
    bench.farm.import_text("kit-lots",
                           "kit_lot,commodity,dilution,low_mg_per_kg,high_mg_per_kg,incubation_least_s,"
                           "incubation_most_s\nK9,wheat,1,0.3,5,300,340\nK9,durum,1,0.5,5,360,400\n");
    bench.farm.import_text("loads",
                           "load,time,commodity,net_t\nW1,2025-07-20T08:00+02:00,wheat,20\n"
                           "D1,2025-07-20T08:00+02:00,durum,20\nB1,2025-07-20T08:00+02:00,barley,20\n"
                           "U1,2025-07-20T08:00+02:00,,20\n");
    bench.farm.import_text("samples",
                           "sample,stage,kind,load,field,taken_time\nN1,truck,composite,W1,,\nN2,truck,composite,D1,,\n"
                           "N3,truck,composite,B1,,\nN4,truck,composite,U1,,\n"
                           "N5,standing,composite,,Fen,2025-07-20T08:00+02:00\n");
    CHECK_THAT(bench.say("kit K9"), Contains("each strip takes the grain of its sample's load or field") &&
                                        !Contains("say it (grain, dilution)"));
    CHECK_THAT(bench.say("N1"), Contains("read it at 5:00 to 5:40") && !Contains("say it"));
    CHECK_THAT(bench.say("N2"), Contains("read it at 6:00 to 6:40") && !Contains("say it"));
    CHECK_THAT(bench.say("N5"), Contains("read it at 5:00 to 5:40"));  // wheat grows in Fen
    CHECK_THAT(bench.say("N4"), Contains("each with another time"));
    CHECK_THAT(bench.say("N3"), !Contains("read it at"));  // the lot is not made for barley
    std::map<std::string, std::string> grain;
    for (const models::StartedStrip& strip : bench.running()) grain[strip.sample] = strip.commodity;
    CHECK(grain == std::map<std::string, std::string>{
                       {"N1", "wheat"}, {"N2", "durum"}, {"N3", ""}, {"N4", ""}, {"N5", "wheat"}});
    bench.later(380);
    bench.say("N2");
    CHECK_THAT(bench.say("0.6"), Contains("ran 6:20: 0.6 mg/kg") && !Contains("flag"));
    bench.say("yes");
    CHECK_THAT(bench.say("result N1 0.4 after 5:20"), Contains("0.4 mg/kg") && !Contains("flag"));
    bench.say("yes");
    REQUIRE(bench.tests().size() == 2);
    for (const models::Test& test : bench.tests()) CHECK(test.commodity == (test.sample == "N1" ? "wheat" : "durum"));
    // What is said goes before what is known; strips for wheat alone are used for durum.
    bench.say("grain durum");
    CHECK_THAT(bench.say("again N1"), Contains("read it at 6:00 to 6:40"));
    bench.say("grain -");
    bench.say("kit K7");
    CHECK_THAT(bench.say("again N2"), Contains("read it at 6:10 to 6:40"));
}

TEST_CASE("a kit lot of which the last control failed says so when it is taken, until one reads right") {
    BenchFarm bench;
    bench.say("kit K7");
    bench.say("result C1 1.0");
    bench.say("yes");
    CHECK(bench.desk->view().choices.failed_lots.empty());
    bench.later(60);
    bench.say("result C1 2.5");
    bench.say("yes");
    const auto failed = bench.desk->view().choices.failed_lots;
    CHECK(failed == std::map<std::string, std::string>{{"K7", "its last control, C1, failed on 2025-07-20"}});
    CHECK_THAT(bench.say("kit K7"), Contains("kit lot K7: its last control, C1, failed on 2025-07-20"));
    CHECK_THAT(bench.say("kit K8"), !Contains("failed"));
    bench.later(60);
    bench.say("kit K7");
    bench.say("result C1 9.9");  // a test of another lot, or a void one, lifts nothing
    bench.say("no");
    bench.say("result C1 void dropped");
    bench.say("yes");
    CHECK(bench.desk->view().choices.failed_lots == failed);
    bench.later(60);
    bench.say("result C1 1.1");
    bench.say("yes");
    CHECK(bench.desk->view().choices.failed_lots.empty());
    CHECK_THAT(bench.say("kit K7"), !Contains("failed"));
}

TEST_CASE("a temperature outside what the kit lot asks for is told when it is said") {
    BenchFarm bench;
    bench.farm.import_text("kit-lots",
                           "kit_lot,commodity,dilution,low_mg_per_kg,high_mg_per_kg,temperature_least_degc,"
                           "temperature_most_degc\nK5,wheat,6,0.2,6,18,30\n");
    bench.say("kit K5");
    CHECK_THAT(bench.say("temperature 45"),
               Contains("kit lot K5 asks for 18 to 30 degC: contents read so are flagged, and signals are void"));
    CHECK_THAT(bench.say("temperature 22"), !Contains("asks for"));
}

TEST_CASE("a strip that hardly ran says so where nothing else does") {
    BenchFarm bench;
    bench.say("S1");
    bench.later(1);
    CHECK_THAT(bench.say("0.91"), Contains("it ran only 0:01, and nothing says how long it must: no kit lot is said"));
    bench.say("no");
    bench.later(300);
    CHECK_THAT(bench.say("0.91"), !Contains("ran only"));
}

}  // namespace bench_tests
