#include "app/window/pit_arrival.h"

#include <algorithm>
#include <charconv>

#include <fmt/format.h>

#include "app/commands/record_cautions.h"
#include "app/pit_words.h"
#include "app/stages/withdrawn_names.h"
#include "app/window/session.h"
#include "geo/import.h"
#include "geo/store/store.h"
#include "models/error.h"
#include "models/spoken.h"

namespace app::window {

namespace {

std::string without_blanks_around(const std::string& text) {
    const auto from = text.find_first_not_of(" \t");
    return from == std::string::npos ? "" : text.substr(from, text.find_last_not_of(" \t") - from + 1);
}

bool is_ground(const SeasonData& data, const std::string& name) {
    return std::any_of(data.fields.begin(), data.fields.end(),
                       [&](const models::Field& field) { return ground_name(field.field, field.part) == name; });
}

/// "0.4" of "Mill Piece 0.4", "40 %" of "Mill Piece 40 %"; empty where the last word is no number. The name is what is
/// left; what is no share after all is refused as the field's name is.
std::pair<std::string, std::string> name_and_share(const std::string& said) {
    std::string text = without_blanks_around(said);
    const bool percent = text.ends_with('%');
    if (percent) text = without_blanks_around(text.substr(0, text.size() - 1));
    const auto blank = text.find_last_of(" \t");
    const std::string last = blank == std::string::npos ? "" : text.substr(blank + 1);
    const bool number = !last.empty() && last.find_first_not_of("0123456789.") == std::string::npos;
    if (!number) return {without_blanks_around(said), ""};
    const std::string name = without_blanks_around(text.substr(0, blank));
    if (!percent) return {name, last};
    double share_pct = 0.0;
    const auto [end, failed] = std::from_chars(last.data(), last.data() + last.size(), share_pct);
    if (failed != std::errc() || end != last.data() + last.size()) return {without_blanks_around(said), ""};
    return {name, fmt::format("{:.6g}", share_pct / 100.0)};
}

/// A comma between two digits is a decimal mark where the language that is spoken has it so.
std::string with_points_between_digits(std::string text) {
    if (models::decimal_mark() != ',') return text;
    const auto is_digit = [&text](std::size_t at) { return at < text.size() && text[at] >= '0' && text[at] <= '9'; };
    for (std::size_t at = 1; at < text.size(); ++at)
        if (text[at] == ',' && is_digit(at - 1) && is_digit(at + 1)) text[at] = '.';
    return text;
}

/// The fields of "Fen; Mill Piece, north 0.4": apart at ; and at a comma, but for that in the name of a part.
std::vector<std::pair<std::string, std::string>> parts_typed(const SeasonData& data, const std::string& typed) {
    const std::string text = with_points_between_digits(typed);
    std::vector<std::string> pieces(1);
    for (const char letter : text) {
        if (letter == ';' || letter == ',')
            pieces.emplace_back();
        else
            pieces.back() += letter;
    }
    std::vector<std::pair<std::string, std::string>> parts;
    for (std::size_t i = 0; i < pieces.size(); ++i) {
        auto [name, share] = name_and_share(pieces[i]);
        if (name.empty()) continue;
        if (share.empty() && i + 1 < pieces.size()) {
            const auto [part, share_of_part] = name_and_share(pieces[i + 1]);
            if (is_ground(data, name + ", " + part)) {
                parts.emplace_back(name + ", " + part, share_of_part);
                ++i;
                continue;
            }
        }
        parts.emplace_back(std::move(name), std::move(share));
    }
    return parts;
}

}  // namespace

const std::vector<std::string>& arrival_columns() {
    static const std::vector<std::string> columns{"load",         "time",      "ticket",    "supplier",
                                                  "parts",        "net_t",     "gross_t",   "tare_t",
                                                  "moisture_pct", "commodity", "keep_apart"};
    return columns;
}

std::string next_load_name(const SeasonData& data, int season) {
    const models::Load* newest = nullptr;
    for (const models::Load& load : data.loads)
        if (season_of_load(data, load) == season && (newest == nullptr || load.time.utc >= newest->time.utc))
            newest = &load;
    std::string before = fmt::format("L{:02}-00", season % 100);
    if (newest != nullptr) before = newest->load;
    return name_after(before, [&](const std::string& name) {
        return load_named(data, name) != nullptr || sample_index(data, name).has_value();
    });
}

std::string arrival_time_text(const models::Stamp& time) {
    const std::string text = models::to_text(time);
    return models::to_short_text(time.local_day()) + " " + text.substr(0, 4) + " " + text.substr(11, 5);
}

std::optional<models::Stamp> arrival_time_typed(const std::string& text, std::chrono::minutes offset) {
    if (const auto as_in_tables = models::parse_stamp(text)) return as_in_tables;
    const auto blank = text.find_last_of(' ');
    if (blank == std::string::npos) return std::nullopt;
    const std::string clock = text.substr(blank + 1);
    const auto before_clock = text.find_last_not_of(' ', blank);
    if (before_clock == std::string::npos || before_clock < 6) return std::nullopt;
    const std::string date = text.substr(0, before_clock + 1), year = date.substr(date.size() - 4);
    int year_number = 0;
    const auto [end, failed] = std::from_chars(year.data(), year.data() + year.size(), year_number);
    if (failed != std::errc() || end != year.data() + year.size() || year_number < 1900) return std::nullopt;
    const auto is_written = [&](models::LocalDay day) {
        return without_blanks_around(date.substr(0, date.size() - 4)) == models::to_short_text(day);
    };
    const std::chrono::minutes away = std::chrono::abs(offset);
    const std::string zone =
        fmt::format("{}{:02}:{:02}", offset.count() < 0 ? '-' : '+', away.count() / 60, away.count() % 60);
    const models::LocalDay first = models::day_of(year_number, 1, 1);
    for (models::LocalDay day = first; models::year_of(day) == year_number; day += std::chrono::days(1)) {
        bool found = is_written(day);
        if (!found) {
            const models::Translated english(nullptr);
            found = is_written(day);
        }
        if (found)
            return models::parse_stamp(models::to_text(day) + "T" + (clock.size() == 4 ? "0" : "") + clock + zone);
    }
    return std::nullopt;
}

ArrivedTruck new_arrival(const SeasonData& data, int season, const models::Stamp& now) {
    ArrivedTruck truck;
    truck.typed["load"] = next_load_name(data, season);
    truck.typed["time"] = arrival_time_text(now);
    truck.offset = now.offset;
    truck.typed["commodity"] = "wheat";
    return truck;
}

std::vector<geo::RowToWrite> rows_of_arrival(const SeasonData& data, const ArrivedTruck& truck) {
    geo::RowToWrite load{"loads", {}};
    std::string parts;
    for (const std::string& column : arrival_columns()) {
        const auto typed = truck.typed.find(column);
        std::string value = typed == truck.typed.end() ? "" : without_blanks_around(typed->second);
        if (column == "time")  // what is no time is refused in the words of the table
            if (const auto time = arrival_time_typed(value, truck.offset)) value = models::to_text(*time);
        if (column.ends_with("_t") || column == "moisture_pct") value = models::number_as_typed(value);
        if (column == "parts") parts = value;
        // A name is always said, so that the one that is missing is refused by its own words.
        else if (!value.empty() || column == "load")
            load.values.emplace_back(column, value);
    }
    const std::string name = load.values.front().second;
    std::vector<geo::RowToWrite> rows{std::move(load)};
    for (const auto& [ground, share] : parts_typed(data, parts)) {
        geo::RowToWrite part{"load-parts", {{"load", name}}};
        const auto known = std::find_if(data.fields.begin(), data.fields.end(), [&](const models::Field& field) {
            return !field.part.empty() && ground_name(field.field, field.part) == ground;
        });
        part.values.emplace_back("field", known == data.fields.end() ? ground : known->field);
        if (known != data.fields.end()) part.values.emplace_back("part", known->part);
        if (!share.empty()) part.values.emplace_back("share", share);
        rows.push_back(std::move(part));
    }
    return rows;
}

void fill_arrival(Session& session, const std::string& code) {
    PitPanel& pit = session.pit;
    if (!pit.arrives) return;
    if (pit.arrives->focus.empty()) {
        pit.arrival_refused = {"", spoken(words::pit_arrival_no_box, code)};
        return;
    }
    pit.arrival_refused = {};
    pit.arrives->typed[pit.arrives->focus] = code;
    ++pit.arrives->filled[pit.arrives->focus];
}

bool record_arrival(Session& session) {
    PitPanel& pit = session.pit;
    if (!pit.arrives || !session.answer) return false;
    pit.arrival_refused = {};
    const SeasonData& data = session.answer->view.data;
    try {
        const std::vector<geo::RowToWrite> rows = rows_of_arrival(data, *pit.arrives);
        const std::string name = rows.front().values.front().second;
        geo::Store store = geo::Store::open(session.store);
        const std::vector<geo::ImportReport> reports =
            session.history.write(store, rows, pit.operator_name, spoken(words::pit_done_arrival, name));
        if (reports.front().added == 0) {  // to the last word as it stands there already
            pit.arrival_refused = {"load", spoken(words::pit_arrival_is_there, name)};
            return false;
        }
        pit.cautions = commands::cautions_of_records(store, reports.front());
        for (const models::Load& load : store.loads()) {
            if (load.load != name) continue;
            if (const int season = season_of_load(data, load); season != session.answer->view.season)
                pit.cautions.push_back(spoken(words::pit_arrival_other_season, season, session.answer->view.season));
        }
        pit.said = spoken(words::pit_recorded_arrival, name);
        pit.said_of = pit.load = name;
        pit.recorded.reset();
        pit.said_deed = spoken(words::pit_done_arrival, name);
        pit.load_of_deed[pit.said_deed] = name;
    } catch (const models::Error& error) {
        const auto* of_row = dynamic_cast<const geo::RowError*>(&error);
        std::string column = of_row == nullptr ? "" : of_row->column();
        if (column == "field" || column == "part" || column == "share") column = "parts";
        const auto& known = arrival_columns();
        if (std::find(known.begin(), known.end(), column) == known.end()) column.clear();
        std::string words_of_it = error.what();
        if (words_of_it.ends_with('.')) words_of_it.pop_back();  // its sentence ends with one of its own
        pit.arrival_refused = {column, std::move(words_of_it)};
        return false;
    }
    pit.arrives.reset();
    return true;
}

}  // namespace app::window
