#include "app/commands/split_option.h"

#include "app/commands/lonely_option.h"

namespace app::commands {

void SplitOption::declare(Options& options) {
    options.option(split, "--split", "FIELD|all",
                   "the zones that a field is worth cutting in, along lines its combine drives, where placed results "
                   "support that; of a field with parts these");
    options.option(header_m, "--header", "M", "for --split: width of the header, metres; 9 where it is not said");
    options.option(least_headers, "--least-headers", "N", "no zone is narrower than so many headers; 3");
    options.option(heading_deg, "--heading", "DEG",
                   "of the driving, degrees from north by east; the field's longer side where it is not said");
    options.option(most_zones, "--most-zones", "K", "at most so many zones in a field; 3");
    options.option(line_cost, "--line-cost", "COST",
                   "of each further zone, tonnes, or money where the costs of wrong decisions are in the store");
    options.option(upper_cap_pct, "--upper-cap", "PCT",
                   "above this chance of being over a zone counts as over without a result of its own");
    options.option(format, "--zone-format", "FORMAT",
                   "of the file of zones in --out: gpkg (where it is not said), geojson or shp");
}

std::optional<SplitSettings> SplitOption::settings() const {
    if (!split) {
        refuse_lonely({{header_m.has_value(), "--header"},
                       {least_headers.has_value(), "--least-headers"},
                       {heading_deg.has_value(), "--heading"},
                       {most_zones.has_value(), "--most-zones"},
                       {line_cost.has_value(), "--line-cost"},
                       {upper_cap_pct.has_value(), "--upper-cap"},
                       {format.has_value(), "--zone-format"}},
                      "how a field is split", "add --split FIELD, or --split all");
        return std::nullopt;
    }
    SplitSettings settings;
    settings.field = *split;
    if (header_m) settings.header_m = *header_m;
    if (least_headers) settings.least_headers = *least_headers;
    settings.heading_deg = heading_deg;
    if (most_zones) settings.most_zones = *most_zones;
    settings.line_cost = line_cost;
    if (upper_cap_pct) settings.upper_cap = *upper_cap_pct / 100.0;
    return settings;
}

ZoneFormat SplitOption::zone_format() const {
    return zone_format_named(format.value_or("gpkg"));
}

}  // namespace app::commands
