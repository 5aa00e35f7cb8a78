#pragma once

#include <chrono>
#include <deque>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "app/window/keys.h"

namespace app::window {

/// Keys on their way from the keyboard to the rooms. A scanner of bar codes acts as a keyboard, and what it sends must
/// press nothing: a code with a 3 in it does not enter the third room, and its Enter confirms nothing. A scanner is
/// told from a hand by its speed:
///   - two keys of those that write, end a line or bear an F, the second within `as_a_scanner` of the first, are a
///     scanner's, and so is all that follows them until that long nothing came
///   - every other key is a hand's, and reaches the rooms when `as_a_scanner` has passed without another
/// Arrows and the like, which no code is made of, are passed on at once. The time is ours: a hand needs twice as long
/// from key to key, and a key has still to be answered within 50 ms.
///
/// While keys are held back no frame is to be drawn, so that those that follow are heard as they come. Keys that came
/// while a frame was drawn are heard together: where an end of a line follows one that writes they are a code, else
/// they are taken to have come evenly over that time. So in a frame that takes very long a scanner may seem to be a
/// hand: nothing that writes to the store may be left to a key that is only pressed. For that there is `held_for`: a
/// key that is kept down, which no scanner does.
class KeyGate {
 public:
    using Clock = std::chrono::steady_clock;
    static constexpr std::chrono::milliseconds as_a_scanner{30};

    // As they come, with the numbers of Keys; a key that repeats by itself is no press and goes to Keys.
    void pressed(int key) { fresh_.push_back({What::press, static_cast<unsigned>(key)}); }
    void released(int key) { fresh_.push_back({What::release, static_cast<unsigned>(key)}); }
    void letter(unsigned code_point) { fresh_.push_back({What::letter, code_point}); }

    /// All of these were asked for until now, after nobody had asked for so long: passes on what is a hand's.
    void heard(Clock::time_point now, Clock::duration away, Keys& keys);
    /// It is not known yet whose keys these are: listen again, and draw nothing before.
    bool holds_back() const { return !held_back_.empty() || scanner_; }
    /// How long from now until it is, where no other key comes.
    Clock::duration known_in(Clock::time_point now) const;
    /// What comes is a scanner's, or a code of it waits to be taken.
    bool reads_a_code() const { return scanner_ || !scanned_.empty(); }
    /// A key is down that may be kept so: listen again soon.
    bool waits_for_a_key() const { return down_.has_value(); }

    /// A code that was scanned, the first one first.
    /// @param in_a_box  somebody types in a box: a hand that writes fast has two letters within that time, too, so only
    ///                  what the end of a line follows is a code there
    std::optional<std::string> take_scanned(bool in_a_box = false);

    /// How long this key alone has been down, as of the last time that keys were heard; zero where it is not, or
    /// another key was pressed meanwhile.
    Clock::duration held_for(int key) const;
    /// What is down now counts no more until it is pressed again.
    void forget_held() { down_.reset(); }

 private:
    enum class What { press, release, letter };
    struct Event {
        What what;
        unsigned code;
    };
    struct Down {
        unsigned key;
        Clock::time_point since;
    };
    void take(const Event& event, Clock::time_point when, Keys& keys);
    void press(int key, Clock::time_point when, Keys& keys);
    void pass_on(int key, Keys& keys);
    void let_go(int key, Keys& keys);  ///< of a key that was kept from the rooms nothing is said
    bool holds_a_code() const;
    void end_of_row(Keys& keys);
    void end_of_code(bool by_a_key);

    std::deque<Event> fresh_;
    std::vector<Event> held_back_;
    std::string text_;  ///< that the row of keys has written
    struct Code {
        std::string text;
        bool by_a_key;  ///< ended so, and not by the time that passed
    };
    std::deque<Code> scanned_;
    int presses_ = 0;  ///< of the row
    bool scanner_ = false;
    bool chord_ = false;  ///< Ctrl or Alt is down
    Clock::time_point last_{}, heard_{};
    std::optional<Down> down_;
    std::set<int> passed_;  ///< that are down
};

}  // namespace app::window
