#include "app/stages/kept_columns.h"

#include <algorithm>
#include <bit>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <string_view>
#include <system_error>

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include "geo/store/chain.h"

namespace app {

namespace {

constexpr std::string_view kept_magic = "lodicule kept 1 ";
constexpr std::size_t longest_line = 200, most_head = 64 << 20;  // bytes; a longer one is damaged

std::string_view bytes_of(const Eigen::VectorXd& column) {
    return {reinterpret_cast<const char*>(column.data()), sizeof(double) * static_cast<std::size_t>(column.size())};
}

/// @returns bytes read; fewer where the file ends or cannot be read
std::size_t read_at(int file, char* into, std::size_t size, std::size_t from) {
    std::size_t done = 0;
    while (done < size) {
        const auto read = ::pread(file, into + done, size - done, static_cast<off_t>(from + done));
        if (read < 0 && errno == EINTR) continue;
        if (read <= 0) break;
        done += static_cast<std::size_t>(read);
    }
    return done;
}

}  // namespace

std::optional<KeptColumns> KeptColumns::open(const std::filesystem::path& file) {
    if constexpr (std::endian::native != std::endian::little) return std::nullopt;
    const int opened = ::open(file.c_str(), O_RDONLY | O_CLOEXEC);
    if (opened < 0) return std::nullopt;
    const std::shared_ptr<const int> in(new int(opened), [](const int* one) {
        ::close(*one);
        delete one;
    });
    std::string line(longest_line, '\0');
    line.resize(read_at(opened, line.data(), line.size(), 0));
    const std::size_t end = line.find('\n');
    if (end == std::string::npos) return std::nullopt;
    line.resize(end);
    if (!line.starts_with(kept_magic)) return std::nullopt;
    const std::string sha256 = line.substr(kept_magic.size(), 64);
    std::size_t length = 0;
    for (const char digit : line.substr(std::min(line.size(), kept_magic.size() + 65))) {
        if (digit < '0' || digit > '9' || length > most_head) return std::nullopt;
        length = 10 * length + static_cast<std::size_t>(digit - '0');
    }
    if (length == 0 || length > most_head) return std::nullopt;
    std::string head(length, '\0');
    if (read_at(opened, head.data(), length, line.size() + 1) != length || geo::sha256_of(head) != sha256)
        return std::nullopt;
    try {
        const nlohmann::json read = nlohmann::json::parse(head);
        KeptColumns kept;
        kept.key_ = read.at("key").get<std::string>();
        kept.file_ = in;
        kept.says_ = read.at("says");
        kept.rows_ = read.at("rows").get<Eigen::Index>();
        kept.first_ = line.size() + 1 + length;
        for (const auto& column : read.at("columns"))
            kept.columns_.emplace_back(column.at(0).get<std::string>(), column.at(1).get<std::string>());
        return kept;
    } catch (const nlohmann::json::exception&) {
        return std::nullopt;  // whole, but not of ours
    }
}

std::optional<Eigen::VectorXd> KeptColumns::column(const std::string& name) const {
    const auto found = std::lower_bound(columns_.begin(), columns_.end(), name,
                                        [](const auto& column, const std::string& of) { return column.first < of; });
    if (found == columns_.end() || found->first != name) return std::nullopt;
    Eigen::VectorXd column(rows_);
    const std::size_t size = bytes_of(column).size();
    const std::size_t from = first_ + static_cast<std::size_t>(found - columns_.begin()) * size;
    if (read_at(*file_, reinterpret_cast<char*>(column.data()), size, from) != size) return std::nullopt;
    if (geo::sha256_of(bytes_of(column)) != found->second) return std::nullopt;
    return column;
}

bool keep_columns(const std::filesystem::path& file, const std::string& key, const nlohmann::json& says,
                  std::vector<NamedColumn> columns) {
    if constexpr (std::endian::native != std::endian::little) return false;
    std::sort(columns.begin(), columns.end());
    nlohmann::json head{{"key", key},
                        {"rows", columns.empty() ? 0 : columns.front().second->size()},
                        {"says", says},
                        {"columns", nlohmann::json::array()}};
    for (const auto& [name, column] : columns) head["columns"].push_back({name, geo::sha256_of(bytes_of(*column))});
    const std::string text = head.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
    const std::filesystem::path fresh = file.string() + fmt::format(".new{}", ::getpid());
    std::error_code ignored;
    {
        std::ofstream out(fresh, std::ios::binary | std::ios::trunc);
        out << kept_magic << geo::sha256_of(text) << ' ' << text.size() << '\n' << text;
        for (const auto& [name, column] : columns) out << bytes_of(*column);
        if (!out.flush()) {
            out.close();
            std::filesystem::remove(fresh, ignored);
            return false;
        }
    }
    std::filesystem::rename(fresh, file, ignored);
    if (!ignored) return true;
    std::filesystem::remove(fresh, ignored);
    return false;
}

KeyOf& KeyOf::add(const std::string& text) {
    add(static_cast<std::int64_t>(text.size()));
    bytes_ += text;
    return *this;
}
KeyOf& KeyOf::add(double value) {
    char bytes[sizeof value];
    std::memcpy(bytes, &value, sizeof value);
    bytes_.append(bytes, sizeof value);
    return *this;
}
KeyOf& KeyOf::add(std::int64_t value) {
    char bytes[sizeof value];
    std::memcpy(bytes, &value, sizeof value);
    bytes_.append(bytes, sizeof value);
    return *this;
}
KeyOf& KeyOf::add(const std::optional<double>& value) {
    add(std::int64_t{value.has_value()});
    return add(value.value_or(0.0));
}
std::string KeyOf::sha256() const {
    return geo::sha256_of(std::string_view(bytes_));
}
std::string KeyOf::sha256_of_first(std::size_t length) const {
    return geo::sha256_of(std::string_view(bytes_).substr(0, length));
}

}  // namespace app
