#pragma once

#include <string>

#include "models/records.h"

/// How the store says where a station's hours come from: in the station's notes, as {"source": "grid"} or
/// {"forecast_of": "Hill", "made_utc": "2026-06-01T00:00:00Z", "source": "forecast"}. A station of its own says
/// nothing. Tables of stations that are written out and read again carry it along as columns.
namespace geo {

std::string notes_of_source(const models::Station& station);  ///< canonical JSON; "{}" for a station of its own
/// Fills in what the notes say; other notes, and words that are none of these, say nothing.
void put_source_of_notes(const std::string& notes, models::Station& station);

}  // namespace geo
