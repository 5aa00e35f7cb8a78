#include "app/commands/commands.h"

#include "app/commands/add_command.h"
#include "app/commands/amounts_command.h"
#include "app/commands/bins_command.h"
#include "app/commands/check_command.h"
#include "app/commands/control_command.h"
#include "app/commands/cut_off_command.h"
#include "app/commands/demo_command.h"
#include "app/commands/export_command.h"
#include "app/commands/first_command.h"
#include "app/commands/import_command.h"
#include "app/commands/krige_command.h"
#include "app/commands/map_command.h"
#include "app/commands/new_command.h"
#include "app/commands/plan_sampling_command.h"
#include "app/commands/report_command.h"
#include "app/commands/results_command.h"
#include "app/commands/review_command.h"
#include "app/commands/risk_command.h"
#include "app/commands/variogram_command.h"
#include "app/commands/weather_command.h"

namespace app::commands {

std::vector<Command> all_commands() {
    // clang-format off
    return {
        make_demo_command(),
        make_new_command(),
        make_import_command(),
        make_add_command(),
        make_amounts_command(),
        make_cut_off_command(),
        make_weather_command(),
        make_results_command(),
        make_risk_command(),
        make_first_command(),
        make_map_command(),
        make_bins_command(),
        make_plan_sampling_command(),
        make_control_command(),
        make_report_command(),
        make_review_command(),
        make_check_command(),
        make_export_command(),
        make_variogram_command(),
        make_krige_command(),
    };
    // clang-format on
}

}  // namespace app::commands
