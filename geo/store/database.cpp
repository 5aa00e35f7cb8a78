#include "geo/store/database.h"

// SpatiaLite's header leans on SQLite's: their order matters.
// clang-format off
#include <sqlite3.h>
#include <spatialite.h>
#include <spatialite/gaiageo.h>
// clang-format on

#include <cassert>
#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <fstream>
#include <utility>

#include <fcntl.h>
#include <unistd.h>

#include "geo/store/outline_blob.h"
#include "models/error.h"

namespace geo {

namespace {

constexpr int patience_ms = 5000;

/// The rule's name out of "CHECK constraint failed: moisture_lies_between_0_and_100_percent".
std::string broken_rule(const std::string& message) {
    const auto colon = message.find("failed: ");
    std::string rule = colon == std::string::npos ? message : message.substr(colon + 8);
    for (char& letter : rule) {
        if (letter == '_') letter = ' ';
    }
    return rule;
}

struct Words {
    std::string what, mend;
};

Words words_for(int code, int extended, const std::string& message, const std::filesystem::path& file) {
    const std::string folder = file.has_parent_path() ? file.parent_path().string() : ".";
    switch (code) {
        case SQLITE_FULL:
            return {"the disk is full, nothing was changed", "make room on the disk that holds " + folder};
        case SQLITE_IOERR:
            if (extended == SQLITE_IOERR_WRITE || extended == SQLITE_IOERR_FSYNC || extended == SQLITE_IOERR_SHMSIZE) {
                return {"the disk took no more (full, or a limit on the size of files), nothing was changed",
                        "make room on the disk that holds " + folder};
            }
            return {"the disk failed to read or write: " + message, "check the disk, then `lodicule check` the store"};
        case SQLITE_READONLY:
            return {"the store or its folder cannot be written",
                    "give yourself the right to write in " + folder + ", or copy the store elsewhere"};
        case SQLITE_BUSY:
        case SQLITE_LOCKED:
            return {"another program is writing in the store", "wait until it is done and try again"};
        case SQLITE_NOTADB:
            return {"the file is no store", "name a store made by `lodicule new`"};
        case SQLITE_CORRUPT:
            return {"the store is damaged: " + message, "take the last backup; `lodicule check` tells what is wrong"};
        case SQLITE_CANTOPEN:
            return {"the store cannot be opened (no such folder, or no right to write in it)",
                    "check that " + folder + " exists and may be written"};
        case SQLITE_PERM:
        case SQLITE_AUTH:
            return {"no right to open the store", "ask its owner for the right to read and write it"};
        case SQLITE_CONSTRAINT:
            return {broken_rule(message), ""};
        case SQLITE_NOMEM:
            return {"not enough memory", ""};
        case SQLITE_TOOBIG:
            return {"a text or outline is too big for the store", ""};
        default:
            return {"SQLite says: " + message, ""};
    }
}

/// SpatiaLite's ST_AsBinary by its library alone, which needs nothing to be set up. Null where it is no shape.
void outline_wkb(sqlite3_context* context, int, sqlite3_value** values) {
    if (sqlite3_value_type(values[0]) != SQLITE_BLOB) return;
    const auto* blob = static_cast<const unsigned char*>(sqlite3_value_blob(values[0]));
    const auto blob_size = static_cast<unsigned int>(sqlite3_value_bytes(values[0]));
    if (const auto outline = wkb_of_outline(blob, blob_size)) {
        sqlite3_result_blob(context, outline->data(), static_cast<int>(outline->size()), SQLITE_TRANSIENT);
        return;
    }
    gaiaGeomCollPtr shape = gaiaFromSpatiaLiteBlobWkb(blob, blob_size);
    if (shape == nullptr) return;
    unsigned char* bytes = nullptr;
    int size = 0;
    gaiaToWkb(shape, &bytes, &size);
    gaiaFreeGeomColl(shape);
    if (bytes != nullptr) sqlite3_result_blob(context, bytes, size, std::free);
}

}  // namespace

Database::Database(const std::filesystem::path& file, Mode mode) : file_(file) {
    int flags = SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_URI;
    flags |= mode == Mode::create      ? SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE
             : mode == Mode::read_only ? SQLITE_OPEN_READONLY
                                       : SQLITE_OPEN_READWRITE;
    std::string name = file.string();
    if (mode == Mode::read_only) {
        // A store in a folder that may not be written has nobody writing in it: read it without the log's helper file.
        const std::filesystem::path folder = file.has_parent_path() ? file.parent_path() : ".";
        const bool quiet = !std::filesystem::exists(file.string() + "-wal");
        if (quiet && ::faccessat(AT_FDCWD, folder.c_str(), W_OK, AT_EACCESS) != 0) {
            std::string escaped;
            for (const char letter : std::filesystem::absolute(file).string()) {
                if (letter == '%' || letter == '?' || letter == '#') {
                    static constexpr char digits[] = "0123456789ABCDEF";
                    const auto byte = static_cast<unsigned char>(letter);
                    escaped += {'%', digits[byte >> 4], digits[byte & 15]};
                } else {
                    escaped += letter;
                }
            }
            name = "file:" + escaped + "?immutable=1";
        }
    }
    if (name.rfind("file:", 0) != 0 && name != ":memory:" && !file.is_absolute()) name = "./" + name;
    const int code = sqlite3_open_v2(name.c_str(), &handle_, flags, nullptr);
    if (code != SQLITE_OK) {
        const Words words =
            words_for(code & 0xff, code, handle_ != nullptr ? sqlite3_errmsg(handle_) : "not enough memory", file_);
        sqlite3_close(handle_);
        handle_ = nullptr;
        throw models::Error(words.what, file_.string(), words.mend);
    }
    try {
        prepare_connection(mode);
    } catch (...) {
        sqlite3_close(handle_);
        if (spatial_cache_ != nullptr) spatialite_cleanup_ex(spatial_cache_);
        throw;
    }
}

Database::~Database() {
    sqlite3_close(handle_);
    if (spatial_cache_ != nullptr) spatialite_cleanup_ex(spatial_cache_);
}

std::unique_ptr<Database> Database::in_memory() {
    return std::make_unique<Database>(":memory:", Mode::create);
}

void Database::prepare_connection(Mode mode) {
    sqlite3_extended_result_codes(handle_, 1);
    sqlite3_busy_timeout(handle_, patience_ms);
    sqlite3_create_function_v2(handle_, "outline_wkb", 1, SQLITE_UTF8 | SQLITE_DETERMINISTIC, nullptr, outline_wkb,
                               nullptr, nullptr, nullptr);
    if (mode != Mode::read_only) load_spatial_functions();  // the store's triggers call them
    run("PRAGMA foreign_keys = ON; PRAGMA cache_size = -65536; PRAGMA temp_store = MEMORY");
    if (mode == Mode::read_only) {
        run("PRAGMA query_only = ON");
    } else if (file_ != ":memory:") {
        run("PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL");
    }
}

void Database::load_spatial_functions() {
    if (spatial_cache_ != nullptr) return;
    spatial_cache_ = spatialite_alloc_connection();
    spatialite_init_ex(handle_, spatial_cache_, 0);
    spatialite_set_silent_mode(spatial_cache_);
}

void Database::fail(int code) const {
    const Words words = words_for(code & 0xff, code, sqlite3_errmsg(handle_), file_);
    throw models::Error(words.what, (code & 0xff) == SQLITE_CONSTRAINT ? "" : file_.string(), words.mend);
}

void Database::run(std::string_view statements) {
    const int code = sqlite3_exec(handle_, std::string(statements).c_str(), nullptr, nullptr, nullptr);
    if (code != SQLITE_OK) fail(code);
}

bool Database::in_transaction() const {
    return sqlite3_get_autocommit(handle_) == 0;
}

std::int64_t Database::whole(std::string_view query) {
    Statement statement(*this, query);
    return statement.step() ? statement.whole(0) : 0;
}

std::string Database::text(std::string_view query) {
    Statement statement(*this, query);
    return statement.step() ? statement.text(0) : "";
}

Statement::Statement(Database& database, std::string_view sql) : database_(&database) {
    const int code =
        sqlite3_prepare_v3(database.handle(), sql.data(), static_cast<int>(sql.size()), 0, &statement_, nullptr);
    if (code != SQLITE_OK) database.fail(code);
}

Statement::~Statement() {
    sqlite3_finalize(statement_);
}

Statement::Statement(Statement&& other) noexcept
    : database_(other.database_), statement_(std::exchange(other.statement_, nullptr)) {}

Statement& Statement::operator=(Statement&& other) noexcept {
    std::swap(database_, other.database_);
    std::swap(statement_, other.statement_);
    return *this;
}

void Statement::reset() {
    sqlite3_reset(statement_);
    sqlite3_clear_bindings(statement_);
}

void Statement::bind(int place, std::nullptr_t) {
    sqlite3_bind_null(statement_, place);
}
void Statement::bind(int place, std::int64_t value) {
    sqlite3_bind_int64(statement_, place, value);
}
void Statement::bind(int place, double value) {
    sqlite3_bind_double(statement_, place, value);
}
void Statement::bind(int place, std::string_view value) {
    sqlite3_bind_text64(statement_, place, value.data() == nullptr ? "" : value.data(), value.size(), SQLITE_TRANSIENT,
                        SQLITE_UTF8);
}
void Statement::bind(int place, const Blob& value) {
    sqlite3_bind_blob64(statement_, place, value.bytes.data(), value.bytes.size(), SQLITE_TRANSIENT);
}
void Statement::bind(int place, const Value& value) {
    std::visit(
        [&](const auto& held) {
            if constexpr (std::is_same_v<std::decay_t<decltype(held)>, std::monostate>)
                bind(place, nullptr);
            else
                bind(place, held);
        },
        value);
}

bool Statement::step() {
    const int code = sqlite3_step(statement_);
    if (code == SQLITE_ROW) return true;
    if (code == SQLITE_DONE) return false;
    const int reason = sqlite3_extended_errcode(database_->handle());
    try {
        database_->fail(reason);
    } catch (...) {
        sqlite3_reset(statement_);
        throw;
    }
}

void Statement::run() {
    while (step()) {
    }
    sqlite3_reset(statement_);
}

bool Statement::is_null(int column) const {
    return sqlite3_column_type(statement_, column) == SQLITE_NULL;
}
std::int64_t Statement::whole(int column) const {
    return sqlite3_column_int64(statement_, column);
}
double Statement::number(int column) const {
    return sqlite3_column_double(statement_, column);
}

std::string Statement::text(int column) const {
    const auto* start = reinterpret_cast<const char*>(sqlite3_column_text(statement_, column));
    if (start == nullptr) return {};
    return {start, static_cast<std::size_t>(sqlite3_column_bytes(statement_, column))};
}

std::string Statement::bytes(int column) const {
    const auto* start = static_cast<const char*>(sqlite3_column_blob(statement_, column));
    if (start == nullptr) return {};
    return {start, static_cast<std::size_t>(sqlite3_column_bytes(statement_, column))};
}

Value Statement::value(int column) const {
    switch (sqlite3_column_type(statement_, column)) {
        case SQLITE_INTEGER:
            return whole(column);
        case SQLITE_FLOAT:
            return number(column);
        case SQLITE_TEXT:
            return text(column);
        case SQLITE_BLOB:
            return Blob{bytes(column)};
        default:
            return std::monostate{};
    }
}

std::optional<double> Statement::optional_number(int column) const {
    if (is_null(column)) return std::nullopt;
    return number(column);
}

std::optional<std::int64_t> Statement::optional_whole(int column) const {
    if (is_null(column)) return std::nullopt;
    return whole(column);
}

int Statement::columns() const {
    return sqlite3_column_count(statement_);
}
std::string Statement::column_name(int column) const {
    return sqlite3_column_name(statement_, column);
}

Transaction::Transaction(Database& database) : database_(database), inside_(database.in_transaction()) {
    database_.run(inside_ ? "SAVEPOINT inner_work" : "BEGIN IMMEDIATE");
}

Transaction::~Transaction() {
    // Nothing to say about a failure here: an open transaction vanishes with the connection anyway.
    const char* back = inside_ ? "ROLLBACK TO inner_work; RELEASE inner_work" : "ROLLBACK";
    if (open_) sqlite3_exec(database_.handle(), back, nullptr, nullptr, nullptr);
}

void Transaction::commit() {
    database_.run(inside_ ? "RELEASE inner_work" : "COMMIT");
    open_ = false;
}

Savepoint::Savepoint(Database& database) : database_(database) {
    database_.run("SAVEPOINT one_row");
}

Savepoint::~Savepoint() {
    if (open_) {
        sqlite3_exec(database_.handle(), "ROLLBACK TO one_row; RELEASE one_row", nullptr, nullptr, nullptr);
    }
}

void Savepoint::keep() {
    database_.run("RELEASE one_row");
    open_ = false;
}

}  // namespace geo
