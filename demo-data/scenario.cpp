#include "demo-data/scenario.h"

#include <fstream>
#include <iterator>
#include <system_error>

#include "demo-data/intake.h"
#include "demo-data/rounds.h"
#include "demo-data/tables.h"
#include "models/error.h"

namespace demo {

namespace {

constexpr const char* what_truth_is =
    "What the generator knew when it made the demo seasons. Nothing of this is ever imported.\n"
    "\n"
    "law.csv      the law of log DON and all its coefficients, effects of kit lots, contents of controls\n"
    "crops.csv    each crop of wheat: true day of flowering, weather, risk, every effect, its mean DON (standing "
    "crop,\n"
    "             the whole outline), severity, and how it varies from place to place\n"
    "places.csv   the two closely sampled fields of 2026: true content every 25 m, without what differs from handful\n"
    "             to handful\n"
    "samples.csv  content of the grain that was taken, and of what it stands for (the crop, the load, the bin)\n"
    "tests.csv    each reading before rounding and range, with the variance of its log about the sample's content\n"
    "loads.csv    content of each load as it stood on the scale\n"
    "bins.csv     tonnes and mean content of each bin on the evening of 16 July 2026\n"
    "\n"
    "log(mean) = level + slope (risk_logit + 1) + season + region + field + field_season + ploughed + sprayed\n"
    "log(reading) ~ N(log(content) - log_variance / 2 + log_lot_effect, log_variance)\n";

std::string text_of_file(const std::filesystem::path& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

void write_whole(const std::filesystem::path& path, const std::string& text) {
    const std::filesystem::path beside = path.string() + ".part";
    std::ofstream out(beside, std::ios::binary | std::ios::trunc);
    out.write(text.data(), static_cast<std::streamsize>(text.size()));
    out.close();
    std::error_code failed;
    if (out) std::filesystem::rename(beside, path, failed);
    if (out && !failed) return;
    std::filesystem::remove(beside, failed);
    throw models::Error("the file cannot be written", path.string(),
                        "choose a folder you may write to, on a disk with room");
}

/// The folder and those above it that are missing.
void make_folders(const std::filesystem::path& folder, std::vector<std::filesystem::path>& made) {
    std::vector<std::filesystem::path> missing;
    for (std::filesystem::path at = folder; !at.empty() && !std::filesystem::exists(at); at = at.parent_path()) {
        missing.push_back(at);
    }
    for (auto path = missing.rbegin(); path != missing.rend(); ++path) {
        std::error_code failed;
        std::filesystem::create_directory(*path, failed);
        if (failed) {
            throw models::Error("the folder cannot be made: " + failed.message(), path->string(),
                                "choose a folder you may write to");
        }
        made.push_back(*path);
    }
}

}  // namespace

std::chrono::sys_seconds scenario_clock() {
    return at_clock(scenario_day(), 18, 0).utc;
}

std::vector<ForecastDay> forecast_days() {
    return {{2024, models::day_of(2024, 6, 25)},
            {2025, models::day_of(2025, 6, 27)},
            {2026, models::day_of(2026, 6, 30)},
            {2026, models::day_of(2026, 7, 12)}};
}

std::vector<ScenarioFile> scenario_files() {
    const Landscape landscape = make_landscape();
    const std::vector<StationSeason> weather = make_weather(landscape.stations);
    std::vector<CropRow> crops = make_crops(landscape);
    const std::vector<CropTruth> truths = make_truth(landscape, crops, weather);
    Bench bench;
    walk_the_fields(landscape, crops, truths, bench);
    const Intake intake = run_the_intake(crops, landscape, truths, bench);
    keep_the_bench(bench);
    bench.number_everything();

    return {{"fields", "fields.geojson", fields_geojson(landscape)},
            {"crops", "crops.csv", crops_csv(landscape, crops)},
            {"scouting", "scouting.csv", scouting_csv(landscape, crops, truths)},
            {"weather", "weather-2024.csv", weather_csv(landscape, weather, 2024)},
            {"weather", "weather-2025.csv", weather_csv(landscape, weather, 2025)},
            {"weather", "weather-2026.csv", weather_csv(landscape, weather, 2026)},
            {"limits", "limits.csv", limits_csv()},
            {"contracts", "contracts.csv", contracts_csv()},
            {"costs", "costs.csv", costs_csv()},
            {"kit-lots", "kit-lots.csv", kit_lots_csv()},
            {"controls", "controls.csv", controls_csv()},
            {"loads", "loads.csv", loads_csv(intake)},
            {"load-parts", "load-parts.csv", load_parts_csv(intake, landscape, crops)},
            {"bins", "bins.csv", bins_csv(intake)},
            {"samples", "samples.csv", samples_csv(bench)},
            {"tests", "tests.csv", tests_csv(bench)},
            {"tests", "survey.csv", survey_csv(bench)},
            {"moves", "moves.csv", moves_csv(intake)},
            {"", "truth/about.txt", what_truth_is},
            {"", "truth/law.csv", law_csv()},
            {"", "truth/crops.csv", true_crops_csv(landscape, crops, truths)},
            {"", "truth/places.csv", true_places_csv(landscape, crops, truths)},
            {"", "truth/samples.csv", true_samples_csv(bench)},
            {"", "truth/tests.csv", true_tests_csv(bench)},
            {"", "truth/loads.csv", true_loads_csv(intake)},
            {"", "truth/bins.csv", true_bins_csv(intake)}};
}

void take_back(const std::vector<std::filesystem::path>& made) {
    std::error_code ignored;  // a folder that holds something else stays, and is meant to
    for (auto path = made.rbegin(); path != made.rend(); ++path) std::filesystem::remove(*path, ignored);
}

WrittenScenario write_scenario(const std::filesystem::path& folder) {
    WrittenScenario written{scenario_files(), {}};
    for (const ScenarioFile& file : written.files) {  // look first, so that nothing is half-written
        const std::filesystem::path path = folder / file.name;
        if (std::filesystem::exists(path) && text_of_file(path) != file.text) {
            throw models::Error("a file of this name with other content is there already", path.string(),
                                "choose an empty folder, or move that file away");
        }
    }
    try {
        make_folders(folder / "truth", written.made);
        for (const ScenarioFile& file : written.files) {
            const std::filesystem::path path = folder / file.name;
            if (std::filesystem::exists(path)) continue;
            write_whole(path, file.text);
            written.made.push_back(path);
        }
    } catch (...) {
        take_back(written.made);
        throw;
    }
    return written;
}

}  // namespace demo
