#pragma once

#include <array>
#include <chrono>
#include <cstddef>
#include <string>

namespace date {
class time_zone;
}

namespace geo::tables {

/// The rules by which the clocks of a place are set, under the name that the IANA time zone database has for them:
/// "Europe/Budapest". The machine's own copy of the database is used (package tzdata).
/// Source: Eggert et al., Time Zone Database; RFC 6557. Read by the library `date` of H. Hinnant (P0355).
class TimeZone {
 public:
    /// @throws models::Error  no zone of that name, with the nearest one; an offset ("GMT+2", "+02:00") and the names
    ///                        Etc/GMT+2, whose sign counts westward, with the offset to write; no database on this
    ///                        machine. What follows throws for moments after 2037, to which the database is written out
    explicit TimeZone(const std::string& name);

    const std::string& name() const { return name_; }
    /// How far the clocks are ahead of UTC then.
    std::chrono::minutes offset_at(std::chrono::sys_seconds utc) const;

    /// The moments at which the clocks show a time: one; two in the hour that they repeat in autumn, the earlier one
    /// first; none in the hour that they skip in spring.
    struct Moments {
        std::array<std::chrono::sys_seconds, 2> at{};
        std::size_t count = 0;
    };
    Moments moments_of(std::chrono::local_seconds wall) const;
    /// Of a stamp at the end of its hour. At the change itself one clock ends and the other goes on, and loggers write
    /// either: each of the two names the moment.
    Moments ends_of(std::chrono::local_seconds wall) const;

    /// "the clocks of Europe/Budapest went forward over it on 2026-03-29": of a time without a moment.
    std::string skipped_in_words(std::chrono::local_seconds wall) const;
    /// "the clocks of Europe/Budapest showed it twice on 2026-10-25": of a time with two.
    std::string repeated_in_words(std::chrono::local_seconds wall) const;

 private:
    void require_known(std::chrono::sys_seconds latest_change) const;
    std::string name_;
    const date::time_zone* zone_ = nullptr;  // the library's, for as long as the program runs
    /// The stretch between two changes that was asked for last: tables go through their hours in order. Not for two
    /// threads at once.
    struct Stretch {
        std::chrono::sys_seconds from{}, to{};
        std::chrono::seconds offset{0};
    };
    mutable Stretch latest_{};
};

}  // namespace geo::tables
