#include "app/commands/import_command.h"

#include <cstdio>
#include <map>
#include <memory>
#include <optional>
#include <sstream>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/commands/record_cautions.h"
#include "app/commands/terminal_progress.h"
#include "app/table_text.h"
#include "geo/import.h"
#include "geo/store/store.h"
#include "geo/tables/kind.h"
#include "models/calendar.h"
#include "models/counted.h"
#include "models/error.h"

namespace app::commands {

namespace {

struct ImportAsked {
    std::string store, kind;
    std::vector<std::string> files;
    geo::ImportOptions options;
    std::optional<std::string> forecast_made;
    bool json = false;
};

/// @throws models::Error  no time with its offset from UTC
std::optional<std::chrono::sys_seconds> time_of_issue(const std::optional<std::string>& text) {
    if (!text) return std::nullopt;
    const auto stamp = models::parse_stamp(*text);
    if (!stamp) {
        throw models::Error("\"" + *text + "\" is no time", "--forecast-made",
                            "write when it was made, with its offset: 2026-06-01T00:00Z");
    }
    return stamp->utc;
}

nlohmann::ordered_json json_of(const geo::ImportReport& report, const std::vector<std::string>& cautions) {
    nlohmann::ordered_json refused = nlohmann::ordered_json::array();
    for (const geo::Refusal& refusal : report.refused) {
        refused.push_back(
            {{"row", refusal.row}, {"column", refusal.column}, {"what", refusal.what}, {"mend", refusal.mend}});
    }
    return {{"file", report.file},           {"kind", report.kind},           {"rows", report.rows},
            {"added", report.added},         {"unchanged", report.unchanged}, {"corrected", report.corrected},
            {"refused", std::move(refused)}, {"notes", report.notes},         {"changed", report.changed},
            {"cautions", cautions}};
}

/// The columns of a table for the help.
std::string columns_of(const geo::tables::Kind& kind) {
    std::istringstream lines(geo::tables::format_text(kind));
    std::string page, line;
    while (std::getline(lines, line)) page += hanging_text(line, line.starts_with("  ") ? 36 : 2);
    return page;
}

std::string counts(const geo::ImportReport& report) {
    std::string text = fmt::format("{}: {} added", report.file, report.added);
    if (report.corrected > 0) text += fmt::format(", {} corrected", report.corrected);
    if (report.unchanged > 0) text += fmt::format(", {} there already", report.unchanged);
    if (!report.refused.empty()) text += fmt::format(", {} refused", geo::rows_refused(report.refused));
    return text;
}

void say_refusals(const geo::ImportReport& report) {
    constexpr std::size_t shown = 20, alike_shown = 3;
    std::map<std::string, std::size_t> alike;  // by their words, the row aside
    std::size_t told = 0, left = 0;
    for (const geo::Refusal& refusal : report.refused) {
        if (alike[refusal.column + refusal.what]++ >= alike_shown || told == shown) {
            ++left;
            continue;
        }
        fmt::print(stderr, "{}\n", geo::to_text(refusal));
        ++told;
    }
    if (left > 0) {
        fmt::print(stderr, "... and {} refused{} (--json lists all)\n", models::counted(left, "more row"),
                   told == shown ? "" : " for the same reasons");
    }
}

void say_some(const std::vector<std::string>& lines, const char* what, const std::string& before,
              const std::string& after = "") {
    constexpr std::size_t shown = 20;
    for (std::size_t i = 0; i < lines.size() && i < shown; ++i) {
        fmt::print("{}", wrapped_text(before + lines[i] + after));
    }
    if (lines.size() > shown) fmt::print("... and {} more {} (--json lists all)\n", lines.size() - shown, what);
}

bool nothing_went_in(const geo::ImportReport& report) {
    return !report.refused.empty() && report.added + report.unchanged + report.corrected == 0;
}

int import_all(ImportAsked asked) {
    geo::tables::kind_named(asked.kind);
    asked.options.forecast_made_utc = time_of_issue(asked.forecast_made);
    geo::Store store = geo::Store::open(asked.store);
    nlohmann::ordered_json all = nlohmann::ordered_json::array();
    bool failed = false;
    std::size_t done = 0;
    TerminalProgress shown;
    for (const std::string& file : asked.files) {
        try {
            const geo::ImportReport report = geo::import_file(store, asked.kind, file, asked.options, shown.progress());
            ++done;
            shown.clear();
            failed = failed || nothing_went_in(report);
            if (asked.json)
                all.push_back(json_of(report, cautions_of_records(store, report)));
            else {
                say_refusals(report);
                for (const std::string& note : report.notes) fmt::print("{}: {}\n", report.file, note);
                say_some(report.changed, "changes", report.file + ": ");
                say_some(cautions_of_records(store, report), "cautions", "Caution: ", ".");
                fmt::print("{}\n", counts(report));
            }
        } catch (const models::Cancelled&) {
            if (done == 0) throw;
            shown.clear();
            fmt::print(stderr, "lodicule: stopped on request; nothing of {} went in, the files before it are in.\n",
                       file);
            return 1;
        } catch (const models::Error& error) {
            shown.clear();
            if (asked.files.size() == 1 && !asked.json) throw;
            failed = true;
            fmt::print(stderr, "lodicule: {}\n", error.what());
            if (asked.json) all.push_back({{"file", file}, {"kind", asked.kind}, {"error", error.what()}});
        }
    }
    if (asked.json) {
        nlohmann::ordered_json out = {{"files", std::move(all)}};
        fmt::print("{}\n", out.dump(2, ' ', false, nlohmann::json::error_handler_t::replace));
    }
    return failed ? 1 : 0;
}

const std::string& import_footer() {
    static const std::string text = [] {
        std::string page =
            "Rows are refused one by one, with file, row, column and how to mend; the good rows go in. The same file\n"
            "twice adds nothing. Exit code 1 when a file failed or every row of it was refused. A move that takes "
            "more\n"
            "than lies there (50 kg are let pass, for scales), a result over 100 mg/kg or under 0.01 mg/kg, and a "
            "table\n"
            "of temperatures that looks like degF are refused; --as-written takes the latter two as they stand.\n"
            "A column that a table does not have says nothing: it is no difference to what is there, and a correction\n"
            "leaves it as it is.\n\n"
            "Examples\n"
            "  lodicule import farm.lodicule fields outlines.geojson\n"
            "  lodicule import farm.lodicule tests strips.csv --columns reader.toml\n"
            "  lodicule import farm.lodicule tests mended.csv --correct \"typed wrong\"\n\n"
            "A column map (TOML) reads tables from anywhere; the store keeps it under the file's name. Every line may\n"
            "be left out:\n"
            "  separator = \";\"              # or \",\" \"|\" \"tab\"\n"
            "  encoding = \"windows-1252\"    # the letters of a table that is not UTF-8; iso-8859-15, utf-16 ...\n"
            "  decimal = \",\"                # 1,25 is read as 1.25\n"
            "  dates = \"day/month/year\"     # or month/day/year, year/month/day\n"
            "  offset = \"+02:00\"            # of times that carry none, and of the farm where weather is in UTC\n"
            "  time_zone = \"Europe/Budapest\"   # the same by name, where the clock is set forward in spring\n"
            "  missing = [\"n.d.\", \"NA\"]   # cells that say nothing\n"
            "  stamp_ends_hour = true       # of weather whose stamp is the end of its hour\n"
            "  rain_accumulates = true      # of weather whose rain counts on until it is set back\n"
            "  source = \"grid\"              # of weather cut out of a grid, no station's own\n"
            "  layer = \"parcels\"            # of outlines: which layer of the file\n"
            "  reference_system = \"EPSG:25832\"   # of outlines in a file that names none\n"
            "  [columns]                    # ours = theirs\n"
            "  sample = \"Sample no\"\n"
            "  field = \"Farm+Number\"        # of outlines: several attributes joined\n"
            "  don = { from = \"Result\", unit = \"ug/kg\" }\n"
            "  [fixed]                      # columns that their table does not have\n"
            "  stage = \"truck\"\n"
            "  [words.crop]                 # their word = ours\n"
            "  \"winter wheat\" = \"wheat\"\n\n"
            "Weather of a grid (NetCDF with CF names, GRIB): the cells that the fields lie in are read, each becomes "
            "a\n"
            "station such as \"grid 9.50 E 56.00 N\". Fields an hour apart are needed; kelvin, metres, kg m-2 and "
            "rain\n"
            "that counts on are understood. A column map may name what a file calls otherwise (temperature_degc =\n"
            "\"tas\"), its units, the farm's clock (offset or time_zone), and the grid ([fixed] station = "
            "\"reanalysis\").\n"
            "With --forecast-made the hours are kept beside what is observed, under the time of issue, and never "
            "mixed\n"
            "with it; `risk --as-of` takes those that were known then.\n"
            "  lodicule import farm.lodicule weather grid.nc\n"
            "  lodicule import farm.lodicule weather fc.grib2 --forecast-made 2026-06-01T00:00Z\n\n"
            "A sample whose position lies far from the field it names is kept under that name, and told; one that "
            "fits\n"
            "only with longitude and latitude swapped is refused. No cell may hold more than 64 KiB.\n\n"
            "Columns (* required; a file may have more, they are kept as notes)\n";
        for (const geo::tables::Kind& kind : geo::tables::all_kinds()) {
            if (kind.importable) page += "\n" + columns_of(kind);
        }
        return page;
    }();
    return text;
}

}  // namespace

Command make_import_command() {
    return {"import", "Brings tables and outlines into the store.", [](Options& options) {
                const auto asked = std::make_shared<ImportAsked>();
                options.positional(asked->store, "STORE", "The store");
                options.positional(asked->kind, "KIND",
                                   "What the rows are: fields, crops, weather, samples, tests ...");
                options.positional(
                    asked->files, "FILE",
                    "CSV (UTF-8, header row); for fields any file of outlines; for weather also NetCDF and GRIB");
                options.option(asked->options.column_map, "--columns", "MAP",
                               "A column map (TOML file), or the name of one that the store keeps");
                options.flag(asked->options.strict, "--strict", "One bad row refuses the whole file");
                options.option(asked->options.correct_because, "--correct", "REASON",
                               "Rows that differ from what is there are corrections, for this reason");
                options.flag(asked->options.as_written, "--as-written",
                             "Values that look like another unit are right as they stand");
                options.option(asked->forecast_made, "--forecast-made", "TIME",
                               "This weather is a forecast made then, as 2026-06-01T00:00Z");
                options.option(asked->options.actor, "--actor", "NAME", "Who does this; else the user's name");
                options.flag(asked->json, "--json", "The report as JSON");
                options.footer(import_footer().c_str());
                return [asked] { return import_all(*asked); };
            }};
}

}  // namespace app::commands
