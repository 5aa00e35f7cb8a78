#include "app/commands/demo_command.h"

#include <cstdlib>
#include <memory>
#include <string>
#include <system_error>

#include <fmt/format.h>

#include "app/commands/terminal_progress.h"
#include "app/stages/forecast_stage.h"
#include "app/workflow.h"
#include "demo-data/scenario.h"
#include "geo/store/kept_forecasts.h"
#include "geo/store/store.h"
#include "models/counted.h"
#include "models/error.h"

namespace app::commands {

namespace {

namespace fs = std::filesystem;

/// Sets the clock of the store's records to the evening of the scenario, unless the user has set it.
class ScenarioClock {
 public:
    ScenarioClock() : was_set_(std::getenv(name) != nullptr) {
        const auto seconds = demo::scenario_clock().time_since_epoch().count();
        if (!was_set_) ::setenv(name, std::to_string(seconds).c_str(), 1);
    }
    ~ScenarioClock() {
        if (!was_set_) ::unsetenv(name);
    }
    ScenarioClock(const ScenarioClock&) = delete;
    ScenarioClock& operator=(const ScenarioClock&) = delete;

 private:
    static constexpr const char* name = "SOURCE_DATE_EPOCH";
    bool was_set_;
};

/// A store under a name that nobody takes for the finished one; gone unless it was finished.
class StoreInTheMaking {
 public:
    explicit StoreInTheMaking(fs::path finished) : finished_(std::move(finished)), path_(finished_.string() + ".part") {
        remove_all();
    }
    ~StoreInTheMaking() { remove_all(); }
    StoreInTheMaking(const StoreInTheMaking&) = delete;
    StoreInTheMaking& operator=(const StoreInTheMaking&) = delete;

    const fs::path& path() const { return path_; }
    void finish() { fs::rename(path_, finished_); }
    void remove_all() {
        std::error_code ignored;
        for (const char* ending : {"", "-wal", "-shm"}) fs::remove(path_.string() + ending, ignored);
    }

 private:
    fs::path finished_, path_;
};

/// What the program would have said on the past days of the scenario.
std::vector<geo::KeptForecast> forecasts_of_past_days(const geo::Store& store, const models::Progress& progress) {
    std::vector<geo::KeptForecast> all;
    SeasonMemory memory;
    for (const demo::ForecastDay& day : demo::forecast_days()) {
        progress.step("the demo's forecasts as of " + models::to_text(day.as_of), 0.9);
        Question question;
        question.season = day.season;
        question.limit = demo::forecast_limit;
        question.upto = Upto::contamination;
        question.as_of = day.as_of;
        for (geo::KeptForecast& one : forecasts_of(look_at_season(store, question, {}, memory), false))
            all.push_back(std::move(one));
    }
    return all;
}

int run_demo(const std::string& folder) {
    TerminalProgress shown;
    const int forecasts = make_demo(
        folder,
        [&shown](const geo::ImportReport& report) {
            shown.clear();
            fmt::print("{:<17} {:>6} rows as {}\n", report.file, report.added, report.kind);
            for (const std::string& note : report.notes) fmt::print("{:<17} {}\n", "", note);
        },
        shown.progress());
    const std::string store = (fs::path(folder) / "demo.lodicule").string();
    fmt::print(
        "{} holds three invented seasons; no place, firm or person in it is real.\n"
        "What the generator knew stands in {} and is not in the store.\n"
        "It keeps {} as of past days, made afterwards: lodicule review {} tells what became of them.\n"
        "Next: lodicule first {} --season 2026 --tests 10 --limit 1.0\n",
        store, (fs::path(folder) / "truth").string(), models::counted(forecasts, "forecast"), store, store);
    return 0;
}

}  // namespace

int make_demo(const fs::path& folder, const std::function<void(const geo::ImportReport&)>& said,
              const models::Progress& progress) {
    const fs::path finished = folder / "demo.lodicule";
    if (fs::exists(finished)) {
        throw models::Error("a demo store is there already", finished.string(),
                            "choose another folder, or remove that file first");
    }
    const demo::WrittenScenario written = demo::write_scenario(folder);
    const ScenarioClock clock;
    StoreInTheMaking making(finished);
    int forecasts = 0;
    try {
        geo::Store store = geo::Store::create(making.path());
        geo::ImportOptions options;
        options.strict = true;
        options.actor = "demo";
        double done = 0.0;
        for (const demo::ScenarioFile& file : written.files) {
            progress.step("the demo's " + file.name, 0.9 * done++ / static_cast<double>(written.files.size()));
            if (!file.kind.empty()) said(geo::import_file(store, file.kind, folder / file.name, options));
        }
        forecasts = geo::keep_forecasts(store, forecasts_of_past_days(store, progress), options.actor);
    } catch (...) {
        making.remove_all();
        demo::take_back(written.made);
        throw;
    }
    making.finish();
    return forecasts;
}

Command make_demo_command() {
    return {"demo", "Writes three invented seasons and builds a store of them.", [](Options& options) {
                const auto folder = std::make_shared<std::string>();
                options.positional(*folder, "DIR", "Folder for the tables and demo.lodicule; made where it is missing");
                options.footer(
                    "Begin here. 48 fields, 3 seasons, 6 weather stations, 211 readings, 40 loads, 8 bins;\n"
                    "demo-data/README.md tells the story.\n"
                    "The tables are those that `lodicule import` takes: a pattern for your own.");
                return [folder] { return run_demo(*folder); };
            }};
}

}  // namespace app::commands
