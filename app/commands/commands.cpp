#include "app/commands/commands.h"

#include "app/commands/bins_command.h"
#include "app/commands/first_command.h"
#include "app/commands/krige_command.h"
#include "app/commands/map_command.h"
#include "app/commands/risk_command.h"
#include "app/commands/variogram_command.h"

namespace app::commands {

std::vector<Command> all_commands() {
    return {
        make_risk_command(),
        make_first_command(),
        make_map_command(),
        make_bins_command(),
        make_variogram_command(),
        make_krige_command(),
    };
}

}  // namespace app::commands
