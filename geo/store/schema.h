#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "geo/store/database.h"

namespace geo {

/// One numbered file of geo/schema: 0001_1_chain.sql is a part of version 1.
struct SchemaFile {
    std::string_view name;
    std::string_view sql;
    int version() const;
};

/// Files compiled into the program, in the order in which they run.
std::vector<SchemaFile> schema_files();
int newest_version(const std::vector<SchemaFile>& files);

/// What marks a SQLite file as a store of this program (PRAGMA application_id).
constexpr int store_application_id = 0x4c4f4449;

/// Makes the tables of the newest version in an empty database, and the first event of its chain.
void make_schema(Database& database, const std::vector<SchemaFile>& files, const std::string& actor);

/// Brings a store of an older version to the newest one: a backup beside it first, then every later file in one
/// transaction with an `upgrade` event. Does nothing where the store is new enough.
/// @returns where the backup lies, empty where there was nothing to do
std::filesystem::path upgrade_schema(Database& database, const std::vector<SchemaFile>& files,
                                     const std::string& actor);

/// Everything the schema consists of (tables, views, triggers, indexes with their SQL), for comparing one store with a
/// new one. SpatiaLite's own tables are left out.
std::vector<std::string> schema_objects(Database& database);

}  // namespace geo
