#include "app/window/window_command.h"

#include <memory>

#include "app/window/window.h"

namespace app::window {

namespace {

struct WindowCommand {
    WindowSettings settings;
    std::string store;
    std::string picture;
    std::optional<int> width, height;
};

int run(WindowCommand& command) {
    command.settings.store = command.store;
    command.settings.fit_to_screen = !command.width && !command.height;
    command.settings.size_is_said = command.width || command.height;
    command.settings.width = command.width.value_or(command.settings.width);
    command.settings.height = command.height.value_or(command.settings.height);
    if (command.picture.empty()) {
        run_window(command.settings);
    } else {
        save_picture(command.settings, command.picture);
    }
    return 0;
}

}  // namespace

Command make_window_command() {
    return {
        "window", "The window, or one picture of it without a display.", [](Options& options) {
            auto command = std::make_shared<WindowCommand>();
            options.positional(command->store, "STORE", "the store, one file");
            options.option(command->settings.season, "--season", "Y", "the season it opens on");
            options.option(command->settings.limit, "--limit", "L", "a limit_id of the store, or a number in mg/kg");
            options.option(command->settings.room, "--room", "ROOM",
                           "where-first, bench, contamination, pit, past-seasons");
            options.option(command->settings.field, "--field", "FIELD", "the field that is chosen at the start");
            options.option(
                command->settings.show, "--show", "WHAT",
                "in contamination: profile (along a line), evidence (what the map rests on) or zones (of the "
                "chosen field); in where-first: walk");
            options.option(command->settings.weather_by, "--weather-by", "WAY",
                           "a field's weather: nearest (station, the default), distance or kriging of those around it");
            options.option(command->settings.backdrop, "--backdrop", "FILE",
                           "a picture of yours behind the map: any raster that says where it lies (an aerial "
                           "photograph, a map of soils); kept until another is given");
            options.option(command->picture, "--picture", "FILE.png", "draws one frame without a display and saves it");
            options.option(command->width, "--width", "PX", "of the window or picture");
            options.option(command->height, "--height", "PX", "of the window or picture");
            options.option(command->settings.text_scale, "--text-scale", "F",
                           "text size, 0.75 to 3; else by the screen's own");
            options.option(command->settings.theme, "--theme", "THEME",
                           "colours: light, dark, or outdoor (black on white, for bright light)");
            options.option(command->settings.units, "--units", "U",
                           "contents are shown in mg/kg, ug/kg, ppm or ppb; everything is kept in mg/kg");
            options.option(command->settings.language, "--language", "CODE",
                           "of the window: en, de (what is written to the store stays English)");
            options.flag(command->settings.fresh, "--fresh",
                         "opens as if for the first time, not as it was when it was last closed");
            options.footer(
                "Example: lodicule window season.lodicule --season 2026 --room where-first\n"
                "In the window F1 lists the keys. Without a screen: --picture FILE.png.");
            return [command] { return run(*command); };
        }};
}

}  // namespace app::window
