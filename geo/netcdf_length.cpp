#include "geo/netcdf_length.h"

#include <algorithm>
#include <array>
#include <fstream>
#include <string_view>
#include <vector>

namespace geo::grids {

namespace {

/// Numbers of a classic header, one after another; `ended` where the file does.
class ClassicHeader {
 public:
    ClassicHeader(std::istream& in, int version) : in_(in), version_(version) {}

    std::uint64_t number(int bytes) {
        std::uint64_t value = 0;
        for (int i = 0; i < bytes && !ended(); ++i) {
            const int byte = in_.get();
            value = value << 8U | (byte < 0 ? 0U : static_cast<std::uint64_t>(byte));
        }
        return value;
    }
    std::uint64_t count() { return number(version_ == 5 ? 8 : 4); }
    std::uint64_t offset() { return number(version_ == 1 ? 4 : 8); }
    /// Bytes that fill up to four.
    void skip_padded(std::uint64_t bytes) { in_.ignore(static_cast<std::streamsize>(padded(bytes))); }
    void skip_name() { skip_padded(count()); }
    void skip_attributes() {
        number(4);
        for (std::uint64_t left = count(); left > 0 && !ended(); --left) {
            skip_name();
            const std::uint64_t type = number(4);
            skip_padded(count() * bytes_of(type));
        }
    }
    bool ended() const { return !in_.good(); }

    static std::uint64_t padded(std::uint64_t bytes) { return (bytes + 3) / 4 * 4; }
    static std::uint64_t bytes_of(std::uint64_t type) {
        constexpr std::array<std::uint64_t, 12> sizes = {0, 1, 1, 2, 4, 4, 8, 1, 2, 4, 8, 8};
        return type < sizes.size() ? sizes[type] : 0;
    }

 private:
    std::istream& in_;
    int version_;
};

/// Where the last value ends; nullopt where the records are not counted yet.
std::optional<std::uint64_t> end_of_values(ClassicHeader& header, int version) {
    const std::uint64_t records = header.count();
    if (records == (version == 5 ? ~std::uint64_t{0} : std::uint64_t{0xFFFFFFFF})) return std::nullopt;
    std::vector<std::uint64_t> lengths;  // of the dimensions; 0: that of the records
    header.number(4);
    for (std::uint64_t left = header.count(); left > 0 && !header.ended(); --left) {
        header.skip_name();
        lengths.push_back(header.count());
    }
    header.skip_attributes();
    struct OfRecords {
        std::uint64_t begin, bytes;
    };
    std::vector<OfRecords> of_records;
    std::uint64_t end = 0;
    header.number(4);
    for (std::uint64_t left = header.count(); left > 0 && !header.ended(); --left) {
        header.skip_name();
        std::uint64_t values = 1;
        bool by_record = false;
        const std::uint64_t dimensions = header.count();
        for (std::uint64_t d = 0; d < dimensions && !header.ended(); ++d) {
            const std::uint64_t which = header.count();
            const std::uint64_t length = which < lengths.size() ? lengths[which] : 0;
            by_record = by_record || (d == 0 && length == 0);
            if (d > 0 || length > 0) values *= length;
        }
        header.skip_attributes();
        const std::uint64_t bytes = values * ClassicHeader::bytes_of(header.number(4));
        header.count();  // the size again, which large variables do not fit into
        const std::uint64_t begin = header.offset();
        if (by_record)
            of_records.push_back({begin, bytes});
        else
            end = std::max(end, begin + bytes);
    }
    std::uint64_t record = 0;  // records of a single variable are not filled up
    for (const OfRecords& one : of_records)
        record += of_records.size() == 1 ? one.bytes : ClassicHeader::padded(one.bytes);
    for (const OfRecords& one : of_records) {
        if (records > 0) end = std::max(end, one.begin + (records - 1) * record + one.bytes);
    }
    return end;
}

/// The end of file that the superblock of HDF5 keeps, where addresses have eight bytes, as they do.
std::optional<std::uint64_t> end_of_hdf5(std::istream& in, std::uint64_t length) {
    std::array<unsigned char, 64> block{};
    in.seekg(0);
    in.read(reinterpret_cast<char*>(block.data()), block.size());
    if (in.gcount() < static_cast<std::streamsize>(block.size())) return length + 1;
    const unsigned version = block[8];
    const bool late = version == 2 || version == 3;
    if (version > 3 || block[late ? 9 : 13] != 8) return std::nullopt;
    const std::size_t at = late ? 28 : (version == 0 ? 40 : 44);
    std::uint64_t end = 0;
    for (std::size_t i = 8; i-- > 0;) end = end << 8U | block[at + i];
    return end;
}

}  // namespace

std::optional<std::uint64_t> length_by_header(const std::filesystem::path& file) {
    std::ifstream in(file, std::ios::binary);
    std::array<char, 8> mark{};
    in.read(mark.data(), mark.size());
    std::error_code unreadable;
    const std::uint64_t length = std::filesystem::file_size(file, unreadable);
    if (unreadable || in.gcount() < 4) return std::nullopt;
    const std::string_view begins(mark.data(), mark.size());
    if (begins == "\x89HDF\r\n\x1a\n") return end_of_hdf5(in, length);
    const int version = mark[3];
    if (!begins.starts_with("CDF") || (version != 1 && version != 2 && version != 5)) return std::nullopt;
    in.clear();
    in.seekg(4);
    ClassicHeader header(in, version);
    const auto end = end_of_values(header, version);
    return header.ended() ? length + 1 : end;
}

}  // namespace geo::grids
