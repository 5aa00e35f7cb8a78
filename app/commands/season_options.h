#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "app/command_line.h"
#include "app/workflow.h"

namespace geo {
class Store;
}

namespace app::commands {

/// What the commands that look at a season have in common: STORE, --season, --json, --threads, --timing.
struct SeasonOptions {
    std::string store;
    std::optional<int> season;
    bool json = false;
    bool timing = false;
    int threads = 0;
    bool own_duplicates = false;
    std::string parameters;  ///< how the contamination model deals with them; empty: as usual
    std::string weather_by;  ///< empty: the nearest station

    void declare(Options& options, bool store_required = true);
    /// --weather-by, for commands whose answer rests on the weather.
    void declare_weather(Options& options);
    /// That, --own-duplicates and --parameters, for commands whose answer rests on the results, too.
    void declare_contamination(Options& options);
};

/// Opens the store and runs the workflow, with a line of progress on stderr where that is a terminal. Ctrl-C stops it
/// cleanly.
SeasonView look(const SeasonOptions& options, Question question);
/// The same care for whatever is asked of an opened store; the question has the options' season, threads and weather.
void with_the_store(const SeasonOptions& options, Question question,
                    const std::function<void(const geo::Store&, const Question&, const models::Progress&)>& ask);

/// A date option; @throws models::Error naming the flag
std::optional<models::LocalDay> day_option(const std::optional<std::string>& text, const char* flag);

/// @throws models::Error  a size of cells that is no length over 0
void require_cell_size(double cell_m);

void print(const std::string& text);  ///< to stdout, with a line feed at the end

}  // namespace app::commands
