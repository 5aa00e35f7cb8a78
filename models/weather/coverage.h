#pragma once

#include <array>
#include <optional>

namespace models {

/// How much of a stretch of time the weather is known for. A band is a quarter of the local day: from midnight, from
/// six, from noon, from eighteen o'clock; gaps at night and gaps at noon mislead in different ways.
struct Coverage {
    int hours_expected = 0;  ///< 23, 24 or 25 a day, as the clock had them
    int hours_seen = 0;      ///< hours that could be used
    std::array<int, 4> expected_in_band{};
    std::array<int, 4> seen_in_band{};

    double share() const;  ///< 0 to 1; 0 of nothing
    double share_of_band(int band) const;
    double share_of_worst_band() const;
    int hours_missing() const { return hours_expected - hours_seen; }
    /// Whether one number may be named for it: at least 90 % of all hours and 75 % of the hours of every band.
    bool enough() const;
    Coverage& operator+=(const Coverage& other);
    friend bool operator==(const Coverage&, const Coverage&) = default;
};
Coverage unseen_day();                ///< of a day that a station says nothing about: 24 hours expected
Coverage none_seen(Coverage of_day);  ///< the same hours expected, none of them may be used
Coverage all_seen(Coverage of_day);   ///< what is asked of the day is known, whatever single hours lack

/// A count, mean or sum over days, with what the missing hours could have made of it.
struct WindowValue {
    std::optional<double> value;  ///< only where the coverage is enough
    std::optional<double> lower;  ///< whatever the missing hours were (each function says how far it goes)
    std::optional<double> upper;
    Coverage coverage;
    int days_refused = 0;   ///< days of under 18 hours, or with a gap of over 6 hours, or without what they need
    bool at_least = false;  ///< hours are missing and the value is what was seen: rain
};

}  // namespace models
