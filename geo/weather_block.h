#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "models/calendar.h"
#include "models/weather/hourly_series.h"

/// How the hours of one station and month are kept, joined and added to.
namespace geo {

/// What came of laying one series over another.
struct HourMerge {
    long added = 0;                      ///< hours that were not there, or lacked something that is now known
    long unchanged = 0;                  ///< hours that say the same, or less
    long corrected = 0;                  ///< hours replaced, only where asked for
    std::vector<std::size_t> differing;  ///< hours of `arrived` that contradict what is kept, when not corrected
};

/// Lays newly arrived hours over the kept ones of the same station; `kept` grows where needed. A missing value never
/// replaces a known one. Where the two differ, `kept` stays as it is unless `correct`.
HourMerge merge_hours(models::HourlySeries& kept, const models::HourlySeries& arrived, bool correct);

/// Gives every hour that says nothing the offset of the last hour before it that does (or of the first after).
void fill_offsets(models::HourlySeries& hours);

/// The hours whose local day lies in [from, to], cut from months in ascending order; hours never reported are NaN.
/// Empty where no month holds any such day.
models::HourlySeries hours_between(const std::vector<models::HourlySeries>& months, models::LocalDay from,
                                   models::LocalDay to);

/// One station-month as bytes, and back: every double returns bit for bit. Little-endian on every machine. Layout,
/// version 1: version; station name; first hour; count; offsets as runs; then the four quantities, each as decimal
/// numbers of 16 bits (where all of it can be written so exactly) or as 64-bit floating point. At most a million hours.
std::vector<std::uint8_t> pack_block(const models::HourlySeries& hours);
/// @throws models::Error  the bytes are cut short, too long or of a later version
models::HourlySeries unpack_block(std::span<const std::uint8_t> bytes);

}  // namespace geo
