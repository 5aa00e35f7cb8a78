#include <csignal>

#include "app/commands/commands.h"
#include "app/window/window_command.h"

int main(int argc, char** argv) {
    // A limit on the size of files is answered like a full disk, in a sentence, not by the end of the program.
    std::signal(SIGXFSZ, SIG_IGN);
    std::vector<app::Command> commands = app::commands::all_commands();
    commands.push_back(app::window::make_window_command());
    return app::run_command_line(commands, argc, argv);
}
