#include <algorithm>

#include "geo/check.h"
#include "geo/export.h"
#include "geo/store/database.h"
#include "tests/geo/store_fixture.h"

/// What was said stays; what is said of it now comes after it.
namespace store_tests {

using Catch::Matchers::Contains;
using Row = std::vector<std::pair<std::string, std::string>>;

namespace {

geo::ImportOptions because(const std::string& reason) {
    geo::ImportOptions options;
    options.correct_because = reason;
    options.actor = "Nell";
    return options;
}

/// Two bins, one with old grain in it, and two loads of 20 t.
struct Pit : Farm {
    Pit() {
        import_text("bins",
                    "bin,capacity_t,purpose,draw_off,opening_mass_t,opening_mean_mg_per_kg,opening_sd_mg_per_kg\n"
                    "S4,80,food,first_in,24,0.4,0.1\n"
                    "S6,60,feed,mixed,,,\n");
        import_text("loads", "load,time,net_t\nL1,2025-07-20T09:00+02:00,20\nL2,2025-07-20T10:00+02:00,20\n");
    }
    std::string move(const Row& values) {
        return refusal_of([&] { geo::add_row(store, "moves", values); });
    }
    std::string withdraw(const std::string& kind, const Row& keys, const std::string& reason = "typed twice") {
        return refusal_of([&] { geo::withdraw_row(store, kind, keys, reason, "Nell"); });
    }
    long records_of_moves() { return static_cast<long>(store.database().whole("SELECT count(*) FROM move")); }
};

Row a_move(const std::string& name, const std::string& minute, const std::string& from, const std::string& to,
           const std::string& mass_t) {
    return {{"move", name},
            {"time", "2025-07-20T11:" + minute + ":00+02:00"},
            {"from", from},
            {"to", to},
            {"mass_t", mass_t}};
}

}  // namespace

TEST_CASE("a move of grain that does not lie there stays out in words that say what does") {
    Pit pit;
    CHECK(pit.move(a_move("M1", "00", "L1", "S6", "20.05")).empty());  // within what scales differ by
    CHECK_THAT(
        pit.move(a_move("M2", "01", "L1", "S4", "20")),
        Contains("20.0 t are to leave load L1, which has 0.0 t left of its 20.0 t (20.0 t of it lie in bin S6)"));
    CHECK_THAT(pit.move(a_move("M3", "02", "S4", "out", "90")),
               Contains("90.0 t are to leave bin S4, in which 24.0 t lie"));
    CHECK_THAT(pit.move(a_move("M4", "03", "S6", "S6", "5")), Contains("the grain goes where it came from"));
    CHECK_THAT(pit.move(a_move("M5", "04", "S6", "L2", "5")), Contains("grain cannot go from S6 to L2"));
    CHECK_THAT(pit.move(a_move("M6", "05", "L2", "S6", "0")), Contains("a mass of 0 t cannot be moved"));
    CHECK_THAT(pit.move(a_move("M7", "06", "L3", "S6", "5")), Contains("\"L3\" is no load and no bin"));
    CHECK_THAT(pit.move(a_move("M8", "07", "H1", "S6", "5")), Contains("\"H1\" is no load and no bin"));
    CHECK(pit.records_of_moves() == 1);
}

TEST_CASE("a file of moves is played in the order of time and only what cannot have happened is refused") {
    Pit pit;
    const std::string file =
        "move,time,from,to,mass_t\n"
        "M3,2025-07-20T11:30+02:00,S6,out,35\n"
        "M1,2025-07-20T11:00+02:00,L1,S6,20\n"
        "M2,2025-07-20T11:10+02:00,L2,S6,20\n"
        "M4,2025-07-20T11:40+02:00,S6,out,10\n"
        "M5,2025-07-20T11:50+02:00,S6,out,5\n";
    const auto report = pit.import_text("moves", file);
    CHECK(report.added == 4);
    CHECK(report.names == std::vector<std::string>{"M3", "M1", "M2", "M5"});
    REQUIRE(report.refused.size() == 1);
    CHECK(report.refused[0].row == 5);
    CHECK_THAT(geo::to_text(report.refused[0]), Contains("10.0 t are to leave bin S6, in which 5.0 t lie"));
    // The same file again: what is there is there, what could not be still cannot.
    const auto again = pit.import_text("moves", file);
    CHECK(again.added == 0);
    CHECK(again.unchanged == 4);
    CHECK(again.refused.size() == 1);
}

TEST_CASE("an earlier move that would take the grain of a recorded one is refused with that one's name") {
    Pit pit;
    CHECK(pit.move(a_move("M1", "10", "S4", "out", "20")).empty());
    CHECK_THAT(pit.move(a_move("M0", "05", "S4", "S6", "10")),
               Contains("with it the later move M1 could not have happened: 20.0 t are to leave bin S4, in which 14.0 "
                        "t lie") &&
                   Contains("withdraw move M1 first"));
    CHECK(pit.move(a_move("M0", "05", "S4", "S6", "4")).empty());
    // The same of a correction.
    const std::string corrected = refusal_of([&] {
        geo::add_row(pit.store, "moves", {{"move", "M0"}, {"mass_t", "10"}}, because("read again"));
    });
    CHECK_THAT(corrected, Contains("the later move M1 could not have happened"));
    geo::add_row(pit.store, "moves", {{"move", "M0"}, {"mass_t", "3"}}, because("read again"));
    CHECK(pit.store.moves().front().mass_t == 3.0);
}

TEST_CASE("a withdrawn move counts no more and everything of it stays in the chain") {
    Pit pit;
    pit.move(a_move("M1", "00", "L1", "S6", "20"));
    pit.move(a_move("M2", "10", "S6", "out", "5"));
    CHECK_THAT(pit.withdraw("moves", {{"move", "M1"}}),
               Contains("without it move M2 could not have happened") && Contains("withdraw or correct move M2 first"));
    CHECK_THAT(pit.withdraw("moves", {{"move", "M2"}}, " "), Contains("a withdrawal needs its reason"));
    CHECK_THAT(pit.withdraw("moves", {{"move", "M9"}}), Contains("there is no move M9 in the store"));
    CHECK_THAT(pit.withdraw("moves", {{"move", "M2"}, {"mass_t", "5"}}),
               Contains("\"mass_t\" is no part of what a record of moves is known by"));
    CHECK(pit.withdraw("moves", {{"move", "M2"}}).empty());
    CHECK(pit.withdraw("moves", {{"move", "M1"}}, "typed for another load").empty());
    CHECK(pit.store.moves().empty());
    CHECK(pit.records_of_moves() == 4);
    const auto withdrawn = pit.store.withdrawals();
    REQUIRE(withdrawn.size() == 2);
    CHECK_THAT(geo::in_words(withdrawn[1]),
               Contains("move M1 was withdrawn by Nell at ") && Contains(": typed for another load"));
    for (const geo::CheckFinding& finding : geo::check_store(pit.store)) {
        INFO(finding.what << ": " << finding.detail);
        CHECK(finding.good);
    }
    // The event names what it takes back.
    CHECK(pit.store.database().whole("SELECT count(*) FROM event WHERE undoes IS NOT NULL") == 2);
    CHECK(pit.store.database().whole(
              "SELECT count(*) FROM event AS e JOIN event AS old ON old.sequence = e.undoes "
              "WHERE json_extract(e.payload, '$.record') = json_extract(old.payload, '$.record')") == 2);
}

TEST_CASE("a withdrawn record comes back only with a reason") {
    Pit pit;
    pit.move(a_move("M1", "00", "L1", "S6", "20"));
    pit.withdraw("moves", {{"move", "M1"}});
    CHECK_THAT(pit.move(a_move("M1", "00", "L1", "S6", "20")),
               Contains("move M1 was withdrawn (typed twice)") && Contains("--correct REASON"));
    geo::add_row(pit.store, "moves", a_move("M1", "00", "L1", "S6", "18"), because("it was right"));
    REQUIRE(pit.store.moves().size() == 1);
    CHECK(pit.store.moves()[0].mass_t == 18.0);
    CHECK(pit.store.withdrawals().empty());
}

TEST_CASE("what others name is not withdrawn under them") {
    Pit pit;
    pit.move(a_move("M1", "00", "L1", "S6", "20"));
    CHECK_THAT(pit.withdraw("loads", {{"load", "L1"}}), Contains("load L1 cannot be withdrawn while move M1 names it"));
    CHECK_THAT(pit.withdraw("bins", {{"bin", "S6"}}), Contains("move M1 names it"));
    CHECK_THAT(pit.withdraw("fields", {{"field", "Fen"}}), Contains("field Fen names it"));
    CHECK(pit.withdraw("loads", {{"load", "L2"}}).empty());
    CHECK(pit.withdraw("crops", {{"field", "Fen"}, {"season", "2025"}}).empty());
    CHECK(pit.withdraw("fields", {{"field", "Fen"}}).empty());
    CHECK(pit.store.loads().size() == 1);
    CHECK_THAT(pit.withdraw("weather", {{"station", "H"}}), Contains("not withdrawn one by one"));
}

TEST_CASE("a correction by hand keeps what is not typed and says what changed") {
    Pit pit;
    const auto report =
        geo::add_row(pit.store, "bins", {{"bin", "S4"}, {"purpose", "hold"}, {"draw_off", "-"}}, because("now hold"));
    CHECK(report.corrected == 1);
    CHECK(report.changed == std::vector<std::string>{"S4: purpose: food -> hold", "S4: draw_off: first_in -> nothing"});
    CHECK(report.kept == std::vector<std::string>{"capacity_t 80", "opening_mass_t 24", "opening_mean_mg_per_kg 0.4",
                                                  "opening_sd_mg_per_kg 0.1"});
    const models::Bin bin = pit.store.bins().front();
    CHECK(bin.opening_mass_t == 24.0);
    CHECK(bin.draw_off == models::DrawOff::unknown);
    // A required one cannot be cleared, and what is not there is not corrected.
    CHECK_THAT(refusal_of([&] {
                   geo::add_row(pit.store, "bins", {{"bin", "S4"}, {"capacity_t", ""}}, because("?"));
               }),
               Contains("the cell is empty, and it is required"));
    CHECK_THAT(refusal_of([&] {
                   geo::add_row(pit.store, "bins", {{"bin", "S5"}, {"purpose", "feed"}}, because("?"));
               }),
               Contains("there is no bin S5 to correct; did you mean \"S4\"?") && Contains("give capacity_t, too"));
    // The same values again are no correction.
    CHECK(geo::add_row(pit.store, "bins", {{"bin", "S4"}, {"purpose", "hold"}}, because("again")).unchanged == 1);
}

TEST_CASE("a correction from a file keeps the columns that the file does not have") {
    Pit pit;
    const auto report =
        pit.import_text("bins", "bin,capacity_t,purpose,keep_apart\nS4,85,food,organic\n", because("x"));
    CHECK(report.corrected == 1);
    const models::Bin bin = pit.store.bins().front();
    CHECK(bin.capacity_t == 85.0);
    CHECK(bin.keep_apart == "organic");
    CHECK(bin.opening_mass_t == 24.0);
    CHECK(report.changed.front() == "S4: capacity_t: 80 -> 85");
}

TEST_CASE("of a test the result stays when another column is corrected") {
    Pit pit;
    pit.import_text("samples", "sample,stage,kind,field\nG1,standing,composite,Fen\n");
    pit.import_text("tests", "test,time,sample,don,unit,operator\nT1,2025-07-01T10:00+02:00,G1,<0.2,mg/kg,Ida\n");
    geo::add_row(pit.store, "tests", {{"test", "T1"}, {"operator", "Jon"}}, because("the other one"));
    models::Test test = pit.store.tests().front();
    CHECK(test.operator_name == "Jon");
    CHECK(test.reading == models::Reading::below);
    CHECK(test.don_mg_per_kg == 0.2);
    CHECK_THAT(refusal_of([&] {
                   geo::add_row(pit.store, "tests", {{"test", "T1"}, {"don", "0.4"}}, because("?"));
               }),
               Contains("a result is corrected together with its unit") && Contains("give unit, too"));
    geo::add_row(pit.store, "tests", {{"test", "T1"}, {"valid", "no"}, {"void_reason", "no control line"}},
                 because("seen later"));
    CHECK(pit.store.tests().front().reading == models::Reading::invalid);
    CHECK_THAT(
        refusal_of([&] {
            geo::add_row(pit.store, "tests", {{"test", "T1"}, {"valid", "yes"}, {"void_reason", "-"}}, because("?"));
        }),
        Contains("a valid one needs its result"));
    geo::add_row(pit.store, "tests",
                 {{"test", "T1"}, {"valid", "yes"}, {"void_reason", "-"}, {"don", "300"}, {"unit", "ppb"}},
                 because("it was seen"));
    CHECK(pit.store.tests().front().don_mg_per_kg == 0.3);
}

TEST_CASE("every kind of table keeps what a correction does not speak of") {
    // One record of each kind with as much in it as the kind takes; one cell is corrected, and export shows the rest.
    Pit pit;
    const std::vector<std::pair<std::string, std::vector<std::pair<Row, Row>>>> cases = {
        {"crops", {{{{"field", "Fen"}, {"season", "2025"}}, {{"cultivar", "Amber"}}}}},
        {"loads", {{{{"load", "L1"}}, {{"truck", "T 12"}}}}},
        {"bins", {{{{"bin", "S4"}}, {{"keep_apart", "seed"}}}}},
    };
    for (const auto& [kind, records] : cases) {
        for (const auto& [key, change] : records) {
            const std::string before = geo::export_text(pit.store, kind).text;
            Row values = key;
            values.insert(values.end(), change.begin(), change.end());
            geo::add_row(pit.store, kind, values, because("one cell"));
            std::string after = geo::export_text(pit.store, kind).text;
            const std::string& word = change.front().second;
            INFO(kind << "\n" << before << after);
            REQUIRE(after.find(word) != std::string::npos);
            after.erase(after.find(word), word.size());
            CHECK(after == before);
        }
    }
}

}  // namespace store_tests
