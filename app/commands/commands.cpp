#include "app/commands/commands.h"

namespace app::commands {

std::vector<Command> all_commands() {
    return {};
}

}  // namespace app::commands
