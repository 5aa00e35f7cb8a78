#include <algorithm>
#include <csignal>
#include <string_view>

#include "app/commands/commands.h"
#include "app/window/window_command.h"
#include "models/memory.h"

int main(int argc, char** argv) {
    models::keep_freed_memory();
    // A limit on the size of files is answered like a full disk, in a sentence, not by the end of the program.
    std::signal(SIGXFSZ, SIG_IGN);
    std::vector<app::Command> commands = app::commands::all_commands();
    // The window stands beside the commands whose answers it shows.
    const auto report = std::find_if(commands.begin(), commands.end(), [](const app::Command& command) {
        return command.name == std::string_view("report");
    });
    commands.insert(report, app::window::make_window_command());
    return app::run_command_line(commands, argc, argv);
}
