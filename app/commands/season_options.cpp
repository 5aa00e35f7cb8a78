#include "app/commands/season_options.h"

#include <chrono>
#include <cmath>
#include <cstdio>

#include <fmt/format.h>

#include "app/commands/terminal_progress.h"
#include "geo/store/store.h"
#include "models/error.h"

namespace app::commands {

void SeasonOptions::declare(Options& options, bool store_required) {
    options.positional(store, "STORE", "the store, one file", store_required);
    options.option(season, "--season", "Y", "the season, a year; the newest where it is not said");
    options.flag(json, "--json", "machine-readable output with stable keys");
    options.option(threads, "--threads", "N", "threads to work with; 0: all. The result does not depend on it");
    options.flag(timing, "--timing", "says on stderr how long it took");
}

void SeasonOptions::declare_weather(Options& options) {
    options.option(weather_by, "--weather-by", "WAY",
                   "a field's weather: nearest (station, the default), distance or kriging of those around it; "
                   "'lodicule weather' tries the three on the stations at hand");
}

void SeasonOptions::declare_contamination(Options& options) {
    declare_weather(options);
    options.flag(own_duplicates, "--own-duplicates",
                 "errors of results from the store's own duplicates in place of the published ones");
    options.option(parameters, "--parameters", "WAY",
                   "how much seasons, regions, fields and kit lots differ: integrated over what results and priors "
                   "leave likely (the usual way up to 1,500 tested fields), most-probable values alone (above), or "
                   "restricted-likelihood (REML, no priors; on request)");
}

void with_the_store(const SeasonOptions& options, Question question,
                    const std::function<void(const geo::Store&, const Question&, const models::Progress&)>& ask) {
    const auto started = std::chrono::steady_clock::now();
    const TerminalProgress shown;
    const geo::Store store = geo::Store::open(options.store, geo::Store::Access::read_only);
    if (options.threads < 0) throw models::Error("a number of threads cannot be negative", "--threads", "0 is all");
    question.season = options.season;
    question.own_duplicates = options.own_duplicates;
    question.threads = options.threads;
    if (!options.parameters.empty()) question.parameters = models::parameters_by_named(options.parameters);
    if (!options.weather_by.empty()) question.weather.way = models::weather_way_named(options.weather_by);
    ask(store, question, shown.progress());
    if (options.timing) {
        fmt::print(stderr, "{:.3f} s\n",
                   std::chrono::duration<double>(std::chrono::steady_clock::now() - started).count());
    }
}

SeasonView look(const SeasonOptions& options, Question question) {
    SeasonView view;
    with_the_store(options, std::move(question),
                   [&](const geo::Store& store, const Question& asked, const models::Progress& progress) {
                       view = look_at_season_from_kept(store, asked, progress);
                   });
    return view;
}

std::optional<models::LocalDay> day_option(const std::optional<std::string>& text, const char* flag) {
    if (!text) return std::nullopt;
    const auto day = models::parse_day(*text);
    if (!day) throw models::Error("\"" + *text + "\" is no date", flag, "write it as 2026-06-30");
    return day;
}

void require_cell_size(double cell_m) {
    if (std::isfinite(cell_m) && cell_m > 0.0) return;
    throw models::Error(fmt::format("a cell of {} m is no cell", cell_m), "--cell",
                        "give the length of its side in metres, over 0, such as --cell 10");
}

void print(const std::string& text) {
    std::fwrite(text.data(), 1, text.size(), stdout);
    if (text.empty() || text.back() != '\n') std::fputc('\n', stdout);
}

}  // namespace app::commands
