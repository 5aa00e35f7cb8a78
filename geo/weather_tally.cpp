#include "geo/weather_tally.h"

#include <fmt/format.h>

#include "models/calendar.h"
#include "models/counted.h"

namespace geo::weather_rows {

namespace {

std::string wall_clock(std::chrono::local_seconds wall) {
    const auto past = std::chrono::floor<std::chrono::minutes>(wall - std::chrono::floor<std::chrono::days>(wall));
    return fmt::format("{:02}:{:02}", past.count() / 60, past.count() % 60);
}

void note_readings(const Tally& tally, const WeatherForms& forms, std::vector<std::string>& notes) {
    notes.push_back(fmt::format("rows every {} became hours: the means of {} readings, of rain {}",
                                models::counted(tally.readings->first.count(), "minute"), tally.readings->second,
                                forms.rain_accumulates ? "the last total" : "their sum"));
    if (tally.too_few_readings > 0) {
        notes.push_back(fmt::format("{} fewer than three quarters of their readings and stand as missing",
                                    models::counted(tally.too_few_readings, "hour has", "hours have")));
    }
    if (tally.rain_incomplete > 0) {
        notes.push_back(fmt::format("rain of {} lacks readings and stands as missing",
                                    models::counted(tally.rain_incomplete, "hour")));
    }
}

}  // namespace

std::string name_of_column(const WeatherForms& forms, int column) {
    if (column < 0) return "";
    const auto i = static_cast<std::size_t>(column);
    return i < forms.names.size() ? forms.names[i] : fmt::format("{}", column + 1);
}

std::string taken_for_earlier(std::string_view station, std::pair<long, long> rows,
                              std::pair<std::chrono::local_seconds, std::chrono::local_seconds> walls,
                              const tables::TimeZone& zone) {
    const bool one = rows.first == rows.second;
    return fmt::format(
        "station {}, {}: {} of {} {} once, and the clocks of {} showed {} twice; taken for the earlier; write {} if it "
        "is the later",
        station, one ? fmt::format("row {}", rows.first) : fmt::format("rows {} to {}", rows.first, rows.second),
        one ? wall_clock(walls.first) : wall_clock(walls.first) + " to " + wall_clock(walls.second),
        models::to_text(std::chrono::floor<std::chrono::days>(walls.first)), one ? "stands" : "stand", zone.name(),
        one ? "it" : "them", one ? "its offset" : "their offsets");
}

void put_notes(const Tally& tally, const WeatherForms& forms, std::vector<std::string>& notes) {
    if (tally.readings) note_readings(tally, forms, notes);
    for (const auto& [code, times] : tally.codes) {
        notes.push_back(fmt::format("column {}: {} was taken for \"not measured\" in {}",
                                    name_of_column(forms, code.first), code.second, models::counted(times, "row")));
    }
    if (tally.saying_nothing > 0) {
        notes.push_back(
            fmt::format("{} no value at all", models::counted(tally.saying_nothing, "row holds", "rows hold")));
    }
    if (tally.without_clock > 0) {
        notes.push_back(
            fmt::format("{} in UTC and no clock is named: their days begin at midnight UTC, not at the farm's "
                        "midnight; write times with the farm's offset, or say it in a column map: offset = "
                        "\"+02:00\" or time_zone = \"Europe/Budapest\"",
                        models::counted(tally.without_clock, "time is", "times are")));
    }
    if (tally.repeated_hour > 0) {
        notes.push_back(fmt::format(
            "{} in the hour that the clocks of {} showed twice: of two rows of one time the order in the file "
            "says which is the later",
            models::counted(tally.repeated_hour, "row lies", "rows lie"), forms.zone->name()));
    }
    constexpr std::size_t told_singly = 5;
    std::size_t told = 0;
    for (const auto& [row, words] : tally.taken_for_earlier) {
        if (told++ < told_singly) notes.push_back(words);
    }
    if (tally.taken_for_earlier.size() > told_singly) {
        notes.push_back(
            fmt::format("and {} that stand once where the clocks of {} showed the hour twice",
                        models::counted(static_cast<long>(tally.taken_for_earlier.size() - told_singly), "more time"),
                        forms.zone->name()));
    }
    if (tally.above_saturation > 0) {
        notes.push_back(fmt::format("{} a humidity above 100 % (up to {:.6g} %); this counts as 100 %",
                                    models::counted(tally.above_saturation, "hour has", "hours have"),
                                    tally.highest_humidity_pct));
    }
    if (tally.humidity_seen > 0 && tally.highest_humidity_pct <= 1.0) {
        notes.push_back("no humidity is above 1 %: if the column holds fractions, say so in a column map");
    }
    if (tally.disagreeing > 0) {
        notes.push_back(
            fmt::format("in {} the dew point given and the one computed from the humidity differ by more than "
                        "{} degC; both are kept as given",
                        models::counted(tally.disagreeing, "hour"), agreeing_degc));
    }
}

}  // namespace geo::weather_rows
