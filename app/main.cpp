#include "app/commands/commands.h"

int main(int argc, char** argv) {
    return app::run_command_line(app::commands::all_commands(), argc, argv);
}
