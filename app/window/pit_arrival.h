#pragma once

#include <map>
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
