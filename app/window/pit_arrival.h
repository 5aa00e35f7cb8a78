#pragma once

#include <chrono>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "app/stages/season_data.h"
#include "geo/import.h"
#include "models/calendar.h"

namespace app::window {

struct Session;

/// A truck that has just come, as it is being written down. What is in the boxes goes through the checks of
/// `lodicule add STORE loads` and `load-parts`, as one change of the store.
struct ArrivedTruck {
    /// By the columns of the loads table, and "parts": "Fen; Mill Piece 0.4", the fields it was loaded on with the
    /// share of each, nothing for bought grain.
    std::map<std::string, std::string> typed;
    std::string focus;                  ///< the box in which the cursor stands: a code that is scanned goes there
    std::map<std::string, int> filled;  ///< how often a scanner filled each
    std::chrono::minutes offset{0};     ///< of the clock by which its time is typed
    bool operator==(const ArrivedTruck&) const = default;
};

/// Why it was not written, and beside which box that belongs; empty column: beside the button.
struct ArrivalRefused {
    std::string column, words;
};

/// The columns in the order in which they are asked.
const std::vector<std::string>& arrival_columns();
/// The name after that of the season's newest load: "W26-41" after "W26-40".
std::string next_load_name(const SeasonData& data, int season);
/// A time as it stands in the box: "1 Aug 2025 10:30", in the language that is spoken.
std::string arrival_time_text(const models::Stamp& time);
/// The moment that was typed so, in that language or in English, or as the tables write it; nullopt: it is none.
std::optional<models::Stamp> arrival_time_typed(const std::string& text, std::chrono::minutes offset);
/// With a name and a time in it.
ArrivedTruck new_arrival(const SeasonData& data, int season, const models::Stamp& now);
/// The rows that `lodicule add` would be given one after the other: the load, then a part a field.
std::vector<geo::RowToWrite> rows_of_arrival(const SeasonData& data, const ArrivedTruck& truck);

// What the actions do.
/// A code of a scanner, into the box in which the cursor stands; it never confirms anything.
void fill_arrival(Session& session, const std::string& code);
/// Writes it. True where it was written; it stands on the scale then.
bool record_arrival(Session& session);

}  // namespace app::window
