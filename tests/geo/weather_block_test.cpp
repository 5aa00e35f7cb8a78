#include "geo/weather_block.h"

#include <bit>
#include <cmath>
#include <limits>
#include <random>

#include <catch2/catch.hpp>

#include "models/error.h"

using namespace geo;
using Catch::Matchers::Contains;
using models::HourlySeries;

namespace {

HourlySeries hours_from(const char* first, std::size_t count, double temperature = 10.0, int offset = 120) {
    HourlySeries hours;
    hours.station = "Hill Farm";
    hours.first_utc = models::parse_stamp(first)->utc;
    hours.temperature_degc.assign(count, temperature);
    hours.relative_humidity_pct.assign(count, 80.0);
    hours.dew_point_degc.assign(count, HourlySeries::missing);
    hours.rain_mm.assign(count, 0.0);
    hours.offset_min.assign(count, static_cast<std::int16_t>(offset));
    return hours;
}

bool same_bits(const std::vector<double>& a, const std::vector<double>& b) {
    return a.size() == b.size() && std::equal(a.begin(), a.end(), b.begin(), [](double x, double y) {
               return std::bit_cast<std::uint64_t>(x) == std::bit_cast<std::uint64_t>(y);
           });
}

void check_round_trip(const HourlySeries& hours) {
    const HourlySeries back = unpack_block(pack_block(hours));
    CHECK(back.station == hours.station);
    CHECK(back.first_utc == hours.first_utc);
    CHECK(back.offset_min == hours.offset_min);
    CHECK(same_bits(back.temperature_degc, hours.temperature_degc));
    CHECK(same_bits(back.relative_humidity_pct, hours.relative_humidity_pct));
    CHECK(same_bits(back.dew_point_degc, hours.dew_point_degc));
    CHECK(same_bits(back.rain_mm, hours.rain_mm));
}

}  // namespace

TEST_CASE("a weather block gives back every bit of what went in") {
    std::mt19937_64 random(7);
    HourlySeries hours = hours_from("2026-06-01T00:00Z", 720);
    for (std::size_t i = 0; i < hours.size(); ++i) {
        const auto tenths = static_cast<int>(random() % 800) - 400;
        hours.temperature_degc[i] = tenths / 10.0;                         // a logger's decimals
        hours.relative_humidity_pct[i] = std::bit_cast<double>(random());  // any bits, NaN with a payload among them
        hours.dew_point_degc[i] = i % 7 ? HourlySeries::missing : tenths / 3.0;
        hours.rain_mm[i] = i % 5 ? 0.0 : HourlySeries::missing;
        if (i > 300) hours.offset_min[i] = 60;
    }
    check_round_trip(hours);
}

TEST_CASE("a weather block keeps minus zero and the ends of the floating-point range") {
    HourlySeries hours = hours_from("1969-12-31T23:30Z", 6);
    hours.temperature_degc = {-0.0, 0.0, 32767.0, -32767.0, -32768.0, 0.1 + 0.2};
    hours.rain_mm = {std::numeric_limits<double>::max(),
                     std::numeric_limits<double>::denorm_min(),
                     std::numeric_limits<double>::infinity(),
                     -std::numeric_limits<double>::infinity(),
                     1e300,
                     3.0};
    check_round_trip(hours);
    check_round_trip(HourlySeries{});
}

TEST_CASE("a month of a logger's tenths takes two bytes a number") {
    const HourlySeries hours = hours_from("2026-06-01T00:00Z", 720, 17.3);
    CHECK(pack_block(hours).size() < 720 * 3 * 2 + 64);  // three quantities; the missing one takes one byte in all
}

TEST_CASE("the bytes of a weather block do not change from one machine or version to the next") {
    HourlySeries hours = hours_from("1970-01-01T01:00Z", 2, 1.5, -60);
    hours.station = "A";
    hours.rain_mm = {HourlySeries::missing, 1.0 / 3.0};
    const std::vector<std::uint8_t> expected = {1,                                            // version
                                                1,    0,    'A',                              // name
                                                0x10, 0x0e, 0,    0,    0,    0,    0,    0,  // 3600 s
                                                2,    0,    0,    0,                          // hours
                                                2,    0,    0,    0,    0xc4, 0xff,           // twice -60 min
                                                2,    15,   0,    15,   0,                    // one decimal: 15, 15
                                                1,    80,   0,    80,   0,                    // no decimal: 80, 80
                                                0,                                            // never measured
                                                255,  0,    0,    0,    0,    0,    0,    0xf8, 0x7f,
                                                0x55, 0x55, 0x55, 0x55, 0x55, 0x55, 0xd5, 0x3f};
    CHECK(pack_block(hours) == expected);
}

TEST_CASE("a damaged weather block is refused wherever it was cut") {
    const std::vector<std::uint8_t> bytes = pack_block(hours_from("2026-06-01T00:00Z", 30));
    for (std::size_t length = 0; length < bytes.size(); ++length) {
        CHECK_THROWS_WITH(unpack_block(std::span(bytes).first(length)), Contains("damaged"));
    }
    auto longer = bytes;
    longer.push_back(0);
    CHECK_THROWS_WITH(unpack_block(longer), Contains("too long"));
    auto later = bytes;
    later[0] = 2;
    CHECK_THROWS_WITH(unpack_block(later), Contains("later version"));
    CHECK_THROWS_AS(unpack_block(std::vector<std::uint8_t>(40, 255)), models::Error);
}

TEST_CASE("hours that arrive again change nothing and new ones are added on either side") {
    HourlySeries kept = hours_from("2026-06-10T00:00Z", 24);
    const HourMerge again = merge_hours(kept, hours_from("2026-06-10T06:00Z", 6), false);
    CHECK(again.unchanged == 6);
    CHECK(again.added + again.corrected == 0);
    const HourMerge before = merge_hours(kept, hours_from("2026-06-09T12:00Z", 14), false);
    CHECK(before.added == 12);
    CHECK(before.unchanged == 2);
    const HourMerge after = merge_hours(kept, hours_from("2026-06-11T06:00Z", 3), false);
    CHECK(after.added == 3);
    CHECK(models::to_text(kept.first_utc) == "2026-06-09T12:00:00Z");
    CHECK(kept.size() == 12 + 24 + 6 + 3);
    CHECK(std::isnan(kept.temperature_degc[12 + 24 + 2]));
    CHECK(kept.temperature_degc.back() == 10.0);
}

TEST_CASE("a contradicting hour leaves what is kept as it was unless it is a correction") {
    HourlySeries kept = hours_from("2026-06-10T00:00Z", 4);
    HourlySeries arrived = hours_from("2026-06-10T02:00Z", 3, 11.0);
    arrived.temperature_degc[1] = HourlySeries::missing;  // says less: no contradiction
    const HourMerge merge = merge_hours(kept, arrived, false);
    CHECK(merge.differing == std::vector<std::size_t>{0});
    CHECK(merge.unchanged == 1);
    CHECK(merge.added == 1);
    CHECK(kept.temperature_degc == std::vector<double>{10.0, 10.0, 10.0, 10.0, 11.0});
    const HourMerge corrected = merge_hours(kept, arrived, true);
    CHECK(corrected.corrected == 1);
    CHECK(corrected.differing.empty());
    CHECK(kept.temperature_degc == std::vector<double>{10.0, 10.0, 11.0, 10.0, 11.0});
}

TEST_CASE("a value that arrives later fills the gap that was there") {
    HourlySeries kept = hours_from("2026-06-10T00:00Z", 2);
    kept.rain_mm[1] = HourlySeries::missing;
    const HourMerge merge = merge_hours(kept, hours_from("2026-06-10T00:00Z", 2), false);
    CHECK(merge.added == 1);
    CHECK(merge.unchanged == 1);
    CHECK(kept.rain_mm[1] == 0.0);
}

TEST_CASE("hours between two local days are cut by the clock of each hour across months and gaps") {
    HourlySeries may = hours_from("2026-05-01T00:00Z", 744, 1.0);
    HourlySeries june = hours_from("2026-06-01T00:00Z", 720, 2.0);
    const HourlySeries cut = hours_between({may, june}, models::day_of(2026, 5, 31), models::day_of(2026, 6, 2));
    CHECK(models::to_text(cut.stamp(0)) == "2026-05-31T00:00:00+02:00");
    CHECK(models::to_text(cut.stamp(cut.size() - 1)) == "2026-06-02T23:00:00+02:00");
    CHECK(cut.size() == 72);
    CHECK(cut.station == "Hill Farm");
    HourlySeries july = hours_from("2026-07-01T00:00Z", 744, 3.0);
    const HourlySeries gap = hours_between({may, july}, models::day_of(2026, 5, 31), models::day_of(2026, 7, 1));
    CHECK(gap.size() == 32 * 24);
    CHECK(std::isnan(gap.temperature_degc[15 * 24]));
    CHECK(gap.offset_min[15 * 24] == 120);
    CHECK(hours_between({may}, models::day_of(2026, 7, 1), models::day_of(2026, 7, 2)).empty());
    CHECK(hours_between({}, models::day_of(2026, 7, 1), models::day_of(2026, 7, 2)).empty());
}
