#include "geo/check.h"

#include "geo/store/database.h"
#include "geo/store/records.h"
#include "geo/tables/kind.h"
#include "tests/geo/store_fixture.h"
#include "tests/geo/tables_of_all_kinds.h"

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

/// A store with rows of every kind that a user brings, and of those that the program keeps itself, held open to anybody
/// who writes past the program: no trigger, no constraint, no reference stands in the way.
struct OpenedFarm : Farm {
    OpenedFarm() {
        for (const auto& [kind, text] : tables_of_all_kinds()) import_text(kind, text);
        geo::ImportOptions mapped;
        mapped.column_map = folder.write("theirs.toml", "[columns]\ntest = \"No\"\n").string();
        import_text("tests", "No,time,sample,don,unit\nT9,2025-08-02T09:20:00Z,S2,1.5,mg/kg\n", mapped);
        std::vector<std::string> triggers;
        geo::Statement names(database(),
                             "SELECT name FROM sqlite_schema WHERE type = 'trigger' AND name LIKE '%_never_%'");
        while (names.step()) triggers.push_back(names.text(0));
        for (const std::string& name : triggers) database().run("DROP TRIGGER " + name);
        database().run("PRAGMA foreign_keys = OFF; PRAGMA ignore_check_constraints = ON");
    }
    geo::Database& database() { return store.database(); }

    /// What the chain of records says against a change; the change is taken back afterwards.
    std::string after(const std::string& change) {
        database().run("SAVEPOINT before");
        database().run(change);
        const std::string words = complaint(store, "chain of records");
        database().run("ROLLBACK TO before; RELEASE before");
        return words;
    }
    /// Every kind of the store's tables that has rows: all but forecasts, which nothing writes yet.
    static std::vector<const geo::tables::Kind*> kinds() {
        std::vector<const geo::tables::Kind*> found;
        for (const geo::tables::Kind& kind : geo::tables::all_kinds()) {
            if (!kind.table.empty() && kind.name != "forecasts") found.push_back(&kind);
        }
        return found;
    }
};

/// The first row of a table, as a condition.
std::string first_row(const geo::tables::Kind& kind) {
    return " WHERE record = (SELECT min(record) FROM " + kind.table + ")";
}

/// Another value than the one that is there, of the column's own type.
std::string another(const geo::tables::Column& column) {
    using geo::tables::Type;
    const std::string name = geo::quoted(column.name);
    const bool number = column.type == Type::number || column.type == Type::whole || column.type == Type::yes_no;
    return number ? "coalesce(" + name + ", 0) + 11" : "coalesce(" + name + ", '') || 'x'";
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

TEST_CASE("any cell of any table that is altered past the program is found") {
    OpenedFarm farm;
    REQUIRE(farm.after("SELECT 1").empty());
    for (const geo::tables::Kind* kind : OpenedFarm::kinds()) {
        std::vector<std::string> changes = {"version = version + 1", "withdrawn = 1",
                                            "notes = '{\"said\":\"otherwise\"}'", "event = event + 1"};
        for (const geo::tables::Column* column : kind->stored()) {
            changes.push_back(geo::quoted(column->name) + " = " + another(*column));
        }
        for (const std::string& change : changes) {
            INFO(kind->table << ": " << change);
            CHECK_FALSE(farm.after("UPDATE " + kind->table + " SET " + change + first_row(*kind)).empty());
        }
    }
}

TEST_CASE("a row taken out of any table past the program is found") {
    OpenedFarm farm;
    for (const geo::tables::Kind* kind : OpenedFarm::kinds()) {
        INFO(kind->table);
        CHECK_THAT(farm.after("DELETE FROM " + kind->table + first_row(*kind)),
                   Contains("the chain speaks of ") && Contains(" of " + kind->name));
    }
}

TEST_CASE("a row put into any table past the program is found") {
    OpenedFarm farm;
    for (const geo::tables::Kind* kind : OpenedFarm::kinds()) {
        INFO(kind->table);
        std::string names = "event, withdrawn, notes", values = names;
        for (const geo::tables::Column* column : kind->stored()) names += ", " + geo::quoted(column->name);
        if (!kind->blob.empty()) names += ", " + geo::quoted(kind->blob);
        // The same record once more as a later version, on the event that the first one rests on.
        CHECK_THAT(farm.after("INSERT INTO " + kind->table + " (version, " + names + ") SELECT version + 7, " + names +
                              " FROM " + kind->table + first_row(*kind)),
                   Contains("does not say what the chain says") && Contains(" of " + kind->name));
    }
}

TEST_CASE("an hour of weather altered with its hash is found") {
    OpenedFarm farm;
    CHECK_THAT(farm.after("UPDATE weather_block SET content_sha256 = replace(content_sha256, substr(content_sha256, 1, "
                          "4), 'abcd')"),
               Contains("(weather-blocks)"));
    CHECK_THAT(farm.after("UPDATE weather_block SET content = CAST(content || x'00' AS BLOB)"),
               Contains("holds other bytes than it had"));
}

TEST_CASE("a record of the chain that is altered or put in is found") {
    OpenedFarm farm;
    CHECK_THAT(farm.after("UPDATE event SET actor = 'somebody else' WHERE sequence = 55"),
               Contains("record 55 of ") && Contains("was altered after it was made"));
    CHECK_THAT(farm.after("UPDATE event SET utc = '2020-01-01T00:00:00Z' WHERE sequence = 1"),
               Contains("record 1 of "));
    CHECK_THAT(farm.after("INSERT INTO event (sequence, utc, actor, action, payload, previous_sha256, sha256) SELECT "
                          "sequence + 1, utc, actor, action, payload, sha256, sha256 FROM event ORDER BY sequence DESC "
                          "LIMIT 1"),
               Contains("was altered after it was made"));
}

TEST_CASE("an end of the chain that was cut off is found by a hash noted elsewhere and by nothing else") {
    OpenedFarm farm;
    const geo::ChainEnd noted = geo::end_of_chain(farm.store);
    CHECK(noted.sha256.size() == 64);
    const auto said = [&farm](const std::string& hash) {
        std::string words;
        for (const auto& finding : geo::check_store(farm.store, hash)) {
            if (finding.what == "noted hash") words = (finding.good ? "good: " : "wrong: ") + finding.detail;
        }
        return words;
    };
    CHECK_THAT(said(noted.sha256), Contains("good: ") && Contains("nothing came after it"));
    farm.import_text("costs", "name,value\nhour,30\n");
    CHECK_THAT(said(noted.sha256.substr(0, 16)), Contains("good: ") && Contains("2 records came after it"));
    const std::string last = std::to_string(noted.records);
    farm.database().run("DELETE FROM cost WHERE event >= " + last + "; DELETE FROM test WHERE event >= " + last +
                        "; DELETE FROM column_map WHERE event >= " + last +
                        "; DELETE FROM event WHERE sequence >= " + last);
    CHECK(complaint(farm.store, "chain of records").empty());
    CHECK_THAT(said(noted.sha256), Contains("wrong: no record of this store carries the hash " + noted.sha256));
    CHECK_THAT(refusal_of([&] { geo::check_store(farm.store, "d025"); }),
               Contains("\"d025\" is no hash of a chain of records") && Contains("first 16"));
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

TEST_CASE("another reference system under the outlines is found") {
    FarmWithResults farm;
    farm.store.database().run(
        "UPDATE spatial_ref_sys SET proj4text = '+proj=longlat +ellps=bessel +no_defs' WHERE srid = 4326");
    CHECK_THAT(complaint(farm.store, "geometry"), Contains("is not WGS 84 any more"));
}

}  // namespace store_tests
