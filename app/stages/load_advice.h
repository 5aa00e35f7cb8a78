#pragma once

#include <optional>
#include <string>
#include <vector>

#include "models/calendar.h"

namespace app {

struct SeasonData;
struct BinsView;
struct NextLoad;

/// What somebody at the pit does with a load next.
enum class NextStep {
    dump,        ///< into the bin that the plan has for it
    read,        ///< its sample lies there and is not read
    sample,      ///< a first or another sample of it
    laboratory,  ///< a strip alone holds it, or another strip would hardly help
    make_room,   ///< it is cleared, and no bin that may take it is open and has room
    turn_away,
    weigh,    ///< nobody knows its mass
    nothing,  ///< nothing is known of such grain, or no bin here has a limit for it
};

/// What to do with a load now and what would give it a place: the window, the command line and JSON say it in these
/// words. All of it comes from what the plan, the limits and the value of another sample say of the load
/// (app/stages/next_stage.h); nothing is decided here a second time.
///
/// Where the plan has a bin, the step is to dump it there; on hold with what settles it. Else, from the best purpose
/// (food, feed, other) for which it is not over:
///   undecided  its sample is read; none is there: one is taken, but where it would hardly ever clear it: then it is
///              turned away or held if it is more likely over than not, else a laboratory is asked. After a result of
///              its own a second sample where that pays, else a laboratory is asked
///   cleared    it waits for room, or for a bin that is closed
///   over       a laboratory where strips alone say so, else it is turned away
struct LoadAdvice {
    NextStep step = NextStep::nothing;
    std::string says;  ///< the step in one sentence without its full stop
    /// Why it is not cleared for the best purpose here: "39 % chance over 1.5 (S4: food)", "own strip 1.16 is over 1.0
    /// (food)"; empty: it is.
    std::string why;
    /// What would give it a place, and what it waits for, the most useful first; sentences without their full stop.
    std::vector<std::string> ways;
    /// Bins that are out of the question whatever it holds, those of one reason together: "S4 (kept for durum); S1, S3
    /// (too full); F1 (closed)"; empty: none is.
    std::string elsewhere = {};
};

/// @param at  waits count to it
LoadAdvice advice_of_load(const SeasonData& data, const BinsView& bins, const NextLoad& next, const models::Stamp& at);

std::string word_of(NextStep step);  ///< "dump", "make_room": for JSON

/// A truck that stands longer in the yard than this is told: is it there at all? Two days is common practice, no
/// source.
constexpr double stale_h = 48.0;

/// Trucks that have waited longer, and what the plan keeps for them.
struct StaleLoads {
    struct Kept {
        std::string bin;
        double mass_t = 0.0;
    };
    std::vector<std::string> loads;  ///< the longest first
    double longest_h = 0.0;
    std::vector<Kept> kept;
    std::string says;  ///< one sentence without its full stop; empty: there are none
};
StaleLoads stale_loads(const SeasonData& data, const BinsView& bins, const models::Stamp& at);

/// "3 h 12 min", "134 d 16 h": as the clocks of the queue are written.
std::string age_in_words(double hours);
/// None: nobody wrote when it came, or it came later.
std::optional<double> hours_waited(const SeasonData& data, const std::string& load, const models::Stamp& at);
/// The last word of grain of that season or before: what ages count to where nobody says a time.
models::Stamp last_record_of_grain(const SeasonData& data, int season);

}  // namespace app
