#pragma once

#include <filesystem>
#include <optional>
#include <string>

namespace app::window {

/// What the window opens on; what is not said is the newest season and the first limit that fits it.
struct WindowSettings {
    std::filesystem::path store;
    std::optional<int> season;
    std::string limit;  ///< a limit_id or a number, mg/kg
    std::string room;   ///< contamination, where-first, bins
    std::string field;  ///< selected at the start
    int width = 1440, height = 900;
    double text_scale = 1.0;
};

/// The window, until it is closed.
/// @throws models::Error  one sentence where there is no display or no OpenGL 3.3
void run_window(const WindowSettings& settings);

/// One frame drawn off-screen, without any display, saved as PNG.
void save_picture(const WindowSettings& settings, const std::filesystem::path& png);

}  // namespace app::window
