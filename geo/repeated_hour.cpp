#include "geo/repeated_hour.h"

#include <algorithm>
#include <map>
#include <set>

namespace geo {

namespace {

/// One after another: the first moment that goes on from the row before.
std::vector<std::size_t> one_after_another(const std::vector<TwiceShown>& rows, RowsBefore before, bool falling,
                                           bool any_repeats) {
    std::vector<std::size_t> which;
    for (const TwiceShown& row : rows) {
        bool later = falling && any_repeats;
        if (before.last) later = falling ? *before.last > row.begins[1].utc : *before.last >= row.begins[0].utc;
        which.push_back(later ? 1 : 0);
        before.add(row.begins[which.back()].utc);
    }
    return which;
}

/// Sorted by the clock: pairs in the order of the file, and a time that stands once where one of its moments is taken.
std::optional<std::vector<std::size_t>> in_pairs(const std::vector<TwiceShown>& rows, bool falling) {
    std::vector<std::size_t> which(rows.size(), 0);
    std::set<std::chrono::sys_seconds> taken;
    std::vector<std::size_t> alone;
    for (std::size_t i = 0; i < rows.size(); ++i) {
        if (i + 1 == rows.size() || rows[i + 1].wall != rows[i].wall) {
            alone.push_back(i);
            continue;
        }
        which[i] = falling ? 1 : 0;
        which[i + 1] = falling ? 0 : 1;
        for (const models::Stamp& begin : rows[i].begins) taken.insert(begin.utc);
        ++i;
    }
    for (const std::size_t i : alone) {
        const bool first = taken.contains(rows[i].begins[0].utc), second = taken.contains(rows[i].begins[1].utc);
        if (first == second) return std::nullopt;
        which[i] = first ? 1 : 0;
    }
    return which;
}

}  // namespace

void RowsBefore::add(std::chrono::sys_seconds begin) {
    if (last && *last != begin) falling = begin < *last;
    last = begin;
}

std::optional<WhichOfTwo> which_of_two(const std::vector<TwiceShown>& rows, const RowsBefore& before,
                                       bool by_the_hour) {
    if (rows.empty()) return WhichOfTwo{};
    std::map<std::chrono::local_seconds, int> times;
    for (const TwiceShown& row : rows) {
        if (++times[row.wall] > 2) return std::nullopt;
    }
    const bool falling = before.falling.value_or(rows.back().wall < rows.front().wall && !before.last);
    int directly = 0, back = 0;
    for (std::size_t i = 1; i < rows.size(); ++i) {
        directly += rows[i].wall == rows[i - 1].wall ? 1 : 0;
        back += falling ? (rows[i].wall > rows[i - 1].wall ? 1 : 0) : (rows[i].wall < rows[i - 1].wall ? 1 : 0);
    }
    if (!by_the_hour) {
        if (back > 1 || (back == 1 && directly > 0)) return std::nullopt;
        if (directly > 0) {
            auto pairs = in_pairs(rows, falling);
            if (!pairs) return std::nullopt;
            return WhichOfTwo{std::move(*pairs), false};
        }
    }
    WhichOfTwo told{one_after_another(rows, before, falling, times.size() < rows.size()), false};
    // Nothing repeats, and the rows before did not go into the hour: then a file upwards has the earlier ones here, a
    // file downwards the later ones, and neither is known. The same rows mean the same either way.
    const std::size_t unknown = falling && before.last ? 1 : 0;
    told.guessed = times.size() == rows.size() && back == 0 &&
                   std::all_of(told.which.begin(), told.which.end(), [&](std::size_t one) { return one == unknown; });
    if (told.guessed) std::fill(told.which.begin(), told.which.end(), 0);
    return told;
}

}  // namespace geo
