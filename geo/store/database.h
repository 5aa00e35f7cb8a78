#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

struct sqlite3;
struct sqlite3_stmt;

namespace geo {

/// Bytes as they are, told apart from text.
struct Blob {
    std::string bytes;
    friend bool operator==(const Blob&, const Blob&) = default;
};

/// One cell: nothing, a whole number, a number, a text, or bytes.
using Value = std::variant<std::monostate, std::int64_t, double, std::string, Blob>;

/// A connection to one SQLite file with SpatiaLite's functions in it: foreign keys on, write-ahead log, five seconds of
/// patience when another program writes. One that only reads has the one function that reading needs, outline_wkb(), an
/// outline as well-known binary; the others take a while to come and are asked for. Nothing here knows what is in the
/// file.
/// @throws models::Error  from every function, in words: disk full, read-only, locked, damaged, not a database, or the
///                        name of the constraint that a row broke
class Database {
 public:
    enum class Mode { create, read_write, read_only };

    Database(const std::filesystem::path& file, Mode mode);
    ~Database();
    Database(const Database&) = delete;
    Database& operator=(const Database&) = delete;

    /// An empty database in memory, with SpatiaLite's functions.
    static std::unique_ptr<Database> in_memory();

    void load_spatial_functions();               ///< ST_Area and the like, where they are not there yet
    void run(std::string_view statements);       ///< one or more, none of them giving rows that matter
    std::int64_t whole(std::string_view query);  ///< first cell of the first row, 0 where there is none
    std::string text(std::string_view query);    ///< the same as text, empty where there is none
    const std::filesystem::path& file() const { return file_; }
    sqlite3* handle() const { return handle_; }
    bool in_transaction() const;

    /// Turns the last failure of this connection into a models::Error.
    [[noreturn]] void fail(int code) const;

 private:
    void prepare_connection(Mode mode);

    std::filesystem::path file_;
    sqlite3* handle_ = nullptr;
    void* spatial_cache_ = nullptr;
};

/// One prepared statement. Bind by run() or bind(), step through the rows, read cells by column number from 0.
class Statement {
 public:
    Statement(Database& database, std::string_view sql);
    ~Statement();
    Statement(Statement&&) noexcept;
    Statement& operator=(Statement&&) noexcept;

    /// Forgets the last run and its values; binds the given ones from the first `?` on.
    template <typename... Values>
    Statement& with(const Values&... values) {
        reset();
        int place = 0;
        (bind(++place, values), ...);
        return *this;
    }
    void reset();
    void bind(int place, std::nullptr_t);
    void bind(int place, std::int64_t value);
    void bind(int place, int value) { bind(place, static_cast<std::int64_t>(value)); }
    void bind(int place, double value);
    void bind(int place, std::string_view value);
    void bind(int place, const std::string& value) { bind(place, std::string_view(value)); }
    void bind(int place, const char* value) { bind(place, std::string_view(value)); }
    void bind(int place, const Blob& value);
    void bind(int place, const Value& value);
    template <typename T>
    void bind(int place, const std::optional<T>& value) {
        if (value)
            bind(place, *value);
        else
            bind(place, nullptr);
    }

    bool step();  ///< true: there is a row to read
    void run();   ///< steps to the end

    bool is_null(int column) const;
    std::int64_t whole(int column) const;
    double number(int column) const;
    std::string text(int column) const;  ///< empty for NULL
    std::string bytes(int column) const;
    Value value(int column) const;
    std::optional<double> optional_number(int column) const;
    std::optional<std::int64_t> optional_whole(int column) const;

    int columns() const;
    std::string column_name(int column) const;

 private:
    Database* database_;
    sqlite3_stmt* statement_ = nullptr;
};

/// All or nothing: rolled back unless committed.
class Transaction {
 public:
    /// Inside another one it is a part of that: it ends with it, and can be taken back alone.
    explicit Transaction(Database& database);
    ~Transaction();
    Transaction(const Transaction&) = delete;
    Transaction& operator=(const Transaction&) = delete;
    void commit();

 private:
    Database& database_;
    bool inside_ = false, open_ = true;
};

/// The same for one row inside a transaction.
class Savepoint {
 public:
    explicit Savepoint(Database& database);
    ~Savepoint();
    Savepoint(const Savepoint&) = delete;
    Savepoint& operator=(const Savepoint&) = delete;
    void keep();

 private:
    Database& database_;
    bool open_ = true;
};

}  // namespace geo
