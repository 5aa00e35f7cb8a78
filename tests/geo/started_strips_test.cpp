#include "geo/store/started_strips.h"

#include "geo/check.h"
#include "geo/store/database.h"
#include "geo/store/records.h"
#include "geo/store/schema.h"
#include "geo/tables/kind.h"
#include "tests/geo/store_fixture.h"

namespace store_tests {

using Catch::Matchers::Contains;

namespace {

const std::string strip_header = "strip,sample,started,kit_lot,operator\n";

struct StartedFarm : Farm {
    StartedFarm() {
        import_text("samples", "sample,stage,kind,field\nS1,standing,composite,Fen\nS2,combine,composite,Fen\n");
        import_text("strips", strip_header +
                                  "B2,S2,2025-07-20T10:01:00+02:00,K7,Ada Holt\n"
                                  "B1,S1,2025-07-20T10:00:00+02:00,K7,Ada Holt\n");
    }
    std::vector<std::string> running() const {
        std::vector<std::string> names;
        for (const models::StartedStrip& strip : geo::running_strips(store)) names.push_back(strip.strip);
        return names;
    }
    void add(const std::string& kind, const std::vector<std::pair<std::string, std::string>>& cells) {
        geo::add_row(store, kind, cells);
    }
};

using Names = std::vector<std::string>;

}  // namespace

TEST_CASE("a strip runs until a test bears its name and a withdrawn test does not set it running again") {
    StartedFarm farm;
    CHECK(farm.running() == Names{"B1", "B2"});  // by their start
    CHECK(geo::running_strips(farm.store).front().operator_name == "Ada Holt");
    farm.add(
        "tests",
        {{"test", "B1"}, {"sample", "S1"}, {"time", "2025-07-20T10:06:20+02:00"}, {"don", "0.4"}, {"unit", "mg/kg"}});
    CHECK(farm.running() == Names{"B2"});
    geo::withdraw_row(farm.store, "tests", {{"test", "B1"}}, "another bag");
    CHECK(farm.running() == Names{"B2"});
    CHECK(geo::names_of_strips(farm.store) == std::set<std::string>{"B1", "B2"});
    for (const auto& finding : geo::check_store(farm.store)) CHECK(finding.good);
}

TEST_CASE("a running strip is corrected and withdrawn as every record is and holds its sample") {
    StartedFarm farm;
    CHECK_THAT(refusal_of([&] {
                   geo::withdraw_row(farm.store, "samples", {{"sample", "S1"}}, "twice");
               }),
               Contains("cannot be withdrawn while strip B1 names it"));
    geo::ImportOptions correction;
    correction.correct_because = "lot misread";
    geo::add_row(farm.store, "strips", {{"strip", "B1"}, {"kit_lot", "K8"}}, correction);
    CHECK(geo::running_strips(farm.store).front().kit_lot == "K8");
    geo::withdraw_row(farm.store, "strips", {{"strip", "B1"}}, "started by mistake");
    CHECK(farm.running() == Names{"B2"});
    REQUIRE(farm.store.withdrawals().size() == 1);
    CHECK_THAT(geo::in_words(farm.store.withdrawals().front()), Contains("strip B1 was withdrawn by"));
    CHECK_THAT(farm.refusal("strips", strip_header + "B3,S9,2025-07-20T10:00:00+02:00,K7,\n"),
               Contains("column sample: there is no sample \"S9\" in the store"));
    CHECK_THAT(farm.refusal("strips", strip_header + "B3,S1,2025-07-20T10:00,K7,\n"), Contains("started"));
    CHECK_THAT(farm.refusal("strips", strip_header + "B2,S2,2025-07-20T10:05:00+02:00,K7,Ada Holt\n"),
               Contains("is there already, with other content"));
    for (const auto& finding : geo::check_store(farm.store)) CHECK(finding.good);
}

TEST_CASE("rows made together go in all or not at all") {
    StartedFarm farm;
    const auto started = [&](const char* strip) {
        for (const models::StartedStrip& one : geo::running_strips(farm.store)) {
            if (one.strip == strip) return models::to_text(one.started);
        }
        return std::string("not running");
    };
    const auto events = [&] { return farm.store.database().whole("SELECT count(*) FROM event"); };
    const geo::RowToWrite earlier{
        "strips", {{"strip", "B1"}, {"started", "2025-07-20T09:58:00+02:00"}}, "", "started before the clock"};
    geo::RowToWrite test{
        "tests",
        {{"test", "B1"}, {"sample", "S1"}, {"time", "2025-07-20T10:06:20+02:00"}, {"don", "0.4"}, {"unit", "firkin"}}};
    const auto before = events();
    CHECK_THAT(refusal_of([&] { geo::write_rows(farm.store, {earlier, test}, "Ada Holt"); }), Contains("firkin"));
    CHECK(started("B1") == "2025-07-20T10:00:00+02:00");
    CHECK(events() == before);
    test.values.back().second = "mg/kg";
    geo::write_rows(farm.store, {earlier, test}, "Ada Holt");
    CHECK(farm.running() == Names{"B2"});
    CHECK(events() == before + 2);
    CHECK(farm.store.database().text("SELECT actor FROM event ORDER BY sequence DESC LIMIT 1") == "Ada Holt");
    // A row that would be refused alone leaves the store open for the next.
    farm.add("samples", {{"sample", "S3"}, {"stage", "standing"}, {"kind", "composite"}, {"field", "Fen"}});
    for (const auto& finding : geo::check_store(farm.store)) CHECK(finding.good);
}

TEST_CASE("a strip whose test would be refused is refused when it is started") {
    StartedFarm farm;
    CHECK_THAT(
        farm.refusal("strips", strip_header + "B3,S1,2029-07-20T10:00:00+02:00,K7,\n"),
        Contains("column started: 2029-07-20T10:00:00+02:00 lies in season 2029, of which field Fen has no crop"));
    farm.import_text("samples",
                     "sample,stage,kind,field,taken_time\nS3,standing,composite,Fen,2025-07-20T12:00:00+02:00\n");
    CHECK_THAT(farm.refusal("strips", strip_header + "B3,S3,2025-07-20T09:00:00+02:00,K7,\n"),
               Contains("strip B3 was started at 2025-07-20T09:00:00+02:00, before its sample S3 was taken at"));
    CHECK(farm.running() == Names{"B1", "B2"});
}

TEST_CASE("a kit lot says after how many strips a control is due") {
    Farm farm;
    farm.import_text("kit-lots",
                     "kit_lot,commodity,dilution,low_mg_per_kg,high_mg_per_kg,control_every_tests\n"
                     "K7,wheat,1,0.2,6,12\nK7,durum,1,0.2,6,8\nK8,wheat,1,0.2,6,\nK9,wheat,1,0.2,6,0\n");
    CHECK(geo::control_rules_of_lots(farm.store) == std::map<std::string, int>{{"K7", 8}, {"K9", 0}});
    CHECK_THAT(farm.refusal("kit-lots",
                            "kit_lot,commodity,dilution,low_mg_per_kg,high_mg_per_kg,control_every_tests\n"
                            "K5,wheat,1,0.2,6,often\n"),
               Contains("control_every_tests"));
}

TEST_CASE("a store of schema 2 keeps its records when it learns to keep running strips") {
    const Folder folder;
    const fs::path file = folder / "old.lodicule";
    auto second = geo::schema_files();
    std::erase_if(second, [](const geo::SchemaFile& one) { return one.version() > 2; });
    const geo::tables::Kind& samples = geo::tables::kind_named("samples");
    geo::Record record;
    for (const geo::tables::Column* column : samples.stored()) {
        geo::Value cell;
        if (column->name == "sample") cell = std::string("S1");
        if (column->name == "stage") cell = std::string("bin");
        if (column->name == "kind") cell = std::string("composite");
        record.cells.push_back(cell);
    }
    {
        geo::Database old(file, geo::Database::Mode::create);
        geo::make_schema(old, second, "Ada Holt");
        geo::Transaction all(old);
        geo::RecordWriter(old, "Ada Holt").put(samples, record);
        all.commit();
        CHECK(old.whole("PRAGMA user_version") == 2);
    }
    geo::Store store = geo::Store::open(file);
    CHECK(store.database().whole("PRAGMA user_version") == 3);
    REQUIRE(store.samples().size() == 1);
    CHECK(geo::running_strips(store).empty());
    geo::add_row(store, "strips", {{"strip", "B1"}, {"sample", "S1"}, {"started", "2025-07-20T10:00:00+02:00"}});
    CHECK(geo::running_strips(store).size() == 1);
    CHECK_THROWS(store.database().run("DELETE FROM strip"));
    CHECK_THROWS(store.database().run("UPDATE strip SET sample = 'S2'"));
    CHECK(fs::exists(file.string() + ".schema2.backup"));
    for (const auto& finding : geo::check_store(store)) CHECK(finding.good);
}

}  // namespace store_tests
