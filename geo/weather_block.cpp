#include "geo/weather_block.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cassert>
#include <cmath>
#include <limits>
#include <optional>
#include <string>

#include "models/error.h"

namespace geo {

namespace weather_bytes {

using models::HourlySeries;
using Column = std::vector<double> HourlySeries::*;
constexpr std::array<Column, 4> columns = {&HourlySeries::temperature_degc, &HourlySeries::relative_humidity_pct,
                                           &HourlySeries::dew_point_degc, &HourlySeries::rain_mm};

constexpr std::uint8_t version = 1;
constexpr std::size_t longest = 1'000'000;  // hours; more in a block is damage, not weather
constexpr std::uint8_t all_missing = 0;     // 1 to 4: 16-bit numbers with 0 to 3 decimals
constexpr std::uint8_t full_precision = 255;
constexpr std::array<double, 4> powers_of_ten = {1.0, 10.0, 100.0, 1000.0};
constexpr std::int16_t missing_16 = std::numeric_limits<std::int16_t>::min();

bool same_bits(double a, double b) {
    return std::bit_cast<std::uint64_t>(a) == std::bit_cast<std::uint64_t>(b);
}
bool is_plain_missing(double value) {
    return same_bits(value, HourlySeries::missing);
}

template <typename Integer>
void put(std::vector<std::uint8_t>& bytes, Integer value) {
    auto rest = static_cast<std::uint64_t>(value);
    for (std::size_t i = 0; i < sizeof(Integer); ++i, rest >>= 8)
        bytes.push_back(static_cast<std::uint8_t>(rest & 255));
}

/// Takes numbers off the front of the bytes; a block that ends too early is damaged.
struct Reader {
    std::span<const std::uint8_t> rest;

    [[noreturn]] static void refuse(const char* what) {
        throw models::Error(std::string("a block of weather is damaged: ") + what, "",
                            "restore the store from a copy, or import the weather of that month again");
    }
    std::span<const std::uint8_t> take(std::size_t count) {
        if (rest.size() < count) refuse("it ends too early");
        const auto front = rest.first(count);
        rest = rest.subspan(count);
        return front;
    }
    template <typename Integer>
    Integer number() {
        std::uint64_t value = 0;
        const auto bytes = take(sizeof(Integer));
        for (std::size_t i = sizeof(Integer); i-- > 0;) value = value << 8 | bytes[i];
        return static_cast<Integer>(value);
    }
};

/// The value as a 16-bit number with that many decimals, if this gives back the very same bits.
std::optional<std::int16_t> as_decimal(double value, std::size_t decimals) {
    if (is_plain_missing(value)) return missing_16;
    const double scaled = std::round(value * powers_of_ten[decimals]);
    if (!(std::abs(scaled) <= 32767.0)) return std::nullopt;
    if (!same_bits(scaled / powers_of_ten[decimals], value)) return std::nullopt;
    return static_cast<std::int16_t>(scaled);
}

void put_column(std::vector<std::uint8_t>& bytes, const std::vector<double>& values) {
    if (std::all_of(values.begin(), values.end(), is_plain_missing)) {
        bytes.push_back(all_missing);
        return;
    }
    std::vector<std::int16_t> numbers(values.size());
    for (std::size_t decimals = 0; decimals < powers_of_ten.size(); ++decimals) {
        std::size_t i = 0;
        for (; i < values.size(); ++i) {
            const auto number = as_decimal(values[i], decimals);
            if (!number) break;
            numbers[i] = *number;
        }
        if (i < values.size()) continue;
        bytes.push_back(static_cast<std::uint8_t>(1 + decimals));
        for (const std::int16_t number : numbers) put(bytes, number);
        return;
    }
    bytes.push_back(full_precision);
    for (const double value : values) put(bytes, std::bit_cast<std::uint64_t>(value));
}

void take_column(Reader& reader, std::vector<double>& values) {
    const auto encoding = reader.number<std::uint8_t>();
    if (encoding == all_missing) {
        std::fill(values.begin(), values.end(), HourlySeries::missing);
    } else if (encoding <= powers_of_ten.size()) {
        for (double& value : values) {
            const auto number = reader.number<std::int16_t>();
            value = number == missing_16 ? HourlySeries::missing : number / powers_of_ten[encoding - 1u];
        }
    } else if (encoding == full_precision) {
        for (double& value : values) value = std::bit_cast<double>(reader.number<std::uint64_t>());
    } else {
        Reader::refuse("it holds numbers of an unknown kind");
    }
}

}  // namespace weather_bytes

namespace {

using models::HourlySeries;

bool says_anything(const HourlySeries& hours, std::size_t i) {
    return std::any_of(weather_bytes::columns.begin(), weather_bytes::columns.end(),
                       [&](auto column) { return !std::isnan((hours.*column)[i]); });
}

/// Makes the series span [first, first + count hours); new hours are missing.
void grow(HourlySeries& hours, std::chrono::sys_seconds first, std::size_t count) {
    const std::size_t before =
        hours.empty() ? 0 : static_cast<std::size_t>((hours.first_utc - first) / std::chrono::hours(1));
    for (const auto column : weather_bytes::columns) {
        std::vector<double>& values = hours.*column;
        values.insert(values.begin(), before, HourlySeries::missing);
        values.resize(count, HourlySeries::missing);
    }
    hours.offset_min.insert(hours.offset_min.begin(), before, std::int16_t{0});
    hours.offset_min.resize(count, std::int16_t{0});
    hours.first_utc = first;
}

std::chrono::sys_seconds end_of(const HourlySeries& hours) {
    return hours.utc(hours.size());
}

bool same_phase(const HourlySeries& a, const HourlySeries& b) {
    return (a.first_utc - b.first_utc) % std::chrono::hours(1) == std::chrono::seconds(0);
}

void stretch(HourlySeries& kept, const HourlySeries& arrived) {
    if (kept.empty()) {
        kept.station = arrived.station;
        grow(kept, arrived.first_utc, arrived.size());
        return;
    }
    const auto first = std::min(kept.first_utc, arrived.first_utc);
    const auto end = std::max(end_of(kept), end_of(arrived));
    if (first == kept.first_utc && end == end_of(kept)) return;
    grow(kept, first, static_cast<std::size_t>((end - first) / std::chrono::hours(1)));
}

/// Hours that all come later than the kept ones of the same phase; those in between are missing.
void append_hours(HourlySeries& kept, const HourlySeries& later) {
    if (kept.empty()) {
        kept = later;
        return;
    }
    const auto begin = static_cast<std::size_t>((later.first_utc - kept.first_utc) / std::chrono::hours(1));
    for (const auto column : weather_bytes::columns) {
        (kept.*column).resize(begin, HourlySeries::missing);
        (kept.*column).insert((kept.*column).end(), (later.*column).begin(), (later.*column).end());
    }
    kept.offset_min.resize(begin, std::int16_t{0});
    kept.offset_min.insert(kept.offset_min.end(), later.offset_min.begin(), later.offset_min.end());
}

}  // namespace

void fill_offsets(HourlySeries& hours) {
    std::size_t first = 0;
    while (first < hours.size() && !says_anything(hours, first)) ++first;
    if (first == hours.size()) return;
    std::fill(hours.offset_min.begin(), hours.offset_min.begin() + static_cast<std::ptrdiff_t>(first),
              hours.offset_min[first]);
    for (std::size_t i = first + 1; i < hours.size(); ++i) {
        if (!says_anything(hours, i)) hours.offset_min[i] = hours.offset_min[i - 1];
    }
}

HourMerge merge_hours(HourlySeries& kept, const HourlySeries& arrived, bool correct) {
    HourMerge merge;
    if (arrived.empty()) return merge;
    if (!kept.empty() && !same_phase(kept, arrived)) {
        for (std::size_t i = 0; i < arrived.size(); ++i) {
            if (says_anything(arrived, i)) merge.differing.push_back(i);
        }
        return merge;
    }
    stretch(kept, arrived);
    const auto shift = static_cast<std::size_t>((arrived.first_utc - kept.first_utc) / std::chrono::hours(1));
    for (std::size_t i = 0; i < arrived.size(); ++i) {
        if (!says_anything(arrived, i)) continue;
        const std::size_t at = i + shift;
        const bool known = says_anything(kept, at);
        bool differs = false, adds = false;
        for (const auto column : weather_bytes::columns) {
            const double old_value = (kept.*column)[at], new_value = (arrived.*column)[i];
            if (std::isnan(new_value)) continue;
            if (std::isnan(old_value))
                adds = true;
            else if (old_value != new_value)
                differs = true;
        }
        if (differs && !correct) {
            merge.differing.push_back(i);
            continue;
        }
        (differs ? merge.corrected : adds ? merge.added : merge.unchanged) += 1;
        for (const auto column : weather_bytes::columns) {
            if (!std::isnan((arrived.*column)[i])) (kept.*column)[at] = (arrived.*column)[i];
        }
        if (!known || differs) kept.offset_min[at] = arrived.offset_min[i];
    }
    fill_offsets(kept);
    return merge;
}

HourlySeries hours_between(const std::vector<HourlySeries>& months, models::LocalDay from, models::LocalDay to) {
    HourlySeries joined;
    for (const HourlySeries& month : months) {
        const bool of_one_phase = joined.empty() || same_phase(joined, month);
        if (of_one_phase && (joined.empty() || month.first_utc >= end_of(joined))) {
            append_hours(joined, month);
        } else if (of_one_phase) {
            merge_hours(joined, month, true);
        } else {  // a new logger that reports at other minutes: its hours are counted from the old one's minute
            HourlySeries moved = month;
            const auto phase = (month.first_utc - joined.first_utc) % std::chrono::hours(1);
            moved.first_utc -= phase < std::chrono::seconds(0) ? phase + std::chrono::hours(1) : phase;
            merge_hours(joined, moved, true);
        }
    }
    fill_offsets(joined);
    std::size_t first = 0, end = joined.size();
    while (first < end && joined.local_day(first) < from) ++first;
    while (end > first && joined.local_day(end - 1) > to) --end;

    HourlySeries cut;
    cut.station = joined.station;
    cut.first_utc = joined.utc(first);
    const auto part = [first, end](const auto& all) {
        return std::decay_t<decltype(all)>(all.begin() + static_cast<std::ptrdiff_t>(first),
                                           all.begin() + static_cast<std::ptrdiff_t>(end));
    };
    for (const auto column : weather_bytes::columns) cut.*column = part(joined.*column);
    cut.offset_min = part(joined.offset_min);
    return cut;
}

std::vector<std::uint8_t> pack_block(const HourlySeries& hours) {
    using namespace weather_bytes;
    assert(hours.size() <= longest && hours.station.size() < 65536);
    std::vector<std::uint8_t> bytes;
    bytes.reserve(64 + hours.station.size() + hours.size() * 14);
    put(bytes, version);
    put(bytes, static_cast<std::uint16_t>(hours.station.size()));
    bytes.insert(bytes.end(), hours.station.begin(), hours.station.end());
    put(bytes, static_cast<std::int64_t>(hours.first_utc.time_since_epoch().count()));
    put(bytes, static_cast<std::uint32_t>(hours.size()));
    for (std::size_t i = 0; i < hours.size();) {
        std::size_t end = i;
        while (end < hours.size() && hours.offset_min[end] == hours.offset_min[i]) ++end;
        put(bytes, static_cast<std::uint32_t>(end - i));
        put(bytes, hours.offset_min[i]);
        i = end;
    }
    for (const auto column : columns) put_column(bytes, hours.*column);
    return bytes;
}

HourlySeries unpack_block(std::span<const std::uint8_t> bytes) {
    using namespace weather_bytes;
    Reader reader{bytes};
    if (reader.number<std::uint8_t>() != version) Reader::refuse("it was written by a later version");
    HourlySeries hours;
    const auto name = reader.take(reader.number<std::uint16_t>());
    hours.station.assign(name.begin(), name.end());
    hours.first_utc = std::chrono::sys_seconds(std::chrono::seconds(reader.number<std::int64_t>()));
    const std::size_t count = reader.number<std::uint32_t>();
    if (count > longest) Reader::refuse("it holds more hours than any block");
    while (hours.offset_min.size() < count) {
        const std::size_t run = reader.number<std::uint32_t>();
        const auto offset = reader.number<std::int16_t>();
        if (run == 0 || run > count - hours.offset_min.size()) Reader::refuse("its clock does not add up");
        hours.offset_min.insert(hours.offset_min.end(), run, offset);
    }
    for (const auto column : columns) {
        (hours.*column).resize(count);
        take_column(reader, hours.*column);
    }
    if (!reader.rest.empty()) Reader::refuse("it is too long");
    return hours;
}

}  // namespace geo
