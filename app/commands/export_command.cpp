#include "app/commands/export_command.h"

#include <memory>
#include <string>

#include <fmt/format.h>

#include "geo/export.h"
#include "geo/store/store.h"
#include "geo/tables/kind.h"

namespace app::commands {

Command make_export_command() {
    return {
        "export", "Writes everything of one kind that went in.", [](Options& options) {
            struct Asked {
                std::string store, kind, out;
            };
            const auto asked = std::make_shared<Asked>();
            options.positional(asked->store, "STORE", "The store");
            options.positional(asked->kind, "KIND", "fields, crops, weather, samples, tests, limits ...");
            options.option(asked->out, "--out", "FILE", "The file to write", true);
            options.footer(
                "CSV for tables, GeoJSON (.geojson) or GeoPackage (.gpkg) for fields. Importing the file into a new "
                "store gives the same\n"
                "records again. Corrected records come out as they stand now; the chain of records keeps the rest.");
            return [asked] {
                geo::tables::kind_named(asked->kind);
                const geo::Store store = geo::Store::open(asked->store, geo::Store::Access::read_only);
                const long rows = geo::export_kind(store, asked->kind, asked->out);
                fmt::print("{}: {} {}\n", asked->out, rows, rows == 1 ? "row" : "rows");
                return 0;
            };
        }};
}

}  // namespace app::commands
