#pragma once

#include "app/window/rooms/rooms.h"

namespace app::window {

// What lies over the map or beside it besides the map itself; each draws and answers Actions as a room does.

/// Strips of buttons above the map, side by side and in a second row where one is too narrow.
class Strips {
 public:
    explicit Strips(const drawing::Rect& canvas);
    bool has_room(double width) const;  ///< in this row
    /// Where a strip of that width goes; it is as high as one row of buttons.
    drawing::Rect next(double width);
    double height() const { return y_ + row_ - canvas_.y; }

 private:
    drawing::Rect canvas_;
    double em_, row_, x_, y_;
};

/// Profile, evidence and zones, by their buttons and keys.
void draw_tools(RoomFrame& frame, Strips& strips);
/// The seasons of the store as points of a line, to press, to drag along and to step by keys.
void draw_seasons(RoomFrame& frame, Strips& strips);

/// The height that profile or zones take from the foot of the map; 0: neither is shown.
double panel_height(const RoomFrame& frame, const drawing::Rect& canvas);
/// Profile or zones.
void draw_panel(RoomFrame& frame, const drawing::Rect& area);
/// What the map rests on, in the place of the map.
void draw_evidence(RoomFrame& frame, const drawing::Rect& area);

/// A press on the map that a tool waits for; false: it is the map's own.
bool press_on_map(RoomFrame& frame, const models::PointM& place);
/// Turns and moves the line by Shift and the arrows; true while Shift is held for it.
bool line_by_keys(RoomFrame& frame);
/// The line with its ends, and the zones of the field.
void draw_tools_on_map(RoomFrame& frame, drawing::Painter& painter, const drawing::Rect& canvas,
                       const drawing::MapView& view);

/// The card of the test or field under the pointer.
/// @param hovered  index into MapFigure::fields
void show_card(RoomFrame& frame, const drawing::MapFigure& figure, std::optional<std::size_t> hovered,
               const drawing::MapView& view, const drawing::Rect& canvas);
/// What is known of a field besides the number that is shown: with a past season what later results make of it.
std::string words_of_later_results(const Session& session, const FieldView& field);
/// Two readings of one sample of the field that cannot both be right; null: none, or it is being looked for.
const ReadingsApart* readings_apart_of(const RoomFrame& frame, const std::string& field);
/// What the number of the chosen field rests on, below what is said of it; answers where it ends.
double draw_rests_on(RoomFrame& frame, drawing::Painter& painter, double x, double y, double width);

/// How many tests can be made, and what they take from the expected loss; answers where it ends. Where there is little
/// height the sentence is left to whoever calls: budget_words.
std::string budget_words(const RoomFrame& frame);
bool budget_is_said_above(const RoomFrame& frame);  ///< the sentence stands above the fields, by draw_budget
double draw_budget(RoomFrame& frame, double x, double y, double width);
/// Whether the walk of the chosen field is shown, and its buttons; answers where they end.
double draw_walk_buttons(RoomFrame& frame, double x, double y, double width);
void draw_walk(RoomFrame& frame, const drawing::Rect& area);

}  // namespace app::window
