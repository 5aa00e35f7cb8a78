#include "geo/store/started_strips.h"

#include <algorithm>

#include "geo/store/database.h"
#include "geo/store/store.h"
#include "models/calendar.h"

namespace geo {

std::vector<models::StartedStrip> running_strips(const Store& store) {
    std::vector<models::StartedStrip> all;
    Statement rows(store.database(),
                   "SELECT strip, sample, started, kit_lot, commodity, lot_dilution, operator FROM current_strip "
                   "WHERE strip NOT IN (SELECT test FROM test) ORDER BY strip");
    while (rows.step()) {
        all.push_back({rows.text(0), rows.text(1), rows.text(3), rows.text(4), rows.optional_number(5),
                       models::parse_stamp(rows.text(2)).value_or(models::Stamp{}), rows.text(6)});
    }
    std::stable_sort(all.begin(), all.end(),
                     [](const auto& a, const auto& b) { return a.started.utc < b.started.utc; });
    return all;
}

std::set<std::string> names_of_strips(const Store& store) {
    std::set<std::string> names;
    Statement rows(store.database(), "SELECT strip FROM strip UNION SELECT test FROM test");
    while (rows.step()) names.insert(rows.text(0));
    return names;
}

std::map<std::string, int> control_rules_of_lots(const Store& store) {
    std::map<std::string, int> rules;
    Statement rows(store.database(),
                   "SELECT kit_lot, min(CAST(json_extract(notes, '$.control_every_tests') AS INTEGER)) "
                   "FROM current_kit_lot WHERE json_extract(notes, '$.control_every_tests') GLOB '[0-9]*' "
                   "GROUP BY kit_lot");
    while (rows.step()) rules[rows.text(0)] = static_cast<int>(rows.whole(1));
    return rules;
}

}  // namespace geo
