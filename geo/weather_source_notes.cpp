#include "geo/weather_source_notes.h"

#include <nlohmann/json.hpp>

#include "models/calendar.h"

namespace geo {

std::string notes_of_source(const models::Station& station) {
    nlohmann::json notes = nlohmann::json::object();
    if (station.source == models::WeatherSource::grid) notes["source"] = "grid";
    if (station.source == models::WeatherSource::forecast) {
        notes["source"] = "forecast";
        notes["forecast_of"] = station.forecast_of;
        if (station.made_utc) notes["made_utc"] = models::to_text(*station.made_utc);
    }
    return notes.dump();
}

void put_source_of_notes(const std::string& text, models::Station& station) {
    if (text == "{}") return;
    const auto notes = nlohmann::json::parse(text, nullptr, false);
    if (!notes.is_object()) return;
    const auto noted = [&](const char* name) {
        const auto found = notes.find(name);
        return found != notes.end() && found->is_string() ? found->get<std::string>() : std::string();
    };
    if (noted("source") == "grid") station.source = models::WeatherSource::grid;
    if (noted("source") != "forecast") return;
    // Without its time nobody could say when it was known, and it would pass for observed hours: it is a forecast.
    station.source = models::WeatherSource::forecast;
    station.forecast_of = noted("forecast_of");
    if (const auto made = models::parse_stamp(noted("made_utc"))) station.made_utc = made->utc;
}

}  // namespace geo
