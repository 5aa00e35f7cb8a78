#pragma once

#include <string>

#include "app/window/rooms/rooms.h"

namespace app::window {

/// The parts of the pit. Each draws from the top of its place and answers where it ended.
double draw_truck_answer(RoomFrame& frame, const drawing::Rect& area);
const char* state_in_words(models::ClearingState state);  ///< as it begins a line
/// The yes to it, which says what pressing it records.
std::string yes_in_words(const PitQuestion& question);
std::string with_capital(std::string sentence);
/// What was refused, recorded or found, beside what it was about.
double draw_news(RoomFrame& frame, const drawing::Rect& area);
/// What is asked before a record is made, and its yes, which a hand alone can give.
double draw_pit_question(RoomFrame& frame, const drawing::Rect& area);
/// What is asked of a truck that has just come, and its yes, which a hand alone can give.
double draw_arrival(RoomFrame& frame, const drawing::Rect& area);
void toggle_arrival(RoomFrame& frame);
/// A lot from a bin and what a buyer's test would make of it.
double draw_lot(RoomFrame& frame, const drawing::Rect& area);
/// No and yes far from one another, so that a second press where the question was opened presses no yes. Answers
/// whether a hand said yes, by the pointer or F9 that is held.
/// @param ready  false: something is still missing, and the yes does not stand out
enum class HandSays { nothing, no, yes };
class ButtonRow;
HandSays draw_no_and_yes(RoomFrame& frame, ButtonRow& row, double width, const std::string& name,
                         const std::string& yes, bool ready = true);
/// Opens the boxes for other numbers, the first of them ready to be typed into, or closes them.
void open_or_close_what_if(RoomFrame& frame);
/// Other limits, prices and caps, and which loads would go elsewhere by them.
double draw_what_if(RoomFrame& frame, const drawing::Rect& area);
/// The trucks that wait, what has to be looked at, and those that are gone. Fills its place and scrolls.
void draw_pit_queue(RoomFrame& frame, const drawing::Rect& area);

/// That name, or the one after it that no record of the kind had before it was withdrawn.
std::string not_withdrawn(const Session& session, const std::string& kind, const std::string& name);
/// What the room asks before it writes where the chosen load goes; empty bin: the one that is advised.
PitQuestion question_of(const Session& session, const std::string& bin);
PitQuestion sample_question_of(const Session& session);

/// The button for a sample of the truck, and whether it is what is advised. A laboratory is sent the sample that is
/// there, where one is: then another is not.
struct SampleButton {
    const models::Word* words;
    bool advised;
};
SampleButton sample_button(NextStep step, bool sampled);

/// The line at the bench that a reading is typed behind: "result G26-140 ".
std::string line_of_reading(const std::string& sample);

/// Buttons one after another, on as many lines as they need. A pointer presses them; Enter does not.
class ButtonRow {
 public:
    ButtonRow(RoomFrame& frame, double left, double top, double width);
    bool button(const std::string& words, const std::string& place, const char* tip, bool strong = false,
                bool chosen = false);
    /// From now on tips lie there where they have room: below a last row stands a heading.
    void tips_lie(TipSide side) { tip_side_ = side; }
    /// Words that stand before something of that width, on the same line.
    void text(const std::string& words, double before = 0.0);
    /// A box for typing; true where what is in it was changed.
    bool box(const std::string& place, std::string& text, double width, bool focus = false);
    double x() const { return x_; }
    double y() const { return y_; }
    void new_line();
    /// Goes on at the left, from there down.
    void move_to(double top);
    double bottom() const { return y_ + height_; }
    /// A piece of that width goes here, on the next line where it has no room.
    void place(double width);

 private:
    RoomFrame& frame_;
    double left_, right_, x_, y_, height_, gap_;
    TipSide tip_side_ = TipSide::below;
};

}  // namespace app::window
