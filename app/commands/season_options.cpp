#include "app/commands/season_options.h"

#include <chrono>
#include <csignal>
#include <cstdio>

#include <fmt/format.h>
#include <unistd.h>

#include "geo/store/store.h"
#include "models/error.h"

namespace app::commands {

namespace {

volatile std::sig_atomic_t asked_to_stop = 0;

void on_interrupt(int) {
    asked_to_stop = 1;
}

}  // namespace

void SeasonOptions::declare(Options& options, bool store_required) {
    options.positional(store, "STORE", "the store, one file", store_required);
    options.option(season, "--season", "Y", "the season, a year; the newest where it is not said");
    options.flag(json, "--json", "machine-readable output with stable keys");
    options.option(threads, "--threads", "N", "threads to work with; 0: all. The result does not depend on it");
    options.flag(timing, "--timing", "says on stderr how long it took");
}

SeasonView look(const SeasonOptions& options, Question question) {
    const auto started = std::chrono::steady_clock::now();
    asked_to_stop = 0;
    std::signal(SIGINT, on_interrupt);
    const bool person = isatty(STDERR_FILENO) != 0 && !options.json;
    bool written = false;
    const models::Progress progress([&](std::string_view what, double share) {
        const double seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - started).count();
        if (person && seconds > 0.5) {
            const double left = share > 0.02 ? seconds * (1.0 - share) / share : 0.0;
            fmt::print(stderr, "\r{:<28} {:3.0f} %  {:4.0f} s left ", what, share * 100.0, left);
            std::fflush(stderr);
            written = true;
        }
        return asked_to_stop == 0;
    });
    const geo::Store store = geo::Store::open(options.store, geo::Store::Access::read_only);
    if (options.threads < 0) throw models::Error("a number of threads cannot be negative", "--threads", "0 is all");
    question.season = options.season;
    question.threads = options.threads;
    SeasonView view = look_at_season(store, question, progress);
    if (written) fmt::print(stderr, "\r{:60}\r", "");
    std::signal(SIGINT, SIG_DFL);
    if (options.timing) {
        fmt::print(stderr, "{:.3f} s\n",
                   std::chrono::duration<double>(std::chrono::steady_clock::now() - started).count());
    }
    return view;
}

std::optional<models::LocalDay> day_option(const std::optional<std::string>& text, const char* flag) {
    if (!text) return std::nullopt;
    const auto day = models::parse_day(*text);
    if (!day) throw models::Error("\"" + *text + "\" is no date", flag, "write it as 2026-06-30");
    return day;
}

void print(const std::string& text) {
    std::fwrite(text.data(), 1, text.size(), stdout);
    if (text.empty() || text.back() != '\n') std::fputc('\n', stdout);
}

}  // namespace app::commands
