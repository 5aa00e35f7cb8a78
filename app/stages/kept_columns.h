#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <Eigen/Core>
#include <nlohmann/json.hpp>

namespace app {

/// Columns of numbers beside a store that were dear to work out. Nothing rests on them: a file that is not there, is of
/// another program, is cut off or damaged is as good as none, and where none can be written none is.
///   first line   "lodicule kept 1", SHA-256 of what it says of itself, and the length of that
///   JSON         key, rows, what it says, and of each column its name and SHA-256
///   columns      one after the other, 8 bytes a number, little end first
/// A column is read when it is asked for, so that one of thousands costs what one costs.
class KeptColumns {
 public:
    /// nullopt: there is none.
    static std::optional<KeptColumns> open(const std::filesystem::path& file);
    const std::string& key() const { return key_; }
    const nlohmann::json& says() const { return says_; }
    Eigen::Index rows() const { return rows_; }
    /// nullopt: no such column, or it is not what was written.
    std::optional<Eigen::VectorXd> column(const std::string& name) const;

 private:
    std::shared_ptr<const int> file_;  ///< opened once for all columns
    std::string key_;
    nlohmann::json says_;
    Eigen::Index rows_ = 0;
    std::size_t first_ = 0;                                     ///< byte of the first column
    std::vector<std::pair<std::string, std::string>> columns_;  ///< name and SHA-256, ascending by name
};

using NamedColumn = std::pair<std::string, const Eigen::VectorXd*>;
/// Puts a whole new file in the place of the old one at once.
/// @param columns  all of one length, each name once
/// @returns whether that could be done
bool keep_columns(const std::filesystem::path& file, const std::string& key, const nlohmann::json& says,
                  std::vector<NamedColumn> columns);

/// SHA-256 of values one after the other, each told apart from its neighbours.
class KeyOf {
 public:
    KeyOf& add(const std::string& text);
    KeyOf& add(double value);  ///< bit by bit
    KeyOf& add(std::int64_t value);
    KeyOf& add(const std::optional<double>& value);
    std::string sha256() const;
    std::size_t length() const { return bytes_.size(); }
    std::string sha256_of_first(std::size_t length) const;  ///< as it was when there were no more bytes

 private:
    std::string bytes_;
};

}  // namespace app
