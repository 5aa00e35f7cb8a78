#include "geo/store/store.h"

#include <algorithm>
#include <csignal>
#include <set>

#include <fcntl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "geo/check.h"
#include "geo/store/chain.h"
#include "geo/store/database.h"
#include "geo/store/schema.h"
#include "geo/store/starting_limits.h"
#include "geo/tables/kind.h"
#include "tests/geo/store_fixture.h"

namespace store_tests {

using Catch::Matchers::Contains;
using geo::Database;
using geo::Store;

namespace {

/// Runs the action in a child process and gives back how it ended: its exit code, or minus the signal.
int in_child(const std::function<int()>& action) {
    const pid_t child = ::fork();
    if (child == 0) {
        int code = 99;
        try {
            code = action();
        } catch (...) {
            code = 98;
        }
        ::_exit(code);
    }
    int status = 0;
    ::waitpid(child, &status, 0);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -WTERMSIG(status);
}

std::string many_samples(int rows) {
    std::string text = "sample,stage,kind,field,seal\n";
    for (int i = 0; i < rows; ++i) {
        text += "S" + std::to_string(i) + ",standing,composite,Fen," + std::string(200, 'x') + "\n";
    }
    return text;
}

}  // namespace

TEST_CASE("a store is made once and never over another file") {
    const Folder folder;
    const fs::path file = folder / "farm.lodicule";
    { const Store store = Store::create(file); }
    const std::string before = bytes_of(file);
    CHECK_THAT(refusal_of([&] { Store::create(file); }), Contains("there is a file of this name already"));
    CHECK(bytes_of(file) == before);
    CHECK_THAT(refusal_of([&] { Store::create(folder / "no/such/farm.lodicule"); }), Contains("there is no folder"));
    CHECK(std::distance(fs::directory_iterator(folder.path()), {}) == 1);
}

TEST_CASE("a file that is no store is refused in words and left as it was") {
    const Folder folder;
    const auto refused = [](const fs::path& file) { return refusal_of([&] { Store::open(file); }); };
    CHECK_THAT(refused(folder / "none.lodicule"), Contains("there is no such store") && Contains("lodicule new"));
    CHECK_THAT(refused(folder.path()), Contains("this is a folder, not a store"));
    CHECK_THAT(refused(folder.write("empty.lodicule", "")), Contains("the file is empty (0 bytes)"));
    CHECK_THAT(refused(folder.write("text.lodicule", "dear diary, the wheat is ripe")),
               Contains("the file is no store"));
    CHECK(bytes_of(folder / "text.lodicule") == "dear diary, the wheat is ripe");
    CHECK_THAT(refused(folder.write("torn.lodicule", std::string("SQLite format 3\0", 16) + "and no more")),
               Contains("torn.lodicule"));
    {
        Database other(folder / "other.db", Database::Mode::create);
        other.run("CREATE TABLE recipe (name TEXT)");
    }
    const std::string before = bytes_of(folder / "other.db");
    CHECK_THAT(refused(folder / "other.db"), Contains("a database of another program"));
    CHECK(bytes_of(folder / "other.db") == before);
}

TEST_CASE("a store cut short is refused or found damaged but never read as whole") {
    const Farm farm;
    const std::string whole = bytes_of(farm.store.file());
    const fs::path cut = farm.folder.write("cut.lodicule", whole.substr(0, whole.size() / 2));
    bool noticed = false;
    const std::string words = refusal_of([&] {
        Store store = Store::open(cut, Store::Access::read_only);
        for (const auto& finding : geo::check_store(store)) noticed = noticed || !finding.good;
    });
    CHECK((noticed || !words.empty()));
}

TEST_CASE("a store of a newer program is refused") {
    const Folder folder;
    const fs::path file = folder / "farm.lodicule";
    { Store::create(file).database().run("PRAGMA user_version = 99"); }
    CHECK_THAT(refusal_of([&] { Store::open(file); }),
               Contains("made by a newer lodicule (schema 99") && Contains("update lodicule"));
}

TEST_CASE("an older store is brought up to date with a backup beside it and an event in its chain") {
    const Folder folder;
    const fs::path file = folder / "farm.lodicule";
    { const Store store = Store::create(file); }
    auto files = geo::schema_files();
    files.push_back({"0004_1_soil.sql", "CREATE TABLE soil (name TEXT NOT NULL) STRICT;"});
    Database database(file, Database::Mode::read_write);
    const auto events = database.whole("SELECT count(*) FROM event");
    const fs::path backup = geo::upgrade_schema(database, files, "Ada Holt");
    REQUIRE(fs::exists(backup));
    CHECK(database.whole("PRAGMA user_version") == 4);
    CHECK(database.text("SELECT payload FROM event ORDER BY sequence DESC LIMIT 1") ==
          R"({"from_schema":3,"schema":4})");
    CHECK(geo::verify_chain(database) == "");
    CHECK(geo::upgrade_schema(database, files, "Ada Holt").empty());
    Database kept(backup, Database::Mode::read_only);
    CHECK(kept.whole("PRAGMA user_version") == 3);
    CHECK(kept.whole("SELECT count(*) FROM event") == events);

    SECTION("and stays as it was where a step fails") {
        files.push_back({"0005_1_broken.sql", "CREATE TABLE weeds (name TEXT) STRICT; CREATE TABLE soil (name TEXT);"});
        CHECK_THROWS_AS(geo::upgrade_schema(database, files, "Ada Holt"), models::Error);
        CHECK(database.whole("PRAGMA user_version") == 4);
        CHECK(database.whole("SELECT count(*) FROM sqlite_master WHERE name = 'weeds'") == 0);
        CHECK(geo::verify_chain(database) == "");
    }
}

TEST_CASE("a folder that may not be written refuses changes and still lets the store be read") {
    Farm farm;
    const fs::path file = farm.store.file();
    // Nobody else has the store open, as it would lie on a disk that was mounted for reading.
    farm.store = Store::create(farm.folder / "other.lodicule");
    const auto all = fs::perms::owner_read | fs::perms::owner_exec | fs::perms::group_read | fs::perms::group_exec |
                     fs::perms::others_read | fs::perms::others_exec;
    fs::permissions(file, fs::perms::owner_read | fs::perms::group_read | fs::perms::others_read);
    fs::permissions(farm.folder.path(), all);
    const std::string before = bytes_of(file);
    const auto unprivileged = [] {
        constexpr uid_t nobody = 65534;
        return ::geteuid() != 0 || (::setegid(nobody) == 0 && ::seteuid(nobody) == 0);
    };
    CHECK(in_child([&] {
              if (!unprivileged()) return 2;
              return Store::open(file, Store::Access::read_only).fields().size() == 4 ? 0 : 1;
          }) == 0);
    CHECK(in_child([&] {
              if (!unprivileged()) return 2;
              const std::string words = refusal_of([&] {
                  Store store = Store::open(file);
                  geo::add_row(store, "costs", {{"name", "test"}, {"value", "9"}});
              });
              return words.find("cannot be written") != std::string::npos ? 0 : 1;
          }) == 0);
    CHECK(in_child([&] {
              if (!unprivileged()) return 2;
              const std::string words = refusal_of([&] { Store::create(farm.folder / "new.lodicule"); });
              return words.find("write") != std::string::npos ? 0 : 1;
          }) == 0);
    CHECK(bytes_of(file) == before);
    fs::permissions(farm.folder.path(), fs::perms::owner_all);
}

TEST_CASE("a kill in the middle of an import leaves the store as it was") {
    Farm farm;
    const fs::path table = farm.folder.write("samples.csv", many_samples(3000));
    const auto events = farm.store.database().whole("SELECT count(*) FROM event");
    const fs::path file = farm.store.file();
    farm.store = Store::create(farm.folder / "other.lodicule");
    const int ended = in_child([&] {
        Store store = Store::open(file);
        const models::Progress killed([](std::string_view, double share) {
            if (share > 0.7) ::kill(::getpid(), SIGKILL);
            return true;
        });
        geo::import_file(store, "samples", table, {}, killed);
        return 0;
    });
    REQUIRE(ended == -SIGKILL);
    Store store = Store::open(file);
    CHECK(store.samples().empty());
    CHECK(store.database().whole("SELECT count(*) FROM event") == events);
    for (const auto& finding : geo::check_store(store)) CHECK(finding.good);
    CHECK(geo::import_file(store, "samples", table).added == 3000);
}

TEST_CASE("an import that is stopped on request leaves the store as it was") {
    Farm farm;
    const fs::path table = farm.folder.write("samples.csv", many_samples(1000));
    const models::Progress stopped([](std::string_view, double share) { return share < 0.5; });
    CHECK_THROWS_AS(geo::import_file(farm.store, "samples", table, {}, stopped), models::Cancelled);
    CHECK(farm.store.samples().empty());
    CHECK(geo::import_file(farm.store, "samples", table).added == 1000);
}

TEST_CASE("a full disk is said in one sentence and leaves the store as it was") {
    Farm farm;
    const fs::path table = farm.folder.write("samples.csv", many_samples(6000));
    const fs::path file = farm.store.file();
    farm.store = Store::create(farm.folder / "other.lodicule");
    const int ended = in_child([&] {
        std::signal(SIGXFSZ, SIG_IGN);
        const rlimit limit{2'000'000, 2'000'000};
        if (::setrlimit(RLIMIT_FSIZE, &limit) != 0) return 2;
        const std::string words = refusal_of([&] {
            Store store = Store::open(file);
            geo::import_file(store, "samples", table);
        });
        return words.find("disk") != std::string::npos && words.find("nothing was changed") != std::string::npos ? 0
                                                                                                                 : 1;
    });
    CHECK(ended == 0);
    Store store = Store::open(file);
    CHECK(store.samples().empty());
    for (const auto& finding : geo::check_store(store)) CHECK(finding.good);
    CHECK(in_child([&] {
              std::signal(SIGXFSZ, SIG_IGN);
              const rlimit limit{200'000, 200'000};
              if (::setrlimit(RLIMIT_FSIZE, &limit) != 0) return 2;
              const std::string words = refusal_of([&] { Store::create(farm.folder / "third.lodicule"); });
              return words.find("disk") != std::string::npos ? 0 : 1;
          }) == 0);
    CHECK_FALSE(fs::exists(farm.folder / "third.lodicule"));
}

TEST_CASE("two programs may read while one writes and the second writer is told to wait") {
    const Farm farm;
    Database first(farm.store.file(), Database::Mode::read_write);
    Database second(farm.store.file(), Database::Mode::read_write);
    second.run("PRAGMA busy_timeout = 20");
    const geo::Transaction writing(first);
    CHECK(second.whole("SELECT count(*) FROM current_field_outline") == 4);
    CHECK_THAT(refusal_of([&] { const geo::Transaction also(second); }),
               Contains("another program is writing in the store"));
}

TEST_CASE("nothing that was said can be changed or deleted by SQL") {
    Farm farm;
    farm.import_text("costs", "name,value\ntest,9.5\n");
    Database& database = farm.store.database();
    CHECK_THAT(refusal_of([&] { database.run("UPDATE cost SET value = 1"); }), Contains("never changed"));
    CHECK_THAT(refusal_of([&] { database.run("DELETE FROM cost"); }), Contains("never deleted"));
    CHECK_THAT(refusal_of([&] { database.run("DELETE FROM event WHERE sequence = 3"); }), Contains("never shortened"));
    CHECK_THAT(refusal_of([&] { database.run("UPDATE event SET actor = 'somebody else'"); }),
               Contains("never changed"));
    for (const geo::tables::Kind& kind : geo::tables::all_kinds()) {
        if (kind.table.empty()) continue;
        CHECK(database.whole("SELECT count(*) FROM sqlite_master WHERE type = 'trigger' AND tbl_name = '" + kind.table +
                             "' AND name LIKE '%is_never_%'") == 2);
    }
}

TEST_CASE("the tables of the store have exactly the columns that are told of each kind") {
    const Folder folder;
    const Store store = Store::create(folder / "farm.lodicule");
    for (const geo::tables::Kind& kind : geo::tables::all_kinds()) {
        if (kind.table.empty()) continue;
        std::multiset<std::string> told = {"record", "event", "version", "withdrawn", "notes"};
        for (const geo::tables::Column* column : kind.stored()) {
            using geo::tables::Type;
            const bool number = column->type == Type::number;
            const bool whole = column->type == Type::whole || column->type == Type::yes_no;
            const bool may_be_null = column->need == geo::tables::Need::optional;
            told.insert(column->name +
                        (number  ? " REAL"
                         : whole ? " INTEGER"
                                 : " TEXT") +
                        (may_be_null ? "" : " NOT NULL"));
        }
        if (!kind.blob.empty()) told.insert(kind.blob);
        std::multiset<std::string> there;
        geo::Statement columns(store.database(), "SELECT name, type, \"notnull\" FROM pragma_table_info(?)");
        columns.with(kind.table);
        const std::set<std::string> of_all = {"record", "event", "version", "withdrawn", "notes", kind.blob};
        while (columns.step()) {
            const std::string name = columns.text(0);
            there.insert(of_all.count(name) != 0
                             ? name
                             : name + " " + columns.text(1) + (columns.whole(2) != 0 ? " NOT NULL" : ""));
        }
        CHECK(there == told);
    }
}

TEST_CASE("the chain's hash is the one that any SHA-256 program finds") {
    // FIPS 180-2, appendix B.1
    CHECK(geo::sha256_of(std::string_view("abc")) ==
          "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    const geo::Event event{
        1, "2026-06-03T12:05:00Z", "Ada \"Hay\" Holt", "create", R"({"schema":1})", {}, std::string(64, '0'), ""};
    CHECK(geo::sha256_of(event) ==
          geo::sha256_of(std::string_view(
              R"({"action":"create","actor":"Ada \"Hay\" Holt","payload":{"schema":1},"previous_sha256":")"
              "0000000000000000000000000000000000000000000000000000000000000000"
              R"(","sequence":1,"undoes":null,"utc":"2026-06-03T12:05:00Z"})")));
}

TEST_CASE("the same rows at the same clock make the same chain") {
    const auto last = [] {
        ::setenv("SOURCE_DATE_EPOCH", "1780000000", 1);
        Farm farm;
        geo::ImportOptions options;
        options.actor = "Ada Holt";
        farm.import_text("costs", "name,value\ntest,9.5\nsample,4\n", options);
        ::unsetenv("SOURCE_DATE_EPOCH");
        CHECK(farm.store.database().text("SELECT DISTINCT utc FROM event") == "2026-05-28T20:26:40Z");
        return farm.store.database().text("SELECT sha256 FROM event ORDER BY sequence DESC LIMIT 1");
    };
    const std::string once = last();
    CHECK(once.size() == 64);
    CHECK(once == last());
}

TEST_CASE("unprocessed common wheat may hold 1.25 until the end of June 2024 and 1.00 from July on") {
    // Regulation (EU) 2023/915, Annex I 1.4, as amended by (EU) 2024/1022, which applies from 1 July 2024
    const Folder folder;
    const Store store = Store::create(folder / "farm.lodicule");
    const auto limits = store.limits();
    const auto on = [&](const char* crop, const char* day) {
        const auto limit = geo::limit_in_force(limits, "EU", crop, models::Purpose::food, "", *models::parse_day(day));
        REQUIRE(limit);
        CHECK(limit->mixing == models::Mixing::forbidden);
        CHECK(limit->confirmed);
        return limit->limit_mg_per_kg;
    };
    for (const char* crop : {"wheat", "barley", "rye", "triticale"}) {
        CHECK(on(crop, "2024-06-30") == 1.25);
        CHECK(on(crop, "2024-07-01") == 1.00);
    }
    for (const char* crop : {"durum", "maize"}) {
        CHECK(on(crop, "2024-06-30") == 1.75);
        CHECK(on(crop, "2024-07-01") == 1.50);
    }
    CHECK(on("oats", "2026-01-01") == 1.75);
    for (const models::Limit& limit : limits) {
        const bool memory = limit.source.find("from memory") != std::string::npos;
        CHECK(limit.confirmed != memory);
        CHECK(limit.from);
    }
}

}  // namespace store_tests
