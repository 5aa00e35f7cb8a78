#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <string_view>

#include "geo/store/database.h"

namespace geo {

/// One link of the chain of records: who said what, when. Its hash is the SHA-256 of the canonical JSON object
///   {"action":..,"actor":..,"payload":{..},"previous_sha256":..,"sequence":n,"undoes":null or n,"utc":".."}
/// (keys sorted, no blanks, UTF-8), so that a change of any of it, or of anything before it, changes the hash.
struct Event {
    std::int64_t sequence = 0;
    std::string utc;  ///< 2026-06-03T12:05:00Z
    std::string actor;
    std::string action;   ///< create, upgrade, import, record, undo
    std::string payload;  ///< canonical JSON object
    std::optional<std::int64_t> undoes;
    std::string previous_sha256;  ///< 64 zeros before the first
    std::string sha256;
};

std::string sha256_of(std::string_view bytes);  ///< 64 hexadecimal digits
/// Of a file that need not fit into memory.
/// @throws models::Error  it cannot be read
std::string sha256_of_file(const std::filesystem::path& file);
/// The hash that the event should carry.
std::string sha256_of(const Event& event);

/// Now in UTC; $SOURCE_DATE_EPOCH (seconds since 1970) where set, so that a store can be made again byte by byte.
std::string clock_utc();
/// The name the operating system gives to who runs this program.
std::string name_of_user();

/// The end of the chain of one store, to which everything new is appended. Use inside a transaction.
class Chain {
 public:
    explicit Chain(Database& database);

    /// @returns the sequence number of the new event
    std::int64_t append(const std::string& action, const std::string& actor, const std::string& payload,
                        std::optional<std::int64_t> undoes = std::nullopt);
    /// After a rollback: reads the end of the chain again.
    void look_again();
    const std::string& last_sha256() const { return last_sha256_; }
    std::int64_t last_sequence() const { return last_sequence_; }

 private:
    Database& database_;
    Statement insert_;
    std::int64_t last_sequence_ = 0;
    std::string last_sha256_;
};

/// Goes through the whole chain from the first event and calls `each` for every one that is in order.
/// @returns what is wrong with the first that is not, or an empty text
std::string verify_chain(Database& database, const std::function<void(const Event&)>& each = {});

}  // namespace geo
