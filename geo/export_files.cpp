#include "geo/export_files.h"

#include <cmath>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "geo/export.h"
#include "geo/outlines.h"
#include "geo/store/database.h"
#include "geo/store/records.h"
#include "geo/store/store.h"
#include "geo/tables/cells.h"
#include "geo/tables/csv.h"
#include "geo/vector_file.h"
#include "geo/weather_table.h"
#include "models/calendar.h"
#include "models/error.h"

namespace geo::exporting {

namespace {

VectorValue or_none(const std::string& text) {
    if (text.empty()) return std::monostate{};
    return text;
}

}  // namespace

VectorLayer fields_layer(const Store& store) {
    Database& database = store.database();
    const tables::Kind& kind = tables::kind_named("fields");
    VectorLayer layer{"fields",
                      {{"field", ColumnKind::text},
                       {"part", ColumnKind::text},
                       {"name", ColumnKind::text},
                       {"grower", ColumnKind::text}},
                      {}};
    std::vector<std::string> note_columns;
    Statement names(database, "SELECT DISTINCT key FROM current_field_outline, json_each(notes) ORDER BY key");
    while (names.step()) {
        note_columns.push_back(names.text(0));
        layer.columns.push_back({names.text(0), ColumnKind::text});
    }
    Statement rows(database, select_of(kind, kind.view()) + " ORDER BY field, part");
    const int notes_place = static_cast<int>(kind.stored().size());
    while (rows.step()) {
        const std::string wkb = rows.bytes(notes_place + 1);
        VectorFeature feature{from_wkb({reinterpret_cast<const unsigned char*>(wkb.data()), wkb.size()}), {}};
        for (int i = 0; i < 4; ++i) feature.values.push_back(or_none(rows.text(i)));
        const auto notes = nlohmann::json::parse(rows.text(notes_place));
        for (const std::string& name : note_columns) {
            feature.values.push_back(notes.contains(name) ? or_none(notes[name].get<std::string>()) : VectorValue{});
        }
        layer.features.push_back(std::move(feature));
    }
    if (layer.features.empty()) {
        throw models::Error("there is no field in the store", store.file().string(), "import outlines first");
    }
    return layer;
}

ExportedText weather_text(const Store& store) {
    Database& database = store.database();
    std::string text =
        "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct,dew_point_degc,rain_mm\n";
    long count = 0;
    const auto number = [](double value) { return std::isnan(value) ? std::string() : tables::number_text(value); };
    Statement blocks(database,
                     "SELECT content, station, longitude_deg, latitude_deg FROM current_weather_block "
                     "JOIN current_station USING (station) ORDER BY station, month");
    while (blocks.step()) {
        const std::string bytes = blocks.bytes(0);
        const auto hours = unpack_block({reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size()});
        const std::string station =
            tables::csv_cell(blocks.text(1)) + "," + number(blocks.number(2)) + "," + number(blocks.number(3)) + ",";
        for (std::size_t i = 0; i < hours.size(); ++i) {
            const double t = hours.temperature_degc[i], h = hours.relative_humidity_pct[i], d = hours.dew_point_degc[i],
                         r = hours.rain_mm[i];
            if (std::isnan(t) && std::isnan(h) && std::isnan(d) && std::isnan(r)) continue;
            ++count;
            text += station + models::to_text(hours.stamp(i)) + "," + number(t) + "," + number(h) + "," + number(d) +
                    "," + number(r) + "\n";
        }
    }
    return {std::move(text), count};
}

}  // namespace geo::exporting
