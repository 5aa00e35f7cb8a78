#pragma once

#include <optional>
#include <string>

#include <nlohmann/json.hpp>

#include "app/command_line.h"
#include "app/commands/season_options.h"
#include "app/stages/next_stage.h"
#include "app/workflow.h"

namespace app::commands {

/// `bins --next LOAD --record BIN`: the move is written with the advice and who decided, and the load's status with it.
/// `bins --next LOAD --direct BIN`: it is sent there and not yet dumped; only its status is written, with the bin.
struct RecordOptions {
    std::optional<std::string> bin, direct, operator_name, reason, move;
    std::optional<double> mass_t;
    bool happened = false;

    void declare(Options& options);
    /// @throws models::Error  one of the others without --record, that without --next, or --record beside --direct
    bool asked(const std::optional<std::string>& next) const;
};

/// @param at  when it was dumped; none: now, by the machine's clock
/// @throws models::Error  it breaks a hard rule and has not happened; unknown bin; a mass that is none; a move that
///   cannot have happened
void record_next(const SeasonView& view, const SeasonOptions& season, const std::string& load,
                 const RecordOptions& options, const std::optional<std::string>& at);

/// Writes where the load is sent.
/// @throws models::Error  a hard rule forbids that bin; unknown bin
void direct_next(const SeasonView& view, const SeasonOptions& season, const std::string& load,
                 const RecordOptions& options);

/// What each bin would cost the load, and whether a second sample pays.
void print_next(const SeasonView& view, const SeasonOptions& season, const std::string& load);

/// The same under stable keys.
nlohmann::ordered_json json_of_next(const SeasonView& view, const SeasonOptions& season, const std::string& load);

}  // namespace app::commands
