#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace geo {

class Store;

/// What `lodicule check` found: the file itself, its rules, the chain of records, the outlines, the weather blocks.
struct CheckFinding {
    std::string what;  ///< "chain of records", "database file", "rules", "geometry", "weather blocks"
    bool good = false;
    std::string detail;  ///< "1,204 records, unbroken" or what is wrong and where
};

/// Every row of every table is held against what the chain of records says of it, and the chain against itself: a row
/// altered, taken away or put in past the program is found, wherever in the chain it stands. Only an end that was cut
/// off whole, last records and their rows together, leaves a good store behind; whoever noted the last hash
/// elsewhere gives it here and sees that, too.
/// @param noted_sha256  a last hash (ChainEnd::sha256) noted earlier, or at least its first 16 digits; empty: none
/// @throws models::Error  what was noted is no hash
std::vector<CheckFinding> check_store(Store& store, const std::string& noted_sha256 = "");

/// Two fields whose outlines overlap by more than a tenth of the smaller one (ours: neighbours that were drawn by hand
/// overlap by less).
struct OverlappingFields {
    std::string field, other;
    double share = 0.0;  ///< of the smaller one, 0 to 1
};
std::vector<OverlappingFields> overlapping_fields(const Store& store);
/// All of them in one sentence without its full stop: the first few by name, the others counted.
std::string in_words(const std::vector<OverlappingFields>& fields);

/// The last record of the chain: what to note elsewhere.
struct ChainEnd {
    std::int64_t records = 0;
    std::string sha256;  ///< 64 hexadecimal digits
};
ChainEnd end_of_chain(const Store& store);

}  // namespace geo
