#include "geo/store/schema.h"

#include <algorithm>
#include <charconv>
#include <set>
#include <utility>

#include "geo/store/chain.h"
#include "geo/tables/kind.h"
#include "models/error.h"

namespace embedded {
std::vector<std::pair<std::string_view, std::string_view>> schema_files();
}

namespace geo {

int SchemaFile::version() const {
    int number = 0;
    std::from_chars(name.data(), name.data() + std::min<std::size_t>(4, name.size()), number);
    return number;
}

std::vector<SchemaFile> schema_files() {
    std::vector<SchemaFile> files;
    for (const auto& [name, sql] : embedded::schema_files()) files.push_back({name, sql});
    std::sort(files.begin(), files.end(), [](const auto& a, const auto& b) { return a.name < b.name; });
    return files;
}

int newest_version(const std::vector<SchemaFile>& files) {
    int newest = 0;
    for (const SchemaFile& file : files) newest = std::max(newest, file.version());
    return newest;
}

void make_schema(Database& database, const std::vector<SchemaFile>& files, const std::string& actor) {
    // SpatiaLite opens a transaction of its own here.
    if (database.whole("SELECT InitSpatialMetaDataFull(1, 'WGS84')") != 1) {
        throw models::Error("SpatiaLite could not make its tables", database.file().string());
    }
    Transaction all(database);
    for (const SchemaFile& file : files) database.run(file.sql);
    database.run("PRAGMA application_id = " + std::to_string(store_application_id) +
                 "; PRAGMA user_version = " + std::to_string(newest_version(files)));
    Chain chain(database);
    chain.append("create", actor, "{\"schema\":" + std::to_string(newest_version(files)) + "}");
    all.commit();
}

std::filesystem::path upgrade_schema(Database& database, const std::vector<SchemaFile>& files,
                                     const std::string& actor) {
    const int before = static_cast<int>(database.whole("PRAGMA user_version"));
    const int newest = newest_version(files);
    if (before >= newest) return {};
    const std::filesystem::path backup = database.file().string() + ".schema" + std::to_string(before) + ".backup";
    if (!std::filesystem::is_regular_file(backup)) {
        Statement copy(database, "VACUUM INTO ?");
        copy.with(backup.string()).run();
    }
    Transaction all(database);
    for (const SchemaFile& file : files) {
        if (file.version() > before) database.run(file.sql);
    }
    database.run("PRAGMA user_version = " + std::to_string(newest));
    Chain chain(database);
    chain.append("upgrade", actor,
                 "{\"from_schema\":" + std::to_string(before) + ",\"schema\":" + std::to_string(newest) + "}");
    all.commit();
    return backup;
}

std::vector<std::string> schema_objects(Database& database) {
    std::set<std::string> tables = {"event"};
    for (const tables::Kind& kind : tables::all_kinds()) {
        if (!kind.table.empty()) tables.insert({kind.table, kind.view()});
    }
    std::vector<std::string> objects;
    Statement all(database, "SELECT tbl_name, type, name, coalesce(sql, '') FROM sqlite_master");
    while (all.step()) {
        if (tables.count(all.text(0)) != 0) objects.push_back(all.text(1) + " " + all.text(2) + ": " + all.text(3));
    }
    std::sort(objects.begin(), objects.end());
    return objects;
}

}  // namespace geo
