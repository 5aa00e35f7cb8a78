#include <deque>

#include <catch2/catch.hpp>

#include "app/bench/bench_dialogue.h"
#include "tests/app/bench_farm.h"

namespace bench_tests {

TEST_CASE("a scanned sample starts its clock and its typed result is recorded after a yes") {
    BenchFarm bench;
    bench.say("operator Ada Holt");
    CHECK_THAT(bench.say("K7", LineFrom::scanner),
               Contains("kit lot K7, until it is changed") && Contains("its strips are read at 6:10 to 6:40"));
    CHECK_THAT(bench.say("S1\r", LineFrom::scanner),
               Contains("S1 (field Fen), strip B250720-01: its clock runs from 09:30:00; read it at 6:10 to 6:40"));
    REQUIRE(bench.running().size() == 1);
    CHECK(bench.running()[0].kit_lot == "K7");
    CHECK(bench.running()[0].operator_name == "Ada Holt");
    bench.later(380);
    CHECK_THAT(bench.say("0.42"),
               Contains("S1 (field Fen), strip B250720-01, kit lot K7, ran 6:20: 0.42 mg/kg") && !Contains("flag"));
    CHECK(bench.question == "yes records it, no drops it");
    CHECK(bench.tests().empty());
    bench.later(9);  // what passes until the yes is not counted
    CHECK_THAT(bench.say("yes"), Contains("recorded: test B250720-01 of S1, reads 0.42 mg/kg, 90 % interval 0."));
    REQUIRE(bench.tests().size() == 1);
    CHECK(models::to_text(bench.tests()[0].time) == "2025-07-20T09:36:20+02:00");
    CHECK(bench.tests()[0].operator_name == "Ada Holt");
    CHECK(bench.running().empty());
    CHECK(bench.all_good());
}

TEST_CASE("the scanner starts clocks and confirms nothing") {
    BenchFarm bench;
    bench.say("S1", LineFrom::scanner);
    bench.say("0.42");
    CHECK_THAT(bench.say("yes", LineFrom::scanner),
               Contains("\"yes\" came too fast to be typed, or while the bench was at work: type it again"));
    CHECK(bench.refused);
    CHECK(bench.question == "yes records it, no drops it");  // it still waits for one that is typed
    CHECK(bench.tests().empty());
    CHECK_THAT(bench.say("no"), Contains("the result of S1 was not confirmed and is not recorded"));
    CHECK_THAT(bench.say("yes"), Contains("nothing waits for a yes"));
    bench.say("0.42");
    CHECK_THAT(bench.say("S2", LineFrom::scanner),
               Contains("the result of S1 was not confirmed and is not recorded") && Contains("S2 (field Fen), strip"));
    CHECK_THAT(bench.say("0.42", LineFrom::scanner), Contains("there is no sample \"0.42\" in the store"));
    CHECK_THAT(bench.say("<0.2", LineFrom::scanner), Contains("results and their yes are typed"));
    CHECK(bench.tests().empty());
    CHECK(bench.running().size() == 2);
}

TEST_CASE("a code that the scanner gives twice starts one strip") {
    BenchFarm bench;
    bench.say("S1", LineFrom::scanner);
    CHECK_THAT(bench.say("S1", LineFrom::scanner), Contains("in hand: S1") && Contains("nothing new is started"));
    bench.later(60);
    bench.say("S1", LineFrom::scanner);
    CHECK(bench.running().size() == 1);
    // On purpose there may be two; then the older one is in hand, and a strip's name takes the other.
    CHECK_THAT(bench.say("again"), Contains("strip B250720-02"));
    CHECK_THAT(bench.say("S1"), Contains("strip B250720-01") &&
                                    Contains("2 strips of it run, B250720-01 and B250720-02; type a strip's name"));
    CHECK_THAT(bench.say("result S1 0.4"), Contains("2 strips of S1 run"));
    CHECK_THAT(bench.say("B250720-02"), Contains("in hand: S1 (field Fen), strip B250720-02"));
    bench.say("0.4");
    bench.say("yes");
    REQUIRE(bench.running().size() == 1);
    CHECK(bench.running()[0].strip == "B250720-01");
}

TEST_CASE("a sample that has a result gets another strip only when that is asked for and a control always") {
    BenchFarm bench;
    bench.say("result S1 0.4");
    bench.say("yes");
    CHECK_THAT(bench.say("S1", LineFrom::scanner), Contains("S1 (field Fen) has 1 test already; nothing is started") &&
                                                       Contains("every valid result counts"));
    CHECK(bench.running().empty());
    bench.say("again S1");
    CHECK(bench.running().size() == 1);
    bench.say("result C1 1.0");
    bench.say("yes");
    bench.say("C1", LineFrom::scanner);
    CHECK(bench.running().size() == 2);
}

TEST_CASE("ten tests with one invalid and strips side by side are all in the store") {
    BenchFarm bench;
    bench.say("kit K7");
    for (int i = 1; i <= 10; ++i) {
        bench.say("S" + std::to_string(i), LineFrom::scanner);
        bench.later(30);
    }
    CHECK(bench.running().size() == 10);
    bench.later(80);  // the first has run 6:20
    for (int i = 1; i <= 10; ++i) {
        bench.say("S" + std::to_string(i), LineFrom::scanner);
        if (i == 4) {
            CHECK_THAT(bench.say("void no control line"), Contains("void: no control line"));
        } else {
            bench.say(i == 7 ? "<0.2" : "0." + std::to_string(30 + i));
        }
        CHECK_THAT(bench.said, Contains("ran 6:20") && !Contains("flag"));
        CHECK_THAT(bench.say("y"), Contains("recorded"));
        bench.later(30);
    }
    CHECK(bench.running().empty());
    const auto tests = bench.tests();
    REQUIRE(tests.size() == 10);
    CHECK(tests[3].sample == "S4");
    CHECK(tests[3].reading == models::Reading::invalid);
    CHECK(tests[3].void_reason == "no control line");
    CHECK(tests[6].reading == models::Reading::below);
    CHECK(tests[9].don_mg_per_kg == 0.40);
    const app::BenchView view = bench.desk->view();
    REQUIRE(view.last.size() == 5);
    CHECK(view.last[0].sample == "S10");
    CHECK_THAT(view.last[0].interval, Contains(" to "));
    CHECK(view.last[3].reads == "< 0.2");
    CHECK(view.last[3].interval.substr(0, 8) == "at most ");
    CHECK(bench.all_good());
}

TEST_CASE("a content that was read before its kit lot says is not taken and a void strip is") {
    BenchFarm bench;
    bench.say("kit K7");
    bench.say("S1");
    bench.later(213);
    CHECK_THAT(bench.say("0.55"),
               Contains("too early: strip B250720-01 of S1 has run 3:33, and kit lot K7 asks for 6:10 at least. It is "
                        "not recorded: read it in 2:37; or write `0.55 after M:SS`, 6:10 to 6:40, where it ran longer "
                        "than its clock; or `void read too early`"));
    CHECK(bench.refused);
    CHECK(bench.question.empty());
    CHECK_THAT(bench.say("yes"), Contains("nothing waits for a yes"));
    CHECK_THAT(bench.say("0.55 after 3:00"), Contains("had run 3:00 when it was read, and kit lot K7 asks for 6:10 at "
                                                      "least: so early it tells no content, and none is recorded"));
    CHECK(bench.refused);
    CHECK_THAT(bench.say("<0.2"), Contains("too early"));
    // Signals are void by themselves, and say so before the yes.
    CHECK_THAT(bench.say("lines 500 1000"), Contains("ran 3:33: void: the strip was incubated 213 s") &&
                                                Contains("it has 2:37 to run: answer no, and read it then"));
    bench.say("no");
    CHECK(bench.tests().empty());
    CHECK(bench.running().size() == 1);
    bench.later(157);  // 6:10 to the second
    CHECK_THAT(bench.say("0.55"), Contains("ran 6:10: 0.55 mg/kg"));
    bench.say("S2");
    bench.say("void read too early");
    bench.say("yes");
    REQUIRE(bench.tests().size() == 1);
    CHECK(bench.tests()[0].void_reason == "read too early");
    // A control is a strip like others.
    bench.say("C1");
    bench.later(60);
    CHECK_THAT(bench.say("1.0"), Contains("too early: strip B250720-03 of C1 has run 1:00"));
}

TEST_CASE("a strip that is typed too late is flagged and void where its signals alone speak") {
    BenchFarm bench;
    bench.say("kit K7");
    bench.say("S1");
    bench.later(500);
    CHECK_THAT(bench.say("0.42"),
               Contains("flag: the strip was incubated 500 s, and kit lot K7 asks for 370 to 400 s") &&
                   Contains("where it was read in time and is typed late, answer no and write how long it had run: ... "
                            "after M:SS, 6:10 to 6:40"));
    CHECK_THAT(bench.say("yes"), !Contains("flag: the strip"));  // told already
    CHECK(bench.desk->view().last[0].flags.size() == 1);
    bench.say("S2");
    bench.later(500);
    CHECK_THAT(bench.say("lines 500 1000"), Contains("ran 8:20: void: the strip was incubated 500 s"));
    bench.say("no");
    // It was read in time, and typed later.
    CHECK_THAT(bench.say("lines 500 1000 after 6:20"),
               Contains("ran 6:20: 1.43 mg/kg by the curve of the kit lot") && !Contains("void"));
    bench.say("yes");
    REQUIRE(bench.tests().size() == 2);
    CHECK(bench.tests()[1].don_mg_per_kg == Approx(1.4319346).margin(5e-8).epsilon(0.0));  // of the worked example
    CHECK(models::to_text(bench.tests()[1].time) == "2025-07-20T09:44:40+02:00");
    bench.say("S3");
    CHECK_THAT(bench.say("lines 500 100 after 0:00"), Contains("void: the control line is too weak"));
}

TEST_CASE("a clock that was started too late is corrected with the result that says so") {
    BenchFarm bench;
    bench.say("kit K7");
    bench.say("S1", LineFrom::scanner);
    bench.later(1);
    CHECK_THAT(
        bench.say("0.42 after 6:20"),
        Contains("S1 (field Fen), strip B250720-01, kit lot K7, ran 6:20: 0.42 mg/kg") && !Contains("flag") &&
            Contains("its clock was started 6:19 too late: yes also corrects its start from 09:30:00 to 09:23:41, "
                     "and the record keeps both"));
    const auto versions = [&] {
        return bench.farm.store.database().whole("SELECT count(*) FROM strip WHERE strip = 'B250720-01'");
    };
    CHECK(versions() == 1);
    CHECK(bench.running()[0].started.utc == bench.now.utc - seconds(1));
    CHECK_THAT(bench.say("yes"), Contains("recorded: test B250720-01 of S1, reads 0.42 mg/kg"));
    REQUIRE(bench.tests().size() == 1);
    CHECK(models::to_text(bench.tests()[0].time) == "2025-07-20T09:30:01+02:00");
    CHECK(versions() == 2);
    CHECK(bench.farm.store.database().text("SELECT started FROM current_strip") == "2025-07-20T09:23:41+02:00");
    CHECK(
        bench.farm.store.database().whole(
            "SELECT count(*) FROM event WHERE payload LIKE '%its clock was started 6:19 too late: read now after 6:20, "
            "as its result says%'") == 1);
    CHECK(bench.running().empty());
    CHECK(bench.all_good());
    // Too early is too early, whatever clock says it; and a start that is dropped stays as it was.
    bench.say("S2");
    CHECK_THAT(bench.say("0.42 after 2:00"), Contains("had run 2:00 when it was read") && Contains("none is recorded"));
    bench.say("0.42 after 6:20");
    bench.say("no");
    CHECK(bench.running()[0].started.utc == bench.now.utc);
}

TEST_CASE("a result of a strip that was not started says that no clock is known") {
    BenchFarm bench;
    bench.say("K7");
    CHECK_THAT(bench.say("result S5 0.5"),
               Contains("it was not started here: no clock is known") && !Contains(", ran"));
    bench.say("yes");
    REQUIRE(bench.tests().size() == 1);
    CHECK(models::to_text(bench.tests()[0].time) == "2025-07-20T09:30:00+02:00");
    CHECK(bench.tests()[0].sample == "S5");
    // The same again would count twice: it is asked about before the yes.
    const std::string first = bench.tests()[0].test;
    CHECK_THAT(bench.say("result S5 0.5"), Contains("S5 has 0.5 mg/kg of test " + first + " already: answer no"));
    bench.say("no");
    CHECK_THAT(bench.say("result S6 0.5 after 5:00"), Contains("flag: the strip was incubated 300 s"));
    CHECK_THAT(bench.say("0.7"), Contains("no strip is in hand: scan its sample first"));
    CHECK(bench.refused);
}

TEST_CASE("an unknown code is refused with what to do and a new sample is asked for when it is said so") {
    BenchFarm bench;
    CHECK_THAT(bench.say("S99", LineFrom::scanner), Contains("there is no sample \"S99\" in the store") &&
                                                        Contains("or write `new S99` where it is a new one"));
    CHECK_THAT(bench.say("s3"), Contains("(did you mean \"S3\"?)"));
    CHECK_THAT(bench.say("4012345678901"), Contains("no strip is in hand") || Contains("is no sample of the store"));
    bench.say("new S99");
    CHECK_THAT(bench.question, Contains("what was sampled? standing, combine, truck, bin and control"));
    CHECK_THAT(bench.say("barge"), Contains("\"barge\" is none of standing"));
    bench.say("standing");
    CHECK_THAT(bench.question, Contains("of which field?"));
    CHECK_THAT(bench.say("Mill Peice"), Contains("not recorded") && Contains("did you mean \"Mill Piece\"?"));
    CHECK_THAT(bench.say("new S99 stage=standing field=\"Mill Piece\""), Contains("sample S99 is recorded"));
    CHECK_THAT(bench.say("S99", LineFrom::scanner), Contains("S99 (field Mill Piece), strip"));
    bench.say("new S98");
    CHECK_THAT(bench.say("no"), Contains("sample S98 is not recorded"));
    CHECK_THAT(bench.say("new S1"), Contains("S1 (field Fen) is there already"));
}

TEST_CASE("a kill in the middle loses no clock and no result") {
    BenchFarm bench;
    bench.say("operator Ada Holt");
    bench.say("kit K7");
    bench.say("S1", LineFrom::scanner);
    bench.later(100);
    bench.say("S2", LineFrom::scanner);
    bench.say("S1", LineFrom::scanner);
    bench.say("void spilt");  // no yes
    bench.open();
    bench.later(200);
    bench.desk->bench().take_up();
    const app::BenchView view = bench.desk->view();
    REQUIRE(view.running.size() == 2);
    CHECK(view.running[0].clock.ran == seconds(300));
    CHECK(models::in_words(view.running[0].clock, view.running[0].window) == "1:10 left");
    CHECK(view.running[1].clock.ran == seconds(200));
    CHECK(view.kept.at("operator") == "Ada Holt");
    CHECK(view.kept.at("kit_lot") == "K7");
    CHECK(bench.tests().empty());
    CHECK_THAT(bench.say("yes"), Contains("nothing waits for a yes"));
    bench.later(75);
    bench.say("S1", LineFrom::scanner);
    CHECK_THAT(bench.say("0.5"), Contains("strip B250720-01, kit lot K7, ran 6:15: 0.5 mg/kg"));
    bench.say("yes");
    CHECK(bench.tests().size() == 1);
    CHECK(bench.running().size() == 1);
    CHECK(bench.all_good());
}

TEST_CASE("a clock that runs over midnight and over the end of summer time counts its own seconds") {
    BenchFarm bench;
    bench.say("kit K7");
    bench.now = *models::parse_stamp("2025-07-20T23:57:00+02:00");
    bench.say("S1");
    bench.now = *models::parse_stamp("2025-07-21T00:03:20+02:00");
    CHECK_THAT(bench.say("0.4"), Contains("ran 6:20") && !Contains("flag"));
    bench.say("yes");
    // The clocks of central Europe went back on 2025-10-26 at 03:00 +02:00.
    bench.now = *models::parse_stamp("2025-10-26T02:57:00+02:00");
    bench.say("S2");
    bench.now = *models::parse_stamp("2025-10-26T02:03:20+01:00");
    CHECK_THAT(bench.say("0.4"), Contains("ran 6:20") && !Contains("flag"));
    bench.say("yes");
    CHECK(models::to_text(bench.tests()[1].time) == "2025-10-26T02:03:20+01:00");
    CHECK(bench.tests()[1].test == "B251026-01");
    // A clock that was set back says so and gives no incubation.
    bench.say("S3");
    bench.later(-3600);
    CHECK_THAT(bench.say("0.4"), Contains("later than now: one of the two clocks is wrong") && !Contains(", ran"));
}

TEST_CASE("a control is called for at the first strip and one that reads outside is called for again") {
    BenchFarm bench;
    bench.open(2);
    bench.say("kit K7");
    CHECK_THAT(bench.say("S1"), Contains("control due: no control was read with kit lot K7 yet; scan C1"));
    CHECK_THAT(bench.say("C1"), Contains("control C1, strip") && !Contains("control due"));
    CHECK_FALSE(bench.desk->view().control.due);  // its result is waited for
    bench.later(380);
    bench.say("1.5");
    CHECK_THAT(bench.say("yes"), Contains("control C1 reads outside the 0.8 to 1.2 that is accepted (test B250720-02); "
                                          "no result of today with K7 is there to be in doubt") &&
                                     Contains("control due: the last one reads outside what it accepts; scan C1"));
    CHECK_THAT(bench.say("again S1"), !Contains("control due"));  // said once
    bench.say("mistake only a look");
    bench.say("C1");
    bench.later(380);
    bench.say("1.05");
    CHECK_THAT(bench.say("yes"), !Contains("control due"));
    CHECK(bench.desk->view().control.tests_to == 2);
    bench.later(1);
    for (const char* sample : {"S2", "S3"}) CHECK_THAT(bench.say(sample), !Contains("control due"));
    CHECK_THAT(bench.say("S4"), Contains("control due: 2 strips of grain since control C1"));
    bench.now.utc += std::chrono::hours(24);
    CHECK_THAT(bench.desk->view().control.why, Contains("no control was read with kit lot K7 today"));
}

TEST_CASE("what a test carries is kept until it is changed and what cannot be is refused") {
    BenchFarm bench;
    CHECK_THAT(bench.say("kit K8"), Contains("nothing says when its strips may be read: kit lot K8 does not say") &&
                                        Contains("kit lot K8 was good until 2025-06-30: its results are flagged"));
    CHECK_THAT(bench.say("kit K9"), Contains("kit lot K9 is not in the store"));
    bench.say("kit K8");
    CHECK_THAT(bench.say("S9"), Contains("kit lot K8 was good until 2025-06-30") && Contains("nothing says when"));
    bench.say("mistake only a look");
    bench.say("kit -");
    CHECK_THAT(bench.say("kit"), Contains("kit lot: not said"));
    CHECK_THAT(bench.say("portion ten"), Contains("portion in g"));
    CHECK(bench.refused);
    CHECK_THAT(bench.say("unit mg"), Contains("no known unit of DON"));
    bench.say("unit ug/kg");
    bench.say("portion 20");
    CHECK_THAT(bench.say("S1"), Contains("nothing says when it may be read: no kit lot is said"));
    CHECK_THAT(bench.say("420"), Contains("no kit lot said, ran 0:00: 0.42 mg/kg"));
    bench.say("yes");
    CHECK(bench.tests()[0].portion_g == 20.0);
    bench.say("S2");
    CHECK_THAT(bench.say("0,42"), Contains("decimal comma") && !Contains("column map"));
    CHECK_THAT(bench.say("0.42 mg/kg soon"), Contains("\"soon\" is not understood here"));
    CHECK_THAT(bench.say("lines"), Contains("write the signals of test line and control line"));
    CHECK_THAT(bench.say("void"), Contains("write why it is void"));
    CHECK_THAT(bench.say("0.4 mg/kg after noon"), Contains("\"noon\" is no time that a strip ran"));
    CHECK_THAT(bench.say(std::string(2000, 'x')), Contains("the line has 2000 letters, and 400 are the most"));
}

TEST_CASE("a clock that was started by mistake is withdrawn with its reason") {
    BenchFarm bench;
    CHECK_THAT(bench.say("mistake"), Contains("no strip is in hand"));
    bench.say("S1");
    CHECK_THAT(bench.say("mistake"), Contains("write why"));
    CHECK_THAT(bench.say("mistake wrong bag scanned"), Contains("strip B250720-01 of S1 is withdrawn"));
    CHECK(bench.running().empty());
    REQUIRE(bench.farm.store.withdrawals().size() == 1);
    CHECK(bench.farm.store.withdrawals()[0].reason == "started by mistake: wrong bag scanned");
    bench.say("S1");
    CHECK(bench.running()[0].strip == "B250720-02");  // a name is never used twice
}

TEST_CASE("what another program brings into the store meanwhile is known at the next line") {
    BenchFarm bench;
    bench.say("S20");
    CHECK(bench.refused);
    geo::Store other = geo::Store::open(bench.farm.store.file());
    geo::add_row(other, "samples", {{"sample", "S20"}, {"stage", "standing"}, {"kind", "composite"}, {"field", "Fen"}});
    CHECK_THAT(bench.say("S20"), Contains("S20 (field Fen), strip"));
}

/// Lines of a test; a number of seconds among them passes before the next one.
struct ToldLines : app::BenchLines {
    BenchFarm& bench;
    std::deque<std::string> lines;
    ToldLines(BenchFarm& farm, std::deque<std::string> told) : bench(farm), lines(std::move(told)) {}
    Got next(app::BenchLine& line, std::optional<seconds> patience) override {
        if (lines.empty()) return Got::ended;
        if (lines.front() == "wait") {
            lines.pop_front();
            if (patience) bench.later(static_cast<int>(patience->count()));
            return Got::nothing_yet;
        }
        line.text = lines.front();
        lines.pop_front();
        return Got::line;
    }
    bool has_a_person() const override { return false; }
};

TEST_CASE("a dialogue says when a strip may be read and when its time is over and ends without losing it") {
    BenchFarm bench;
    ToldLines lines(bench, {"kit K7", "S1", "wait", "show", "wait", "0.4"});
    std::string page;
    CHECK_FALSE(app::bench_dialogue(*bench.desk, lines, [&page](const std::string& text) { page += text; }));
    CHECK_THAT(page, Contains("In use: operator not said, kit lot not said.") && Contains("No strip is running.") &&
                         Contains("S1 (field Fen), strip B250720-01: read now, 0:30 left") &&
                         Contains("B250720-01  S1      K7       6:10  6:10 to 6:40  read now, 0:30 left  in hand") &&
                         Contains("S1 (field Fen), strip B250720-01: too late by 0:01") &&
                         Contains("not answered and not recorded: the result of S1 waits for its yes or no") &&
                         Contains("1 strip goes on running and is there when the bench is opened again"));
    for (std::size_t at = 0; at < page.size();) {
        const std::size_t end = std::min(page.find('\n', at), page.size());
        CHECK(end - at <= 104);  // bytes; letters are fewer
        at = end + 1;
    }
    CHECK(bench.running().size() == 1);
    ToldLines wrong(bench, {"S99"});
    CHECK(app::bench_dialogue(*bench.desk, wrong, [](const std::string&) {}));
}

}  // namespace bench_tests
