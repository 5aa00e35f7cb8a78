#include "geo/changes.h"

#include "geo/check.h"
#include "geo/export.h"
#include "geo/store/started_strips.h"
#include "tests/geo/store_fixture.h"

/// What a sitting wrote, taken back by records of the same kinds, and made again.
namespace store_tests {

using Catch::Matchers::Contains;
using Catch::Matchers::StartsWith;

namespace {

const std::string taken_back = "taken back in the window", again = "done again in the window";

struct Sitting : Farm {
    Sitting() {
        import_text("samples", "sample,stage,kind,field\nS1,standing,composite,Fen\nS2,combine,composite,Fen\n");
        import_text("bins", "bin,capacity_t,purpose\nB1,100,food\nB2,100,feed\n");
        import_text("loads", "load,time,net_t,commodity,status\nL1,2025-07-20T08:00:00+02:00,20,wheat,awaiting\n");
    }
    std::vector<geo::RecordChange> write(const std::vector<geo::RowToWrite>& rows) {
        return geo::write_and_tell(store, rows);
    }
    std::string text_of(const std::string& kind) const { return geo::export_text(store, kind).text; }
    void check() {
        for (const auto& finding : geo::check_store(store)) CHECK(finding.good);
    }
};

geo::RowToWrite read_test(const std::string& name, const std::string& don) {
    return {"tests",
            {{"test", name},
             {"sample", "S1"},
             {"time", "2025-07-20T10:06:20+02:00"},
             {"don", don},
             {"unit", "ug/kg"},
             {"kit_lot", "K7"},
             {"lot_dilution", "6"},
             {"operator", "Ada Holt"}}};
}

}  // namespace

TEST_CASE("what was written is taken back by a withdrawal and stands again as it was") {
    Sitting farm;
    const std::string before = farm.text_of("tests");
    const std::vector<geo::RowToWrite> rows = GENERATE_COPY(
        std::vector<geo::RowToWrite>{read_test("T1", "420")}, std::vector<geo::RowToWrite>{read_test("T1", "<200")},
        std::vector<geo::RowToWrite>{{"tests",
                                      {{"test", "T1"},
                                       {"sample", "S1"},
                                       {"time", "2025-07-20T10:06:20+02:00"},
                                       {"valid", "no"},
                                       {"void_reason", "no control line"}}}},
        std::vector<geo::RowToWrite>{{"tests",
                                      {{"test", "T1"},
                                       {"sample", "S9"},
                                       {"time", "2025-07-20T10:06:20+02:00"},
                                       {"don", "0.42"},
                                       {"unit", "mg/kg"},
                                       {"stage", "combine"},
                                       {"kind", "composite"},
                                       {"field", "Fen"}}}});
    const std::string samples_before = farm.text_of("samples");
    const auto changes = farm.write(rows);
    REQUIRE_FALSE(changes.empty());
    CHECK(geo::in_words(changes.back()) == "test T1 entered");
    const std::string after = farm.text_of("tests"), samples_after = farm.text_of("samples");
    REQUIRE(after != before);
    geo::take_back(farm.store, changes, taken_back);
    CHECK(farm.text_of("samples") == samples_before);
    CHECK(farm.store.tests().empty());
    REQUIRE_FALSE(farm.store.withdrawals().empty());
    CHECK(farm.store.withdrawals().back().reason == taken_back);
    geo::make_again(farm.store, changes, again);
    CHECK(farm.text_of("tests") == after);
    CHECK(farm.text_of("samples") == samples_after);
    CHECK(farm.store.withdrawals().empty());
    geo::take_back(farm.store, changes, taken_back);
    CHECK(farm.store.tests().empty());
    farm.check();
}

TEST_CASE("a correction is taken back to what was said before, to nothing where nothing was") {
    Sitting farm;
    farm.write({read_test("T1", "420")});
    const std::string before = farm.text_of("tests");
    const auto changes =
        farm.write({{"tests", {{"test", "T1"}, {"don", ">6"}, {"unit", "mg/kg"}, {"reader", "R1"}}, "", "misread"}});
    REQUIRE(changes.size() == 1);
    CHECK(geo::in_words(changes[0]) == "test T1 corrected");
    const std::string after = farm.text_of("tests");
    geo::take_back(farm.store, changes, taken_back);
    CHECK(farm.text_of("tests") == before);
    geo::make_again(farm.store, changes, again);
    CHECK(farm.text_of("tests") == after);
    farm.check();
}

TEST_CASE("a strip whose start was a mistake runs again when the mistake is taken back") {
    Sitting farm;
    const std::vector<std::pair<std::string, std::string>> start = {
        {"strip", "B1"}, {"sample", "S1"}, {"started", "2025-07-20T10:00:00+02:00"}, {"operator", "Ada Holt"}};
    const auto started = farm.write({{"strips", start}});
    CHECK(geo::in_words(started[0]) == "strip B1 started");
    const auto mistake = farm.write({{"strips", {{"strip", "B1"}}, "started by mistake: wrong bag"}});
    CHECK(geo::in_words(mistake[0]) == "strip B1 withdrawn");
    CHECK(geo::running_strips(farm.store).empty());
    geo::take_back(farm.store, mistake, taken_back);
    REQUIRE(geo::running_strips(farm.store).size() == 1);
    CHECK(geo::running_strips(farm.store)[0].operator_name == "Ada Holt");
    geo::take_back(farm.store, started, taken_back);
    CHECK(geo::running_strips(farm.store).empty());
    farm.check();
}

TEST_CASE("the start of a strip that was read stays, also when its result is taken back") {
    Sitting farm;
    const auto started =
        farm.write({{"strips", {{"strip", "T1"}, {"sample", "S1"}, {"started", "2025-07-20T09:50:00+02:00"}}}});
    CHECK(geo::why_they_stay(farm.store, started).empty());
    // The result sets the clock right first, as the bench does.
    const auto result = farm.write(
        {{"strips", {{"strip", "T1"}, {"started", "2025-07-20T10:00:00+02:00"}}, "", "its clock was started early"},
         read_test("T1", "420")});
    REQUIRE(result.size() == 2);
    CHECK_THAT(geo::why_they_stay(farm.store, started), Contains("strip T1 was read"));
    geo::take_back(farm.store, result, taken_back);
    CHECK_THAT(farm.text_of("strips"), Contains("09:50:00"));
    CHECK(farm.store.tests().empty());
    const auto records = geo::end_of_chain(farm.store).records;
    CHECK_THAT(refusal_of([&] { geo::take_back(farm.store, started, taken_back); }),
               Contains("strip T1 was read, so it was run: its start stays") && Contains("its test is withdrawn"));
    CHECK(geo::end_of_chain(farm.store).records == records);
    farm.check();
}

TEST_CASE("what somebody else changed meanwhile is not taken back and nothing of the rest is") {
    Sitting farm;
    const auto changes = farm.write({read_test("T1", "420"), read_test("T2", "500")});
    geo::ImportOptions correction;
    correction.correct_because = "read again";
    geo::add_row(farm.store, "tests", {{"test", "T1"}, {"don", "0.5"}, {"unit", "mg/kg"}}, correction);
    const auto records = geo::end_of_chain(farm.store).records;
    CHECK_THAT(refusal_of([&] { geo::take_back(farm.store, changes, taken_back); }),
               StartsWith("test T1 was changed since by somebody else"));
    CHECK(geo::end_of_chain(farm.store).records == records);
    CHECK(farm.store.tests().size() == 2);
    // Nor is made again what stands already.
    CHECK_THAT(refusal_of([&] { geo::make_again(farm.store, changes, again); }), Contains("was changed since"));
    farm.check();
}

TEST_CASE("a load that was confirmed is taken back with its move and its state, unless grain moved on") {
    Sitting farm;
    const auto move = [](const char* name, const char* from, const char* to, const char* when) {
        return geo::RowToWrite{"moves", {{"move", name}, {"time", when}, {"from", from}, {"to", to}, {"mass_t", "20"}}};
    };
    const std::string loads = farm.text_of("loads");
    const auto confirmed = farm.write({move("M1", "L1", "B1", "2025-07-20T11:00:00+02:00"),
                                       {"loads", {{"load", "L1"}, {"status", "dumped"}}, "", "dumped"}});
    REQUIRE(confirmed.size() == 2);
    CHECK(geo::in_words(confirmed[0]) == "move M1 entered");
    const auto later = farm.write({move("M2", "B1", "B2", "2025-07-20T12:00:00+02:00")});
    CHECK_THAT(refusal_of([&] { geo::take_back(farm.store, confirmed, taken_back); }),
               Contains("without it move M2 could not have happened") && Contains("withdraw or correct move M2 first"));
    CHECK(farm.store.moves().size() == 2);
    geo::take_back(farm.store, later, taken_back);
    geo::take_back(farm.store, confirmed, taken_back);
    CHECK(farm.store.moves().empty());
    CHECK(farm.text_of("loads") == loads);
    geo::make_again(farm.store, confirmed, again);
    CHECK(farm.store.moves().size() == 1);
    farm.check();
}

TEST_CASE("what is written and stays as it was is no change") {
    Sitting farm;
    farm.write({read_test("T1", "420")});
    CHECK(farm.write({read_test("T1", "420")}).empty());
    CHECK_THAT(refusal_of([&] {
                   farm.write({read_test("T2", "420"), read_test("T3", "nonsense")});
               }),
               Contains("nonsense"));
    CHECK(farm.store.tests().size() == 1);
}

}  // namespace store_tests
