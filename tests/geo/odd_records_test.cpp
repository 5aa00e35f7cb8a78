#include <algorithm>

#include "geo/check.h"
#include "geo/import.h"
#include "tests/geo/store_fixture.h"

/// What cannot be is refused; what is odd goes in and is told.
namespace store_tests {

using Catch::Matchers::Contains;
using Row = std::vector<std::pair<std::string, std::string>>;

namespace {

/// Samples of Fen (S1) and of a load (S2), kit lot K77 of 0.2 to 6 mg/kg until 1 August 2025.
struct Bench : Farm {
    Bench() {
        import_text("loads", "load,time,net_t\nL1,2025-08-01T09:00+02:00,20\nL2,2025-08-01T10:00+02:00,20\n");
        import_text("load-parts", "load,field,share\nL1,Fen,0.5\nL1,Long Acre,0.5\n");
        import_text("samples",
                    "sample,stage,kind,field,load,taken_time\nS1,standing,composite,Fen,,2025-07-20T09:00+02:00\n"
                    "S2,truck,composite,,L1,\n");
        import_text("kit-lots",
                    "kit_lot,commodity,dilution,low_mg_per_kg,high_mg_per_kg,expires\n"
                    "K77,wheat,1,0.2,6,2025-08-01\nK77,barley,1,0.3,5,2025-08-01\n");
    }
    std::string sample(const std::string& cells) {
        return refusal("samples", "sample,stage,kind,field,load,taken_time\n" + cells + "\n");
    }
    std::string test(const std::string& cells) { return refusal("tests", test_header + cells + "\n"); }
    std::vector<std::string> cautions(const std::string& rows) {
        const auto report = import_text("tests", test_header + rows + "\n");
        for (const auto& refused : report.refused) FAIL(geo::to_text(refused));
        return report.cautions;
    }
    std::string typed(const std::string& kind, const Row& values) {
        return refusal_of([&] { geo::add_row(store, kind, values); });
    }
    const std::string test_header = "test,time,sample,don,unit,kit_lot,extra_dilution,commodity\n";
};

}  // namespace

TEST_CASE("a typed row that is refused says which column it is about") {
    Bench bench;
    const auto column_of = [&](const std::vector<geo::RowToWrite>& rows) -> std::string {
        try {
            geo::write_rows(bench.store, rows);
        } catch (const geo::RowError& error) {
            return error.column();
        } catch (const models::Error& error) {
            return std::string("no column: ") + error.what();
        }
        return "not refused";
    };
    CHECK(column_of({{"loads", {{"load", "L9"}, {"net_t", "1,25"}}}}) == "net_t");
    CHECK(column_of({{"load-parts", {{"load", "L2"}, {"field", "Moor"}}}}) == "field");
    // The sum is found after the row was read.
    CHECK(column_of({{"load-parts", {{"load", "L2"}, {"field", "Fen"}, {"share", "0.7"}}},
                     {"load-parts", {{"load", "L2"}, {"field", "Long Acre"}, {"share", "0.7"}}}}) == "share");
    CHECK(bench.store.loads()[1].parts.empty());
    CHECK(column_of({{"outlines", {{"field", "Fen"}}}}).starts_with("no column: "));
}

TEST_CASE("a test that is still to be read by the clock goes in and is told") {
    Bench bench;
    bench.import_text("loads", "load,time\nL9,2999-07-20T09:00+02:00\n");  // bought grain
    bench.import_text("samples", "sample,stage,kind,load\nS9,truck,composite,L9\n");
    const auto told = bench.cautions("T1,2999-07-20T10:00+02:00,S9,0.4,mg/kg,,,");
    REQUIRE_FALSE(told.empty());
    CHECK_THAT(told.front(), Contains("test T1 was read at 2999-07-20T10:00:00+02:00, and by this machine's clock that "
                                      "is still to come"));
}

TEST_CASE("a test that was read before its sample was taken is refused and clocks may differ by two hours") {
    Bench bench;
    CHECK_THAT(bench.test("T1,2025-07-10T10:00+02:00,S1,0.4,mg/kg,,,"),
               Contains("column time: test T1 was read at 2025-07-10T10:00:00+02:00, before its sample S1 was taken at "
                        "2025-07-20T09:00:00+02:00") &&
                   Contains("check both times"));
    const auto told = bench.cautions("T1,2025-07-20T08:10+02:00,S1,0.4,mg/kg,,,");
    REQUIRE(told.size() == 1);
    CHECK_THAT(told[0], Contains("test T1 was read at") && Contains("one of the two clocks is wrong"));
    CHECK(bench.cautions("T2,2025-07-20T07:10Z,S1,0.4,mg/kg,,,").empty());  // 9:10 on the farm
    // The same from the other side, and of samples that come with their tests.
    geo::ImportOptions mended;
    mended.correct_because = "typed wrong";
    CHECK_THAT(bench.refusal("samples", "sample,stage,kind,taken_time\nS1,standing,composite,2025-08-02T09:00+02:00\n",
                             mended),
               Contains("column taken_time: test T1 was read at") && Contains("before its sample S1 was taken at"));
    CHECK_THAT(bench.refusal("tests",
                             "test,time,sample,don,unit,stage,kind,field,taken_time\n"
                             "T9,2025-07-10T10:00+02:00,S9,0.4,mg/kg,standing,composite,Fen,2025-07-20T09:00+02:00\n"),
               Contains("before its sample S9 was taken"));
}

TEST_CASE("a sample of a season without a crop record is refused whichever way the year is wrong") {
    Bench bench;
    CHECK_THAT(bench.sample("S3,standing,composite,Fen,,2031-07-20T09:00+02:00"),
               Contains("column taken_time: 2031-07-20T09:00:00+02:00 lies in season 2031, of which field Fen has no "
                        "crop record (it has 2025)"));
    CHECK_THAT(bench.sample("S3,standing,composite,Fen,,2023-07-20T09:00+02:00"), Contains("lies in season 2023"));
}

TEST_CASE("grain of one season is not tested for another") {
    Bench bench;
    bench.import_text("crops", "field,season,crop,flowering_date\nFen,2024,wheat,2024-06-14\n");
    bench.import_text("samples",
                      "sample,stage,kind,field,taken_time\nS3,standing,composite,Fen,2024-07-20T09:00+02:00\n");
    CHECK_THAT(bench.test("T1,2025-07-20T10:00+02:00,S3,0.4,mg/kg,,,"),
               Contains("sample S3 was taken on 2024-07-20, in season 2024, and its test T1 would count for 2025") &&
                   Contains("kept since another season stays out"));
    CHECK(bench.cautions("T1,2025-01-20T10:00+02:00,S3,0.4,mg/kg,,,").empty());  // within 300 days of flowering
}

TEST_CASE("a sample of a load does not name a field that the load holds nothing of") {
    Bench bench;
    CHECK_THAT(bench.sample("S3,truck,composite,Mill Piece,L1,"),
               Contains("column field: the sample is of load L1, which holds no grain of field Mill Piece (it holds "
                        "grain of Fen, Long Acre)") &&
                   Contains("leave it out, or correct the load's parts"));
    CHECK(bench
              .import_text("samples",
                           "sample,stage,kind,field,load\nS3,truck,composite,Fen,L1\n"
                           "S4,truck,composite,Fen,L2\n")
              .added == 2);  // of L2 nothing is said
}

TEST_CASE("a crop that flowers after it is cut is refused") {
    Farm farm(false);
    const std::string header = "field,season,crop,flowering_date,flowering_start,expected_cut_date\n";
    CHECK_THAT(farm.refusal("crops", header + "Fen,2025,wheat,2025-11-05,,2025-08-05\n"),
               Contains("column expected_cut_date: 2025-08-05 does not come after flowering_date 2025-11-05"));
    CHECK_THAT(farm.refusal("crops", header + "Fen,2025,wheat,,2025-08-05,2025-08-05\n"),
               Contains("does not come after flowering_start 2025-08-05"));
    CHECK(farm.import_text("crops", header + "Fen,2025,wheat,2025-06-05,,2025-08-05\n").added == 1);
}

TEST_CASE("a reading that its kit lot cannot give goes in and is told") {
    Bench bench;
    const std::string at = ",2025-07-20T10:00+02:00,S1,";
    const auto told = bench.cautions("T1" + at + "9.5,mg/kg,K77,,\nT2" + at + "6,mg/kg,K77,,\nT3" + at +
                                     "0.1,ppm,K77,,\nT4" + at + ">6,mg/kg,K77,,\nT5" + at + "25,mg/kg,K77,5,\nT6" + at +
                                     "5.5,mg/kg,K77,,barley\nT7" + at + "0.25,mg/kg,K77,,wheat");
    REQUIRE(told.size() == 3);
    CHECK(told[0] ==
          "test T1 reads 9.5 mg/kg, and the range of its kit lot ends at 6 mg/kg: such a strip tells only >6; dilute "
          "and test again");
    CHECK(told[1] ==
          "test T3 reads 0.1 mg/kg, and the range of its kit lot begins at 0.2 mg/kg: such a strip tells only <0.2");
    CHECK_THAT(told[2], Contains("test T6 reads 5.5 mg/kg") && Contains("ends at 5 mg/kg"));
    CHECK(bench.store.tests().size() == 7);
    // Nothing new is told of what is there already.
    CHECK(bench.cautions("T1" + at + "9.5,mg/kg,K77,,").empty());
}

TEST_CASE("a kit lot that is not there or past its day is told once and check names it") {
    Bench bench;
    const std::string at = ",2025-07-20T10:00+02:00,S1,0.4,mg/kg,";
    const auto told = bench.cautions("T1" + at + "K99,,\nT2" + at +
                                     "K99,,\nT3,2025-08-02T10:00+02:00,S1,0.4,mg/kg,"
                                     "K77,,");
    REQUIRE(told.size() == 2);
    CHECK_THAT(told[0], Contains("test T1 names kit lot K99, which is not in the store"));
    CHECK(told[1] == "test T3 was read on 2025-08-02, and kit lot K77 was good until 2025-08-01");
    bool named = false;
    for (const auto& finding : geo::check_store(bench.store)) {
        CHECK(finding.good);
        if (finding.what != "references") continue;
        named = true;
        CHECK(finding.detail ==
              "every name that must be there is there; not in the store: kit lot \"K99\" (2 of tests)");
    }
    CHECK(named);
    // Who keeps no kit lots is not told so with every strip.
    Farm plain;
    plain.import_text("samples", "sample,stage,kind,field\nS1,standing,composite,Fen\n");
    CHECK(plain.import_text("tests", "test,time,sample,don,unit,kit_lot\nT1" + at + "K1\n").cautions.empty());
}

TEST_CASE("a control that is past its day is told") {
    Bench bench;
    bench.import_text("controls", "control,assigned_mg_per_kg,expires\nC1,1,2025-07-01\n");
    bench.import_text("samples", "sample,stage,kind\nC1,control,composite\n");
    const auto told = bench.cautions("T1,2025-07-20T10:00+02:00,C1,1,mg/kg,,,");
    REQUIRE(told.size() == 1);
    CHECK_THAT(told[0], Contains("control C1 was good until 2025-07-01"));
}

TEST_CASE("a second withdrawal says who withdrew it first") {
    Bench bench;
    geo::withdraw_row(bench.store, "loads", {{"load", "L2"}}, "typed twice", "Nell");
    CHECK_THAT(refusal_of([&] {
                   geo::withdraw_row(bench.store, "loads", {{"load", "L2"}}, "again", "Nell");
               }),
               Contains("load L2 is withdrawn already: typed twice (Nell, ") && Contains("--correct REASON"));
    CHECK_THAT(refusal_of([&] {
                   geo::withdraw_row(bench.store, "loads", {{"load", "L3"}}, "again", "Nell");
               }),
               Contains("there is no load L3 in the store"));
}

TEST_CASE("a void test is typed without a result and a valid one without a result is told what lacks") {
    Bench bench;
    const Row start = {{"test", "T1"}, {"time", "2025-07-20T10:00+02:00"}, {"sample", "S1"}};
    Row without = start, made_void = start, no_unit = start;
    CHECK_THAT(bench.typed("tests", without), Contains("column don: there is no result") && Contains("valid = no"));
    no_unit.push_back({"don", "0.4"});
    CHECK_THAT(bench.typed("tests", no_unit), Contains("column unit: "));
    made_void.push_back({"valid", "no"});
    CHECK_THAT(bench.typed("tests", made_void), Contains("the test is void and does not say why"));
    made_void.push_back({"void_reason", "no control line"});
    CHECK(bench.typed("tests", made_void).empty());
    REQUIRE(bench.store.tests().size() == 1);
    CHECK(bench.store.tests()[0].reading == models::Reading::invalid);
}

TEST_CASE("what is typed by hand is answered without file and row and column map") {
    Bench bench;
    const auto weather = [&](const std::string& temperature) {
        return bench.typed("weather", {{"station", "H"},
                                       {"longitude_deg", "9.5"},
                                       {"latitude_deg", "56"},
                                       {"time", "2025-06-10T04:00+02:00"},
                                       {"temperature_degc", temperature},
                                       {"relative_humidity_pct", "80"}});
    };
    CHECK(
        weather("70") ==
        "column temperature_degc: a temperature of 70 degC lies outside -60 to 55 degC. To mend it: if these are degF, "
        "write it in the column's own unit.");
    CHECK(weather("12,5") == "column temperature_degc: \"12,5\" is no number. To mend it: write 12.5 and not 12,5.");
    CHECK_THAT(
        bench.typed(
            "samples",
            {{"sample", "S5"}, {"stage", "standing"}, {"kind", "composite"}, {"mass_g", "1,5"}, {"field", "Fen"}}),
        Contains("write 1.5") && !Contains("column map"));
    const auto far = geo::add_row(bench.store, "samples",
                                  {{"sample", "S5"},
                                   {"stage", "standing"},
                                   {"kind", "point"},
                                   {"field", "Fen"},
                                   {"longitude_deg", "9.505"},
                                   {"latitude_deg", "56.005"}});
    REQUIRE(far.notes.size() == 1);
    CHECK_THAT(far.notes[0], Catch::StartsWith("kept, but ") && !Contains("row 2"));
}

TEST_CASE("weather in UTC names the key of a column map that gives it the farm's clock") {
    Farm farm;
    const std::string rows =
        "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct\n"
        "H,9.5,56,2025-06-10T04:00:00Z,12,80\nH,9.5,56,2025-06-10T05:00:00Z,13,80\n";
    const auto plain = farm.import_text("weather", rows);
    REQUIRE_FALSE(plain.notes.empty());
    CHECK(std::any_of(plain.notes.begin(), plain.notes.end(), [](const std::string& note) {
        return note.find("2 times are in UTC") != std::string::npos &&
               note.find("offset = \"+02:00\"") != std::string::npos;
    }));
    Farm other;
    geo::ImportOptions mapped;
    mapped.column_map = other.folder.write("clock.toml", "offset = \"+02:00\"\n").string();
    for (const std::string& note : other.import_text("weather", rows, mapped).notes) CHECK_THAT(note, !Contains("UTC"));
}

TEST_CASE("a portion that outweighs its sample is refused with both weights from either side") {
    Bench bench;
    bench.import_text("samples", "sample,stage,kind,field,mass_g\nS3,standing,composite,Fen,40\n");
    const std::string header = "test,time,sample,don,unit,portion_g\n";
    CHECK_THAT(
        bench.refusal("tests", header + "T1,2025-07-20T10:00+02:00,S3,0.4,mg/kg,62\n"),
        Contains("column portion_g: the portion of test T1 weighs 62 g, and the sample S3 that it was taken from "
                 "40 g") &&
            Contains("check both: portion_g is what was extracted"));
    CHECK(bench.import_text("tests", header + "T1,2025-07-20T10:00+02:00,S3,0.4,mg/kg,40\n").added == 1);
    CHECK_THAT(bench.refusal("tests",
                             "test,time,sample,don,unit,portion_g,stage,kind,field,mass_g\n"
                             "T2,2025-07-20T10:00+02:00,S4,0.4,mg/kg,25,standing,composite,Fen,20\n"),
               Contains("the portion of test T2 weighs 25 g, and the sample S4 that it was taken from 20 g"));
    geo::ImportOptions mended;
    mended.correct_because = "weighed again";
    CHECK_THAT(
        bench.refusal("samples", "sample,stage,kind,field,mass_g\nS3,standing,composite,Fen,30\n", mended),
        Contains("column mass_g: the portion of test T1 weighs 40 g, and the sample S3 that it was taken from 30 g"));
    CHECK_THAT(bench.typed("tests", {{"test", "T3"},
                                     {"time", "2025-07-20T11:00+02:00"},
                                     {"sample", "S3"},
                                     {"don", "0.4"},
                                     {"unit", "mg/kg"},
                                     {"portion_g", "41"}}),
               Contains("the portion of test T3 weighs 41 g"));
}

TEST_CASE("a portion typed wrong and put right does not hold the weight of its sample") {
    Bench bench;
    bench.import_text("samples", "sample,stage,kind,field,mass_g\nS3,standing,composite,Fen,500\n");
    CHECK(
        bench
            .import_text("tests",
                         "test,time,sample,don,unit,portion_g,supersedes\n"
                         "T1,2025-07-20T10:00+02:00,S3,0.4,mg/kg,250,\nT2,2025-07-20T10:03+02:00,S3,0.4,mg/kg,25,T1\n")
            .added == 2);
    geo::ImportOptions mended;
    mended.correct_because = "weighed again";
    const std::string samples = "sample,stage,kind,field,mass_g\nS3,standing,composite,Fen,";
    CHECK(bench.import_text("samples", samples + "50\n", mended).corrected == 1);
    CHECK_THAT(bench.refusal("samples", samples + "20\n", mended), Contains("the portion of test T2 weighs 25 g"));
}

TEST_CASE("a duplicate of a duplicate is refused with the parent that it should have") {
    Bench bench;
    const std::string header = "sample,stage,kind,field,parent\n";
    CHECK(bench.import_text("samples", header + "A,standing,composite,Fen,\nB,standing,composite,Fen,A\n").added == 2);
    CHECK_THAT(
        bench.refusal("samples", header + "C,standing,composite,Fen,B\n"),
        Contains("column parent: sample C was split from B, and that from A: a duplicate of a duplicate tells of "
                 "neither step by itself") &&
            Contains("give C the parent A, or make its tests further tests of B"));
    CHECK(bench.import_text("samples", header + "C,standing,composite,Fen,A\n").added == 1);
    geo::ImportOptions mended;
    mended.correct_because = "the label says so";
    CHECK_THAT(bench.refusal("samples", header + "A,standing,composite,Fen,S1\n", mended),
               Contains("sample B was split from A, which would now be split from S1") &&
                   Contains("give B the parent S1 first"));
    CHECK_THAT(bench.refusal("samples", header + "B,standing,composite,Fen,B\n", mended),
               Contains("sample B is split from itself"));
}

}  // namespace store_tests
