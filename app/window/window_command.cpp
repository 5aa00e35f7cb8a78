#include "app/window/window_command.h"

#include <memory>

#include "app/window/window.h"

namespace app::window {

namespace {

struct WindowCommand {
    WindowSettings settings;
    std::string store;
    std::string picture;
};

int run(WindowCommand& command) {
    command.settings.store = command.store;
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
            options.option(command->settings.room, "--room", "ROOM", "contamination, where-first or bins");
            options.option(command->settings.field, "--field", "FIELD", "the field that is chosen at the start");
            options.option(command->picture, "--picture", "FILE.png", "draws one frame without a display and saves it");
            options.option(command->settings.width, "--width", "PX", "of the window or picture");
            options.option(command->settings.height, "--height", "PX", "of the window or picture");
            options.option(command->settings.text_scale, "--text-scale", "F", "text size, 0.75 to 3");
            return [command] { return run(*command); };
        }};
}

}  // namespace app::window
