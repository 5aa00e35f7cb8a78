#include "app/commands/export_command.h"

#include <cstdio>
#include <memory>
#include <string>

#include <fmt/format.h>

#include "geo/export.h"
#include "geo/store/store.h"
#include "geo/tables/kind.h"
#include "models/counted.h"

namespace app::commands {

namespace {

struct ExportAsked {
    std::string store, kind, out;
};

int export_one(const ExportAsked& asked) {
    geo::tables::kind_named(asked.kind);
    const geo::Store store = geo::Store::open(asked.store, geo::Store::Access::read_only);
    if (asked.out == "-") {
        const geo::ExportedText exported = geo::export_text(store, asked.kind);
        std::fwrite(exported.text.data(), 1, exported.text.size(), stdout);
        return 0;
    }
    const long rows = geo::export_kind(store, asked.kind, asked.out);
    fmt::print("{}: {}\n", asked.out, models::counted(static_cast<long long>(rows), "row"));
    return 0;
}

}  // namespace

Command make_export_command() {
    return {
        "export", "Writes everything of one kind that went in.", [](Options& options) {
            const auto asked = std::make_shared<ExportAsked>();
            options.positional(asked->store, "STORE", "The store");
            options.positional(asked->kind, "KIND", "fields, crops, weather, samples, tests, limits ...");
            options.option(asked->out, "--out", "FILE", "The file to write; - writes to standard output", true);
            options.footer(
                "Examples\n"
                "  lodicule export farm.lodicule tests --out tests.csv\n"
                "  lodicule export farm.lodicule fields --out fields.gpkg\n"
                "  lodicule export farm.lodicule limits --out -\n"
                "CSV for tables; for fields GeoPackage (.gpkg, digit for digit) or GeoJSON (.geojson, to 1 cm), both "
                "in\n"
                "WGS 84. On standard output fields are GeoJSON. Importing the files into a new store gives the same\n"
                "records again, in the order fields, crops, limits, loads, bins, samples, tests, moves; stations and\n"
                "weather in any. What went in by --as-written goes in by it again. Corrected records come out as they\n"
                "stand now; the chain of records keeps the rest.");
            return [asked] { return export_one(*asked); };
        }};
}

}  // namespace app::commands
