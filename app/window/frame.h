#pragma once

#include <map>
#include <string>
#include <vector>

#include "app/drawing/content_unit.h"
#include "app/drawing/map_view.h"
#include "app/drawing/palette.h"
#include "app/window/font_set.h"
#include "app/window/imgui_painter.h"
#include "app/window/key_gate.h"
#include "app/window/keys.h"
#include "app/window/line_entry.h"
#include "app/window/map_scene.h"
#include "app/window/session.h"

namespace app::window {

/// Where things were drawn in the last frame, by a name of ours, so that a test or a script can press them.
class Places {
 public:
    void begin_frame() {
        rects_.clear();
        texts_.clear();
    }
    void mark(const std::string& name, const drawing::Rect& rect) { rects_[name] = rect; }
    /// @param words  that the item itself writes; noted where texts are
    void mark_last_item(const std::string& name, const std::string& words = {});
    /// nullptr where nothing of that name was drawn.
    const drawing::Rect* find(const std::string& name) const;
    const std::map<std::string, drawing::Rect>& all() const { return rects_; }

    /// From now on the texts of each frame are noted, but for those of the map that are kept from frame to frame.
    void note_texts() { notes_texts_ = true; }
    std::vector<DrawnText>* texts() { return notes_texts_ ? &texts_ : nullptr; }
    const std::vector<DrawnText>* texts() const { return notes_texts_ ? &texts_ : nullptr; }

 private:
    std::map<std::string, drawing::Rect> rects_;
    std::vector<DrawnText> texts_;
    bool notes_texts_ = false;
};

inline constexpr double usual_text_px = 16.0;  ///< at a text scale of 1

/// What is drawn with: faces, colours, pictures on the card.
struct Brushes {
    FontSet fonts;
    drawing::Theme theme = drawing::light_theme();
    drawing::ThemeName theme_name = drawing::ThemeName::light;
    TextureStore textures;
    drawing::Look look() const { return {fonts.text_px(), theme}; }
};

/// What is being typed at the pit, and what is open there.
struct PitViews {
    std::string find;
    bool focus_find = false, focus_box = false;
    std::string scroll_to;                              ///< load whose row is to come into view
    bool what_if = false;                               ///< the boxes for other numbers are open
    std::string limit_id, limit, cap, contract, price;  ///< in them
    std::string what_if_refused;
    std::map<std::string, int> arrival_filled;  ///< of ArrivedTruck, as drawn last
    bool focus_arrival = false;                 ///< the first box of a truck that has come takes the cursor
    std::string lot_bin, lot_t, lot_refused;    ///< of a lot to be sold
    std::string on_the_left, on_the_right;      ///< load, and what the right side was of, in the last frame
    std::string recorded;                       ///< load that was shown as recorded in the last frame
    bool to_the_top = false;                    ///< of the right side, where something new stands
    bool to_look_at = false;                    ///< what has to be looked at is to come into view
    bool goes_on = false;                       ///< there is more of the right side than is in sight
};

/// What the tools of the map remember.
struct ToolViews {
    std::optional<models::PointM> first_end;  ///< of a line whose second end is still to be pressed
    std::optional<double> along_m;            ///< of the line, where its profile is pointed at
    double strips_px = 0.0;                   ///< height of the strips above the map in the last frame
    double zones_px = 1e4;                    ///< height of what was last said of zones
};

/// What only the window remembers: where the map stands, and the like.
struct Views {
    std::optional<drawing::MapView> map;  ///< none: fitted at the next frame
    std::optional<std::size_t> group;     ///< of Answer::groups, that it is fitted to; none: to all fields
    drawing::Rect map_canvas;
    bool map_came_back = false;  ///< it stands as when the window was last closed, whatever the canvas
    bool map_is_kept = false;    ///< it came back and was not fitted since
    MapScene map_scene;
    std::shared_ptr<const BackdropPicture> drawn_behind, drawn_nearer;  ///< as of the last frame
    std::shared_ptr<const Answer> drawn;  ///< whose pictures are on the card and whose map is in the scene
    bool dragging = false;
    double map_moved_at = -1.0;  ///< on Dear ImGui's clock, s; also when a field was chosen
    std::string map_chosen;      ///< field that was chosen in the last frame of the map
    std::string scroll_to;       ///< field whose row, or whose place on the map, is to come into view
    bool shows_keys = false;
    // What was done in this sitting.
    bool shows_sitting = false;
    std::string asked;                                                ///< what Ctrl+Z asked for and was not told twice
    double asked_at = 0.0;                                            ///< on Dear ImGui's clock, s
    drawing::ContentUnit drawn_in = drawing::ContentUnit::mg_per_kg;  ///< of what the scene of the map keeps
    ToolViews tools;
    Keys keys;
    KeyGate gate;    ///< before the keys: keeps what a scanner sends from them
    LineEntry line;  ///< of the bench
    PitViews pit;
    // The list of limits.
    bool all_limits = false;
    std::string own_limit;      ///< as it is being typed
    std::string limit_refused;  ///< why what was typed is no limit
    bool limit_again = false;   ///< it was refused just now: the line is typed in again
};

/// Takes the keys that wait for the next frame; before Dear ImGui begins it.
void take_keys(Views& views);
/// Nobody is choosing in a list or typing.
bool nobody_is_choosing();

/// Draws one whole frame into the current Dear ImGui context and answers what the user asked for in it.
std::vector<Action> draw_frame(const Session& session, Views& views, Brushes& brushes, Places& places);

/// Colours and spacing of the widgets, from the theme and the size of text.
void set_style(const Brushes& brushes);

}  // namespace app::window
