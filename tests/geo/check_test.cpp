#include "geo/check.h"

#include "geo/store/database.h"
#include "tests/geo/store_fixture.h"

namespace store_tests {

using Catch::Matchers::Contains;

namespace {

/// What `check` says about one thing of the store; the rest must be good unless `others_may_fail`.
std::string complaint(geo::Store& store, const std::string& what) {
    std::string words;
    for (const auto& finding : geo::check_store(store)) {
        if (finding.what == what && !finding.good) words = finding.detail;
    }
    return words;
}

struct FarmWithResults : Farm {
    FarmWithResults();
};

FarmWithResults::FarmWithResults() {
    import_text("samples", "sample,stage,kind,field\nS1,standing,composite,Fen\nS2,standing,composite,Mill Piece\n");
    import_text("tests",
                "test,time,sample,don,unit\nT1,2025-07-20T10:00:00+02:00,S1,0.42,mg/kg\n"
                "T2,2025-07-20T10:10:00+02:00,S2,<0.2,mg/kg\n");
    import_text("weather",
                "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct\n"
                "Hill,9.5,56.0,2025-06-10T12:00:00+02:00,18,80\n");
}

}  // namespace

TEST_CASE("a store that nobody touched is good in everything") {
    FarmWithResults farm;
    const auto findings = geo::check_store(farm.store);
    CHECK(findings.size() == 6);
    for (const auto& finding : findings) {
        INFO(finding.what << ": " << finding.detail);
        CHECK(finding.good);
    }
}

TEST_CASE("a result altered past the program's rules is found") {
    FarmWithResults farm;
    auto& database = farm.store.database();
    database.run("DROP TRIGGER test_is_never_changed; UPDATE test SET don_mg_per_kg = 0.1 WHERE test = 'T1'");
    CHECK_THAT(complaint(farm.store, "chain of records"), Contains("does not say what the chain says"));
    CHECK_THAT(complaint(farm.store, "rules"), Contains("test_is_never_changed"));
}

TEST_CASE("a result altered together with its event is found") {
    FarmWithResults farm;
    farm.store.database().run(
        "DROP TRIGGER test_is_never_changed; DROP TRIGGER event_is_never_changed;"
        "UPDATE event SET payload = replace(payload, '0.42', '0.1') WHERE payload LIKE '%\"T1\"%';"
        "UPDATE test SET don_mg_per_kg = 0.1 WHERE test = 'T1'");
    CHECK_THAT(complaint(farm.store, "chain of records"), Contains("was altered after it was made"));
}

TEST_CASE("a record taken away is found") {
    FarmWithResults farm;
    farm.store.database().run("DROP TRIGGER test_is_never_deleted; DELETE FROM test WHERE test = 'T2'");
    CHECK_THAT(complaint(farm.store, "chain of records"),
               Contains("the chain speaks of 2 records of tests, the store has 1"));
}

TEST_CASE("an event taken out of the middle is found") {
    FarmWithResults farm;
    farm.store.database().run(
        "PRAGMA foreign_keys = OFF; DROP TRIGGER event_is_never_deleted; DELETE FROM event WHERE sequence = 60");
    CHECK_THAT(complaint(farm.store, "chain of records"), Contains("record 60 is missing from the chain"));
    CHECK_THAT(complaint(farm.store, "rules"), Contains("has no event"));
}

TEST_CASE("weather bytes that were altered are found") {
    FarmWithResults farm;
    farm.store.database().run(
        "DROP TRIGGER weather_block_is_never_changed; UPDATE weather_block SET content = substr(content, 1, 40)");
    CHECK_THAT(complaint(farm.store, "chain of records"), Contains("holds other bytes than it had"));
    CHECK_THAT(complaint(farm.store, "weather blocks"), Contains("station Hill, 2025-06"));
}

TEST_CASE("an outline that was altered is found") {
    FarmWithResults farm;
    farm.store.database().run(
        "DROP TRIGGER field_outline_is_never_changed;"
        "UPDATE field_outline SET outline = CastToMulti(ST_GeomFromText('POLYGON((9.5 56, 9.51 56.01, 9.51 56, 9.5 "
        "56.01, 9.5 56))', "
        "4326)) WHERE field = 'Fen'");
    CHECK_THAT(complaint(farm.store, "geometry"), Contains("field Fen crosses itself"));
    CHECK_THAT(complaint(farm.store, "chain of records"), Contains("holds other bytes than it had"));
}

}  // namespace store_tests
