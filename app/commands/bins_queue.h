#pragma once

#include <optional>
#include <string>

#include "app/command_line.h"
#include "app/workflow.h"

namespace app::commands {

/// `bins --queue`: who waits at the pit, for what, and what has to be looked at.
struct QueueOptions {
    bool queue = false;
    std::optional<std::string> at;
    std::optional<double> directed_h;

    void declare(Options& options);
    bool asked() const;  ///< @throws models::Error  one of the others without --queue
};

void print_queue(const SeasonView& view, const QueueOptions& options, bool json);

/// What probes of bins made of their bins; nothing where none was taken.
void print_probes(const SeasonView& view);

}  // namespace app::commands
