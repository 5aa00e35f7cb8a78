#pragma once

#include <filesystem>
#include <optional>
#include <string>

namespace app::window {

/// What the window opens on; what is not said is the newest season and the first limit that fits it.
struct WindowSettings {
    std::filesystem::path store;
    std::optional<int> season;
    std::string limit;       ///< a limit_id or a number, mg/kg
    std::string room;        ///< where-first, bench, contamination, pit, past-seasons
    std::string field;       ///< selected at the start
    std::string show;        ///< profile, evidence or zones of the map, or walk of where-first; empty: none
    std::string weather_by;  ///< how stations become a field's weather; empty: the nearest
    std::string theme;       ///< light, dark, outdoor; empty: light
    std::string units;       ///< of contents: mg/kg, ug/kg, ppm, ppb; empty: mg/kg
    std::string language;    ///< as of app::languages(); empty: en
    std::string backdrop;    ///< a raster behind the map; empty: none, or that of last time
    bool fresh = false;      ///< nothing is as it was when the window was last closed
    int width = 1440, height = 900;
    bool size_is_said = false;         ///< and not to be that of last time
    bool fit_to_screen = true;         ///< no larger than what the screen leaves to windows
    std::optional<double> text_scale;  ///< none: text_scale_for the size, and what the monitor asks for
};

/// How large text is drawn in a window or picture of so many pixels where nobody says it: 1 up to 1920 x 1080, with
/// the size from there on in steps of a quarter (2 at 3840 x 2160), 3 at most.
double text_scale_for(int width, int height);

/// The window, until it is closed.
/// @throws models::Error  one sentence where there is no display or no OpenGL 3.3
void run_window(const WindowSettings& settings);

/// One frame drawn off-screen, without any display, saved as PNG.
/// @throws models::Error  the name does not end in .png; a size or scale that cannot be drawn; what open_session says
void save_picture(const WindowSettings& settings, const std::filesystem::path& png);

}  // namespace app::window
