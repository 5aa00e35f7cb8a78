#include <algorithm>
#include <cmath>

#include "geo/check.h"
#include "geo/export.h"
#include "geo/store/chain.h"
#include "geo/store/database.h"
#include "geo/store/records.h"
#include "geo/store/schema.h"
#include "geo/tables/kind.h"
#include "models/assay/strip_reading.h"
#include "tests/geo/store_fixture.h"

namespace store_tests {

using Catch::Matchers::Contains;
using models::Reading;

namespace {

const std::string lot_header =
    "kit_lot,commodity,dilution,low_mg_per_kg,high_mg_per_kg,expires,signal,curve_a,curve_b,curve_c,curve_d\n";
const std::string lot_k7 = lot_header + "K7,wheat,6,0.2,6,2025-08-01,test_over_control,1.2,1.1,0.9,0.08\n";
const std::string signal_header = "test,time,sample,kit_lot,commodity,test_signal,control_signal\n";
const std::string calibrator_header = "kit_lot,commodity,dilution,content_mg_per_kg,replicate,signal\n";

/// A farm with samples S1 and S2 of Fen.
struct StripFarm : Farm {
    StripFarm() {
        import_text("samples", "sample,stage,kind,field\nS1,standing,composite,Fen\nS2,combine,composite,Fen\n");
    }
    void must_take(const std::string& kind, const std::string& text, const geo::ImportOptions& options = {}) {
        const auto report = import_text(kind, text, options);
        for (const auto& refusal : report.refused) FAIL(geo::to_text(refusal));
    }
    models::Test test(const std::string& name) const {
        for (const models::Test& one : store.tests()) {
            if (one.test == name) return one;
        }
        FAIL("no test " << name);
        return {};
    }
};

bool all_good(geo::Store& store) {
    const auto findings = geo::check_store(store);
    return std::all_of(findings.begin(), findings.end(), [](const auto& finding) { return finding.good; });
}

}  // namespace

// 0.5 on the curve 1.20, 1.10, 0.90, 0.08 is the content 1.4319346 of a worked example.
TEST_CASE("a test that has only signals is read by the curve of its kit lot") {
    StripFarm farm;
    farm.must_take("kit-lots", lot_k7);
    farm.must_take("tests", signal_header +
                                "T1,2025-07-20T10:00:00+02:00,S1,K7,wheat,500,1000\n"
                                "T2,2025-07-20T10:10:00+02:00,S1,K7,wheat,1190,1000\n"
                                "T3,2025-07-20T10:20:00+02:00,S1,K7,wheat,0,1000\n"
                                "T4,2025-07-20T10:30:00+02:00,S1,K7,wheat,500,0\n"
                                "T5,2025-07-20T10:40:00+02:00,S1,K7,durum,500,1000\n");
    CHECK(farm.test("T1").reading == Reading::value);
    CHECK(farm.test("T1").don_mg_per_kg == Approx(1.4319346).margin(5e-8).epsilon(0.0));
    CHECK(farm.test("T2").reading == Reading::below);
    CHECK(farm.test("T2").don_mg_per_kg == 0.2);
    CHECK(farm.test("T3").reading == Reading::above);
    CHECK(farm.test("T3").don_mg_per_kg == 6.0);
    CHECK(farm.test("T4").reading == Reading::invalid);
    CHECK(farm.test("T4").void_reason == "no control line: its signal is 0");
    CHECK(farm.test("T5").void_reason ==
          "kit lot K7 is not made for durum, only for wheat, so its signals cannot be read");
    CHECK(all_good(farm.store));
    // The same file again adds nothing, and what comes out has no result that nobody reported.
    CHECK(farm.import_text("tests", signal_header + "T1,2025-07-20T10:00:00+02:00,S1,K7,wheat,500,1000\n").unchanged ==
          1);
    CHECK_THAT(farm.export_text("tests"), Contains("T1,2025-07-20T10:00:00+02:00,S1,,,500,1000,"));
}

TEST_CASE("a table may mix results and signals and a row that has neither is refused") {
    StripFarm farm;
    farm.must_take("kit-lots", lot_k7);
    const std::string header = "test,time,sample,don,unit,kit_lot,test_signal,control_signal\n";
    farm.must_take("tests", header +
                                "T1,2025-07-20T10:00:00+02:00,S1,,,K7,500,1000\n"
                                "T2,2025-07-20T10:10:00+02:00,S1,0.7,mg/kg,K7,800,1000\n");
    CHECK(farm.test("T1").don_mg_per_kg == Approx(1.4319346).margin(5e-8).epsilon(0.0));  // of the lot's only grain
    CHECK(farm.test("T2").don_mg_per_kg == 0.7);
    const auto readings = farm.store.strip_readings();
    REQUIRE(readings.size() == 2);
    CHECK(readings[0].by_curve);
    CHECK(readings[0].flags.empty());
    CHECK_FALSE(readings[1].by_curve);
    REQUIRE(readings[1].flags.size() == 1);
    CHECK_THAT(readings[1].flags[0].sentence,
               Contains("0.7 mg/kg was reported, and the strip's signals give 0.5274 mg/kg"));
    CHECK_THAT(farm.refusal("tests", header + "T3,2025-07-20T10:00:00+02:00,S1,,,K7,,1000\n"),
               Contains("there is no result"));
    CHECK_THAT(farm.refusal("tests", header + "T3,2025-07-20T10:00:00+02:00,S1,,,,500,1000\n"),
               Contains("the test has signals and no result, and names no kit lot whose curve they are read from"));
    CHECK_THAT(
        farm.refusal("tests", "test,time,sample,don,kit_lot,test_signal\nT3,2025-07-20T10:00:00+02:00,S1,1,K7,5\n"),
        Contains("the required column unit is missing"));
    CHECK_THAT(farm.refusal("tests", signal_header + "T3,2025-07-20T10:00:00+02:00,S1,K7,wheat,-5,1000\n"),
               Contains("test_signal") && Contains("-5"));
    CHECK_THAT(
        farm.refusal("tests", "test,time,sample,method,test_signal\nT3,2025-07-20T10:00:00+02:00,S1,laboratory,5\n"),
        Contains("a laboratory's test has signals and no result"));
}

TEST_CASE("a kit lot that comes or is corrected after its tests is the one they are read by") {
    StripFarm farm;
    farm.must_take("tests", signal_header + "T1,2025-07-20T10:00:00+02:00,S1,K7,,500,1000\n");
    CHECK(farm.test("T1").void_reason == "kit lot K7 is not in the store, so its signals cannot be read");
    farm.must_take("kit-lots", lot_k7);
    CHECK(farm.test("T1").don_mg_per_kg == Approx(1.4319346).margin(5e-8).epsilon(0.0));
    geo::ImportOptions correction;
    correction.correct_because = "the leaflet was read wrong";
    farm.must_take("kit-lots", lot_header + "K7,wheat,6,0.2,6,2025-08-01,test_over_control,1.2,1.1,1.8,0.08\n",
                   correction);
    CHECK(farm.test("T1").don_mg_per_kg == Approx(2.0 * 1.4319346).margin(1e-7).epsilon(0.0));
    CHECK(all_good(farm.store));
}

TEST_CASE("a kit lot entered twice with different curves is refused with both shown") {
    StripFarm farm;
    farm.must_take("kit-lots", lot_k7);
    CHECK_THAT(
        farm.refusal("kit-lots", lot_header + "K7,wheat,6,0.2,6,2025-08-01,test_over_control,1.25,1.1,0.85,0.08\n"),
        Contains("kit_lot K7") && Contains("is there already, with other content") &&
            Contains("curve_a is 1.2 there, here 1.25") && Contains("curve_c is 0.9 there, here 0.85"));
    CHECK(farm.import_text("kit-lots", lot_k7).unchanged == 1);
}

TEST_CASE("a kit lot whose curve cannot be a strip's is refused by its words") {
    StripFarm farm;
    const auto refusal = [&](const std::string& signal_and_curve) {
        return farm.refusal("kit-lots", lot_header + "K7,wheat,6,0.2,6,," + signal_and_curve + "\n");
    };
    CHECK_THAT(refusal("test,0.08,1.1,0.9,1.2"), Contains("rises, and a strip for DON is competitive"));
    CHECK_THAT(refusal("test,1.2,1.1,0.9,1.2"), Contains("is flat"));
    CHECK_THAT(refusal("test,1.2,-1.1,0.9,0.08"), Contains("a slope b that is not above zero"));
    CHECK_THAT(refusal("test,1.2,1.1,,0.08"), Contains("the curve lacks curve_c"));
    CHECK_THAT(refusal(",1.2,1.1,0.9,0.08"), Contains("the curve does not say what it is a function of"));
    CHECK_THAT(
        farm.refusal("kit-lots",
                     "kit_lot,commodity,dilution,low_mg_per_kg,high_mg_per_kg,covariance_aa\nK7,wheat,6,0.2,6,1\n"),
        Contains("the curve's covariance lacks covariance_ab"));
    CHECK(farm.store.kit_lots().empty());
}

TEST_CASE("the covariance of a kit lot's curve comes back whole") {
    StripFarm farm;
    farm.must_take("kit-lots",
                   "kit_lot,commodity,dilution,low_mg_per_kg,high_mg_per_kg,signal,curve_a,curve_b,curve_c,curve_d,"
                   "covariance_aa,covariance_ab,covariance_ac,covariance_ad,covariance_bb,covariance_bc,covariance_bd,"
                   "covariance_cc,covariance_cd,covariance_dd,signal_sd,extract_ml_per_g,portion_g\n"
                   "K7,wheat,6,0.2,6,test,1.2,1.1,0.9,0.08,4e-5,-7e-5,-4e-5,-1.5e-5,9e-4,-4.7e-4,3.2e-4,6.8e-4,-2.7e-4,"
                   "1.6e-4,0.009,5,10\n");
    const auto lots = farm.store.kit_lots();
    REQUIRE(lots.size() == 1);
    REQUIRE(lots[0].curve);
    REQUIRE(lots[0].curve->covariance);
    CHECK((*lots[0].curve->covariance)(1, 2) == -4.7e-4);
    CHECK((*lots[0].curve->covariance)(3, 2) == -2.7e-4);
    CHECK((*lots[0].curve->covariance)(3, 3) == 1.6e-4);
    CHECK(lots[0].curve->signal_sd == 0.009);
    CHECK(lots[0].signal == models::SignalKind::test);
    CHECK(lots[0].extract_ml_per_g == 5.0);
    CHECK(lots[0].portion_g == 10.0);
    farm.must_take("tests", signal_header + "T1,2025-07-20T10:00:00+02:00,S1,K7,wheat,0.5,\n");
    const auto reading = farm.store.strip_readings().front();
    REQUIRE(reading.variance);
    CHECK(std::sqrt(reading.variance->signal) == Approx(0.009 * 4.959081 / 1.4319346).epsilon(1e-6));
    CHECK(reading.variance->curve > 0.0);
}

TEST_CASE("a curve may come as calibrators and is fitted when a strip is read") {
    StripFarm farm;
    farm.must_take("kit-lots",
                   "kit_lot,commodity,dilution,low_mg_per_kg,high_mg_per_kg,signal\nK8,wheat,6,0.2,6,test\n");
    farm.must_take("tests", signal_header + "T1,2025-07-20T10:00:00+02:00,S1,K8,wheat,0.5,\n");
    CHECK(farm.test("T1").void_reason == "kit lot K8 has no curve for wheat");
    // Points of the curve 1.20, 1.10, 0.90, 0.08, to eight digits.
    const std::string four = "K8,wheat,6,0,1,1.2\nK8,wheat,6,0.25,1,0.98004596\nK8,wheat,6,1,1,0.60758524\n";
    farm.must_take("calibrators", calibrator_header + four);
    CHECK(farm.test("T1").void_reason == "kit lot K8: 3 calibrators cannot settle the four numbers of a curve");
    farm.must_take("calibrators", calibrator_header + "K8,wheat,6,2,1,0.40874023\nK8,wheat,6,5,1,0.22746973\n");
    CHECK(farm.test("T1").don_mg_per_kg == Approx(1.4319346).epsilon(1e-6));
    CHECK(all_good(farm.store));

    CHECK_THAT(farm.refusal("kit-lots", lot_header + "K8,wheat,6,0.2,6,,test,1.2,1.1,0.9,0.08\n",
                            [] {
                                geo::ImportOptions correction;
                                correction.correct_because = "leaflet";
                                return correction;
                            }()),
               Contains("kit lot K8 has calibrators in the store, and here the curve a 1.2, b 1.1, c 0.9, d 0.08"));
    farm.must_take("kit-lots", lot_k7);
    CHECK_THAT(farm.refusal("calibrators", calibrator_header + "K7,wheat,6,0,1,1.2\n"),
               Contains("kit lot K7 for wheat at a dilution of 6 has the curve a 1.2, b 1.1, c 0.9, d 0.08 already"));
    CHECK_THAT(farm.refusal("calibrators", calibrator_header + "K7,wheat,1,0,1,1.2\n"),
               Contains("there is no kit lot K7 for wheat at a dilution of 1"));
    CHECK_THAT(farm.refusal("calibrators", calibrator_header + "K99,wheat,6,0,1,1.2\n"), Contains("K99"));
    CHECK_THAT(farm.refusal("calibrators", calibrator_header + "K8,wheat,6,0,1,1.3\n"),
               Contains("signal is 1.2 there, here 1.3"));
}

TEST_CASE("calibrators of which no curve comes stay out and so does one that takes the curve from past tests") {
    StripFarm farm;
    farm.must_take("kit-lots",
                   "kit_lot,commodity,dilution,low_mg_per_kg,high_mg_per_kg,signal\nK8,wheat,6,0.2,6,test\n");
    const auto refused = [&](const std::string& rows, const geo::ImportOptions& options = {}) {
        const std::size_t before = farm.export_text("calibrators").size();
        std::string words;
        try {
            farm.import_text("calibrators", calibrator_header + rows, options);
        } catch (const models::Error& error) {
            words = error.what();
        }
        CHECK(farm.export_text("calibrators").size() == before);
        return words;
    };
    CHECK_THAT(refused("K8,wheat,6,1,1,0.6\nK8,wheat,6,1,2,0.6\nK8,wheat,6,1,3,0.6\nK8,wheat,6,1,4,0.6\n"),
               Contains("kit lot K8: 4 calibrators have only 1 content, and a curve has four numbers to settle, and "
                        "nothing went in"));
    CHECK_THAT(refused("K8,wheat,6,0,1,0.1\nK8,wheat,6,0.25,1,0.3\nK8,wheat,6,1,1,0.6\nK8,wheat,6,5,1,0.9\n"),
               Contains("signals rise") && Contains("nothing went in"));
    farm.must_take("calibrators", calibrator_header +
                                      "K8,wheat,6,0,1,1.2\nK8,wheat,6,0.25,1,0.98004596\nK8,wheat,6,1,1,0.60758524\n"
                                      "K8,wheat,6,2,1,0.40874023\nK8,wheat,6,5,1,0.22746973\n");
    farm.must_take("tests", signal_header +
                                "T1,2025-07-20T10:00:00+02:00,S1,K8,wheat,0.5,\n"
                                "T2,2025-07-20T10:10:00+02:00,S1,K8,wheat,0.6,\n"
                                "T3,2025-07-20T10:20:00+02:00,S1,K8,wheat,0.9,\n");
    const std::string stray = "K8,wheat,6,2,2,0.9\n", beside = "K8,wheat,6,2,2,0.41\n";
    CHECK_THAT(refused(stray), Contains("signals are flat") && Contains("nothing went in"));
    CHECK_THAT(refused(beside), Contains("test T1 reads 1.43") && Contains("and now test T1 reads ") &&
                                    Contains("2 more results change with it; nothing went in") &&
                                    Contains("give the reason (--correct REASON)"));
    geo::ImportOptions reasoned;
    reasoned.correct_because = "one more strip of the middle content";
    CHECK_THAT(refused(stray, reasoned), Contains("signals are flat"));
    const geo::ImportReport taken = farm.import_text("calibrators", calibrator_header + beside, reasoned);
    CHECK(taken.added == 1);
    REQUIRE(taken.cautions.size() == 1);
    CHECK_THAT(taken.cautions[0], Contains("test T1 reads 1.43") && Contains("2 more results change with it"));
    CHECK(farm.store.database().text("SELECT payload ->> 'reason' FROM event JOIN calibrator ON calibrator.event = "
                                     "event.sequence WHERE kit_lot = 'K8' ORDER BY sequence DESC LIMIT 1") ==
          "one more strip of the middle content");
    // Typed one by one, equal contents may come first.
    farm.must_take("kit-lots",
                   "kit_lot,commodity,dilution,low_mg_per_kg,high_mg_per_kg,signal\nK9,wheat,6,0.2,6,test\n");
    for (const char* replicate : {"1", "2", "3", "4"}) {
        const geo::ImportReport typed = geo::add_row(farm.store, "calibrators",
                                                     {{"kit_lot", "K9"},
                                                      {"commodity", "wheat"},
                                                      {"dilution", "6"},
                                                      {"content_mg_per_kg", "1"},
                                                      {"replicate", replicate},
                                                      {"signal", "0.6"}});
        CHECK(typed.added == 1);
    }
    CHECK(all_good(farm.store));
}

TEST_CASE("a strip says which of its lot's dilutions it was run at") {
    StripFarm farm;
    farm.must_take("kit-lots", lot_k7 + "K7,wheat,1,0.05,1,,test_over_control,1.2,1.1,0.15,0.08\n");
    farm.must_take("tests",
                   "test,time,sample,kit_lot,test_signal,control_signal,lot_dilution\n"
                   "T1,2025-07-20T10:00:00+02:00,S1,K7,500,1000,1\nT2,2025-07-20T10:00:00+02:00,S1,K7,500,1000,\n");
    CHECK(farm.test("T1").don_mg_per_kg == Approx(1.4319346 * 0.15 / 0.9).epsilon(1e-7));
    CHECK_THAT(farm.test("T2").void_reason, Contains("no dilution is named, and kit lot K7 has 1 and 6"));
}

TEST_CASE("a reported number outside the range of its lot counts as an inequality and a void strip can be taken back") {
    StripFarm farm;
    farm.must_take("kit-lots", lot_k7);
    farm.must_take("tests", "test,time,sample,don,unit,kit_lot\nT1,2025-07-20T10:00:00+02:00,S1,9.5,mg/kg,K7\n");
    CHECK(farm.test("T1").reading == Reading::above);
    CHECK(farm.test("T1").don_mg_per_kg == 6.0);
    CHECK_THAT(farm.export_text("tests"), Contains("S1,9.5,mg/kg"));  // as it was reported

    farm.must_take("tests", signal_header + "T2,2025-07-20T10:00:00+02:00,S1,K7,wheat,500,1000\n");
    geo::ImportOptions correction;
    correction.correct_because = "spilt";
    const auto add = [&](const std::vector<std::pair<std::string, std::string>>& cells) {
        const auto report = geo::add_row(farm.store, "tests", cells, correction);
        for (const auto& refusal : report.refused) FAIL(geo::to_text(refusal));
    };
    add({{"test", "T2"}, {"valid", "no"}, {"void_reason", "spilt"}});
    CHECK(farm.test("T2").void_reason == "spilt");
    add({{"test", "T2"}, {"valid", "yes"}, {"void_reason", ""}});
    CHECK(farm.test("T2").don_mg_per_kg == Approx(1.4319346).margin(5e-8).epsilon(0.0));
    add({{"test", "T2"}, {"test_signal", "600"}});
    CHECK(farm.test("T2").don_mg_per_kg < 1.2);
    CHECK(all_good(farm.store));
}

TEST_CASE("a store of schema 1 keeps its tests when it learns to read signals") {
    const Folder folder;
    const fs::path file = folder / "old.lodicule";
    auto first = geo::schema_files();
    std::erase_if(first, [](const geo::SchemaFile& one) { return one.version() > 1; });
    const geo::tables::Kind& tests = geo::tables::kind_named("tests");
    geo::Record record;
    for (const geo::tables::Column* column : tests.stored()) {
        geo::Value cell;
        if (column->name == "test") cell = std::string("T1");
        if (column->name == "time") cell = std::string("2025-07-20T10:00:00+02:00");
        if (column->name == "sample") cell = std::string("S1");
        if (column->name == "reading") cell = std::string("value");
        if (column->name == "don_mg_per_kg") cell = 0.7123456789012345;
        record.cells.push_back(cell);
    }
    {
        geo::Database old(file, geo::Database::Mode::create);
        geo::make_schema(old, first, "Ada Holt");
        geo::Transaction all(old);
        geo::RecordWriter(old, "Ada Holt").put(tests, record);
        all.commit();
        CHECK(old.whole("PRAGMA user_version") == 1);
    }
    fs::create_directory(file.string() + ".schema1.backup");  // where the backup would stand
    CHECK_THAT(refusal_of([&] { geo::Store::open(file, geo::Store::Access::read_only); }),
               Contains("of an older lodicule and could not be brought up to date") &&
                   Contains("copy it to where it may be written"));
    fs::remove(file.string() + ".schema1.backup");
    {
        const geo::Store read = geo::Store::open(file, geo::Store::Access::read_only);  // whoever opens it, if to read
        CHECK(read.tests().size() == 1);
        CHECK_THROWS(read.database().run("INSERT INTO event DEFAULT VALUES"));
    }
    geo::Store store = geo::Store::open(file);
    CHECK(store.database().whole("PRAGMA user_version") == geo::newest_version(geo::schema_files()));
    REQUIRE(store.tests().size() == 1);
    CHECK(store.tests()[0].don_mg_per_kg == 0.7123456789012345);
    for (const auto& finding : geo::check_store(store)) {
        if (finding.what != "references") CHECK_THAT(finding.what + ": " + finding.detail, !Contains("altered"));
        if (finding.what != "references") CHECK(finding.good);  // sample S1 is not in this store
    }
    CHECK_THROWS(store.database().run("DELETE FROM test"));
    CHECK_THROWS(store.database().run("UPDATE test SET don_mg_per_kg = 0"));
    CHECK(fs::exists(file.string() + ".schema1.backup"));
}

}  // namespace store_tests
