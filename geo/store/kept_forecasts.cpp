#include "geo/store/kept_forecasts.h"

#include <algorithm>
#include <map>
#include <tuple>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "geo/store/chain.h"
#include "geo/store/database.h"
#include "geo/store/records.h"
#include "geo/store/rows.h"
#include "geo/store/store.h"
#include "geo/tables/kind.h"
#include "geo/tables/words.h"

namespace geo {

namespace kept_forecasts_parts {

/// Season, field, part, limit with its basis, and the day that it is as of.
using Ground =
    std::tuple<int, std::string, std::string, double, std::optional<models::Basis>, std::optional<models::LocalDay>>;
Ground ground_of(const KeptForecast& one) {
    return {one.season, one.field, one.part, one.limit_mg_per_kg, one.basis, one.as_of};
}

/// Whether two say the same, as far as anybody could score them apart.
bool says_the_same(const KeptForecast& a, const KeptForecast& b) {
    return a.results_known == b.results_known && a.model == b.model && a.exceedance == b.exceedance &&
           a.median_mg_per_kg == b.median_mg_per_kg && a.low90_mg_per_kg == b.low90_mg_per_kg &&
           a.high90_mg_per_kg == b.high90_mg_per_kg;
}

/// "2026 C01, headland over 1 at 2026-07-16T16:00:00Z by 2", and what else tells it from others of that moment.
std::string name_of(const KeptForecast& one, const std::string& made_utc) {
    std::string name = fmt::format("{} {}{}{} over {} at {} by {}", one.season, one.field, one.part.empty() ? "" : ", ",
                                   one.part, one.limit_mg_per_kg, made_utc, one.results_known);
    if (one.basis && *one.basis != models::Basis::as_is) name += std::string(" on ") + words::word(*one.basis);
    if (one.as_of) name += " as of " + models::to_text(*one.as_of);
    return name;
}

Record record_of(const tables::Kind& kind, const KeptForecast& one, const std::string& made_utc) {
    const auto number = [](const std::optional<double>& value) -> Value {
        return value ? Value(*value) : Value(std::monostate{});
    };
    const std::map<std::string, Value> cells = {{"forecast", name_of(one, made_utc)},
                                                {"made_time", models::to_text(one.made)},
                                                {"season", static_cast<std::int64_t>(one.season)},
                                                {"field", one.field},
                                                {"limit_mg_per_kg", one.limit_mg_per_kg},
                                                {"exceedance", number(one.exceedance)},
                                                {"median_mg_per_kg", number(one.median_mg_per_kg)},
                                                {"low90_mg_per_kg", number(one.low90_mg_per_kg)},
                                                {"high90_mg_per_kg", number(one.high90_mg_per_kg)},
                                                {"results_known", static_cast<std::int64_t>(one.results_known)},
                                                {"model", one.model}};
    Record record;
    for (const tables::Column* column : kind.stored()) record.cells.push_back(cells.at(column->name));
    // What stores of no version have a column for.
    nlohmann::json notes = nlohmann::json::object();
    if (!one.part.empty()) notes["part"] = one.part;
    if (one.as_of) notes["as_of"] = models::to_text(*one.as_of);
    if (one.basis) notes["basis"] = words::word(*one.basis);
    if (!one.limit_id.empty()) notes["limit_id"] = one.limit_id;
    record.notes = notes.dump();
    return record;
}

}  // namespace kept_forecasts_parts

int keep_forecasts(Store& store, const std::vector<KeptForecast>& forecasts, const std::string& actor) {
    using namespace kept_forecasts_parts;
    std::map<Ground, KeptForecast> newest;
    for (const KeptForecast& one : kept_forecasts(store)) newest[ground_of(one)] = one;
    const tables::Kind& kind = tables::kind_named("forecasts");
    const std::string made_utc = clock_utc();
    Transaction all(store.database());
    RecordWriter writer(store.database(), actor.empty() ? name_of_user() : actor);
    int kept = 0;
    for (KeptForecast one : forecasts) {
        const auto last = newest.find(ground_of(one));
        if (last != newest.end() && says_the_same(last->second, one)) continue;
        one.made = *models::parse_stamp(made_utc);
        kept += writer.put(kind, record_of(kind, one, made_utc)).put == Put::added ? 1 : 0;
    }
    all.commit();
    return kept;
}

std::vector<KeptForecast> kept_forecasts(const Store& store) {
    std::vector<KeptForecast> all;
    Rows rows(store.database(), "forecasts");
    while (rows.next()) {
        KeptForecast one;
        one.made = rows.stamp("made_time").value_or(models::Stamp{});
        one.season = rows.whole("season");
        one.field = rows.text("field");
        one.part = rows.noted_text("part");
        one.limit_mg_per_kg = rows.number("limit_mg_per_kg");
        one.exceedance = rows.some_number("exceedance");
        one.median_mg_per_kg = rows.some_number("median_mg_per_kg");
        one.low90_mg_per_kg = rows.some_number("low90_mg_per_kg");
        one.high90_mg_per_kg = rows.some_number("high90_mg_per_kg");
        one.results_known = static_cast<int>(rows.some_whole("results_known").value_or(0));
        one.model = rows.text("model");
        one.as_of = models::parse_day(rows.noted_text("as_of"));
        one.basis = words::meant_by<models::Basis>(rows.noted_text("basis"));
        one.limit_id = rows.noted_text("limit_id");
        all.push_back(std::move(one));
    }
    std::stable_sort(all.begin(), all.end(), [](const KeptForecast& a, const KeptForecast& b) {
        return std::tie(a.season, a.field, a.part, a.limit_mg_per_kg, a.made.utc, a.as_of) <
               std::tie(b.season, b.field, b.part, b.limit_mg_per_kg, b.made.utc, b.as_of);
    });
    return all;
}

std::chrono::sys_seconds known_until(const KeptForecast& one) {
    if (!one.as_of) return one.made.utc;
    return std::chrono::sys_seconds(one.as_of->time_since_epoch()) + std::chrono::days(1) - std::chrono::seconds(1);
}

bool came_after(const models::Stamp& stamp, const KeptForecast& one) {
    return one.as_of ? stamp.local_day() > *one.as_of : stamp.utc > one.made.utc;
}

}  // namespace geo
