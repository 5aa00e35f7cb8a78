#pragma once

#include <filesystem>
#include <map>
#include <optional>
#include <string>

#include "app/drawing/map_view.h"
#include "app/window/actions.h"

namespace app::window {

struct Session;
struct Views;

/// How the window stood when it was last looked at: what is chosen, where the map stood, how it is drawn, and what was
/// typed at the bench and not ended. No record is in it, and nothing of it is ever recorded by itself.
struct LastState {
    std::optional<int> season;
    std::string limit, field;
    std::optional<Room> room;
    std::optional<drawing::MapShows> layer;
    std::optional<drawing::ThemeName> theme;
    std::optional<drawing::ContentUnit> unit;
    std::optional<double> text_scale;
    std::string language;       ///< empty: not known
    int width = 0, height = 0;  ///< of the window; 0: not known
    std::optional<drawing::MapView> map;
    std::string backdrop;  ///< the file behind the map
    bool backdrop_shown = true;
    double backdrop_strength = 0.8;
    std::string line;                         ///< of the bench, half typed, or a result that waited for its yes
    std::string strip_in_hand;                ///< of the bench
    std::string day;                          ///< 2026-07-16, on which the bench kept
    std::map<std::string, std::string> kept;  ///< columns of tests, taken up again on that day alone
};
LastState state_of(const Session& session, const Views& views, int width, int height);
/// What of it the views remember: where the map stood, and the line of the bench. The rest is open_session's.
void bring_back(Views& views, const LastState& state);

/// $XDG_STATE_HOME/lodicule (else ~/.local/state/lodicule), one file a store, named by the SHA-256 of the store's whole
/// path. Empty where there is no home.
/// Source: XDG Base Directory Specification 0.8 (freedesktop.org): the variable counts where it is an absolute path.
std::filesystem::path state_file_of(const std::filesystem::path& store);

std::string text_of(const LastState& state, const std::filesystem::path& store);
/// Nothing where the text is damaged, of another store or of another program; a value that cannot be is left out alone.
std::optional<LastState> state_in(const std::string& text, const std::filesystem::path& store);
std::optional<LastState> read_last_state(const std::filesystem::path& file, const std::filesystem::path& store);

/// Writes the state where it changed, at one stroke: who is killed in the middle has the file as it was before. A place
/// that cannot be written is left alone, for the window is to go on.
class StateKeeper {
 public:
    StateKeeper(std::filesystem::path file, std::filesystem::path store);
    /// @returns  whether it was written
    bool keep(const LastState& state);

 private:
    std::filesystem::path file_, store_;
    std::string written_;
};

}  // namespace app::window
