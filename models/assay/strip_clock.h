#pragma once

#include <chrono>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "models/assay/kit_lot.h"
#include "models/records.h"

namespace models {

/// A strip that was put into its extract: who started it, with which kit lot, when. Its test bears its name.
struct StartedStrip {
    std::string strip, sample, kit_lot, commodity;
    std::optional<double> lot_dilution = std::nullopt;  ///< which of the kit lot's, where it has several
    Stamp started{};
    std::string operator_name = {};
};

/// How long the strips of a kit lot run before they are read, by the lot's own incubation bounds.
struct ReadingWindow {
    std::optional<std::chrono::seconds> least, most;
    std::string why_none;  ///< neither is known: "kit lot K7 is not in the store"; without a full stop
};
/// The bounds of the lot for this grain and dilution. Where they are not said and the lot is made for several, the
/// bounds count that all of these have in common. Bounds with fractions of a second are narrowed to whole seconds.
ReadingWindow reading_window(const std::vector<KitLot>& lots, const std::string& kit_lot, const std::string& commodity,
                             std::optional<double> dilution);

enum class ClockState {
    waiting,       ///< too early to read
    readable,      ///< within the bounds
    late,          ///< past them
    no_bounds,     ///< nothing says when it may be read
    before_start,  ///< the clock shows a time before the start: one of the two clocks is wrong
};

/// The clock of a strip at a moment: t = now - started on UTC, so that neither midnight nor a change to summer time
/// touches it. Both bounds are included: waiting t < least, readable least <= t <= most, late t > most.
struct StripClock {
    ClockState state = ClockState::no_bounds;
    std::chrono::seconds ran{0};
    std::optional<std::chrono::seconds> left;  ///< waiting: until it may be read; readable: until it is too late
};
StripClock clock_of(const StartedStrip& strip, const ReadingWindow& window, std::chrono::sys_seconds now);

/// "6:10", "1:02:00", from an hour up with hours; "-0:30" before the start.
std::string minutes_text(std::chrono::seconds time);
/// "6:10 to 6:40", "from 6:10 on", "up to 6:40"; empty where no bound is known.
std::string in_words(const ReadingWindow& window);
/// "4:00 left", "read now, 0:30 left", "too late by 1:20", "ran 2:10"
std::string in_words(const StripClock& clock, const ReadingWindow& window);

/// Since when there was grain for a strip: its sample was taken, or the truck that the sample is of came.
struct GrainThere {
    std::string sample, load;
    std::optional<Stamp> taken;  ///< of the sample, else of the one that it was split from
    std::optional<Stamp> came;   ///< of the load; asked only where nobody wrote when the sample was taken
};
/// Of every sample, by its name. A sample that was split from another is of that one's load.
std::map<std::string, GrainThere> grain_there(const std::vector<Sample>& samples, const std::vector<Load>& loads);

/// Times are written to the minute: a start that is earlier by less contradicts nothing. Ours.
inline constexpr std::chrono::seconds written_to_the_minute{60};

/// Why a strip was hardly started then: its grain was not there yet, so that it did not run so long, or one of the
/// clocks is wrong. A sentence without its full stop; empty where nothing speaks against it. Nothing is refused for it,
/// for the clocks of a field, a pit and a bench differ.
///     started + 60 s < taken (or came, where it is not known when the sample was taken)
std::string why_start_is_in_doubt(const Stamp& started, const GrainThere& grain);

}  // namespace models
