#include "geo/store/outline_blob.h"

#include <bit>
#include <cstdint>
#include <cstring>

namespace geo {

namespace {

constexpr std::uint32_t polygon = 3, multipolygon = 6;
constexpr std::size_t head_size = 39;  // zero, order of bytes, reference system, four numbers of the box, 0x7c
constexpr unsigned char mark_of_part = 0x69, little_endian = 1;

/// Walks over the counts of a shape without ever leaving its bytes.
class Walk {
 public:
    explicit Walk(std::string& bytes, std::size_t at) : bytes_(bytes), at_(at) {}
    std::optional<std::uint32_t> count() {
        std::uint32_t value = 0;
        if (bytes_.size() - at_ < sizeof value) return std::nullopt;
        std::memcpy(&value, bytes_.data() + at_, sizeof value);
        at_ += sizeof value;
        return value;
    }
    bool over_rings() {
        const auto rings = count();
        if (!rings) return false;
        for (std::uint32_t ring = 0; ring < *rings; ++ring) {
            const auto points = count();
            constexpr std::size_t point_size = 2 * sizeof(double);
            if (!points || (bytes_.size() - at_) / point_size < *points) return false;
            at_ += *points * point_size;
        }
        return true;
    }
    /// The mark before a part becomes its order of bytes.
    bool over_part() {
        if (at_ == bytes_.size() || static_cast<unsigned char>(bytes_[at_]) != mark_of_part) return false;
        bytes_[at_++] = little_endian;
        return count() == polygon && over_rings();
    }
    bool at_end() const { return at_ == bytes_.size(); }

 private:
    std::string& bytes_;
    std::size_t at_;
};

}  // namespace

std::optional<std::string> wkb_of_outline(const unsigned char* cell, std::size_t size) {
    if constexpr (std::endian::native != std::endian::little) return std::nullopt;
    if (size <= head_size || cell[0] != 0 || cell[1] != little_endian || cell[head_size - 1] != 0x7c ||
        cell[size - 1] != 0xfe)
        return std::nullopt;
    std::string bytes(1, static_cast<char>(little_endian));
    bytes.append(reinterpret_cast<const char*>(cell) + head_size, size - head_size - 1);
    Walk walk(bytes, 1);
    const auto kind = walk.count();
    if (kind == polygon) {
        if (!walk.over_rings()) return std::nullopt;
    } else if (kind == multipolygon) {
        const auto parts = walk.count();
        if (!parts) return std::nullopt;
        for (std::uint32_t part = 0; part < *parts; ++part)
            if (!walk.over_part()) return std::nullopt;
    } else {
        return std::nullopt;
    }
    if (!walk.at_end()) return std::nullopt;
    return bytes;
}

}  // namespace geo
