#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <vector>

#include "models/calendar.h"
#include "models/records.h"

namespace geo {

class Store;

/// What the program said of a field before a result of it was known, kept so that it can be held to it.
struct KeptForecast {
    models::Stamp made;  ///< when it was kept
    int season = 0;
    std::string field, part;
    double limit_mg_per_kg = 0.0;
    std::optional<double> exceedance;  ///< none: a ranking only
    std::optional<double> median_mg_per_kg, low90_mg_per_kg, high90_mg_per_kg;
    int results_known = 0;  ///< of the field itself and its loads, when it was made
    std::string model;      ///< the disease model that it rests on, and whether other seasons were in it
    /// Made afterwards from what was known at the end of that day: by the program and with the corrections that there
    /// were when it was made, so it is no forecast that anybody had. None: made at its time, from all that was known.
    std::optional<models::LocalDay> as_of = std::nullopt;
    std::optional<models::Basis> basis = std::nullopt;  ///< of the limit; older stores do not tell
    std::string limit_id = {};                          ///< empty: a number
};
/// The moment up to which it knew anything: when it was made, or the end of the day that it is as of (taken in UTC).
std::chrono::sys_seconds known_until(const KeptForecast& one);
/// Whether something of a moment came after what the forecast knew: of one as of a day on a later day by its own clock.
bool came_after(const models::Stamp& stamp, const KeptForecast& one);

/// Appends them to the chain of records, all or none. One that says the same of a field and limit as the newest that is
/// kept, with as many results known and as of the same day, is not kept again.
/// @returns  how many were new
/// @throws models::Error  as everything that writes to a store
int keep_forecasts(Store& store, const std::vector<KeptForecast>& forecasts, const std::string& actor = "");
/// All, by field and the time they were made.
std::vector<KeptForecast> kept_forecasts(const Store& store);

}  // namespace geo
