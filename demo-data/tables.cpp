#include "demo-data/tables.h"

#include <algorithm>
#include <cmath>

#include "demo-data/counter_random.h"
#include "demo-data/table_text.h"

namespace demo {

namespace {

std::string yes_no_cell(bool yes) {
    return yes ? "yes" : "no";
}

std::string ring_json(models::RingM ring, bool counter_clockwise) {
    double twice = 0.0;
    for (std::size_t i = 0; i < ring.size(); ++i) {
        const models::PointM &a = ring[i], &b = ring[(i + 1) % ring.size()];
        twice += a.x_m * b.y_m - b.x_m * a.y_m;
    }
    if ((twice > 0.0) != counter_clockwise) std::reverse(ring.begin(), ring.end());
    ring.push_back(ring.front());
    std::string text = "[";
    for (const models::PointM& place : ring) {
        const auto [longitude, latitude] = degrees_of(place);
        if (text.size() > 1) text += ",";
        text += "[" + decimals(longitude, 6) + "," + decimals(latitude, 6) + "]";
    }
    return text + "]";
}

std::string polygon_json(const models::PolygonM& polygon) {
    std::string text = "[" + ring_json(polygon.outer, true);
    for (const models::RingM& hole : polygon.holes) text += "," + ring_json(hole, false);
    return text + "]";
}

std::string feature_json(const DemoField& field, const std::string& part, const models::OutlineM& outline) {
    std::string geometry;
    if (outline.size() == 1) {
        geometry = R"({"type":"Polygon","coordinates":)" + polygon_json(outline.front()) + "}";
    } else {
        for (const models::PolygonM& polygon : outline)
            geometry += (geometry.empty() ? "" : ",") + polygon_json(polygon);
        geometry = R"({"type":"MultiPolygon","coordinates":[)" + geometry + "]}";
    }
    return R"({"type":"Feature","properties":{"field":")" + field.field + R"(","part":")" + part + R"(","name":")" +
           field.name + R"(","grower":")" + field.grower + R"("},"geometry":)" + geometry + "}";
}

}  // namespace

std::string fields_geojson(const Landscape& landscape) {
    std::string text = "{\"type\":\"FeatureCollection\",\"name\":\"fields\",\"features\":[\n";
    bool first = true;
    for (const DemoField& field : landscape.fields) {
        text += (first ? "" : ",\n") + feature_json(field, "", field.outline_m);
        first = false;
        for (const FieldPart& part : field.parts) text += ",\n" + feature_json(field, part.part, part.outline_m);
    }
    return text + "\n]}\n";
}

std::string crops_csv(const Landscape& landscape, const std::vector<CropRow>& crops) {
    std::string text = csv_row({"field",
                                "part",
                                "season",
                                "crop",
                                "wheat_type",
                                "cultivar",
                                "resistance",
                                "previous_crop",
                                "before_previous_crop",
                                "residue",
                                "tillage",
                                "irrigated",
                                "sowing_date",
                                "heading_date",
                                "flowering_date",
                                "flowering_start",
                                "flowering_end",
                                "flowering_source",
                                "spray_active",
                                "spray_date",
                                "status",
                                "expected_cut_date",
                                "yield_t_per_ha"});
    for (const CropRow& crop : crops) {
        text += csv_row({landscape.fields[crop.field].field,
                         crop.part,
                         std::to_string(crop.season),
                         crop.crop,
                         crop.wheat_type,
                         crop.cultivar,
                         crop.resistance,
                         crop.previous_crop,
                         crop.before_previous_crop,
                         crop.residue,
                         crop.tillage,
                         "no",
                         day_cell(crop.sowing_date),
                         day_cell(crop.heading_date),
                         day_cell(crop.flowering_date),
                         day_cell(crop.flowering_start),
                         day_cell(crop.flowering_end),
                         crop.flowering_source,
                         crop.is_wheat() ? yes_no_cell(crop.sprayed) : "",
                         day_cell(crop.spray_date),
                         crop.status,
                         day_cell(crop.expected_cut_date),
                         decimals(crop.yield_t_per_ha, 1)});
    }
    return text;
}

std::string scouting_csv(const Landscape& landscape, const std::vector<CropRow>& crops,
                         const std::vector<CropTruth>& truths) {
    std::string text =
        csv_row({"field", "date", "growth_stage", "heads", "incidence_pct", "severity_pct", "damaged_kernels_pct"});
    for (const CropTruth& truth : truths) {
        const CropRow& crop = crops[truth.crop];
        Draws draws("scouting", truth.crop);
        if (!crop.part.empty() || !draws.chance(0.62)) continue;
        const int heads = 20 * draws.whole(3, 6);
        const double noise = draws.normal() / std::sqrt(heads);
        const double severity = truth.severity_pct * std::exp(2.2 * noise);
        const double incidence = 100.0 * (1.0 - std::exp(-severity / 16.0));
        const bool threshed = draws.chance(0.4);
        text += csv_row({landscape.fields[crop.field].field,
                         models::to_text(crop.truly_flowered + std::chrono::days(draws.whole(20, 25))),
                         draws.chance(0.5) ? "83" : "85", std::to_string(heads), decimals(incidence, 0),
                         decimals(std::min(severity, 95.0), 1), threshed ? decimals(0.28 * severity, 1) : ""});
    }
    return text;
}

std::string weather_csv(const Landscape& landscape, const std::vector<StationSeason>& weather, int season) {
    std::string text = csv_row(
        {"station", "longitude_deg", "latitude_deg", "time", "temperature_degc", "relative_humidity_pct", "rain_mm"});
    for (const StationSeason& one : weather) {
        if (one.season != season) continue;
        const DemoStation& station = landscape.stations[one.station];
        const auto [longitude, latitude] = degrees_of(station.place_m);
        const std::string where = decimals(longitude, 4) + "," + decimals(latitude, 4);
        for (std::size_t h = 0; h < one.hours.size(); ++h) {
            const SkyHour& hour = one.hours[h];
            if (!hour.logged) continue;
            const auto day = first_weather_day(season) + std::chrono::days(h / 24);
            text += station.station + "," + where + "," + minute_cell(at_clock(day, static_cast<int>(h % 24), 0)) +
                    "," + decimals(hour.shown_temperature_degc, 1) + "," + decimals(hour.shown_humidity_pct, 0) + "," +
                    (!hour.rain_logged    ? ""
                     : hour.rain_mm > 0.0 ? decimals(hour.rain_mm, 1)
                                          : "0") +
                    "\n";
        }
    }
    return text;
}

std::string limits_csv() {
    return csv_row({"limit_id", "jurisdiction", "commodity", "purpose", "stage", "limit_mg_per_kg", "basis",
                    "comparison", "rounding_mg_per_kg", "from", "to", "kind", "mixing", "decision_rule", "source",
                    "repeat_when", "repeat_most", "repeat_of"}) +
           csv_row({mill_limit, "contract", "wheat", "food", "unprocessed", decimals(mill_limit_mg_per_kg, 2), "as_is",
                    "over", "0.01", "2026-06-15", "2027-05-31", "contract", "forbidden",
                    "the mill's own test of each lot", "contract QM-26 (invented)", "suspected", "1", "portion"}) +
           csv_row({feed_limit, "contract", "wheat", "feed", "unprocessed", decimals(feed_limit_mg_per_kg, 2), "as_is",
                    "over", "0.01", "2026-06-15", "2027-05-31", "contract", "forbidden", "each wagon by strip",
                    "contract IF-26 (invented)", "never", "", ""});
}

std::string contracts_csv() {
    return csv_row({"contract", "from_mg_per_kg", "buyer", "commodity", "tonnes", "limit_id", "price_per_t",
                    "price_change_per_t"}) +
           csv_row({"QM-26", "0", "mill at Quelmeth", "wheat", "300", mill_limit, "217", ""}) +
           csv_row({"QM-26", "0.5", "mill at Quelmeth", "wheat", "300", mill_limit, "217", "-5"}) +
           csv_row({"IF-26", "0", "feed mill at Ilketh", "wheat", "150", feed_limit, "162", ""});
}

std::string costs_csv() {
    return csv_row({"name", "value"}) + csv_row({"wrong_acceptance_per_t", "41"}) +
           csv_row({"wrong_rejection_per_t", "23"}) + csv_row({"test", "13"}) + csv_row({"sample", "7"}) +
           csv_row({"hour", "26"});
}

std::string kit_lots_csv() {
    std::string text =
        csv_row({"kit_lot", "commodity", "dilution", "low_mg_per_kg", "high_mg_per_kg", "expires", "signal",
                 "incubation_least_s", "incubation_most_s", "temperature_least_degc", "temperature_most_degc"});
    for (const KitLot& lot : kit_lots()) {
        text += csv_row({std::string(lot.kit_lot), std::string(lot.commodity), "1", decimals(lot.low_mg_per_kg, 2),
                         decimals(lot.high_mg_per_kg, 2), std::string(lot.expires), "test_over_control", "370", "400",
                         "17", "31"});
    }
    return text;
}

std::string controls_csv() {
    std::string text = csv_row({"control", "assigned_mg_per_kg", "standard_uncertainty_mg_per_kg", "low_mg_per_kg",
                                "high_mg_per_kg", "basis", "commodity", "expires"});
    for (const Control& control : controls()) {
        text += csv_row({std::string(control.control), decimals(control.assigned_mg_per_kg, 2),
                         decimals(control.standard_uncertainty_mg_per_kg, 2), decimals(control.low_mg_per_kg, 2),
                         decimals(control.high_mg_per_kg, 2), "as_is", "wheat", "2027-12-31"});
    }
    return text;
}

std::string loads_csv(const Intake& intake) {
    std::string text = csv_row({"load", "time", "ticket", "supplier", "truck", "commodity", "gross_t", "tare_t",
                                "net_t", "moisture_pct", "dockage_pct", "status", "contract", "keep_apart"});
    for (const LoadRow& load : intake.loads) {
        text += csv_row({load.load, minute_cell(load.time), load.ticket, load.supplier, load.truck, load.commodity,
                         decimals(load.gross_t, 2), decimals(load.tare_t, 2), decimals(load.net_t, 2),
                         decimals(load.moisture_pct, 1), decimals(load.dockage_pct, 1), load.status, load.contract,
                         load.keep_apart});
    }
    return text;
}

std::string load_parts_csv(const Intake& intake, const Landscape& landscape, const std::vector<CropRow>& crops) {
    std::string text = csv_row({"load", "field", "part", "share"});
    for (const LoadRow& load : intake.loads) {
        double left = 1.0;
        for (const LoadPartRow& part : load.parts) {  // the shares as written add up to 1
            const double share = &part == &load.parts.back() ? left : std::round(1000.0 * part.share) / 1000.0;
            left -= share;
            text += csv_row(
                {load.load, landscape.fields[crops[part.crop].field].field, crops[part.crop].part, decimals(share, 3)});
        }
    }
    return text;
}

std::string bins_csv(const Intake& intake) {
    std::string text = csv_row({"bin", "capacity_t", "purpose", "limit_id", "keep_apart", "draw_off", "opening_mass_t",
                                "opening_mean_mg_per_kg", "opening_sd_mg_per_kg"});
    for (const BinRow& bin : intake.bins) {
        text += csv_row({bin.bin, decimals(bin.capacity_t, 0), bin.purpose, bin.limit_id, bin.keep_apart, bin.draw_off,
                         decimals(bin.opening_mass_t, 0), decimals(bin.opening_mean_mg_per_kg, 2),
                         decimals(bin.opening_sd_mg_per_kg, 2)});
    }
    return text;
}

std::string moves_csv(const Intake& intake) {
    std::string text = csv_row({"move", "time", "from", "to", "mass_t", "kind", "advised_bin", "operator", "reason"});
    for (const MoveRow& move : intake.moves) {
        text += csv_row({move.move, minute_cell(move.time), move.from, move.to, decimals(move.mass_t, 2), move.kind,
                         move.advised_bin, move.person, move.reason});
    }
    return text;
}

}  // namespace demo
