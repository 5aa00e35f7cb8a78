#pragma once

#include <array>
#include <chrono>
#include <cstddef>
#include <optional>
#include <vector>

#include "models/calendar.h"

/// The hour of autumn that the clocks of a zone show twice: which of two moments each row of a station means.
namespace geo {

/// A time of the clocks that has two moments, with the hours that begin then; the earlier one first.
struct TwiceShown {
    std::chrono::local_seconds wall{};
    std::array<models::Stamp, 2> begins{};
};

/// The rows of a station so far, in the order of the file.
struct RowsBefore {
    std::optional<std::chrono::sys_seconds> last;
    std::optional<bool> falling;  ///< the newest row comes first; not known before the second row
    void add(std::chrono::sys_seconds begin);
};

struct WhichOfTwo {
    std::vector<std::size_t> which;  ///< of each row: 0 the earlier moment, 1 the later
    bool guessed = false;            ///< each time stands once, and nothing before says which it is
};

/// Rows of one such hour, in the order of the file and one after another. The order tells them apart: the clocks go
/// through the hour, back, and through it again, upwards or downwards. Readings of minutes that were sorted by the
/// clock (02:00, 02:00, 02:30, 02:30) are taken in pairs, the k-th of a time for its k-th moment.
/// @param by_the_hour  one row an hour, and not readings of minutes
/// @returns nullopt where the rows do not tell: a time three times, a pair beside a time that stands once, or no order
std::optional<WhichOfTwo> which_of_two(const std::vector<TwiceShown>& rows, const RowsBefore& before, bool by_the_hour);

}  // namespace geo
